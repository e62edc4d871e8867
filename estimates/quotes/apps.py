from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "estimates.quotes"
    label = "quotes"

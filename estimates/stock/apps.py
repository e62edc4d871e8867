from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "estimates.stock"
    label = "stock"

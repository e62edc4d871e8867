from django.apps import AppConfig


class CustomersConfig(AppConfig):
    name = "contracting.customers"
    label = "customers"

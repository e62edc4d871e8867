from django.apps import AppConfig


class PricelistsConfig(AppConfig):
    name = "estimates.pricelists"
    label = "pricelists"

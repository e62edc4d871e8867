from django.apps import AppConfig


class WarrantyConfig(AppConfig):
    name = "jobs.warranty"
    label = "warranty"

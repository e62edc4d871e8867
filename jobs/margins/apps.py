from django.apps import AppConfig


class MarginsConfig(AppConfig):
    name = "jobs.margins"
    label = "margins"

from django.apps import AppConfig


class PracticeConfig(AppConfig):
    name = "estimates.practice"
    label = "practice"

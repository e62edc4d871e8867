from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "estimates.quotes"
    label = "quotes"

    def ready(self) -> None:
        from . import paper

        paper.register()

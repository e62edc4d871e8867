from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "estimates.quotes"
    label = "quotes"

    def ready(self) -> None:
        from . import first_page, paper

        first_page.register()
        paper.register()

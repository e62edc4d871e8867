from django.apps import AppConfig


class WarrantyConfig(AppConfig):
    name = "jobs.warranty"
    label = "warranty"

    def ready(self) -> None:
        from . import papers

        papers.register()

from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "jobs.work"
    label = "work"

    def ready(self) -> None:
        from contracting.staff import pay

        from . import first_page, papers
        from .daily.costing import hours_recost

        pay.on_change(hours_recost)
        papers.register()
        first_page.register()

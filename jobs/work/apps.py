from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "jobs.work"
    label = "work"

    def ready(self) -> None:
        from . import first_page, papers

        papers.register()
        first_page.register()

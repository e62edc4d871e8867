from django.apps import AppConfig


class PunchListConfig(AppConfig):
    name = "jobs.punchlist"
    label = "punchlist"

    def ready(self) -> None:
        from jobs.work import followers

        from . import first_page, papers, selectors

        followers.before_moving(selectors.hindrances)
        first_page.register()
        papers.register()

from django.apps import AppConfig


class ScheduleConfig(AppConfig):
    name = "jobs.schedule"
    label = "schedule"

    def ready(self) -> None:
        from jobs.work import followers

        from . import first_page, following

        followers.when_planned(following.job_planned)
        followers.when_moved(following.job_moved)
        first_page.register()

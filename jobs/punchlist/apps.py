from django.apps import AppConfig


class PunchListConfig(AppConfig):
    name = "jobs.punchlist"
    label = "punchlist"

    def ready(self) -> None:
        from jobs.work import followers
        from jobs.work.daily import listeners

        from . import first_page, papers, selectors
        from .callbacks import first_page as callbacks
        from .callbacks.services import entry_corrected
        from .photos import register_subjects

        followers.before_moving(selectors.hindrances)
        first_page.register()
        papers.register()
        register_subjects()
        listeners.when_logged(entry_corrected)
        callbacks.register()

from django.apps import AppConfig


class MarginsConfig(AppConfig):
    name = "jobs.margins"
    label = "margins"

    def ready(self) -> None:
        from estimates.quotes.changes import followers as changes
        from jobs.work import followers
        from jobs.work.daily import listeners

        from . import first_page, ledger, selectors, services

        first_page.register()
        followers.when_made(services.budget_of_new_job)
        changes.when_signed(services.budget_of_change)
        listeners.when_logged(ledger.entered)
        listeners.when_recosted(ledger.rebuild)
        listeners.purchase_list_from(selectors.purchase_list)

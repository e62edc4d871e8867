from django.apps import AppConfig


class WorkConfig(AppConfig):
    name = "jobs.work"
    label = "work"

    def ready(self) -> None:
        from contracting.staff import pay
        from estimates.quotes.signing import followers as signatures

        from . import first_page, papers, services
        from .daily import listeners
        from .daily.costing import hours_recost
        from .supply.selectors import customer_supplies

        pay.on_change(hours_recost)
        # A quote that its customer signs by a private link becomes a job in the same transaction.
        signatures.when_accepted(services.job_from_quote)
        papers.register()
        listeners.purchase_list_from(customer_supplies)
        first_page.register()

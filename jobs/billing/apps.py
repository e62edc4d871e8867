from django.apps import AppConfig


class BillingConfig(AppConfig):
    name = "jobs.billing"
    label = "billing"

    def ready(self) -> None:
        from jobs.work import followers

        from . import customer_page, first_page, papers, services

        followers.when_made(services.account_of_new_job)
        papers.register()
        first_page.register()
        customer_page.register()

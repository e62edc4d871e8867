from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class CustomersConfig(AppConfig):
    name = "contracting.customers"
    label = "customers"

    def ready(self) -> None:
        from contracting.staff.first_steps import FirstStep, register

        from .models import Customer

        register(
            FirstStep(
                order=40,
                title=_("Your first customer"),
                why=_("With a site, where rooms are measured and the work is done."),
                url_name="customers:customer-new",
                done=Customer.objects.exists,
            )
        )

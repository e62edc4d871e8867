from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class PricelistsConfig(AppConfig):
    name = "estimates.pricelists"
    label = "pricelists"

    def ready(self) -> None:
        from contracting.staff.first_steps import FirstStep, register

        from .models import Price

        register(
            FirstStep(
                order=30,
                title=_("What you buy, and at what price"),
                why=_(
                    "Membrane, bonding agent, sealant, mortar: pack, data sheet and price; or read in a file."
                ),
                url_name="pricelists:materials",
                done=Price.objects.exists,
            )
        )

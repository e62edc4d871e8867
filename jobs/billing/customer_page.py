"""The part of a customer's page about their contracts: what each comes to, and what of it is still open."""

from __future__ import annotations

from django.db.models import BigIntegerField, F, OuterRef, Subquery, Sum, Value
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.translation import gettext as _

from contracting.customers import shown
from contracting.customers.models import Customer
from contracting.money import money_text
from contracting.staff.home import Item, Section
from estimates.quotes.changes.models import ChangeOrder

from .models import Account

SHOWN = 20


def register() -> None:
    """Show the office a customer's contracts on the customer's page."""
    shown.register(contracts)


def contracts(customer: Customer) -> Section | None:
    """Return the contracts of *customer*, the newest first, with their signed changes; one query."""
    signed = ChangeOrder.objects.filter(quote=OuterRef("job__quote"), status=ChangeOrder.Status.ACCEPTED)
    changed = signed.order_by().values("quote").annotate(sum=Sum("total_cents")).values("sum")
    zero = Value(0, output_field=BigIntegerField())
    found = (
        Account.objects.filter(job__site__customer=customer)
        .annotate(
            contract=F("job__quote__total_cents")
            + Coalesce(Subquery(changed, output_field=BigIntegerField()), zero),
            currency=F("job__quote__currency"),
        )
        .select_related("job")
        .order_by("-job__number")[:SHOWN]
    )
    items = [
        Item(
            title=str(account.job),
            url=reverse("billing:job", args=[account.job_id]),
            detail=_("%(stage)s; received %(received)s of %(invoiced)s invoiced")
            % {
                "stage": account.job.get_stage_display(),
                "received": money_text(account.received_cents, account.currency),
                "invoiced": money_text(account.invoiced_cents, account.currency),
            },
            when=money_text(account.contract, account.currency),
        )
        for account in found
    ]
    return Section(heading=_("Contracts"), note=_("with sales tax"), items=items) if items else None

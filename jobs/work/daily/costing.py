"""Costing hours anew when a pay rate is entered late, changed or removed."""

from __future__ import annotations

import datetime

from django.db import transaction
from django.db.models import BigIntegerField, F, OuterRef, Subquery, Value
from django.db.models.functions import Cast, Coalesce

from contracting.staff.models import LabourCost, PayRate, User

from ..models import HoursEntry
from . import listeners


@transaction.atomic
def hours_recost(person: User | None, since: datetime.date) -> int:
    """Cost the hours of *person* (None: everybody) from *since* on by the rates as they stand now.

    Returns how many jobs' totals were added up again.
    """
    hours = HoursEntry.objects.filter(day__gte=since)
    if person is not None:
        hours = hours.filter(person=person)
    pay, burden = _rate("pay_cents_per_hour"), _rate("burden_basis_points")
    # In whole numbers, as HourRate.cost_cents: + 300,000 of 600,000 rounds half up.
    minutes = Cast(F("minutes"), BigIntegerField())
    cost = (minutes * pay * (burden + Value(10_000)) + Value(300_000)) / Value(600_000)
    hours.update(
        pay_cents_per_hour=pay,
        burden_basis_points=burden,
        cost_cents=Coalesce(Cast(cost, BigIntegerField()), Value(0), output_field=BigIntegerField()),
    )
    job_ids = list(hours.order_by("job").values_list("job", flat=True).distinct())
    listeners.recosted(job_ids)
    return len(job_ids)


def _rate(name: str) -> Coalesce:
    own = PayRate.objects.filter(person=OuterRef("person"), starts_on__lte=OuterRef("day"))
    company = LabourCost.objects.filter(starts_on__lte=OuterRef("day"))
    return Coalesce(
        Subquery(own.order_by("-starts_on").values(name)[:1]),
        Subquery(company.order_by("-starts_on").values(name)[:1]),
        output_field=BigIntegerField(),
    )

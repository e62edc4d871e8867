"""What the takeoff and the pages read about how this contractor works."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import TypeVar

from django.db.models import Max

from estimates.pricelists.measures import from_millionths
from estimates.takeoff.errors import DomainError
from estimates.takeoff.labour import Factor, Rate
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.practice import CONTRACTOR, Practice
from estimates.takeoff.sequence import Calendar
from estimates.takeoff.working import Origin

from .models import FactorValue, KeptValue, PracticeValue, RateValue, WorkingTime

Kept = TypeVar("Kept", bound=KeptValue)


def company_practice() -> Practice:
    """Return the takeoff's practice with everything the company has set: 4 queries, 6 with an own calendar.

    Read it once for each piece of work and hand it on: it is not kept between calls, so that what was saved
    a moment ago counts.
    """
    practice = practice_with(newest(PracticeValue), newest(RateValue), newest(FactorValue))[0]
    row = working_time()
    return replace(practice, calendar=calendar_of(row)) if row else practice


def company_settings() -> Practice:
    """Return the practice with the company's settings alone, for what needs no labour: 1 query."""
    return practice_with(newest(PracticeValue), {}, {})[0]


def newest(model: type[Kept], upto: int | None = None) -> dict[str, Kept]:
    """Return the row that counts of every key; *upto*: as it was when row *upto* was the newest. One query.

    The rows come with who set them.
    """
    rows = model._default_manager.all() if upto is None else model._default_manager.filter(pk__lte=upto)
    last = rows.order_by().values("key").annotate(last=Max("pk")).values("last")
    return {row.key: row for row in model._default_manager.filter(pk__in=last).select_related("set_by")}


def practice_with(
    values: Mapping[str, PracticeValue], rates: Mapping[str, RateValue], factors: Mapping[str, FactorValue]
) -> tuple[Practice, dict[str, DomainError]]:
    """Return the practice with these rows laid over the defaults, and what the takeoff refused of them.

    A stored value that the takeoff no longer takes must not stop every estimate: the default holds, and the
    page of settings says why.
    """
    practice, refused = Practice(), {}
    for key, value in values.items():
        if value.value_millionths is None:
            continue
        try:
            measure = from_millionths(value.value_millionths, value.unit)
            practice = practice.override(key, measure, source_of(value))
        except DomainError as error:
            refused[key] = error
    own_rates, own_factors = dict(practice.rates), dict(practice.factors)
    for key, rate in rates.items():
        try:
            if not rate.is_default and key in own_rates:
                own_rates[key] = rate_of(own_rates[key], rate)
        except DomainError as error:
            refused[key] = error
    for key, factor in factors.items():
        try:
            if factor.multiplier_millionths is not None and key in own_factors:
                own_factors[key] = factor_of(own_factors[key], factor)
        except DomainError as error:
            refused[key] = error
    return replace(practice, rates=own_rates, factors=own_factors), refused


def source_of(row: KeptValue) -> Phrase:
    """Return what stands beside a figure that comes from *row*."""
    if not row.source:
        return CONTRACTOR
    return phrase(gettext_noop("the contractor's own setting: {why}"), why=row.source)


def rate_of(default: Rate, row: RateValue) -> Rate:
    """Return the rate with the company's figures.

    Raises:
        DomainError: the takeoff refuses them (``labour.rate``, ``labour.unit``, ``labour.crew``).
    """
    return replace(
        default,
        unit=row.unit,
        optimistic=_decimal(row.optimistic_millionths),
        likely=_decimal(row.likely_millionths),
        pessimistic=_decimal(row.pessimistic_millionths),
        setup_h=Decimal(row.setup_minutes or 0) / 60,
        minimum_h=Decimal(row.minimum_minutes or 0) / 60,
        crew=row.crew or 0,
        origin=Origin.PRACTICE,
        source=source_of(row),
    )


def factor_of(default: Factor, row: FactorValue) -> Factor:
    """Return the factor with the company's multiplier; raises DomainError (``labour.factor``)."""
    multiplier = _decimal(row.multiplier_millionths)
    return replace(default, multiplier=multiplier, origin=Origin.PRACTICE, source=source_of(row))


def _decimal(millionths: int | None) -> Decimal:
    return from_millionths(millionths or 0, "").value


def working_time(upto: int | None = None) -> WorkingTime | None:
    """Return the calendar that counts with its breaks and holidays, or None where none was ever set."""
    rows = WorkingTime.objects.select_related("set_by").prefetch_related("breaks", "holidays")
    return (rows if upto is None else rows.filter(pk__lte=upto)).order_by("-pk").first()


def calendar_of(row: WorkingTime) -> Calendar:
    """Return a stored calendar as the takeoff's own; raises DomainError (``calendar.*``)."""
    holidays = frozenset(one.day for one in row.holidays.all())
    if row.start_of_day is None or row.end_of_day is None:
        return Calendar(holidays=holidays)
    return Calendar(
        row.start_of_day,
        row.end_of_day,
        tuple((one.starts, one.ends) for one in row.breaks.all()),
        frozenset(day for day in range(7) if row.weekdays >> day & 1),
        holidays,
    )

"""Who changed what, and when: the rows of all settings in one list, the newest first."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.dates import WEEKDAYS
from django.utils.formats import time_format
from django.utils.translation import gettext, ngettext

from contracting.staff.models import User
from estimates.pricelists.measures import from_millionths, written
from estimates.takeoff.practice import Practice, setting_names

from .forms import setting_text
from .models import FactorValue, PracticeValue, RateValue, WorkingTime


@dataclass(frozen=True)
class Change:
    """One change: *before* and *after* as people write them, "" for the default."""

    at: datetime.datetime
    by: User
    what: str
    before: str
    after: str
    source: str = ""


def changes() -> list[Change]:
    """Return every change, the newest first: 6 queries."""
    found = [*_settings(), *_rates(), *_factors(), *_calendars()]
    return sorted(found, key=lambda change: change.at, reverse=True)


def _settings() -> Iterator[Change]:
    default, before = Practice(), dict[str, str]()
    known = setting_names()
    for row in PracticeValue.objects.select_related("set_by").order_by("pk"):
        after = ""
        if row.value_millionths is not None:
            measure = from_millionths(row.value_millionths, row.unit)
            after = setting_text(row.key, measure) if row.key in known else written(measure)
        label = default.named(row.key).label.render(gettext) if row.key in known else row.key
        yield Change(row.set_at, row.set_by, label, before.get(row.key, ""), after, row.source)
        before[row.key] = after


def _rates() -> Iterator[Change]:
    rates, before = Practice().rates, dict[str, str]()
    for row in RateValue.objects.select_related("set_by").order_by("pk"):
        label = rates[row.key].label.render(gettext) if row.key in rates else row.key
        after = rate_text(row)
        yield Change(row.set_at, row.set_by, label, before.get(row.key, ""), after, row.source)
        before[row.key] = after


def rate_text(row: RateValue) -> str:
    """Return a rate in one line, empty for the default."""
    if row.is_default:
        return ""
    best, likely, worst = (
        f"{from_millionths(value or 0, '').value:f}"
        for value in (row.optimistic_millionths, row.likely_millionths, row.pessimistic_millionths)
    )
    return gettext(
        "{best} / {likely} / {worst} {unit} an hour, set-up {setup} min, at least {least} min, crew {crew}"
    ).format(
        best=best,
        likely=likely,
        worst=worst,
        unit=gettext(row.unit),
        setup=row.setup_minutes,
        least=row.minimum_minutes,
        crew=row.crew,
    )


def _factors() -> Iterator[Change]:
    factors, before = Practice().factors, dict[str, str]()
    for row in FactorValue.objects.select_related("set_by").order_by("pk"):
        label = factors[row.key].label.render(gettext) if row.key in factors else row.key
        value = row.multiplier_millionths
        after = "" if value is None else f"{from_millionths(value, '').value:f}"
        yield Change(row.set_at, row.set_by, label, before.get(row.key, ""), after, row.source)
        before[row.key] = after


def _calendars() -> Iterator[Change]:
    before = ""
    rows = WorkingTime.objects.select_related("set_by").prefetch_related("breaks", "holidays")
    for row in rows.order_by("pk"):
        after = calendar_text(row)
        yield Change(row.set_at, row.set_by, gettext("Calendar"), before, after)
        before = after


def calendar_text(row: WorkingTime) -> str:
    """Return a calendar in one line."""
    parts = [gettext("the default hours")]
    if row.start_of_day and row.end_of_day:
        days = ", ".join(str(WEEKDAYS[day]) for day in range(7) if row.weekdays >> day & 1)
        parts = [f"{days}, {time_format(row.start_of_day)} – {time_format(row.end_of_day)}"]
        parts += [f"{time_format(one.starts)} – {time_format(one.ends)}" for one in row.breaks.all()]
    count = len(row.holidays.all())
    parts.append(ngettext("{count} day without work", "{count} days without work", count).format(count=count))
    return "; ".join(parts)

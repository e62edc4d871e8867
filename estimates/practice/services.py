"""What changes how the company works. Each call is one act of a person, one transaction, and adds rows."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.staff.models import CompanyProfile, User
from estimates.takeoff.errors import DomainError
from estimates.takeoff.sequence import Calendar

from .models import FactorValue, Holiday, KeptValue, PracticeValue, RateValue, WorkBreak, WorkingTime
from .selectors import calendar_of, newest, practice_with, working_time

Kept = TypeVar("Kept", PracticeValue, RateValue, FactorValue)


class ChangedMeanwhile(ValidationError):
    """Somebody else has set one of these since the page was opened; nothing is stored."""


def values_set(*, rows: Iterable[PracticeValue], seen: int, by: User) -> int:
    """Store settings; a row without a value puts the default back. Returns how many were stored.

    Args:
        seen: primary key of the newest row when the page was opened.

    Raises:
        ChangedMeanwhile, ValidationError: by key, what was refused; nothing is stored.
    """
    return _store(PracticeValue, rows, seen, by, lambda wanted: practice_with(wanted, {}, {})[1])


def rates_set(*, rows: Iterable[RateValue], seen: int, by: User) -> int:
    """Store production rates, as :func:`values_set` does settings."""
    return _store(RateValue, rows, seen, by, lambda wanted: practice_with({}, wanted, {})[1])


def factors_set(*, rows: Iterable[FactorValue], seen: int, by: User) -> int:
    """Store factors of difficulty, as :func:`values_set` does settings."""
    return _store(FactorValue, rows, seen, by, lambda wanted: practice_with({}, {}, wanted)[1])


@transaction.atomic
def _store(
    model: type[Kept],
    rows: Iterable[Kept],
    seen: int,
    by: User,
    judge: Callable[[dict[str, Kept]], dict[str, DomainError]],
) -> int:
    _one_at_a_time()
    current = newest(model)
    wanted = {row.key: row for row in rows}
    late = {key: _set_by(current[key]) for key in wanted if key in current and current[key].pk > seen}
    if late:
        raise ChangedMeanwhile(late)
    refused = judge(wanted)
    if refused:
        raise ValidationError({key: error.reason.render(_) for key, error in refused.items()})
    now = timezone.now()
    for row in wanted.values():
        row.set_by, row.set_at = by, now
        try:
            row.full_clean()
        except ValidationError as error:
            raise ValidationError({row.key: error.messages}) from error
    model._default_manager.bulk_create(wanted.values())
    return len(wanted)


def _one_at_a_time() -> None:
    # On SQLite the transaction itself lets nobody else write.
    list(CompanyProfile.objects.select_for_update().filter(pk=1))


def _set_by(row: KeptValue | WorkingTime) -> str:
    return _(
        "%(who)s changed this at %(time)s, after you opened the page. Save again to put yours over it."
    ) % {
        "who": row.set_by.get_full_name() or row.set_by,
        "time": formats.time_format(timezone.localtime(row.set_at), "TIME_FORMAT"),
    }


@dataclass(frozen=True)
class Hours:
    """The hours of a working day; *weekdays* with Monday = 0."""

    start_of_day: datetime.time
    end_of_day: datetime.time
    breaks: tuple[tuple[datetime.time, datetime.time], ...]
    weekdays: frozenset[int]


@transaction.atomic
def calendar_set(
    *, hours: Hours | None, holidays: Mapping[datetime.date, str], seen: int, by: User
) -> WorkingTime:
    """Store the calendar; without *hours* the default hours hold. *holidays*: what each is called.

    Raises:
        ChangedMeanwhile: somebody else has set it since (*seen*: as in :func:`values_set`).
        DomainError: no working day, or hours that cannot be (``calendar.*``).
        ValidationError: a value is refused.
    """
    _one_at_a_time()
    current = working_time()
    if current and current.pk > seen:
        raise ChangedMeanwhile(_set_by(current))
    if current and (hours, dict(holidays)) == _as_set(current):
        return current
    row = WorkingTime(set_by=by, set_at=timezone.now())
    if hours:
        # The takeoff judges the hours as a whole; the database only keeps the worst out.
        Calendar(hours.start_of_day, hours.end_of_day, hours.breaks, hours.weekdays)
        row.start_of_day, row.end_of_day = hours.start_of_day, hours.end_of_day
        row.weekdays = sum(1 << day for day in hours.weekdays)
    row.save()
    WorkBreak.objects.bulk_create(
        WorkBreak(working_time=row, starts=starts, ends=ends)
        for starts, ends in (hours.breaks if hours else ())
    )
    Holiday.objects.bulk_create(
        Holiday(working_time=row, day=day, name=name) for day, name in sorted(holidays.items())
    )
    return row


def _as_set(row: WorkingTime) -> tuple[Hours | None, dict[datetime.date, str]]:
    holidays = {one.day: one.name for one in row.holidays.all()}
    if row.start_of_day is None or row.end_of_day is None:
        return None, holidays
    now = calendar_of(row)
    return Hours(now.start_of_day, now.end_of_day, now.breaks, now.weekdays), holidays

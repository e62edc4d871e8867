"""What a job's warranty says about a callback: its terms, its days, and what follows from a cause."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from jobs.warranty.selectors import standing_record
from jobs.warranty.snapshot import completed_at
from jobs.warranty.terms import terms_on
from jobs.work.models import Job

from ..models import Callback, Cause


@dataclass(frozen=True)
class Cover:
    """The warranty of a complete job.

    Attributes:
        record: the number of the record it stands in; "" when none was issued and the company's terms of the
            day of completion hold.
        terms: its sentences.
    """

    record: str
    starts_on: datetime.date
    ends_on: datetime.date
    terms: list[str]

    def is_within(self, day: datetime.date) -> bool:
        """Return whether *day* is not after the warranty."""
        return day <= self.ends_on

    def suggests(self, callback: Callback) -> bool | None:
        """Return what the terms say of a cause on the day it was reported; None: somebody has to read them.

        Workmanship within the days is covered; after them nothing is. Movement of the building and use are
        what the terms leave out; a material carries its maker's own warranty.
        """
        if not callback.cause:
            return None
        if not self.is_within(callback.reported_on):
            return False
        if callback.cause == Cause.WORKMANSHIP:
            return True
        return None if callback.cause == Cause.OTHER else False

    def words(self, callback: Callback) -> str:
        """Say what :meth:`suggests` and why."""
        if not self.is_within(callback.reported_on):
            return _("Reported after the warranty has ended.")
        return {
            Cause.WORKMANSHIP: _("Workmanship within the warranty's days: covered."),
            Cause.MATERIAL: _("A material carries its maker's own warranty; claim it there."),
            Cause.MOVEMENT: _("Movement or failure of the building is left out by the terms."),
            Cause.USE: _("Use and maintenance are left out by the terms."),
        }.get(Cause(callback.cause or Cause.OTHER), _("Read the terms and decide."))


def cover_of(job: Job) -> Cover:
    """Return the warranty of *job*: that of its record, or the company's terms of the day of completion."""
    record = standing_record(job)
    if record is not None:
        told = record.snapshot["warranty"]
        return Cover(
            record.number,
            datetime.date.fromisoformat(told["starts_on"]),
            datetime.date.fromisoformat(told["ends_on"]),
            list(told["terms"]),
        )
    moment = completed_at(job, otherwise=job.created_at)
    day = moment.astimezone(ZoneInfo(job.site.time_zone)).date()
    told = terms_on(day).frozen(day)
    return Cover("", day, datetime.date.fromisoformat(told["ends_on"]), list(told["terms"]))

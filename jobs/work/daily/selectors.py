"""What the pages of the daily log read."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils import timezone

from contracting.staff.models import User
from estimates.quotes.pricing_model import CALLBACK_STEP

from .. import pictures
from ..models import CostEntry, DayNote, DeliveryEntry, HoursEntry, Job, LogEntry, ProgressEntry, Stage
from .listeners import purchase_list


@dataclass
class Day:
    """Everything that counts of one day, by kind."""

    day: datetime.date
    hours: list[HoursEntry] = field(default_factory=list)
    deliveries: list[DeliveryEntry] = field(default_factory=list)
    costs: list[CostEntry] = field(default_factory=list)
    progress: list[ProgressEntry] = field(default_factory=list)
    notes: list[DayNote] = field(default_factory=list)
    photos: Sequence[Any] = ()

    @property
    def minutes(self) -> int:
        return sum(entry.minutes for entry in self.hours)


@dataclass(frozen=True)
class Received:
    """A line of the purchase list and what has come of it, in millionths of a pack."""

    key: str
    name: str
    pack_label: str
    planned: int
    received: int

    @property
    def missing(self) -> int:
        return max(0, self.planned - self.received)


def today_at(job: Job) -> datetime.date:
    """Return today's date where the job is."""
    return timezone.localdate(timezone=ZoneInfo(job.site.time_zone))


# The activity a stage is mostly about: what a form offers first.
_STEP_OF_STAGE = {
    Stage.SUBSTRATE: "preparation",
    Stage.MEMBRANE: "waterproofing",
    Stage.TILE: "tile",
    Stage.PUNCH: "clean_up",
}


def usual_step(job: Job, user: User) -> str:
    """Return the activity that *user* last logged on *job*, or the one its stage is mostly about."""
    own = HoursEntry.objects.filter(job=job, person=user, minutes__gt=0).exclude(step=CALLBACK_STEP)
    last = own.order_by("-day", "-pk").first()
    return last.step if last else _STEP_OF_STAGE.get(Stage(job.stage), "protection")


def crew_of(job: Job) -> QuerySet[User]:
    """Return who is on the crew, by name."""
    return User.objects.filter(crew_places__job=job).order_by("first_name", "username")


def days_of(job: Job, user: User) -> list[Day]:
    """Return the log, the newest day first: what counts, each entry with who wrote it, and its photos.
    Seven queries."""
    days: dict[datetime.date, Day] = {}

    def put(name: str, entries: QuerySet[Any]) -> None:
        for entry in entries.filter(superseded_by=None).select_related("by").order_by("pk"):
            # One and the same row, so that its site is not read again.
            entry.job = job
            getattr(days.setdefault(entry.day, Day(entry.day)), name).append(entry)

    put("hours", HoursEntry.objects.filter(job=job, minutes__gt=0).select_related("person"))
    put("deliveries", DeliveryEntry.objects.filter(job=job).exclude(packs_millionths=0))
    if user.sees_money:
        put("costs", CostEntry.objects.filter(job=job, amount_cents__gt=0))
    put("progress", ProgressEntry.objects.filter(job=job))
    put("notes", DayNote.objects.filter(job=job).exclude(text="", cause="", low_tenths=None))
    for day, photos in pictures.by_day(job).items():
        days.setdefault(day, Day(day)).photos = photos
    return sorted(days.values(), key=lambda day: day.day, reverse=True)


def received_of(job: Job, days: list[Day]) -> list[Received]:
    """Return the purchase list with what *days* have received of it."""
    came: dict[str, int] = {}
    for day in days:
        for entry in day.deliveries:
            came[entry.material_key] = came.get(entry.material_key, 0) + entry.packs_millionths
    return [
        Received(one.key, one.name, one.pack_label, one.packs_millionths, came.get(one.key, 0))
        for one in purchase_list(job)
    ]


def earlier(entry: LogEntry) -> list[LogEntry]:
    """Return what *entry* has superseded, the newest first."""
    found: list[LogEntry] = []
    before = entry.supersedes
    while before is not None:
        found.append(before)
        before = before.supersedes
    return found

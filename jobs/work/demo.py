"""The demonstration's orders, stock and notes of the day. Made up."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping

from django.db import transaction

from contracting.staff.models import User
from estimates.practice.selectors import calendar_of, working_time
from estimates.takeoff.sequence.workdays import Calendar

from .daily import services as daily
from .daily.quantities import foreseen_of
from .daily.selectors import today_at
from .models import DelayCause, Job, NoteKind, Stage, SupplyEntry
from .supply import selectors, services


def last_working_day(day: datetime.date) -> datetime.date:
    """Return *day*, or the last day before it on which the company works."""
    row = working_time()
    calendar = calendar_of(row) if row else Calendar()
    while not calendar.works_on(day):
        day -= datetime.timedelta(days=1)
    return day


def working_day(count: int, today: datetime.date) -> datetime.date:
    """Return the day that is *count* working days from *today* (0: today, or the last one before it)."""
    row = working_time()
    calendar = calendar_of(row) if row else Calendar()
    day = last_working_day(today)
    step = datetime.timedelta(days=1 if count > 0 else -1)
    while count:
        day += step
        count -= (1 if count > 0 else -1) if calendar.works_on(day) else 0
    return day


@transaction.atomic
def load_purchases(people: Mapping[str, User]) -> bool:
    """Order what a scheduled job needs of one supplier; return False where something is ordered already."""
    job = Job.objects.filter(stage=Stage.SCHEDULED).select_related("quote", "site").order_by("pk").first()
    if job is None or SupplyEntry.objects.exists():
        return False
    suppliers = selectors.by_supplier(selectors.lines_of(job))
    if not suppliers:
        return False
    stocked = next((line for line in suppliers[-1].lines if line.to_buy > selectors.MILLION), None)
    if stocked is not None:
        services.stock_set(
            key=uuid.uuid4(),
            job=job,
            by=people["sam"],
            material_key=stocked.planned.key,
            packs_millionths=selectors.MILLION,
            note="Unopened, left from the last job; second shelf",
        )
    services.order_rest(
        key=uuid.uuid4(),
        job=job,
        by=people["office"],
        supplier=suppliers[0].name,
        reference="PO 1012",
        expected_on=working_day(2, today_at(job)),
    )
    return True


@transaction.atomic
def load_notes(people: Mapping[str, User]) -> bool:
    """Write yesterday's weather, a delay and what was done into the log of a job at its tile."""
    job = Job.objects.filter(stage=Stage.TILE).select_related("quote", "site").order_by("pk").first()
    if job is None or job.daynote_set.exists():
        return False
    sam = people["sam"]

    def act() -> daily.Act:
        return daily.Act(uuid.uuid4(), job, working_day(-1, today_at(job)), sam)

    daily.note_log(act=act(), kind=NoteKind.WEATHER, low_tenths=72, high_tenths=161, text="Dry, windows shut")
    daily.note_log(
        act=act(),
        kind=NoteKind.DELAY,
        cause=DelayCause.OTHER_TRADE,
        minutes=45,
        text="The plumber had the floor until nine",
    )
    foreseen = foreseen_of(job).get("tile")
    if foreseen is not None:
        daily.progress_log(act=act(), step="tile", quantity_thousandths=foreseen.thousandths // 4)
    return True

"""The demonstration's orders, stock and notes of the day. Made up."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping

from django.db import transaction

from contracting.staff.models import User

from .daily import services as daily
from .daily.quantities import foreseen_of
from .daily.selectors import today_at
from .models import DelayCause, Job, NoteKind, Stage, SupplyEntry
from .supply import selectors, services


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
        expected_on=today_at(job) + datetime.timedelta(days=3),
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
        return daily.Act(uuid.uuid4(), job, today_at(job) - datetime.timedelta(days=1), sam)

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

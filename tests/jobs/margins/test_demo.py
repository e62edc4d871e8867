"""The demonstration's jobs tell one story: ticks, checks, photos and log, whichever day it is started on."""

import datetime

import pytest
import time_machine
from django.utils import timezone

from contracting.staff.demo import load_company
from estimates.pricelists.demo import load_price_list
from jobs.billing.models import Invoice, Payment
from jobs.crew import selectors
from jobs.crew.models import Mark, PhoneAct
from jobs.inspections.models import CheckRecord, FloodStart
from jobs.inspections.selectors import checks_of
from jobs.margins.demo import load_work
from jobs.photos.models import Photo
from jobs.punchlist.models import CallbackEvent, PunchItem
from jobs.warranty.models import WarrantyRecord
from jobs.work.models import DayNote, DeliveryEntry, HoursEntry, Job, StageChange, SupplyEntry

pytestmark = pytest.mark.django_db


def load(moment):
    with time_machine.travel(moment, tick=False):
        people = load_company()
        load_price_list()
        load_work(people)


def _ticked(job):
    """Return (ticked, all) of the job's steps, its pieces and its batches."""
    marks = selectors.marks_of(job)
    work = selectors.work_of(job)
    tasks = [task for day in selectors.steps_of(job, marks) for task in day["tasks"] if not task["by_record"]]
    rolls = selectors.rolls_of(work, marks)
    batches = selectors.batches_of(job, work, marks)
    return (
        (sum(task["mark"] is not None for task in tasks), len(tasks)),
        (sum(roll["done"] for roll in rolls), sum(len(roll["pieces"]) for roll in rolls)),
        (sum(batch["mark"] is not None for batch in batches), len(batches)),
    )


# A Sunday, and the Monday before a holiday, while nobody works yet.
@pytest.mark.parametrize("moment", ["2026-11-29T18:00", "2026-11-23T12:30"])
def test_what_is_ticked_goes_as_far_as_what_is_checked_and_nobody_works_at_weekends(moment):
    load(datetime.datetime.fromisoformat(moment).replace(tzinfo=datetime.UTC))
    now = datetime.datetime.fromisoformat(moment).replace(tzinfo=datetime.UTC)
    jobs = {job.stage: job for job in Job.objects.select_related("quote", "site")}

    for name in ("accepted", "scheduled"):
        assert {done for done, _all in _ticked(jobs[name])} == {0}
    for done, count in _ticked(jobs["complete"]):
        assert done == count > 0
    steps, cuts, batches = _ticked(jobs["punch"])
    assert cuts[0] == cuts[1]
    assert batches[0] == batches[1]
    assert steps[0] >= steps[1] - 1
    steps, cuts, batches = _ticked(jobs["tile"])
    assert cuts[0] == cuts[1] > 0
    assert 0 < steps[0] < steps[1]
    steps, cuts, _batches = _ticked(jobs["membrane"])
    assert 0 < steps[0] < steps[1]
    # A tick that a check or a cure stands before was made after it.
    for stage in ("tile", "punch", "complete"):
        laid = CheckRecord.objects.filter(planned__plan__job=jobs[stage], planned__key="seams").get()
        tile = Mark.objects.filter(job=jobs[stage], subject="step", ref__startswith="tile.set_")
        assert all(mark.at >= laid.observed_at for mark in tile)
    assert not checks_of(jobs["complete"]).next

    days = {row.day for kind in (HoursEntry, DeliveryEntry, DayNote) for row in kind.objects.all()}
    days |= {item.due_on for item in PunchItem.objects.all()}
    days |= {row.expected_on for row in SupplyEntry.objects.all() if row.expected_on}
    moments = [row.observed_at for row in CheckRecord.objects.all()]
    moments += [row.laid_at for row in CheckRecord.objects.exclude(laid_at=None)]
    moments += [row.started_at for row in FloodStart.objects.all()]
    moments += [row.taken_at for row in Photo.objects.all()]
    moments += [row.at for kind in (PhoneAct, Mark) for row in kind.objects.all()]
    assert max(moments) <= now
    days |= {timezone.localtime(one).date() for one in moments}
    days |= {row.issued_on for row in Invoice.objects.all()} | {
        row.received_on for row in Payment.objects.all()
    }
    assert {day.weekday() for day in days} <= set(range(5))
    assert CallbackEvent.objects.exists()

    # The finished job's stages follow one another, and its warranty begins when it was finished.
    job = jobs["complete"]
    changes = list(StageChange.objects.filter(job=job).order_by("pk"))
    last_worked = HoursEntry.objects.filter(job=job).exclude(step="callback").latest("day").day
    assert [row.at for row in changes] == sorted(row.at for row in changes)
    record = WarrantyRecord.objects.get(job=job)
    assert record.issued_at == changes[-1].at
    assert timezone.localtime(record.issued_at).date() == last_worked
    assert now.date() - last_worked > datetime.timedelta(days=20)
    lots = list(DeliveryEntry.objects.filter(job=job).values_list("lot_numbers", flat=True))
    assert len(set(lots)) == len(lots) > 3

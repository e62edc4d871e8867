"""The demonstration's work, from an empty estimate to a complete job. All of it is made up.

Everything goes through the services that the screens use, with dates counted from today, so the
demonstration is never older than the day it was started.
"""

from __future__ import annotations

import datetime
import json
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contracting.customers.models import Contact, Customer, Site
from contracting.customers.services import record_save
from contracting.staff.models import User
from estimates.pricelists.models import Price
from estimates.quotes.estimate_services import estimate_create, estimate_save
from estimates.quotes.models import Estimate, Quote
from estimates.quotes.services import quote_accept_on_paper, quote_decline, quote_issue, quotes_expire
from estimates.rooms.demo import room_from
from estimates.rooms.services import room_save
from estimates.takeoff.units import System
from jobs.billing.demo import load_changes_and_invoices
from jobs.inspections import services as inspections
from jobs.inspections.models import Hold, Kind, PlannedCheck, Quantity
from jobs.photos.demo import photo_of_check
from jobs.punchlist.demo import load_callbacks, load_punch_lists
from jobs.schedule.demo import load_calendar
from jobs.warranty.services import record_issue
from jobs.work.daily import services as daily
from jobs.work.demo import load_notes, load_purchases
from jobs.work.models import Job, Stage
from jobs.work.services import job_from_quote, job_move, job_plan

WORK = Path(settings.BASE_DIR) / "fixtures" / "demo" / "work.json"
LADDER = (Stage.SCHEDULED, Stage.SUBSTRATE, Stage.MEMBRANE, Stage.TILE, Stage.PUNCH, Stage.COMPLETE)
# What must have been looked at before a job goes on to a stage.
CHECKED_BEFORE = {
    Stage.MEMBRANE: (Hold.SUBSTRATE,),
    Stage.TILE: (Hold.MEMBRANE, Hold.FLOOD_TEST),
    Stage.PUNCH: (Hold.COVERAGE, Hold.JOINTS),
    Stage.COMPLETE: (Hold.FINAL,),
}
# Of which checks there is a photo, and what it says.
PHOTOGRAPHED = {Kind.LAID: "Last sheet embedded", Kind.FLOOD: "Level at the mark"}
# How many days before the checks, and at which hour, the last sheet lay, the water was filled in and read:
# by day, and a day and more apart, whatever the hour at which the demonstration is started.
LAID, FILLED, READ = (3, 11), (2, 14), (1, 16)


@dataclass(frozen=True)
class Cast:
    """Who acts, and when the demonstration is started."""

    office: User
    crew: tuple[User, ...]
    now: datetime.datetime

    def at(self, days: int, hour: int = 9) -> datetime.datetime:
        """Return a moment *days* from today."""
        day = self.now + datetime.timedelta(days=days)
        return day.replace(hour=hour, minute=0, second=0, microsecond=0)


@transaction.atomic
def load_work(people: Mapping[str, User]) -> bool:
    """Store the demonstration's customers and work; return False where there are customers already."""
    if Customer.objects.exists():
        return False
    told = json.loads(WORK.read_text(encoding="utf-8"))
    crew = tuple(person for name, person in people.items() if name in {"sam", "luis"})
    cast = Cast(people["office"], crew, timezone.localtime())
    for row in told["customers"]:
        own = ("name", "email", "phone", "billing_address")
        customer = record_save(record=Customer(**{name: row[name] for name in own}))
        for one in row.get("contacts", ()):
            record_save(record=Contact(customer=customer, **one))
        for place in row["sites"]:
            _load_site(customer, place, told["rooms"], cast)
    quotes_expire(on=timezone.localdate())
    load_punch_lists(people)
    load_changes_and_invoices(people)
    load_callbacks(people)
    load_purchases(people)
    load_notes(people)
    load_calendar(people)
    return True


def _load_site(customer: Customer, place: Mapping[str, Any], rooms: Mapping[str, Any], cast: Cast) -> None:
    site = record_save(
        record=Site(customer=customer, **{name: value for name, value in place.items() if name != "work"})
    )
    for work in place["work"]:
        _load_work(site, work, rooms, cast)


def _load_work(site: Site, work: Mapping[str, Any], rooms: Mapping[str, Any], cast: Cast) -> None:
    made = [
        room_save(room=None, site=site, data=room_from(rooms[name], System(site.units)), by=cast.office)
        for name in work["rooms"]
    ]
    issued = cast.at(work["issued"])
    estimate = estimate_create(site=site, title=work["title"], rooms=made, by=cast.office, on=issued.date())
    values: dict[str, Any] = {"detail": work.get("detail", "room")}
    if "started" in work:
        values["start_on"] = cast.at(work["started"]).date()
    estimate_save(estimate=estimate, revision=estimate.revision, values=values, by=cast.office, at=issued)
    if work["until"] != "draft":
        _load_quote(Estimate.objects.get(pk=estimate.pk), work, issued, cast)


def _load_quote(estimate: Estimate, work: Mapping[str, Any], issued: datetime.datetime, cast: Cast) -> None:
    quote = quote_issue(estimate=estimate, by=cast.office, at=issued)
    answered = (issued + datetime.timedelta(days=3)).date()
    name = estimate.site.customer.name
    if work["until"] == "declined":
        quote_decline(quote=quote, declined_on=answered, note="Postponed to next year.", by=cast.office)
    elif work["until"] in Stage.values:
        quote_accept_on_paper(quote=quote, name=name, signed_on=answered, by=cast.office)
        _load_job(Quote.objects.get(pk=quote.pk), work, cast)


def _load_job(quote: Quote, work: Mapping[str, Any], cast: Cast) -> None:
    job = job_from_quote(quote=quote, by=cast.office)
    if "started" not in work:
        return
    start = cast.at(work["started"])
    job_plan(
        job=job,
        starts_on=start.date(),
        crew=cast.crew,
        crew_notes="Dust sheets to the front door, please.",
        by=cast.office,
    )
    last = LADDER.index(Stage(work["until"]))
    # The checks and the log of a job under way are spread over the days since its start.
    step = (cast.now - datetime.timedelta(hours=2) - start) / max(last, 1)
    for place, stage in enumerate(LADDER[1 : last + 1], 1):
        # In the afternoon, as work is looked at, and never later than now.
        moment = min((start + step * place).replace(hour=15), cast.now - datetime.timedelta(minutes=30))
        for hold in CHECKED_BEFORE.get(stage, ()):
            _pass_checks(job, hold, moment, cast)
        job_move(job=job, stage=stage, by=cast.office)
    if last > 0:
        _log(job, start, LADDER[last], work, cast)
    if job.stage == Stage.COMPLETE:
        record_issue(job=job, by=cast.office, at=timezone.now())


def _pass_checks(job: Job, hold: Hold, moment: datetime.datetime, cast: Cast) -> None:
    by = cast.crew[0]
    for planned in PlannedCheck.objects.filter(plan__job=job, hold=hold).order_by("position"):
        if planned.kind in PHOTOGRAPHED:
            photo_of_check(
                job=job,
                check=planned.pk,
                key=planned.key,
                caption=PHOTOGRAPHED[Kind(planned.kind)],
                by=by,
                at=_before(moment, *(FILLED if planned.kind == Kind.FLOOD else LAID)),
            )
        if planned.kind == Kind.FLOOD:
            _flood(planned, moment, cast)
            continue
        found: dict[str, Any] = {"note": "As it should be." if planned.needs_note else ""}
        if planned.kind == Kind.READING:
            found |= {"reading": _within(planned), "instrument": planned.instrument or "straightedge"}
        elif planned.kind == Kind.ANSWER:
            found["answer"] = True
        elif planned.kind == Kind.LAID:
            found |= {"laid_at": _before(moment, *LAID), "is_cold": False}
        inspections.check_record(planned=planned, by=by, key=uuid.uuid4(), **found)


def _before(moment: datetime.datetime, days: int, hour: int) -> datetime.datetime:
    return (moment - datetime.timedelta(days=days)).replace(hour=hour, minute=0, second=0, microsecond=0)


def _within(planned: PlannedCheck) -> int:
    """Return a reading that passes, in the check's whole units."""
    if planned.least is not None and planned.most is not None:
        return (planned.least + planned.most) // 2
    if planned.least is not None:
        # An eighth of an inch, or a per cent, more than asked.
        return planned.least + (31_750 if planned.quantity == Quantity.LENGTH else 100)
    assert planned.most is not None
    return planned.most // 2


def _flood(planned: PlannedCheck, moment: datetime.datetime, cast: Cast) -> None:
    level = _within(planned)
    start = inspections.flood_test_start(
        planned=planned,
        by=cast.crew[0],
        key=uuid.uuid4(),
        level=level,
        level_typed="",
        instrument="steel rule",
        started_at=_before(moment, *FILLED),
    )
    inspections.flood_test_end(
        start=start,
        by=cast.crew[0],
        key=uuid.uuid4(),
        level=level,
        level_typed="",
        leak_seen=False,
        instrument="steel rule",
        ended_at=_before(moment, *READ),
    )


def _log(job: Job, start: datetime.datetime, stage: Stage, told: Mapping[str, Any], cast: Cast) -> None:
    """Log deliveries and hours of the stages that are done, off the plan by *pace*, as work is."""
    zone = ZoneInfo(job.site.time_zone)
    day = start.astimezone(zone).date()
    work = job.quote.snapshot["work"]
    for one in work["materials"]:
        if not one["customer_supplied"] and one["packs"] != "0":
            daily.delivery_log(
                act=daily.Act(uuid.uuid4(), job, day, cast.office),
                material_key=one["key"],
                packs_millionths=int(one["packs"]) * 1_000_000,
                lot_numbers=f"INV-{job.number}",
                cost_cents=_invoiced(one, day) if told.get("invoiced") else None,
            )
    for number, (activity, minutes) in enumerate(
        _done_minutes(work["takeoff"], stage, told.get("pace", 100))
    ):
        person = cast.crew[number % len(cast.crew)]
        when = min(_working_day(day, number // 6), cast.now.astimezone(zone).date())
        daily.hours_log(
            act=daily.Act(uuid.uuid4(), job, when, cast.office),
            person=person,
            step=activity,
            minutes=minutes,
        )


def _working_day(day: datetime.date, later: int) -> datetime.date:
    """Return *day*, or the Monday after it, and as many working days *later*."""
    while day.weekday() > 4 or later > 0:
        later -= day.weekday() <= 4
        day += datetime.timedelta(days=1)
    return day


def _invoiced(material: Mapping[str, Any], day: datetime.date) -> int:
    """Return what the packs cost on the invoice: a little over the list price of the day."""
    price = Price.objects.filter(material=material["material_id"], starts_on__lte=day).latest("starts_on")
    return int(material["packs"]) * price.cents * 103 // 100


def _done_minutes(takeoff: Mapping[str, Any], stage: Stage, pace: int) -> Iterator[tuple[str, int]]:
    """Yield (trade step, minutes) of what is done when a job has reached *stage*.

    *pace*: the time it took, in per cent of the time foreseen.
    """
    share = {Stage.SUBSTRATE: 0.2, Stage.MEMBRANE: 0.35, Stage.TILE: 0.6}.get(stage, 1.0)
    rows = takeoff["hours"]
    for number, row in enumerate(rows[: round(len(rows) * share)]):
        minutes = round(float(row["hours"]["value"]) * 60 * (pace - 10 + 5 * (number % 5)) / 100)
        if minutes > 0:
            yield row["step"], minutes

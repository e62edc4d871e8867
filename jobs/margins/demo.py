"""The demonstration's work, from an empty estimate to a complete job. All of it is made up.

Everything goes through the services that the screens use, with dates counted from today, so the
demonstration is never older than the day it was started.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from contracting.customers.models import Contact, Customer, Site
from contracting.customers.services import record_save
from contracting.staff.models import User
from estimates.quotes.estimate_services import estimate_create, estimate_save
from estimates.quotes.models import Estimate, Quote
from estimates.quotes.services import quote_accept_on_paper, quote_decline, quote_issue, quotes_expire
from estimates.rooms.demo import room_from
from estimates.rooms.services import room_save
from estimates.takeoff.units import System
from jobs.billing.demo import load_changes_and_invoices
from jobs.crew.demo import work_as_planned
from jobs.punchlist.demo import load_callbacks, load_punch_lists
from jobs.schedule.demo import load_calendar
from jobs.warranty.services import record_issue
from jobs.work.demo import last_working_day, load_notes, load_purchases, working_day
from jobs.work.models import Stage
from jobs.work.services import job_from_quote, job_plan

WORK = Path(settings.BASE_DIR) / "fixtures" / "demo" / "work.json"


@dataclass(frozen=True)
class Cast:
    """Who acts, and when the demonstration is started."""

    office: User
    crew: tuple[User, ...]
    now: datetime.datetime

    def at(self, days: int, hour: int = 9) -> datetime.datetime:
        """Return a moment *days* from today, on the last working day until then."""
        day = last_working_day(self.now.date() + datetime.timedelta(days=days))
        return datetime.datetime.combine(day, datetime.time(hour), self.now.tzinfo)

    def day(self, working_days: int) -> datetime.date:
        """Return the day that is so many working days from today."""
        return working_day(working_days, self.now.date())


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
    quotes_expire(at=timezone.now())
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
        values["start_on"] = cast.day(work["started"])
    estimate_save(estimate=estimate, revision=estimate.revision, values=values, by=cast.office, at=issued)
    if work["until"] != "draft":
        _load_quote(Estimate.objects.get(pk=estimate.pk), work, issued, cast)


def _load_quote(estimate: Estimate, work: Mapping[str, Any], issued: datetime.datetime, cast: Cast) -> None:
    quote = quote_issue(estimate=estimate, by=cast.office, at=issued)
    answered = last_working_day((issued + datetime.timedelta(days=3)).date())
    name = estimate.site.customer.name
    if work["until"] == "declined":
        quote_decline(quote=quote, declined_on=answered, note="Postponed to next year.", by=cast.office)
    elif work["until"] in Stage.values:
        quote_accept_on_paper(quote=quote, name=name, signed_on=answered, by=cast.office)
        _load_job(Quote.objects.get(pk=quote.pk), work, cast)


def _load_job(quote: Quote, work: Mapping[str, Any], cast: Cast) -> None:
    day = quote.answered_on or cast.now.date()
    signed = datetime.datetime.combine(day, datetime.time(10), cast.now.tzinfo)
    job = job_from_quote(quote=quote, by=cast.office, at=signed)
    if "started" not in work:
        return
    job_plan(
        job=job,
        starts_on=cast.day(work["started"]),
        crew=cast.crew,
        crew_notes="Dust sheets to the front door, please.",
        by=cast.office,
        at=signed + datetime.timedelta(hours=1),
    )
    stage = Stage(work["until"])
    if stage != Stage.SCHEDULED:
        work_as_planned(job=job, stage=stage, told=work, office=cast.office, crew=cast.crew)
    if stage == Stage.COMPLETE:
        record_issue(job=job, by=cast.office, at=job.stage_changes.latest("at").at)

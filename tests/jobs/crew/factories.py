"""A shower to build, and something that a phone left for the office to look at."""

import datetime
import json
import uuid

from django.utils import timezone

from contracting.staff.demo import load_company
from contracting.staff.models import User
from estimates.pricelists.demo import load_price_list
from estimates.quotes.estimate_services import estimate_create
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_accept_on_paper, quote_issue
from estimates.rooms.demo import room_from
from estimates.rooms.services import room_save
from estimates.takeoff.units import System
from jobs.crew.models import LookAt, PhoneAct
from jobs.margins.demo import WORK
from jobs.work.models import Job
from jobs.work.services import job_from_quote, job_plan
from tests.contracting.factories import SiteFactory, UserFactory
from tests.jobs.margins.factories import job as budgeted_job

# For pages whose clock is moved.
NO_BACKGROUND_SYNC = "Object.defineProperty(ServiceWorkerRegistration.prototype, 'sync', {value: undefined})"


def left_to_look_at() -> LookAt:
    """A refused entry of an installer's phone."""
    now = timezone.now()
    act = PhoneAct.objects.create(
        key=uuid.uuid4(),
        person=UserFactory.create(role="installer"),
        job=budgeted_job(),
        kind="hours",
        fields={"minutes": "nine hours"},
        made_at=now,
        at=now,
        recorded_at=now,
        outcome="refused",
        messages=["Read “nine hours”: expected a time such as 7:30."],
    )
    return LookAt.objects.create(act=act, job=act.job, why="refused", made_at=now)


def shower_job(*, crew: tuple[User, ...], by: User, starts_on: datetime.date | None = None) -> Job:
    """The job of a really issued and signed quote of the demonstration's bath with a walled shower."""
    load_company()
    load_price_list()
    rooms = json.loads(WORK.read_text(encoding="utf-8"))["rooms"]
    site = SiteFactory.create(
        street="3 Ferry Lane",
        city="Exampleton",
        time_zone="America/Chicago",
        access_notes="Key under the mat.",
    )
    today = timezone.localdate()
    room = room_save(room=None, site=site, data=room_from(rooms["primary bath"], System.INCH), by=by)
    estimate = estimate_create(site=site, title="Bath with shower", rooms=[room], by=by, on=today)
    quote = quote_issue(estimate=estimate, by=by, at=timezone.now())
    quote_accept_on_paper(quote=quote, name="Ada Lowell", signed_on=today, by=by, at=timezone.now())
    job = job_from_quote(quote=Quote.objects.get(pk=quote.pk), by=by)
    return job_plan(job=job, starts_on=starts_on or today, crew=crew, crew_notes="", by=by)

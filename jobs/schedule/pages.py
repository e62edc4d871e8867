"""What the pages of the calendar are given beside the board: the span of weeks, and one job's visits."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from contracting.staff.models import User
from jobs.work.models import Job

from . import selectors
from .clashes import Clash
from .forms import AddForm, MakeForm
from .models import DayOff, Plan, PlanChange, Visit, Wait
from .network import Network, Step, network_of
from .services import NOT_BEGUN, OVER

WEEKS = {"": 2, "month": 5}
# What is shown between visits; a shorter wait is over before anybody asks.
SHOWN_FROM = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Span:
    """The weeks that a page shows, from a Monday."""

    key: str
    first: datetime.date
    count: int
    this_week: datetime.date

    @classmethod
    def of(cls, key: str, day: datetime.date | None, today: datetime.date) -> Span:
        """Return the span *key* ("" two weeks, "month" five) from the week of *day* (None: today's)."""
        key = key if key in WEEKS else ""
        monday = _monday(day or today)
        # Far enough for any plan, and no date that the arithmetic of days cannot hold.
        monday = min(max(monday, datetime.date(2000, 1, 3)), datetime.date(2199, 12, 30))
        return cls(key, monday, 7 * WEEKS[key], _monday(today))

    @property
    def last(self) -> datetime.date:
        return self.first + datetime.timedelta(days=self.count - 1)

    @property
    def earlier(self) -> datetime.date:
        return self.first - datetime.timedelta(days=7 * (WEEKS[self.key] - 1))

    @property
    def later(self) -> datetime.date:
        return self.first + datetime.timedelta(days=7 * (WEEKS[self.key] - 1))


def _monday(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(days=day.weekday())


@dataclass
class Stay:
    """A visit on its job's page, with its tasks, and the waits that begin after it."""

    visit: Visit
    steps: list[Step]
    clashes: list[Clash]
    waits: list[Wait] = field(default_factory=list)


@dataclass
class JobPage:
    """One job's visits in order."""

    job: Job
    plan: Plan | None
    stays: list[Stay]
    changes: list[PlanChange]
    make_form: MakeForm | None
    add_form: AddForm | None
    undo: PlanChange | None = None


def job_page(
    user: User, job: Job, *, make_form: MakeForm | None = None, add_form: AddForm | None = None
) -> JobPage:
    """Return a job's page; the forms are the office's."""
    plan = Plan.objects.filter(job=job).first()
    stays, changes = [], []
    undo = None
    if plan is not None:
        plan.job = job
        stays = _stays(plan, user)
        if user.sees_money:
            changes = list(selectors.changes_of(plan))
            newest = plan.changes.order_by("-pk").first()
            undo = newest if newest and newest.before and newest.revision == plan.revision else None
    may_plan = user.sees_money and job.stage not in OVER
    if may_plan:
        make_form = make_form or MakeForm(initial=_make_defaults(job, plan))
        if plan is not None:
            add_form = add_form or AddForm(initial=_add_defaults(job, plan))
    return JobPage(job, plan, stays, changes, make_form if may_plan else None, add_form, undo)


def _make_defaults(job: Job, plan: Plan | None) -> dict[str, Any]:
    today = timezone.localdate()
    start = job.starts_on if job.stage in NOT_BEGUN else today
    return {"start": start, "seen": plan.revision if plan else 0}


def _add_defaults(job: Job, plan: Plan) -> dict[str, Any]:
    people = [member.person_id for member in job.crew_members.all()]
    return {"seen": plan.revision, "people": people, "clock": datetime.time(8), "minutes": 60}


def _stays(plan: Plan, user: User) -> list[Stay]:
    found = list(selectors.visits().defer(None).filter(plan=plan))
    for visit in found:
        visit.plan = plan
    waits = list(selectors.waits_of(plan))
    named = {visit.pk: visit for visit in found}
    for wait in waits:
        wait.visit = named[wait.visit_id]
    people = {row.person_id for visit in found for row in visit.people.all()}
    others = selectors.neighbours(found, people) if user.sees_money else []
    time = selectors.WorkTime.read()
    off = DayOff.objects.filter(person__in=people) if user.sees_money else []
    told: dict[int | None, list[Clash]] = {}
    for clash in selectors.clashes_among([*found, *others], waits, off, time):
        told.setdefault(clash.visit, []).append(clash)
    network = network_of(plan.network)
    stays = [Stay(visit, _steps(visit, network), told.get(visit.pk, [])) for visit in found]
    _hang(stays, waits)
    return stays


def _steps(visit: Visit, network: Network) -> list[Step]:
    return [network[part["task"]] for part in visit.parts if part["task"] in network]


def _hang(stays: list[Stay], waits: list[Wait]) -> None:
    """Hang each wait on the visit after which it runs."""
    for wait in waits:
        if wait.ends_at - wait.starts_at < SHOWN_FROM:
            continue
        own = next((stay for stay in stays if stay.visit.pk == wait.visit_id), None)
        if own is not None:
            own.waits.append(wait)

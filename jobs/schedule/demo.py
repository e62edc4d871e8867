"""The demonstration's calendar: who goes where, one thing that does not fit, one visit set by hand."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from django.db import transaction
from django.utils import timezone

from contracting.staff.models import User

from .clashes import Kind
from .models import DayOff, Plan, Visit
from .selectors import WorkTime, clashes_among, visits
from .services import day_off_set, visit_add, visit_move
from .words import zone_of

# How many times the crew is parted before the rest is left as it is.
_MOST = 40


@transaction.atomic
def load_calendar(people: Mapping[str, User]) -> None:
    """Part the crew between jobs that lie at the same time; add a visit that meets another, and a day off.

    Calling it again changes nothing.
    """
    if DayOff.objects.exists():
        return
    office, sam, luis = people["office"], people["sam"], people["luis"]
    for _number in range(_MOST):
        pairs = _meetings()
        if not pairs:
            break
        first, second = pairs[0]
        own = [row.person for row in first.people.all()]
        one = own[0] if len(own) == 1 else sam
        for visit, person in ((first, one), (second, luis if one == sam else sam)):
            plan = Plan.objects.get(pk=visit.plan_id)
            visit_move(visit=visit, seen=plan.revision, day=visit.day, people=[person], by=office)
    today = timezone.localdate()
    _meet_the_plumber(office, today)
    off = today + datetime.timedelta(days=(4 - today.weekday()) % 7 + 21)
    day_off_set(person=luis, first_on=off, last_on=off)


def _meetings() -> list[tuple[Visit, Visit]]:
    """Return which visits of two jobs have somebody in common at the same time, by time."""
    found = list(visits())
    told = clashes_among(found, [], [], WorkTime.read())
    meeting = {clash.visit for clash in told if clash.kind is Kind.TWICE}
    shown = [visit for visit in found if visit.pk in meeting]
    return [
        (one, other)
        for number, one in enumerate(shown)
        for other in shown[number + 1 :]
        if one.plan_id != other.plan_id and other.starts_at < one.ends_at and _shared(one, other)
    ]


def _shared(one: Visit, other: Visit) -> bool:
    return bool({row.person_id for row in one.people.all()} & {row.person_id for row in other.people.all()})


def _meet_the_plumber(by: User, today: datetime.date) -> None:
    """Add a short visit that the sequence does not know, while its person is on another job: to be seen."""
    ahead = list(visits().filter(day__gt=today))
    plan = Plan.objects.select_related("job__site").filter(job__stage="scheduled").first()
    busy = next((visit for visit in ahead if plan and visit.plan_id != plan.pk and visit.minutes > 60), None)
    if plan is None or busy is None:
        return
    visit_add(
        plan=plan,
        seen=plan.revision,
        title="Meet the plumber on site",
        day=busy.day,
        clock=busy.starts_at.astimezone(zone_of(busy)).time(),
        minutes=30,
        people=[busy.people.all()[0].person],
        by=by,
    )

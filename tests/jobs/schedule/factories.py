"""A planned job with a small sequence, without working out a takeoff: membrane, a flood test, tile, grout."""

import datetime
from typing import Any

from contracting.staff.models import User
from jobs.schedule.feed_services import feed_make
from jobs.schedule.models import Plan, Visit
from jobs.schedule.services import day_off_set, plan_make
from jobs.work.models import CrewMember, Job
from tests.contracting.factories import UserFactory
from tests.jobs.margins.factories import job as budgeted_job

# A Monday.
MONDAY = datetime.date(2026, 6, 1)
BEFORE = datetime.datetime(2026, 5, 20, 15, 0, tzinfo=datetime.UTC)


def label(text: str) -> dict[str, Any]:
    return {"message": text, "parameters": {}}


def task(
    key: str,
    step: str,
    hours: str,
    *after: tuple[str, str, str] | str,
    crew: int = 2,
    cure: tuple[str, str] | None = None,
) -> dict[str, Any]:
    """A task of the network; *after*: a task, or (task, kind of wait, hours)."""
    needs = [
        {"after": one, "cure": "", "hours": "0", "label": None}
        if isinstance(one, str)
        else {"after": one[0], "cure": one[1], "hours": one[2], "label": label(one[1])}
        for one in after
    ]
    return {
        key: {
            "step": step,
            "room": "Hall bath",
            "label": label(key),
            "hours": hours,
            "crew": crew,
            "hold": "",
            "needs": needs,
            "cure": {"after": "", "cure": cure[0], "hours": cure[1], "label": label(cure[0])}
            if cure
            else None,
        }
    }


# With two people: membrane on Monday, the test filled on Tuesday 16:00 and read on Wednesday 16:00, tile on
# Thursday, grout on Friday after 24 h of mortar.
NETWORK = {
    **task("membrane", "waterproofing", "16"),
    **task("fill", "testing", "1", ("membrane", "before test", "24"), crew=1),
    **task("read", "testing", "1", ("fill", "flood test", "24"), crew=1),
    **task("tile", "tile", "16", "read"),
    **task("grout", "grout", "8", ("tile", "mortar", "24"), crew=2, cure=("grout", "24")),
}


def planned(
    *crew: User,
    starts_on: datetime.date = MONDAY,
    network: dict[str, Any] | None = None,
    by: User | None = None,
    at: datetime.datetime = BEFORE,
) -> Plan:
    """The plan of a scheduled job with *network* (None: the small one above)."""
    by = by or UserFactory.create(role="office")
    job = budgeted_job(*crew, stage="scheduled", with_budget=False)
    Job.objects.filter(pk=job.pk).update(starts_on=starts_on)
    job.refresh_from_db()
    plan = Plan.objects.create(job=job, network=NETWORK if network is None else network)
    made = plan_make(job=job, by=by, seen=plan.revision, at=at)
    made.job = job
    return made


def visits(plan: Plan) -> list[Visit]:
    """The visits of a plan by time."""
    return list(plan.visits.filter(cancelled_at=None).order_by("starts_at"))


def crew_of(plan: Plan) -> list[int]:
    return list(CrewMember.objects.filter(job=plan.job).values_list("person_id", flat=True))


def addresses() -> dict[str, Any]:
    """What each address of the calendar is about, by its name."""
    person = UserFactory.create(role="installer")
    plan = planned(person)
    visit = plan.visits.earliest("starts_at")
    off = day_off_set(person=person, first_on=MONDAY, last_on=MONDAY)
    _link, token = feed_make(person=person, by=person)
    return {
        **dict.fromkeys(("job", "make", "add", "undo"), plan.job_id),
        **dict.fromkeys(("visit", "look", "drop"), visit.pk),
        **dict.fromkeys(("feed-make", "feed-revoke"), person.pk),
        "day-off-remove": off.pk,
        "feed": token,
    }

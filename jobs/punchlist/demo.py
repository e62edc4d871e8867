"""The demonstration's punch lists and callbacks: what was found walking through, and after. Made up."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone

from contracting.staff.models import User
from jobs.work.daily.selectors import today_at
from jobs.work.daily.services import Act
from jobs.work.demo import working_day
from jobs.work.models import Job, Stage

from . import services
from .callbacks import services as callbacks
from .models import Callback, Cause, PunchItem
from .plans import RoomPlan, plans_of

# What is found on a job like these, by where on the room's plan, who mends it and when it is due.
ITEMS: tuple[Mapping[str, Any], ...] = (
    {
        "text": "Grout joint open along the wall",
        "at": (3800, 5200),
        "place": "second row from the wall",
        "step": "grout",
        "days": -2,
        "then": "mended",
    },
    {
        "text": "Tile edge chipped beside the door",
        "at": (6200, 1300),
        "step": "tile",
        "days": 1,
        "then": "open",
    },
    {
        "text": "Sealant smeared on the tile",
        "at": (1500, 8200),
        "place": "left corner, along the wall",
        "step": "joints",
        "days": -1,
        "then": "rejected",
    },
    {"text": "Protection film still on the threshold", "step": "clean_up", "days": 2, "then": "accepted"},
)


@transaction.atomic
def load_punch_lists(people: Mapping[str, User]) -> bool:
    """Put items on the list of a job under way; return False where there are items, or no such job."""
    if PunchItem.objects.exists():
        return False
    jobs = Job.objects.filter(stage__in=[Stage.PUNCH, Stage.TILE]).select_related("quote", "site")
    job = jobs.order_by("stage", "pk").first()
    if job is None:
        return False
    plans = [plan for plan in plans_of(job) if plan.box]
    for number, told in enumerate(ITEMS):
        _load(job, told, plans[0] if plans else None, people, number)
    return True


@transaction.atomic
def load_callbacks(people: Mapping[str, User]) -> bool:
    """Note a callback of a complete job, looked at and put right; return False where there is none."""
    job = Job.objects.filter(stage=Stage.COMPLETE).select_related("quote", "site").order_by("pk").first()
    if job is None or Callback.objects.exists():
        return False
    office, sam = people["office"], people["sam"]
    today = today_at(job)
    first = callbacks.callback_report(
        key=uuid.uuid4(),
        job=job,
        by=office,
        reported_on=working_day(-5, today),
        reported_by=job.customer_name,
        text="Grout joint has opened in a corner",
    )
    visit = working_day(-3, today)
    callbacks.callback_plan(key=uuid.uuid4(), callback=first, by=office, visitor=sam, visit_on=visit)
    callbacks.callback_found(
        key=uuid.uuid4(),
        callback=first,
        by=sam,
        cause=Cause.WORKMANSHIP,
        text="Grouted where the joint should be soft",
        day=visit,
    )
    callbacks.callback_decide(key=uuid.uuid4(), callback=first, by=office, is_covered=True)
    act = Act(uuid.uuid4(), job, visit, sam)
    callbacks.callback_hours_log(callback=first, act=act, person=sam, minutes=150)
    cost = Act(uuid.uuid4(), job, visit, office)
    callbacks.callback_cost_log(callback=first, act=cost, what="Sealant, two cartridges", amount_cents=1_880)
    callbacks.callback_resolve(
        key=uuid.uuid4(), callback=first, by=sam, text="Grout cut out, sealant put in", day=visit
    )
    callbacks.callback_report(
        key=uuid.uuid4(),
        job=job,
        by=office,
        reported_on=today,
        reported_by=job.customer_name,
        text="One floor tile sounds hollow",
    )
    return True


def _load(
    job: Job, told: Mapping[str, Any], plan: RoomPlan | None, people: Mapping[str, User], number: int
) -> None:
    office, installers = people["office"], [people["sam"], people["luis"]]
    crew = [person for person in installers if job.crew_members.filter(person=person).exists()]
    across, down = told.get("at", (None, None))
    where = services.Where(
        room_key=plan.key if plan else "",
        room_name=plan.name if plan else "",
        across=across if plan else None,
        down=down if plan else None,
        place=told.get("place", ""),
    )
    item = services.item_add(
        key=uuid.uuid4(),
        job=job,
        text=told["text"],
        by=office,
        where=where,
        step=told["step"],
        owner=crew[number % len(crew)] if crew else None,
        due_on=working_day(told["days"], timezone.localdate()),
    )
    if told["then"] == "open":
        return
    mender = crew[number % len(crew)] if crew else office
    services.item_mend(key=uuid.uuid4(), item=item, by=mender, note="Done.")
    if told["then"] == "rejected":
        services.item_reject(key=uuid.uuid4(), item=item, by=office, reason="A smear is left in the corner.")
    elif told["then"] == "accepted":
        services.item_accept(key=uuid.uuid4(), item=item, by=office)

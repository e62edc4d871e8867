"""The demonstration's punch lists: what two installers found walking through a finished job. Made up."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone

from contracting.staff.models import User
from jobs.work.models import Job, Stage

from . import services
from .models import PunchItem
from .plans import RoomPlan, plans_of

# What is found on a job like these, by where on the room's plan, who mends it and when it is due.
ITEMS: tuple[Mapping[str, Any], ...] = (
    {
        "text": "Grout joint open at the tub's edge",
        "at": (3800, 5200),
        "place": "along the tub",
        "step": "grout",
        "days": -2,
        "then": "mended",
    },
    {"text": "Tile edge chipped beside the door", "at": (6200, 1300), "step": "tile", "days": 1, "then": "open"},
    {
        "text": "Silicone smeared on the wall tile",
        "at": (1500, 8200),
        "place": "above the tub, left corner",
        "step": "joints",
        "days": -1,
        "then": "rejected",
    },
    {"text": "Protection film still on the threshold", "step": "clean_up", "days": 2, "then": "accepted"},
)


@transaction.atomic
def load_punch_lists(people: Mapping[str, User]) -> bool:
    """Put items on the list of a job under way; return False where there are items already, or no such job."""
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
        due_on=timezone.localdate() + datetime.timedelta(days=told["days"]),
    )
    if told["then"] == "open":
        return
    mender = crew[number % len(crew)] if crew else office
    services.item_mend(key=uuid.uuid4(), item=item, by=mender, note="Done.")
    if told["then"] == "rejected":
        services.item_reject(key=uuid.uuid4(), item=item, by=office, reason="A smear is left in the corner.")
    elif told["then"] == "accepted":
        services.item_accept(key=uuid.uuid4(), item=item, by=office)

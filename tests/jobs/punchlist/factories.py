"""A job with items on its punch list, made through the services."""

import datetime
import uuid
from typing import Any

from contracting.staff.models import User
from jobs.punchlist import services
from jobs.punchlist.callbacks import services as callbacks
from jobs.punchlist.models import Callback, PunchItem
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.jobs.margins import factories as margins

DAY = margins.DAY


def office() -> User:
    found: User = User.objects.filter(role="office").first() or UserFactory.create(role="office")
    return found


def add(
    job: Job, text: str = "Grout missing under the sill", *, by: User | None = None, **values: Any
) -> PunchItem:
    return services.item_add(key=uuid.uuid4(), job=job, text=text, by=by or office(), **values)


def act(name: str, item: PunchItem, by: User, **values: Any) -> PunchItem:
    service = getattr(services, f"item_{name}")
    done: PunchItem = service(key=uuid.uuid4(), item=item, by=by, **values)
    return done


def listed_job(*crew: User, count: int = 2, **values: Any) -> tuple[Job, list[PunchItem]]:
    """A job on its punch list with *count* items, the first mended."""
    values.setdefault("stage", "punch")
    made = margins.job(*crew, **values)
    items = [
        add(made, f"Item {number}", due_on=DAY + datetime.timedelta(days=number)) for number in range(count)
    ]
    if items:
        act("mend", items[0], office(), note="Filled")
    return made, items


def called_back(*crew: User, **values: Any) -> Callback:
    """A callback of a complete job."""
    job = margins.job(*crew, stage="complete")
    given = {
        "reported_on": DAY,
        "reported_by": "Ada Lowell",
        "text": "Tile by the drain sounds hollow",
    }
    return callbacks.callback_report(key=uuid.uuid4(), job=job, by=office(), **given | values)


def found(callback: Callback, cause: str = "workmanship") -> Callback:
    """The same, looked at."""
    return callbacks.callback_found(
        key=uuid.uuid4(), callback=callback, by=office(), cause=cause, text="No bond at one tile"
    )

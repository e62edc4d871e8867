"""What screens, papers and other apps read about punch lists."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import F, Max, Prefetch, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from contracting.staff.models import Role, User
from jobs.work.models import Job, Stage
from jobs.work.selectors import OPEN_STAGES, jobs_of

from .models import (
    TO_MEND,
    UNACCEPTED,
    EventKind,
    ItemState,
    PunchEvent,
    PunchItem,
    PunchOverride,
    WaivedItem,
)


@dataclass(frozen=True)
class Listed:
    """The items of a job by what is next for them."""

    to_mend: list[PunchItem]
    to_look_at: list[PunchItem]
    closed: list[PunchItem]

    @property
    def all(self) -> list[PunchItem]:
        return [*self.to_mend, *self.to_look_at, *self.closed]

    @property
    def count(self) -> int:
        return len(self.all)


def items_of(job: Job) -> QuerySet[PunchItem]:
    """Return every item of *job* with its owner and what happened to it; three queries."""
    events = PunchEvent.objects.select_related("by", "owner").order_by("pk")
    return (
        PunchItem.objects.filter(job=job)
        .select_related("owner", "by")
        .prefetch_related(Prefetch("events", queryset=events))
        .order_by("number")
    )


def listed(items: Iterable[PunchItem]) -> Listed:
    """Sort items by what is next: mend, look at, nothing."""
    found = Listed([], [], [])
    for item in items:
        if item.state in TO_MEND:
            found.to_mend.append(item)
        elif item.state == ItemState.MENDED:
            found.to_look_at.append(item)
        else:
            found.closed.append(item)
    return found


def overrides_of(job: Job) -> QuerySet[PunchOverride]:
    """Return what let the job be completed with items open, each with the items it let pass."""
    waived = WaivedItem.objects.select_related("item").order_by("item__number")
    return (
        PunchOverride.objects.filter(job=job)
        .select_related("by")
        .prefetch_related(Prefetch("waived", queryset=waived))
    )


def items_to_mend(user: User) -> QuerySet[PunchItem]:
    """Return what is to be mended over all jobs under way, by due day: an installer's own, or every one.

    An installer also sees what nobody was given on the jobs they are on.
    """
    found = PunchItem.objects.filter(state__in=TO_MEND, job__in=jobs_of(user).filter(stage__in=OPEN_STAGES))
    if user.role == Role.INSTALLER:
        found = found.filter(Q(owner=user) | Q(owner=None))
    by_day = F("due_on").asc(nulls_last=True)
    rows = found.select_related("job__site", "owner").defer("job__crew_notes")
    return rows.order_by(by_day, "job__number", "number")


def standing_in_the_way(job: Job) -> list[PunchItem]:
    """Return the items that are not accepted and were not let pass by an override since."""
    latest_rejection = Max("events", filter=Q(events__kind__in=[EventKind.OPENED, EventKind.REJECTED]))
    items = PunchItem.objects.filter(job=job, state__in=UNACCEPTED).annotate(opened=latest_rejection)
    let_pass: dict[int, int] = {}
    for item_id, event in WaivedItem.objects.filter(item__job=job).values_list("item_id", "last_event_id"):
        let_pass[item_id] = max(event, let_pass.get(item_id, 0))
    return [item for item in items.order_by("number") if let_pass.get(item.pk, 0) < item.opened]


def hindrances(job: Job, stage: Stage) -> list[str]:
    """Say what of the punch list keeps *job* from *stage*; registered with ``followers.before_moving``."""
    if stage != Stage.COMPLETE:
        return []
    items = standing_in_the_way(job)
    if not items:
        return []
    numbers = ", ".join(str(item.number) for item in items)
    return [
        ngettext(
            "One item of the punch list is not accepted yet: number %(numbers)s.",
            "%(count)d items of the punch list are not accepted yet: numbers %(numbers)s.",
            len(items),
        )
        % {"count": len(items), "numbers": numbers}
    ]


def due_words(item: PunchItem, today: datetime.date) -> str:
    """Say how an item stands to its day: overdue, due today, or nothing worth saying."""
    if item.due_on is None or item.state not in TO_MEND:
        return ""
    late = (today - item.due_on).days
    if late > 0:
        return ngettext("%(days)d day overdue", "%(days)d days overdue", late) % {"days": late}
    return _("due today") if late == 0 else ""


def owners_of(job: Job, by: User) -> QuerySet[User]:
    """Return whom *by* may give an item of *job* to: the crew and the office, an installer themselves."""
    people = User.objects.filter(is_active=True)
    if by.role == Role.INSTALLER:
        return people.filter(pk=by.pk)
    return (
        people.filter(Q(crew_places__job=job) | ~Q(role=Role.INSTALLER))
        .distinct()
        .order_by("role", "first_name", "username")
    )


def latest(item: PunchItem, *kinds: str) -> PunchEvent | None:
    """Return the newest prefetched event of *kinds*, or None."""
    events: Sequence[PunchEvent] = [one for one in item.events.all() if one.kind in kinds]
    return events[-1] if events else None

"""What screens read about callbacks: one, a job's, and all of them by cause with what they cost."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet, Sum
from django.http import Http404
from django.utils.translation import gettext as _

from contracting.staff.models import Role, User
from jobs.work.models import Job
from jobs.work.selectors import jobs_of

from ..models import Callback, CallbackEntry, CallbackEvent, CallbackState, Cause

OPEN = tuple(state for state in CallbackState if state != CallbackState.RESOLVED)


@dataclass(frozen=True)
class Spent:
    """What callbacks took: whole minutes, whole cents."""

    minutes: int = 0
    labour_cents: int = 0
    material_cents: int = 0
    other_cents: int = 0

    @property
    def cents(self) -> int:
        return self.labour_cents + self.material_cents + self.other_cents

    def __add__(self, other: Spent) -> Spent:
        return Spent(
            self.minutes + other.minutes,
            self.labour_cents + other.labour_cents,
            self.material_cents + other.material_cents,
            self.other_cents + other.other_cents,
        )


@dataclass(frozen=True)
class OfCause:
    """The callbacks of one cause."""

    cause: str
    label: str
    count: int
    covered: int
    spent: Spent


def callbacks_of(user: User) -> QuerySet[Callback]:
    """Return the callbacks of the jobs *user* may see, newest first."""
    found = Callback.objects.filter(job__in=jobs_of(user)).select_related("job__site", "visitor", "by")
    return found.defer("job__crew_notes")


def callbacks_matching(user: User, *, state: str = "open", cause: str = "") -> QuerySet[Callback]:
    """Return the list: *state*: ``open``, "" or one; *cause*: "", ``-`` (not known) or one."""
    found = callbacks_of(user)
    if state == "open":
        found = found.filter(state__in=OPEN)
    elif state in CallbackState.values:
        found = found.filter(state=state)
    if cause == "-":
        found = found.filter(cause="")
    elif cause in Cause.values:
        found = found.filter(cause=cause)
    return found


def of_job(job: Job) -> list[Callback]:
    """Return the callbacks of *job*, newest first."""
    return list(Callback.objects.filter(job=job).select_related("visitor", "by"))


def callback_for(user: User, job: Job, number: int) -> Callback:
    """Return a callback of a job fetched by right, with what happened; Http404 when there is none."""
    events = CallbackEvent.objects.select_related("by", "visitor").order_by("pk")
    found = Callback.objects.filter(job=job, number=number).select_related("visitor", "by")
    callback = found.prefetch_related(Prefetch("events", queryset=events)).first()
    if callback is None:
        raise Http404
    callback.job = job
    return callback


def spent_on(callbacks: QuerySet[Callback] | list[Callback]) -> dict[int, Spent]:
    """Return what each of *callbacks* took, by its key; one query. Corrected entries count no more."""
    rows = CallbackEntry.objects.filter(callback__in=callbacks).order_by().values("callback")
    sums: dict[str, Any] = {
        "minutes": _sum("hours", "minutes"),
        "labour_cents": _sum("hours", "cost_cents"),
        "material_cents": _sum("delivery", "cost_cents"),
        "other_cents": _sum("cost", "amount_cents"),
    }
    # PostgreSQL sums big integers to decimals, so every sum is made whole again.
    summed: Any = rows.annotate(**{f"sum_{name}": one for name, one in sums.items()})
    return {row["callback"]: Spent(**{name: int(row[f"sum_{name}"]) for name in sums}) for row in summed}


def _sum(kind: str, column: str) -> Sum:
    return Sum(f"{kind}__{column}", filter=Q(**{f"{kind}__superseded_by": None}), default=0)


def by_cause(found: QuerySet[Callback]) -> list[OfCause]:
    """Return counts and cost of *found* by cause, those without one last; two queries."""
    found = found.order_by().select_related(None)
    counted = {
        row["cause"]: row
        for row in found.values("cause").annotate(
            count=Count("pk"), covered=Count("pk", filter=Q(is_covered=True))
        )
    }
    causes = dict(found.values_list("pk", "cause"))
    spent: dict[str, Spent] = {}
    for pk, one in spent_on(found).items():
        spent[causes[pk]] = spent.get(causes[pk], Spent()) + one
    labels = {**dict(Cause.choices), "": _("not known yet")}
    return [
        OfCause(
            cause,
            str(labels[cause]),
            counted[cause]["count"],
            counted[cause]["covered"],
            spent.get(cause, Spent()),
        )
        for cause in (*Cause.values, "")
        if cause in counted
    ]


def entries_of(callback: Callback) -> list[CallbackEntry]:
    """Return the entries of the log that count towards *callback*, in the order they were written."""
    rows = CallbackEntry.objects.filter(callback=callback).select_related(
        "hours__person", "hours__by", "delivery__by", "cost__by"
    )
    return list(
        rows.filter(
            Q(hours__superseded_by=None, hours__minutes__gt=0)
            | Q(delivery__superseded_by=None, delivery__isnull=False) & ~Q(delivery__packs_millionths=0)
            | Q(cost__superseded_by=None, cost__amount_cents__gt=0)
        ).order_by("pk")
    )


def callbacks_waiting(user: User, today: datetime.date, limit: int = 8) -> list[Callback]:
    """Return what waits: the office's open callbacks, an installer's visits; the earliest visit first."""
    found = callbacks_of(user).filter(state__in=OPEN)
    if user.role == Role.INSTALLER:
        found = found.filter(visitor=user)
    return list(found.order_by("visit_on", "reported_on", "pk")[:limit])

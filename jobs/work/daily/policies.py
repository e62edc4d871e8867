"""Getting an entry of the log: the office any of the job, an installer what is theirs to correct."""

from typing import TypeVar

from django.db.models import Q
from django.http import Http404

from contracting.staff.models import User

from ..models import DayNote, DeliveryEntry, HoursEntry, Job
from ..models.daily import CostEntry

Row = TypeVar("Row", HoursEntry, DeliveryEntry, CostEntry, DayNote)


def entry_for(user: User, job: Job, kind: type[Row], pk: int) -> Row:
    """Return the entry; Http404 when the job has none, or *user* may not correct it."""
    found = kind._default_manager.filter(job=job, pk=pk).select_related("by", "supersedes")
    if not user.sees_money:
        own = Q(by=user) | Q(person=user) if kind is HoursEntry else Q(by=user)
        found = found.filter(own)
    entry = found.first()
    if entry is None:
        raise Http404
    return entry

"""What photos can belong to here: an item of a punch list, a callback."""

from __future__ import annotations

from jobs.photos.models import About
from jobs.photos.subjects import Subject, register
from jobs.work.models import Job

from .models import Callback, ItemState, PunchItem


def register_subjects() -> None:
    """Offer a job's items and callbacks where somebody says what a photo shows."""
    register(About.PUNCH, items)
    register(About.NOTE, callbacks)


def items(job: Job) -> list[Subject]:
    """Return the items of *job*; what was taken off the list is understood and not offered."""
    return [
        Subject(
            About.PUNCH,
            str(item.pk),
            str(item),
            item.room_name,
            address=item.get_absolute_url(),
            is_offered=item.state != ItemState.WITHDRAWN,
        )
        for item in PunchItem.objects.filter(job=job).order_by("number")
    ]


def callbacks(job: Job) -> list[Subject]:
    """Return the callbacks of *job*."""
    return [
        Subject(About.NOTE, str(one.key), str(one), one.room_name, address=one.get_absolute_url())
        for one in Callback.objects.filter(job=job).order_by("number")
    ]

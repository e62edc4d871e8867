"""Pictures of a job, for the pages of this app. The app above that keeps them registers itself.

This way photos know jobs, and jobs do not know photos.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence

from .models import Job

ByDay = Mapping[datetime.date, Sequence[object]]

_count: list[Callable[[Job], int]] = []
_by_day: list[Callable[[Job], ByDay]] = []


def register(*, count: Callable[[Job], int], by_day: Callable[[Job], ByDay]) -> None:
    """Say how the photos of a job are counted, and how those of its days are got."""
    _count[:], _by_day[:] = [count], [by_day]


def count(job: Job) -> int:
    """Return how many photos *job* has."""
    return sum(counted(job) for counted in _count)


def by_day(job: Job) -> ByDay:
    """Return the photos of *job* by the day they were taken."""
    return _by_day[0](job) if _by_day else {}

"""Photos of a job, for the pages of apps below the one that keeps them. It registers itself.

This way photos know jobs, and neither jobs nor inspections know photos.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol

from .models import Job


class Keeper(Protocol):
    """What keeps photos. Each is given as the template ``photos/_strip.html`` shows it."""

    def photo_count(self, job: Job) -> int:
        """Return how many photos *job* has."""
        ...

    def photos_by_day(self, job: Job) -> Mapping[datetime.date, Sequence[Any]]:
        """Return the photos of *job* by the day they were taken, at the site."""
        ...

    def photos_about(self, job: Job, kind: str, refs: Iterable[str] | None = None) -> Sequence[Any]:
        """Return the photos that belong to *kind*, of any of *refs* or all."""
        ...


_keepers: list[Keeper] = []


def register(keeper: Keeper) -> None:
    """Let *keeper* answer; the last one registered does."""
    _keepers.append(keeper)


def count(job: Job) -> int:
    """Return how many photos *job* has."""
    return _keepers[-1].photo_count(job) if _keepers else 0


def by_day(job: Job) -> Mapping[datetime.date, Sequence[Any]]:
    """Return the photos of *job* by the day they were taken, at the site."""
    return _keepers[-1].photos_by_day(job) if _keepers else {}


def about(job: Job, kind: str, *refs: object) -> Sequence[Any]:
    """Return the photos that belong to *kind* (``check``, ``punch``, ``note`` …) and any of *refs*."""
    return _keepers[-1].photos_about(job, kind, [str(ref) for ref in refs]) if _keepers else []

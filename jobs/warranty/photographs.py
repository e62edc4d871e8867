"""Which photos a warranty record carries: by a rule, changed by the office where it wants, at most sixty.

The rule takes what is hidden afterwards and what proves it: flood tests, the checks of the membrane and of
what it lies on, the other checks, and photos of waterproofing. Where more than :data:`MOST` are wanted, those
that the office chose itself come first, then the rule's in that order, each the earliest taken first.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils import translation

from jobs.inspections.models import Hold, PlannedCheck
from jobs.photos import paper
from jobs.photos.gallery import Shot, shot_of
from jobs.photos.models import About
from jobs.photos.selectors import photos_of
from jobs.photos.subjects import known_of
from jobs.work.models import Job

from .models import PhotoChoice

MOST = 60
# Trade steps whose photos show what is hidden afterwards.
HIDDEN_STEPS = frozenset({"waterproofing", "backer"})
LAST = 5
_RANKS: dict[str, int] = {Hold.FLOOD_TEST: 1, Hold.MEMBRANE: 2, Hold.SUBSTRATE: 3}


@dataclass(frozen=True)
class Candidate:
    """A photo of the job, and whether its record carries it.

    Attributes:
        by_rule: whether the rule takes it.
        chosen: what the office said, or None.
        is_in: whether it is in the record.
    """

    shot: Shot
    by_rule: bool
    chosen: bool | None
    is_in: bool

    @property
    def wanted(self) -> bool:
        """Whether it would be in the record if there were no limit."""
        return self.by_rule if self.chosen is None else self.chosen


def candidates_of(job: Job) -> list[Candidate]:
    """Return the photos of *job* in the order they were taken, each with whether it is in the record."""
    known = known_of(job)
    shots = [shot_of(photo, known) for photo in photos_of(job)]
    planned = PlannedCheck.objects.filter(plan__job=job).values_list("pk", "hold")
    holds = {str(pk): hold for pk, hold in planned}
    ranks = [rank_of(shot.said.about_kind, shot.said.about_ref, holds) for shot in shots]
    said = dict(PhotoChoice.objects.filter(job=job).values_list("photo", "is_in"))
    wanted = [
        (0 if said.get(shot.photo.pk) else rank or LAST, place)
        for place, (shot, rank) in enumerate(zip(shots, ranks, strict=True))
        if said.get(shot.photo.pk, rank is not None)
    ]
    taken = {place for _rank, place in sorted(wanted)[:MOST]}
    return [
        Candidate(shot, rank is not None, said.get(shot.photo.pk), place in taken)
        for place, (shot, rank) in enumerate(zip(shots, ranks, strict=True))
    ]


def as_ticked(candidates: list[Candidate], numbers: Collection[int]) -> list[Candidate]:
    """Return *candidates* as a form that was refused had them ticked: nothing of it is lost."""
    return [replace(one, is_in=one.shot.photo.pk in numbers) for one in candidates]


def count_of(job: Job) -> int:
    """Return how many photos the next record of *job* carries."""
    return sum(one.is_in for one in candidates_of(job))


def rank_of(kind: str, ref: str, holds: Mapping[str, str]) -> int | None:
    """Return the place of a photo in the rule, the first 1; None: the rule does not take it.

    Own rule, common practice, no source.

    Args:
        kind, ref: what the photo belongs to.
        holds: the hold point of each check by its number.
    """
    if kind == About.FLOOD:
        return 1
    if kind == About.CHECK:
        return _RANKS.get(holds.get(ref, ""), 4)
    if kind == About.STEP and ref in HIDDEN_STEPS:
        return LAST
    return None


def photos_part(job: Job, *, language: str) -> list[dict[str, Any]]:
    """Return the photos of a record as it freezes them, with words in *language*."""
    with translation.override(language):
        return [paper.frozen(one.shot) for one in candidates_of(job) if one.is_in]

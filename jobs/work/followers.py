"""What the other apps of ``jobs`` hang on a job. An app registers its own part in ``AppConfig.ready``.

This way inspections and margins know jobs, and jobs know neither of them. What is registered runs inside
the transaction of the act, so a job is made with its inspection plan and its budget, or not at all.
"""

from collections.abc import Callable, Iterator
from typing import Protocol

from contracting.staff.models import User

from .models import Job, Stage


class Maker(Protocol):
    """Makes what a new job needs; calling it twice makes it once."""

    def __call__(self, *, job: Job, by: User) -> object: ...


# Says, in sentences for people, what keeps a job from going to a stage.
Hindrance = Callable[[Job, Stage], list[str]]


class Follower(Protocol):
    """Does what follows for a job whose start, crew or stage somebody has changed."""

    def __call__(self, *, job: Job, by: User) -> object: ...


_makers: list[Maker] = []
_planned: list[Follower] = []
_moved: list[Follower] = []
_hindrances: list[Hindrance] = []


def when_made(maker: Maker) -> None:
    """Call *maker* for every new job."""
    _makers.append(maker)


def before_moving(hindrance: Hindrance) -> None:
    """Ask *hindrance* before a job goes on to a stage."""
    _hindrances.append(hindrance)


def follow(*, job: Job, by: User) -> None:
    """Make everything that a new job needs."""
    for maker in _makers:
        maker(job=job, by=by)


def in_the_way(job: Job, stage: Stage) -> Iterator[str]:
    """Yield what keeps *job* from going to *stage*."""
    for hindrance in _hindrances:
        yield from hindrance(job, stage)


def when_planned(follower: Follower) -> None:
    """Call *follower* when somebody has set a job's start and crew."""
    _planned.append(follower)


def when_moved(follower: Follower) -> None:
    """Call *follower* when a job has reached another stage."""
    _moved.append(follower)


def planned(*, job: Job, by: User) -> None:
    """Tell everybody that a job's start or crew is set."""
    for follower in _planned:
        follower(job=job, by=by)


def moved(*, job: Job, by: User) -> None:
    """Tell everybody that a job is at another stage."""
    for follower in _moved:
        follower(job=job, by=by)

"""What follows from a room that was measured for an estimate. ``quotes`` registers its part, since it imports
this app and is not imported by it."""

from __future__ import annotations

from typing import Protocol

from contracting.staff.models import User

from .models import Room


class Follower(Protocol):
    """Puts *room* where it was measured for; returns a sentence to tell, or "" for nothing to say."""

    def __call__(self, *, room: Room, estimate: int, by: User) -> str: ...


_followers: list[Follower] = []


def when_measured(follower: Follower) -> None:
    """Call *follower* for every new room whose measuring was started from an estimate."""
    _followers.append(follower)


def follow(*, room: Room, estimate: str, by: User) -> list[str]:
    """Tell the followers that *room* was measured for *estimate*, as its address names it.

    What is no number is passed over, as an estimate that is not there is: the room is stored either way.
    """
    if not estimate.isdecimal() or len(estimate) > 9:
        return []
    told = [follower(room=room, estimate=int(estimate), by=by) for follower in _followers]
    return [sentence for sentence in told if sentence]

"""What the layers above hang on a signed change order, as ``signing.followers`` does for a quote.

What is registered runs inside the transaction of the signature and makes its part once.
"""

from __future__ import annotations

from typing import Protocol

from contracting.staff.models import User

from .models import ChangeOrder


class Follower(Protocol):
    """Makes what a signed change leads to; *by* is the colleague who sent or recorded it."""

    def __call__(self, *, order: ChangeOrder, by: User) -> object: ...


_followers: list[Follower] = []


def when_signed(follower: Follower) -> None:
    """Call *follower* for every change order that is signed, by a link or on paper."""
    _followers.append(follower)


def follow(*, order: ChangeOrder, by: User) -> None:
    """Make everything that follows from a signed change order."""
    for follower in _followers:
        follower(order=order, by=by)

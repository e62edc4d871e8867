"""What the layers above hang on an electronic acceptance. An app registers its part in ``AppConfig.ready``.

What is registered runs inside the transaction of the signature: a quote is accepted with the job that
follows from it, or not at all.
"""

from __future__ import annotations

from typing import Protocol

from contracting.staff.models import User

from ..models import Quote


class Follower(Protocol):
    """Makes what an accepted quote leads to; *by* is the colleague who sent the link, *note* says who signed.

    Calling it twice makes it once.
    """

    def __call__(self, *, quote: Quote, by: User, note: str) -> object: ...


_followers: list[Follower] = []


def when_accepted(follower: Follower) -> None:
    """Call *follower* for every quote that a customer accepts by a private link."""
    _followers.append(follower)


def follow(*, quote: Quote, by: User, note: str) -> None:
    """Make everything that follows from an accepted quote."""
    for follower in _followers:
        follower(quote=quote, by=by, note=note)

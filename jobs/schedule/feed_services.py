"""Private links to calendar feeds: made, renewed, revoked. Each call is one act of a person."""

from __future__ import annotations

import datetime
import hashlib
import secrets

from django.db import transaction
from django.utils import timezone

from contracting.staff.models import User

from .feeds import Feed
from .models import FeedLink

# 32 bytes from the system's generator: nobody guesses one of 2^256.
TOKEN_BYTES = 32
# When a program last read a feed is written down no more often than this.
_NOTED_EVERY = datetime.timedelta(minutes=30)


def token_hash(token: str) -> str:
    """Return what is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def feed_make(*, person: User | None, by: User) -> tuple[FeedLink, str]:
    """Make the private link of *person*, or (None) of the office, and return it with its token.

    The token is told only now. One that was open before ends with it, so this also renews.
    """
    _close(person=person, by=by)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = FeedLink.objects.create(
        person=person,
        is_office=person is None,
        token_sha256=token_hash(token),
        language=(person or by).language,
        made_by=by,
        made_at=timezone.now(),
    )
    return link, token


@transaction.atomic
def feed_revoke(*, person: User | None, by: User) -> None:
    """Close the private link of *person* or (None) of the office; without one nothing happens."""
    _close(person=person, by=by)


def _close(*, person: User | None, by: User) -> None:
    open_ones = FeedLink.objects.filter(person=person, is_office=person is None, revoked_at=None)
    open_ones.update(revoked_at=timezone.now(), revoked_by=by)


@transaction.atomic
def feed_note(*, link: FeedLink, feed: Feed, at: datetime.datetime) -> datetime.datetime:
    """Note that a feed was read, and return since when it is as it is."""
    changed = {}
    if link.body_sha256 != feed.sha256 or link.changed_at is None:
        changed = {"body_sha256": feed.sha256, "changed_at": at}
    if changed or link.read_at is None or at - link.read_at >= _NOTED_EVERY:
        FeedLink.objects.filter(pk=link.pk).update(read_at=at, **changed)
    return at if changed or link.changed_at is None else link.changed_at

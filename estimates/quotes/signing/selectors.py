"""What pages read about private links and signatures."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import Enum
from zoneinfo import ZoneInfo

from django.db.models import Count, Max, Q
from django.utils import timezone

from .models import PrivateLink, Signature, Visit
from .signable import Paper, Signable

SHOWN_VISITS = 30
# Somebody with a link reads it a few times; a program that hammers at it is told to wait.
BUSY_WITHIN = datetime.timedelta(minutes=10)
BUSY_FROM = 300


class State(Enum):
    """What a private link is good for."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"
    EXPIRED = "expired"
    REVOKED = "revoked"

    @property
    def shows_the_paper(self) -> bool:
        return self in {State.OPEN, State.ACCEPTED}


def state_of(link: PrivateLink, at: datetime.datetime) -> State:
    """Return what *link* is good for; a revoked or ended one says no more, whatever became of the paper."""
    if link.revoked_at is not None:
        return State.REVOKED
    if link.expires_at <= at:
        return State.EXPIRED
    # A quote has a status for being too late, a change order has not; all others are called as states are.
    if link.paper.status != "issued":
        return State(link.paper.status)
    return State.EXPIRED if is_past(link.paper, at) else State.OPEN


def can_send(paper: Paper, at: datetime.datetime) -> bool:
    """Whether a link can be made: it is issued and its last day is not over."""
    return paper.status == "issued" and not is_past(paper, at)


def is_past(paper: Paper, at: datetime.datetime) -> bool:
    """Whether the paper's last day has passed where its site is."""
    return paper.valid_until is not None and at.astimezone(zone_of(paper)).date() > paper.valid_until


def zone_of(paper: Paper) -> ZoneInfo:
    """Return the time zone that the paper was issued in, its site's."""
    return ZoneInfo(paper.snapshot["paper"]["time_zone"])


def end_of_day(paper: Paper, day: datetime.date) -> datetime.datetime:
    """Return the moment at which *day* is over where the paper's site is."""
    after = day + datetime.timedelta(days=1)
    return datetime.datetime.combine(after, datetime.time(), zone_of(paper))


def acceptance_of(signable: Signable, paper: Paper) -> Signature | None:
    """Return the electronic signature under *paper*, with its PDF's state."""
    found = signable.signatures.select_related("document", "staff")
    return found.defer("document__snapshot").filter(**{signable.name: paper}).first()


def is_busy(signable: Signable, link: PrivateLink, at: datetime.datetime) -> bool:
    """Whether the link has been opened far more often just now than a person would."""
    lately = signable.visits.filter(link=link, at__gt=at - BUSY_WITHIN)
    return lately[BUSY_FROM : BUSY_FROM + 1].exists()


@dataclass(frozen=True)
class SentLink:
    """A link as the office sees it: whether it is good, and how often the customer came by it."""

    link: PrivateLink
    state: State
    visit_count: int
    last_visit_at: datetime.datetime | None


@dataclass(frozen=True)
class Signing:
    """What the office sees of a paper's way to its signature."""

    paper: Paper
    words: dict[str, str]
    addresses: dict[str, str]
    acceptance: Signature | None
    links: list[SentLink]
    visits: list[Visit]
    can_send: bool


def signing_of(signable: Signable, paper: Paper) -> Signing:
    """Return the signature, the links and the latest visits; visits of colleagues are not counted."""
    now = timezone.now()
    customers = Q(visits__staff=None)
    found = (
        signable.links.filter(**{signable.name: paper})
        .select_related("made_by")
        .annotate(count=Count("visits", filter=customers), last=Max("visits__at", filter=customers))
        .order_by("-pk")
    )
    links = []
    for link in found:
        # The paper is at hand; read through the link it would be fetched again, with its snapshot.
        setattr(link, signable.name, paper)
        links.append(SentLink(link, state_of(link, now), link.count, link.last))
    visits = signable.visits.filter(**{f"link__{signable.name}": paper})
    return Signing(
        paper=paper,
        words=signable.said(paper.snapshot["paper"]),
        addresses=signable.addresses,
        acceptance=acceptance_of(signable, paper) if paper.status == "accepted" else None,
        links=links,
        visits=list(visits.select_related("staff").order_by("-pk")[:SHOWN_VISITS]) if links else [],
        can_send=can_send(paper, now),
    )

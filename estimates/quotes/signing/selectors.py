"""What pages read about private links and signatures."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import Enum
from zoneinfo import ZoneInfo

from django.db.models import Count, Max, Q
from django.utils import timezone

from ..models import Quote
from .models import Acceptance, LinkVisit, QuoteLink

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
    def shows_the_quote(self) -> bool:
        return self in {State.OPEN, State.ACCEPTED}


_ANSWERED = {
    Quote.Status.ACCEPTED: State.ACCEPTED,
    Quote.Status.DECLINED: State.DECLINED,
    Quote.Status.SUPERSEDED: State.SUPERSEDED,
    Quote.Status.WITHDRAWN: State.WITHDRAWN,
}


def state_of(link: QuoteLink, at: datetime.datetime) -> State:
    """Return what *link* is good for; a revoked or ended one says no more, whatever became of the quote."""
    if link.revoked_at is not None:
        return State.REVOKED
    if link.expires_at <= at:
        return State.EXPIRED
    status = Quote.Status(link.quote.status)
    if status == Quote.Status.EXPIRED or (status == Quote.Status.ISSUED and is_past(link.quote, at)):
        return State.EXPIRED
    return _ANSWERED.get(status, State.OPEN)


def is_past(quote: Quote, at: datetime.datetime) -> bool:
    """Whether the quote's last day has passed where its site is."""
    return at.astimezone(zone_of(quote)).date() > quote.valid_until


def zone_of(quote: Quote) -> ZoneInfo:
    """Return the time zone that the quote was issued in, its site's."""
    return ZoneInfo(quote.snapshot["paper"]["time_zone"])


def end_of_day(quote: Quote, day: datetime.date) -> datetime.datetime:
    """Return the moment at which *day* is over where the quote's site is."""
    after = day + datetime.timedelta(days=1)
    return datetime.datetime.combine(after, datetime.time(), zone_of(quote))


def acceptance_of(quote: Quote) -> Acceptance | None:
    """Return the electronic signature under *quote*, with its PDF's state."""
    found = Acceptance.objects.select_related("document", "staff").defer("document__snapshot")
    return found.filter(quote=quote).first()


def is_busy(link: QuoteLink, at: datetime.datetime) -> bool:
    """Whether the link has been opened far more often just now than a person would."""
    lately = LinkVisit.objects.filter(link=link, at__gt=at - BUSY_WITHIN)
    return lately[BUSY_FROM : BUSY_FROM + 1].exists()


@dataclass(frozen=True)
class SentLink:
    """A link as the office sees it: whether it is good, and how often the customer came by it."""

    link: QuoteLink
    state: State
    visit_count: int
    last_visit_at: datetime.datetime | None


@dataclass(frozen=True)
class Signing:
    """What the office sees of a quote's way to its signature."""

    acceptance: Acceptance | None
    links: list[SentLink]
    visits: list[LinkVisit]
    can_send: bool


def signing_of(quote: Quote) -> Signing:
    """Return the signature, the links and the latest visits; visits of colleagues are not counted."""
    now = timezone.now()
    customers = Q(visits__staff=None)
    found = (
        QuoteLink.objects.filter(quote=quote)
        .select_related("made_by")
        .annotate(count=Count("visits", filter=customers), last=Max("visits__at", filter=customers))
        .order_by("-pk")
    )
    links = []
    for link in found:
        # The quote is at hand; read through the link it would be fetched again, with its snapshot.
        link.quote = quote
        links.append(SentLink(link, state_of(link, now), link.count, link.last))
    visits = LinkVisit.objects.filter(link__quote=quote).select_related("staff").order_by("-pk")
    return Signing(
        acceptance=acceptance_of(quote) if quote.status == Quote.Status.ACCEPTED else None,
        links=links,
        visits=list(visits[:SHOWN_VISITS]) if links else [],
        can_send=quote.status == Quote.Status.ISSUED and not is_past(quote, now),
    )

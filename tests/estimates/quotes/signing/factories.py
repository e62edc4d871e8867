"""Quotes out with a customer by a private link."""

import datetime
from typing import Any

from contracting.staff.models import User
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_issue
from estimates.quotes.signing import services
from estimates.quotes.signing.models import Acceptance, QuoteLink
from estimates.quotes.signing.quotes import QUOTE
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.factories import estimate_of, ready, repair_quote

# Issued today, since a link is good from now to the quote's last day.
PHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
    "Version/17.5 Mobile/15E148 Safari/604.1"
)
# A stroke and its dot, on the field of 600 by 200.
DRAWN = "M40 150L80 60L120 150L160 60L200 150L300 90M320 40L330 44"


def now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)


def issued(*, by: User | None = None, first: bool = True, rooms: int = 1, **values: object) -> Quote:
    """A quote of measured baths, issued today; *values* are set on its estimate."""
    by = by or UserFactory.create()
    make = ready if first else estimate_of
    return quote_issue(estimate=make(rooms=rooms, by=by, **values), by=by, at=now())


def small() -> Quote:
    """A quote of one hand-written line, issued today."""
    return repair_quote(at=now())


def sent(quote: Quote | None = None, *, by: User | None = None, **values: Any) -> tuple[QuoteLink, str]:
    """A private link and its token."""
    given = {"recipient": "ada@example.com", "expires_on": None} | values
    return services.link_make(signable=QUOTE, paper=quote or small(), by=by or UserFactory.create(), **given)


def sign(link: QuoteLink, **values: Any) -> Acceptance:
    """Sign by the link, typed if nothing else is said."""
    given = {
        "name": "Ada Lowell",
        "kind": "typed",
        "drawing": "",
        "consents": True,
        "agent": "Safari, iPhone",
    }
    return services.paper_sign(signable=QUOTE, link=link, **(given | values))


def refuse(link: QuoteLink, reason: str = "No.", agent: str = "") -> None:
    """Decline by the link."""
    services.paper_refuse(signable=QUOTE, link=link, reason=reason, agent=agent)

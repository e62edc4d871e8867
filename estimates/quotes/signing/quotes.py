"""A quote as something that a customer signs by a private link.

The points of the consent are those that 15 U.S.C. § 7001(c)(1)(B) and (C) ask for: paper instead, taking the
consent back, what it covers, how to get a paper copy and at what price, and what is needed to read and keep
the document. Local law may ask for more. A changed text gets a new version; what was agreed to is stored word
for word with the signature.
"""

from __future__ import annotations

import datetime

from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from .. import paper
from ..models import Quote
from ..policies import quote_for
from ..services import quote_accept_electronically, quote_decline_electronically
from . import followers
from .models import Acceptance, LinkVisit, QuoteLink
from .signable import Signable

# What a consent says of every kind of paper.
ON_PAPER = _(
    "You do not have to. Download the PDF, sign it on paper and hand or send it to %(company)s; "
    "price and terms stay the same."
)
PAPER_COPY = _(
    "You may ask for a paper copy at any time, and it costs nothing. You may also take this consent "
    "back, or give a new address, by telling %(company)s (%(reach)s); what you have signed by then "
    "stays signed."
)
TO_READ = _(
    "To read and keep the document you need a web browser and a program that opens PDF files. Save "
    "the signed PDF: it stays ready at this link for 90 days."
)


def _accept(*, link: QuoteLink, name: str, at: datetime.datetime) -> Quote:
    quote = quote_accept_electronically(quote=link.quote, name=name, at=at)
    note = gettext("Signed by the customer: %(name)s") % {"name": name}
    followers.follow(quote=quote, by=link.made_by, note=note)
    return quote


def _decline(*, link: QuoteLink, reason: str, at: datetime.datetime) -> None:
    quote_decline_electronically(quote=link.quote, reason=reason, at=at)


def _customer(quote: Quote) -> str:
    customer = quote.snapshot["paper"]["customer"]
    return str(customer["email"] or customer["name"])


QUOTE = Signable(
    name="quote",
    beside="estimate",
    namespace="signing",
    office="quotes",
    file="quote.pdf",
    page="signing/quote.html",
    printed="quotes/quote_paper.html",
    signed_kind="signed-quote",
    link_model=QuoteLink,
    visit_model=LinkVisit,
    signature_model=Acceptance,
    consent_version="2026-1",
    consent=[
        _(
            "You may sign this quote here instead of on paper. Your electronic signature counts as much as "
            "one on paper."
        ),
        _("This covers quote %(number)s only, nothing you sign later."),
        ON_PAPER,
        PAPER_COPY,
        TO_READ,
    ],
    words={
        "trail": _("Quote %(number)s: %(title)s"),
        "sign": _("Sign quote %(number)s"),
        "decline": _("Decline quote %(number)s"),
        "decline_this": _("Decline this quote"),
        "decline_now": _("Decline the quote"),
        "decline_hint": "",
        "back": _("Back to the quote"),
        "total": _("Total"),
        "promise": _(
            "I accept quote %(number)s, revision %(revision)s, for %(total)s, with its terms and drawings."
        ),
        "recorded": _(
            "Recorded with it: your name, your signature, the time, the kind of device, the text you agreed "
            "to and the quote's SHA-256."
        ),
        "content": _("Content of this quote, SHA-256"),
        "file": _("PDF of this quote, SHA-256"),
        "signed_content": _("Content of the quote, SHA-256"),
        "signed_file": _("PDF of the quote, SHA-256"),
        "declined": _(
            "Thank you for telling us. If it was a mistake, or if something could be changed, call or write, "
            "and we send a new quote."
        ),
        "newer": _("There is a newer quote"),
        "superseded": _(
            "The quote at this link was replaced by a newer one. Use the newer link, or ask us for it."
        ),
        "taken_back": _("This quote was taken back"),
        "withdrawn": _(
            "The quote at this link does not stand any more. Call or write, and we tell you what we can "
            "offer now."
        ),
        "expired": _(
            "Its last day has passed. Prices change, so we cannot hold a quote for ever: ask us for a new "
            "one."
        ),
        "printed_subject": _("Quote %(number)s, revision %(revision)d, signed"),
        "printed_promise": _(
            "I accept quote %(number)s, revision %(revision)s, for %(total)s, with its terms and the "
            "drawings that follow."
        ),
        "printed_file": _("PDF of the quote before it was signed, SHA-256"),
        "all": _("Quotes"),
        "office_hint": _("Your customer reads and signs the quote on a phone, without an account."),
        "not_open": _("Only an issued quote that is still valid can be signed by a link."),
        "not_then": _("Read %(day)s: expected a day from today to the quote's last day (%(last)s)."),
        "letter": _(
            "Hello,\n\nhere is our quote. You can read it on a phone, and sign or decline it there:\n\n"
            "%(address)s\n\nThe link is private: please do not pass it on.\n\n%(company)s"
        ),
    },
    context=paper.context,
    filename=paper.filename,
    paper_for=quote_for,
    customer=_customer,
    trail=lambda quote: (reverse("quotes:quotes"), f"{quote} {quote.title}"),
    accept=_accept,
    decline=_decline,
)

"""A change order as something that a customer signs by a private link; ``signing.signable`` says the rest.

The consent's points are those of a quote's (``signing.quotes``), said of a change order.
"""

from __future__ import annotations

import datetime

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from ..signing.quotes import ON_PAPER, PAPER_COPY, TO_READ
from ..signing.signable import Signable
from . import paper
from .models import ChangeAcceptance, ChangeLink, ChangeOrder, ChangeVisit
from .policies import order_for
from .services import change_accept_electronically, change_decline_electronically


def _accept(*, link: ChangeLink, name: str, at: datetime.datetime) -> ChangeOrder:
    return change_accept_electronically(order=link.order, name=name, sent_by=link.made_by, at=at)


def _decline(*, link: ChangeLink, reason: str, at: datetime.datetime) -> None:
    change_decline_electronically(order=link.order, reason=reason, at=at)


CHANGE = Signable(
    name="order",
    beside="quote",
    namespace="change-signing",
    office="changes",
    file="change.pdf",
    page="changes/customer.html",
    printed="changes/order_paper.html",
    signed_kind="signed-change-order",
    link_model=ChangeLink,
    visit_model=ChangeVisit,
    signature_model=ChangeAcceptance,
    consent_version="change-2026-1",
    consent=[
        _(
            "You may sign this change order here instead of on paper. Your electronic signature counts as "
            "much as one on paper."
        ),
        _("This covers change order %(number)s only, nothing you sign later."),
        ON_PAPER,
        PAPER_COPY,
        TO_READ,
    ],
    words={
        "trail": _("Change order %(number)s: %(title)s"),
        "sign": _("Sign change order %(number)s"),
        "decline": _("Decline change order %(number)s"),
        "decline_this": _("Decline this change"),
        "decline_now": _("Decline the change"),
        "decline_hint": _("The contract then stays as it is."),
        "back": _("Back to the change order"),
        "total": _("This change"),
        "promise": _("I accept change order %(number)s for %(total)s; the contract then comes to %(after)s."),
        "recorded": _(
            "Recorded with it: your name, your signature, the time, the kind of device, the text you agreed "
            "to and the change order's SHA-256."
        ),
        "content": _("Content of this change order, SHA-256"),
        "file": _("PDF of this change order, SHA-256"),
        "signed_content": _("Content of the change order, SHA-256"),
        "signed_file": _("PDF of the change order, SHA-256"),
        "declined": _(
            "Thank you for telling us. The contract stays as it is. If it was a mistake, call or write, and "
            "we send a new change order."
        ),
        "newer": _("There is a newer change order"),
        "superseded": _(
            "The change order at this link was replaced by a newer one. Use the newer link, or ask us for it."
        ),
        "taken_back": _("This change order was taken back"),
        "withdrawn": _(
            "The change order at this link does not stand any more. Call or write if you have a question."
        ),
        "expired": _("Its last day has passed. Call or write, and we send a new one."),
        "printed_subject": _("Change order %(number)s, signed"),
        "printed_promise": _(
            "I accept change order %(number)s for %(total)s; the contract then comes to %(after)s."
        ),
        "printed_file": _("PDF of the change order before it was signed, SHA-256"),
        "all": _("Change orders"),
        "office_hint": _("Your customer reads and signs the change order on a phone, without an account."),
        "not_open": _("Only an issued change order that is still valid can be signed by a link."),
        "not_then": _("Read %(day)s: expected a day from today to the change order's last day (%(last)s)."),
        "letter": _(
            "Hello,\n\nhere is the change we spoke of. You can read it on a phone, and sign or decline it "
            "there:\n\n%(address)s\n\nThe link is private: please do not pass it on.\n\n%(company)s"
        ),
    },
    context=paper.context,
    filename=paper.filename,
    paper_for=order_for,
    customer=lambda order: order.quote.site.customer.email,
    trail=lambda order: (reverse("changes:orders", args=[order.quote_id]), f"{order.number} {order.title}"),
    accept=_accept,
    decline=_decline,
)

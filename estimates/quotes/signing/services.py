"""What happens by a private link: it is made, opened, revoked, and the quote is accepted or declined."""

from __future__ import annotations

import datetime
import hashlib
import secrets

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.documents.models import DocumentRequest
from contracting.documents.services import canonical_json
from contracting.staff.models import User

from ..models import Quote
from ..services import quote_accept_electronically, quote_decline_electronically
from . import followers, paper, selectors
from .consent import VERSION, consent_lines
from .models import Acceptance, LinkVisit, QuoteLink
from .policies import token_hash
from .signature import checked_drawing

# 32 bytes from the system's generator: nobody guesses one of 2^256.
TOKEN_BYTES = 32
# The signed document stays ready by the link for so long; the consent says so.
KEPT_FOR = datetime.timedelta(days=90)


@transaction.atomic
def link_make(
    *,
    quote: Quote,
    recipient: str,
    expires_on: datetime.date | None,
    by: User,
    at: datetime.datetime | None = None,
) -> tuple[QuoteLink, str]:
    """Make a private link to an issued quote and return it with its token, which is told only now.

    Args:
        recipient: whom it is for, such as an address; for the office's own record.
        expires_on: its last day where the site is; None: the quote's own last day.

    Raises:
        ValidationError: the quote is not open any more, or the day is not within its validity.
    """
    at = at or timezone.now()
    if quote.status != Quote.Status.ISSUED or selectors.is_past(quote, at):
        raise ValidationError(_("Only an issued quote that is still valid can be signed by a link."))
    day = expires_on or quote.valid_until
    today = at.astimezone(selectors.zone_of(quote)).date()
    if not today <= day <= quote.valid_until:
        raise ValidationError(
            {
                "expires_on": _("Read %(day)s: expected a day from today to the quote's last day (%(last)s).")
                % {"day": day.isoformat(), "last": quote.valid_until.isoformat()}
            }
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = QuoteLink(
        quote=quote,
        token_sha256=token_hash(token),
        recipient=recipient.strip(),
        made_by=by,
        made_at=at,
        expires_at=selectors.end_of_day(quote, day),
    )
    link.full_clean(exclude=["quote"])
    link.save(force_insert=True)
    return link, token


@transaction.atomic
def link_revoke(*, link: QuoteLink, by: User) -> None:
    """Close a link for good; one that is closed already stays as it is."""
    QuoteLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now(), revoked_by=by)


def visit_log(
    *, link: QuoteLink, what: LinkVisit.What, agent: str, staff: User | None, at: datetime.datetime
) -> LinkVisit:
    """Write down that somebody came by the link."""
    return LinkVisit.objects.create(link=link, what=what, agent=agent, staff=staff, at=at)


@transaction.atomic
def quote_sign(
    *,
    link: QuoteLink,
    name: str,
    kind: str,
    drawing: str,
    consents: bool,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> Acceptance:
    """Accept the link's quote with the customer's signature, and make all that follows from it, once.

    Pressed again, or by a hundred at once, the first signature stands and is returned.

    Raises:
        ValidationError: no consent, name or signature, or the link or its quote is not open (any more).
    """
    at = at or timezone.now()
    if not consents:
        raise ValidationError({"consents": _("Agree to sign electronically first, or sign on paper.")})
    name = " ".join(name.split())[:120]
    if not name:
        raise ValidationError({"name": _("Write your full name.")})
    if kind == Acceptance.Kind.DRAWN:
        try:
            drawing = checked_drawing(drawing)
        except ValidationError as error:
            raise ValidationError({"drawing": error.messages}) from error
    else:
        kind, drawing = Acceptance.Kind.TYPED, ""
    _claim(link, at)
    try:
        quote = quote_accept_electronically(quote=link.quote, name=name, at=at)
    except ValidationError:
        # Somebody was first. Where that was this same link, it was the same customer pressing twice.
        first = Acceptance.objects.filter(quote=link.quote_id, link=link).first()
        if first is None:
            raise
        return first
    kept_until = max(link.expires_at, at + KEPT_FOR)
    QuoteLink.objects.filter(pk=link.pk).update(expires_at=kept_until)
    consent = consent_lines(quote.snapshot["paper"])
    acceptance = Acceptance(
        quote=quote,
        link=link,
        name=name,
        kind=kind,
        drawing=drawing,
        consent_version=VERSION,
        consent_text="\n".join(consent),
        at=at,
        paper_sha256=paper_sha256(quote),
        file_sha256=quote.document.sha256 if quote.document else "",
        agent=agent,
        staff=staff,
    )
    acceptance.document = paper.signed_quote_request(acceptance)
    acceptance.full_clean(exclude=["quote", "document"])
    acceptance.save(force_insert=True)
    visit_log(link=link, what=LinkVisit.What.ACCEPTED, agent=agent, staff=staff, at=at)
    followers.follow(
        quote=quote, by=link.made_by, note=_("Signed by the customer: %(name)s") % {"name": name}
    )
    return acceptance


@transaction.atomic
def quote_refuse(
    *,
    link: QuoteLink,
    reason: str,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> None:
    """Record that the customer says no by the link.

    Raises:
        ValidationError: no reason, or the link or its quote is not open (any more).
    """
    at = at or timezone.now()
    if not reason.strip():
        raise ValidationError({"reason": _("Say in a word why, so that we can do better.")})
    _claim(link, at)
    quote_decline_electronically(quote=link.quote, reason=reason, at=at)
    visit_log(link=link, what=LinkVisit.What.DECLINED, agent=agent, staff=staff, at=at)


@transaction.atomic
def signed_paper_again(*, acceptance: Acceptance) -> DocumentRequest:
    """Ask for the signed PDF of an acceptance whose document is gone."""
    document = paper.signed_quote_request(acceptance)
    Acceptance.objects.filter(pk=acceptance.pk).update(document=document)
    return document


def paper_sha256(quote: Quote) -> str:
    """Return the SHA-256 of all that the quote's page and PDF show, in the spelling it was frozen in."""
    return hashlib.sha256(canonical_json(quote.snapshot["paper"]).encode()).hexdigest()


def _claim(link: QuoteLink, at: datetime.datetime) -> None:
    """Hold the link's row till the transaction ends, so that revoking it waits or was first."""
    # The conditional update changes nothing; it is the lock, alike on SQLite and PostgreSQL.
    open_link = QuoteLink.objects.filter(pk=link.pk, revoked_at=None, expires_at__gt=at)
    if not open_link.update(recipient=F("recipient")):
        raise ValidationError(_("This link is closed; nothing was changed."), code="status")

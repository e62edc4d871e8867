"""What happens by a private link to a change order: made, opened, revoked, and the change signed or declined.

The same as for a quote (``signing.services``): the token is told once, evidence is kept, the first answer
stands however often the button is pressed.
"""

from __future__ import annotations

import datetime
import hashlib
import secrets
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.documents.models import DocumentRequest
from contracting.documents.services import canonical_json
from contracting.staff.models import User

from ..signing.policies import token_hash
from ..signing.services import KEPT_FOR, TOKEN_BYTES
from ..signing.signature import checked_drawing
from . import paper, services
from .consent import VERSION, consent_lines
from .models import ChangeAcceptance, ChangeLink, ChangeOrder, ChangeVisit


@transaction.atomic
def link_make(
    *,
    order: ChangeOrder,
    recipient: str,
    expires_on: datetime.date | None,
    by: User,
    at: datetime.datetime | None = None,
) -> tuple[ChangeLink, str]:
    """Make a private link to an issued change order and return it with its token, which is told only now.

    Raises:
        ValidationError: it is not open any more, or the day is not within its validity.
    """
    at = at or timezone.now()
    if not order.is_open or is_past(order, at) or order.valid_until is None:
        raise ValidationError(_("Only an issued change order that is still valid can be signed by a link."))
    day = expires_on or order.valid_until
    today = at.astimezone(zone_of(order)).date()
    if not today <= day <= order.valid_until:
        raise ValidationError(
            {
                "expires_on": _(
                    "Read %(day)s: expected a day from today to the change order's last day (%(last)s)."
                )
                % {"day": day.isoformat(), "last": order.valid_until.isoformat()}
            }
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    after = day + datetime.timedelta(days=1)
    link = ChangeLink(
        order=order,
        token_sha256=token_hash(token),
        recipient=recipient.strip(),
        made_by=by,
        made_at=at,
        expires_at=datetime.datetime.combine(after, datetime.time(), zone_of(order)),
    )
    link.full_clean(exclude=["order"])
    link.save(force_insert=True)
    return link, token


@transaction.atomic
def link_revoke(*, link: ChangeLink, by: User) -> None:
    """Close a link for good; one that is closed already stays as it is."""
    ChangeLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now(), revoked_by=by)


def visit_log(
    *, link: ChangeLink, what: ChangeVisit.What, agent: str, staff: User | None, at: datetime.datetime
) -> ChangeVisit:
    """Write down that somebody came by the link."""
    return ChangeVisit.objects.create(link=link, what=what, agent=agent, staff=staff, at=at)


@transaction.atomic
def change_sign(
    *,
    link: ChangeLink,
    name: str,
    kind: str,
    drawing: str,
    consents: bool,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> ChangeAcceptance:
    """Accept the link's change order with the customer's signature, and make all that follows from it, once.

    Pressed again, or by a hundred at once, the first signature stands and is returned.

    Raises:
        ValidationError: no consent, name or signature, or the link or its change is not open (any more).
    """
    at = at or timezone.now()
    if not consents:
        raise ValidationError({"consents": _("Agree to sign electronically first, or sign on paper.")})
    name = " ".join(name.split())[:120]
    if not name:
        raise ValidationError({"name": _("Write your full name.")})
    if kind == ChangeAcceptance.Kind.DRAWN:
        try:
            drawing = checked_drawing(drawing)
        except ValidationError as error:
            raise ValidationError({"drawing": error.messages}) from error
    else:
        kind, drawing = ChangeAcceptance.Kind.TYPED, ""
    _claim(link, at)
    try:
        order = services.change_accept_electronically(
            order=link.order, name=name, sent_by=link.made_by, at=at
        )
    except ValidationError:
        # Somebody was first. Where that was this same link, it was the same customer pressing twice.
        first = ChangeAcceptance.objects.filter(order=link.order_id, link=link).first()
        if first is None:
            raise
        return first
    ChangeLink.objects.filter(pk=link.pk).update(expires_at=max(link.expires_at, at + KEPT_FOR))
    acceptance = ChangeAcceptance(
        order=order,
        link=link,
        name=name,
        kind=kind,
        drawing=drawing,
        consent_version=VERSION,
        consent_text="\n".join(consent_lines(order.snapshot["paper"])),
        at=at,
        paper_sha256=paper_sha256(order),
        file_sha256=order.document.sha256 if order.document else "",
        agent=agent,
        staff=staff,
    )
    acceptance.document = paper.signed_change_request(acceptance)
    acceptance.full_clean(exclude=["order", "document"])
    acceptance.save(force_insert=True)
    visit_log(link=link, what=ChangeVisit.What.ACCEPTED, agent=agent, staff=staff, at=at)
    return acceptance


@transaction.atomic
def change_refuse(
    *,
    link: ChangeLink,
    reason: str,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> None:
    """Record that the customer says no by the link.

    Raises:
        ValidationError: no reason, or the link or its change is not open (any more).
    """
    at = at or timezone.now()
    if not reason.strip():
        raise ValidationError({"reason": _("Say in a word why, so that we can do better.")})
    _claim(link, at)
    services.change_decline_electronically(order=link.order, reason=reason, at=at)
    visit_log(link=link, what=ChangeVisit.What.DECLINED, agent=agent, staff=staff, at=at)


@transaction.atomic
def signed_paper_again(*, acceptance: ChangeAcceptance) -> DocumentRequest:
    """Ask for the signed PDF of an acceptance whose document is gone."""
    document = paper.signed_change_request(acceptance)
    ChangeAcceptance.objects.filter(pk=acceptance.pk).update(document=document)
    return document


def paper_sha256(order: ChangeOrder) -> str:
    """Return the SHA-256 of all that page and PDF show, in the spelling it was frozen in."""
    return hashlib.sha256(canonical_json(order.snapshot["paper"]).encode()).hexdigest()


def zone_of(order: ChangeOrder) -> ZoneInfo:
    """Return the time zone of the site as it was frozen."""
    return ZoneInfo(order.snapshot["paper"]["time_zone"])


def is_past(order: ChangeOrder, at: datetime.datetime) -> bool:
    """Whether the change order's last day has passed where its site is."""
    return order.valid_until is not None and at.astimezone(zone_of(order)).date() > order.valid_until


def _claim(link: ChangeLink, at: datetime.datetime) -> None:
    """Hold the link's row till the transaction ends, so that revoking it waits or was first."""
    # The conditional update changes nothing; it is the lock, alike on SQLite and PostgreSQL.
    open_link = ChangeLink.objects.filter(pk=link.pk, revoked_at=None, expires_at__gt=at)
    if not open_link.update(recipient=F("recipient")):
        raise ValidationError(_("This link is closed; nothing was changed."), code="status")

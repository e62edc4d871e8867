"""What happens by a private link: it is made, opened, revoked, and its paper is accepted or declined."""

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

from . import papers, selectors
from .models import PrivateLink, Signature, Visit
from .policies import token_hash
from .signable import Paper, Signable
from .signature import checked_drawing

# 32 bytes from the system's generator: nobody guesses one of 2^256.
TOKEN_BYTES = 32
# The signed document stays ready by the link for so long; the consent says so.
KEPT_FOR = datetime.timedelta(days=90)


@transaction.atomic
def link_make(
    *,
    signable: Signable,
    paper: Paper,
    recipient: str,
    expires_on: datetime.date | None,
    by: User,
    at: datetime.datetime | None = None,
) -> tuple[PrivateLink, str]:
    """Make a private link to an issued paper and return it with its token, which is told only now.

    Args:
        recipient: whom it is for, such as an address; for the office's own record.
        expires_on: its last day where the site is; None: the paper's own last day.

    Raises:
        ValidationError: the paper is not open any more, or the day is not within its validity.
    """
    at = at or timezone.now()
    last = paper.valid_until
    if last is None or not selectors.can_send(paper, at):
        raise ValidationError(signable.words["not_open"])
    day = expires_on or last
    if not at.astimezone(selectors.zone_of(paper)).date() <= day <= last:
        told = signable.say("not_then", paper.snapshot["paper"], day=day.isoformat(), last=last.isoformat())
        raise ValidationError({"expires_on": told})
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = signable.link_model(
        **{signable.name: paper},
        token_sha256=token_hash(token),
        recipient=recipient.strip(),
        made_by=by,
        made_at=at,
        expires_at=selectors.end_of_day(paper, day),
    )
    link.full_clean(exclude=[signable.name])
    link.save(force_insert=True)
    return link, token


@transaction.atomic
def link_revoke(*, link: PrivateLink, by: User) -> None:
    """Close a link for good; one that is closed already stays as it is."""
    open_link = type(link)._default_manager.filter(pk=link.pk, revoked_at=None)
    open_link.update(revoked_at=timezone.now(), revoked_by=by)


def visit_log(
    *,
    signable: Signable,
    link: PrivateLink,
    what: Visit.What,
    agent: str,
    staff: User | None,
    at: datetime.datetime,
) -> Visit:
    """Write down that somebody came by the link."""
    visit: Visit = signable.visits.create(link=link, what=what, agent=agent, staff=staff, at=at)
    return visit


@transaction.atomic
def paper_sign(
    *,
    signable: Signable,
    link: PrivateLink,
    name: str,
    kind: str,
    drawing: str,
    consents: bool,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> Signature:
    """Accept the link's paper with the customer's signature, and make all that follows from it, once.

    Pressed again, or by a hundred at once, the first signature stands and is returned.

    Raises:
        ValidationError: no consent, name or signature, or the link or its paper is not open (any more).
    """
    at = at or timezone.now()
    if not consents:
        raise ValidationError({"consents": _("Agree to sign electronically first, or sign on paper.")})
    name = " ".join(name.split())[:120]
    if not name:
        raise ValidationError({"name": _("Write your full name.")})
    if kind == Signature.Kind.DRAWN:
        try:
            drawing = checked_drawing(drawing)
        except ValidationError as error:
            raise ValidationError({"drawing": error.messages}) from error
    else:
        kind, drawing = Signature.Kind.TYPED, ""
    _claim(link, at)
    try:
        paper = signable.accept(link=link, name=name, at=at)
    except ValidationError:
        # Somebody was first. Where that was this same link, it was the same customer pressing twice.
        first: Signature | None = signable.signatures.filter(link=link).first()
        if first is None:
            raise
        return first
    kept_until = max(link.expires_at, at + KEPT_FOR)
    type(link)._default_manager.filter(pk=link.pk).update(expires_at=kept_until)
    acceptance = signable.signature_model(
        **{signable.name: paper, "link": link},
        name=name,
        kind=kind,
        drawing=drawing,
        consent_version=signable.consent_version,
        consent_text="\n".join(signable.consent_lines(paper.snapshot["paper"])),
        at=at,
        paper_sha256=paper_sha256(paper),
        file_sha256=paper.document.sha256 if paper.document else "",
        agent=agent,
        staff=staff,
    )
    acceptance.document = papers.signed_request(signable, acceptance)
    acceptance.full_clean(exclude=[signable.name, "document"])
    acceptance.save(force_insert=True)
    visit_log(signable=signable, link=link, what=Visit.What.ACCEPTED, agent=agent, staff=staff, at=at)
    return acceptance


@transaction.atomic
def paper_refuse(
    *,
    signable: Signable,
    link: PrivateLink,
    reason: str,
    agent: str,
    staff: User | None = None,
    at: datetime.datetime | None = None,
) -> None:
    """Record that the customer says no by the link.

    Raises:
        ValidationError: no reason, or the link or its paper is not open (any more).
    """
    at = at or timezone.now()
    if not reason.strip():
        raise ValidationError({"reason": _("Say in a word why, so that we can do better.")})
    _claim(link, at)
    signable.decline(link=link, reason=reason, at=at)
    visit_log(signable=signable, link=link, what=Visit.What.DECLINED, agent=agent, staff=staff, at=at)


@transaction.atomic
def signed_paper_again(*, signable: Signable, acceptance: Signature) -> DocumentRequest:
    """Ask for the signed PDF of an acceptance whose document is gone."""
    document = papers.signed_request(signable, acceptance)
    signable.signatures.filter(pk=acceptance.pk).update(document=document)
    return document


def paper_sha256(paper: Paper) -> str:
    """Return the SHA-256 of all that the paper's page and PDF show, in the spelling it was frozen in."""
    return hashlib.sha256(canonical_json(paper.snapshot["paper"]).encode()).hexdigest()


def _claim(link: PrivateLink, at: datetime.datetime) -> None:
    """Hold the link's row till the transaction ends, so that revoking it waits or was first."""
    # The conditional update changes nothing; it is the lock, alike on SQLite and PostgreSQL.
    open_link = type(link)._default_manager.filter(pk=link.pk, revoked_at=None, expires_at__gt=at)
    if not open_link.update(recipient=F("recipient")):
        raise ValidationError(_("This link is closed; nothing was changed."), code="status")

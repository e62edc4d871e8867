"""Private links, who opened them, and customers' signatures: what they have in common, and a quote's own.

What a change order has of its own stands in ``changes.models``.
"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from .signable import Paper


class PrivateLink(models.Model):
    """A private address where a customer reads and answers something, without an account.

    The address itself is told once, when it is made: of its token only the SHA-256 is kept, so that nobody
    who reads the database, or a copy of it, can open a customer's paper.
    """

    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    recipient = models.CharField(_("for"), max_length=254, blank=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(_("made"))
    expires_at = models.DateTimeField(_("ends"))
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.recipient or str(self.pk)

    @property
    def paper(self) -> Paper:
        """What the link shows and what is answered by it."""
        raise NotImplementedError

    @property
    def last_moment(self) -> datetime.datetime:
        """The last second in which it is good: a link that ends at midnight is good until the day before."""
        return self.expires_at - datetime.timedelta(seconds=1)


def link_constraints(table: str) -> list[models.BaseConstraint]:
    """Return the constraints of a model of links, named after *table*."""
    return [
        models.CheckConstraint(
            condition=Q(expires_at__gt=F("made_at")), name=f"{table}_ends_after_it_was_made"
        ),
        models.CheckConstraint(
            condition=Q(revoked_at=None, revoked_by=None)
            | Q(revoked_at__isnull=False, revoked_by__isnull=False),
            name=f"{table}_revoked_by_somebody",
        ),
    ]


class Visit(models.Model):
    """One request that came by a private link.

    When, what for and with what kind of device; no network address, which would be a person's whereabouts
    and proves little. *staff* is the colleague who had signed in on that device, so that the office's own
    looks are not taken for the customer's.
    """

    class What(models.TextChoices):
        READ = "read", _("read it")
        PAPER = "paper", _("fetched the PDF")
        SIGNING = "signing", _("opened the page to sign")
        INCOMPLETE = "incomplete", _("sent an answer that was not complete")
        ACCEPTED = "accepted", _("accepted")
        DECLINING = "declining", _("opened the page to decline")
        DECLINED = "declined", _("declined")
        SIGNED_PAPER = "signed-paper", _("fetched the signed PDF")
        CLOSED = "closed", _("was told that the link is closed")

    at = models.DateTimeField(_("at"))
    what = models.CharField(_("what"), max_length=12, choices=What)
    agent = models.CharField(_("device"), max_length=60)
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, related_name="+", null=True, blank=True
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.what


def visit_known(name: str) -> models.BaseConstraint:
    """Return the constraint, called *name*, that a visit is one of :class:`Visit.What`."""
    return models.CheckConstraint(condition=Q(what__in=[
        "read", "paper", "signing", "incomplete", "accepted", "declining", "declined", "signed-paper",
        "closed",
    ]), name=name)  # fmt: skip


class Signature(models.Model):
    """A customer's electronic signature with its evidence. Never changed and never deleted.

    *paper_sha256* is of the frozen content, all that page and PDF show; *file_sha256* of the PDF as it lay
    for download when it was signed (empty when it had not been made yet).
    """

    class Kind(models.TextChoices):
        TYPED = "typed", _("typed")
        DRAWN = "drawn", _("drawn")

    name = models.CharField(_("name"), max_length=120)
    kind = models.CharField(_("signature"), max_length=5, choices=Kind)
    drawing = models.TextField(blank=True)  # path data on a field of signature.WIDTH by signature.HEIGHT
    consent_version = models.CharField(max_length=20)
    consent_text = models.TextField()
    at = models.DateTimeField(_("signed"))
    paper_sha256 = models.CharField(max_length=64)
    file_sha256 = models.CharField(max_length=64, blank=True)
    agent = models.CharField(_("device"), max_length=60)
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    # The signed PDF. Not frozen, since one that is gone is asked for again.
    document = models.ForeignKey(
        "documents.DocumentRequest", models.SET_NULL, related_name="+", null=True, blank=True
    )

    if TYPE_CHECKING:
        # A foreign key in each model of its own.
        link: Any

    FROZEN: tuple[str, ...] = (
        "link_id",
        "name",
        "kind",
        "drawing",
        "consent_version",
        "consent_text",
        "at",
        "paper_sha256",
        "file_sha256",
        "agent",
        "staff_id",
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.name


def signature_constraints(table: str) -> list[models.BaseConstraint]:
    """Return the constraints of a model of signatures, named after *table*."""
    return [
        models.CheckConstraint(condition=~Q(name=""), name=f"{table}_has_a_name"),
        models.CheckConstraint(
            condition=Q(kind="typed", drawing="") | (Q(kind="drawn") & ~Q(drawing="")),
            name=f"{table}_drawn_has_its_drawing",
        ),
        models.CheckConstraint(
            condition=~Q(consent_text="") & ~Q(consent_version=""), name=f"{table}_has_consent"
        ),
        models.CheckConstraint(condition=~Q(paper_sha256=""), name=f"{table}_has_document_hash"),
    ]


class QuoteLink(PrivateLink):
    """A private address where a customer reads and answers one issued quote."""

    quote = models.ForeignKey("quotes.Quote", models.PROTECT, related_name="links")

    class Meta:
        ordering = ["-pk"]
        verbose_name = _("private link")
        verbose_name_plural = _("private links")
        constraints = link_constraints("quote_link")

    @property
    def paper(self) -> Paper:
        return self.quote


class LinkVisit(Visit):
    """One request that came by a private link to a quote."""

    link = models.ForeignKey(QuoteLink, models.CASCADE, related_name="visits")
    what = models.CharField(
        _("what"), max_length=12, choices=[("read", _("read the quote")), *Visit.What.choices[1:]]
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [visit_known("link_visit_what_known")]
        indexes = [models.Index(fields=["link", "-at"], name="link_visit_by_time")]


class Acceptance(Signature):
    """A customer's electronic signature under a quote.

    A database trigger refuses an update of the frozen columns; on SQLite a migration that alters this table
    has to create it again (a test fails when it is missing).
    """

    quote = models.OneToOneField("quotes.Quote", models.PROTECT, related_name="acceptance")
    link = models.ForeignKey(QuoteLink, models.PROTECT, related_name="acceptances")

    FROZEN = ("quote_id", *Signature.FROZEN)

    class Meta:
        ordering = ["-pk"]
        verbose_name = _("electronic signature")
        verbose_name_plural = _("electronic signatures")
        constraints = signature_constraints("acceptance")

"""What is asked for a job and what came: invoices, credit notes, retainage, payments.

All amounts are whole cents of the job's currency. An invoice is never edited: a credit note takes it back,
in whole or in part. A payment is corrected by one that supersedes it.
"""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from jobs.work.models import Job


class Account(models.Model):
    """One job's terms of payment, and its totals as they stand.

    The totals are sums over the job's invoices and payments, written in the same transaction as what moves
    them, so that the owner's list reads one row a job. *invoiced_price_cents* is before sales tax, all else
    with it; *retained_cents* is still held back.
    """

    job = models.OneToOneField(Job, models.CASCADE, primary_key=True, related_name="account")
    retainage_basis_points = models.PositiveIntegerField(_("held back until the end"), default=0)
    due_days = models.PositiveSmallIntegerField(_("days to pay"), default=14)
    invoiced_cents = models.BigIntegerField(default=0)
    invoiced_price_cents = models.BigIntegerField(default=0)
    retained_cents = models.BigIntegerField(default=0)
    received_cents = models.BigIntegerField(default=0)

    class Meta:
        verbose_name = _("account")
        verbose_name_plural = _("accounts")
        constraints = [
            models.CheckConstraint(
                condition=Q(retainage_basis_points__lte=5000), name="account_retainage_at_most_half"
            ),
            models.CheckConstraint(condition=Q(due_days__lte=365), name="account_due_within_a_year"),
            models.CheckConstraint(
                condition=Q(
                    invoiced_cents__gte=0, retained_cents__gte=0, retained_cents__lte=F("invoiced_cents")
                ),
                name="account_totals_possible",
            ),
        ]

    def __str__(self) -> str:
        return str(self.job)


class Invoice(models.Model):
    """An invoice, a credit note against one, or the release of what was held back. Never changed.

    *total_cents* counts towards the contract; *retained_cents* of it is not to be paid yet. So of a credit
    note both are negative, and a release asks for nothing new (total 0) but gives back what was retained
    (negative). What is to be paid is always total less retained. A database trigger refuses every change
    but that of *document*; on SQLite a migration that alters this table has to create it again.
    """

    class Kind(models.TextChoices):
        INVOICE = "invoice", _("invoice")
        CREDIT = "credit", _("credit note")
        RELEASE = "release", _("release of retainage")

    # Under this key the act that made it is stored once.
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="invoices")
    kind = models.CharField(_("kind"), max_length=8, choices=Kind, default=Kind.INVOICE)
    number = models.PositiveIntegerField(_("number"), unique=True)
    credits = models.ForeignKey(
        "self", models.PROTECT, related_name="credit_notes", null=True, blank=True, verbose_name=_("credits")
    )
    reason = models.CharField(_("reason"), max_length=300, blank=True)
    # Copies for the list and its search.
    customer_name = models.CharField(_("customer"), max_length=120)
    currency = models.CharField(max_length=3)
    issued_on = models.DateField(_("issued"))
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    due_on = models.DateField(_("to be paid by"))
    price_cents = models.BigIntegerField(_("price before tax"))
    tax_cents = models.BigIntegerField(_("sales tax"))
    total_cents = models.BigIntegerField(_("total"))
    retained_cents = models.BigIntegerField(_("held back"), default=0)
    snapshot = models.JSONField()
    sha256 = models.CharField(max_length=64)
    document = models.ForeignKey(
        "documents.DocumentRequest", models.SET_NULL, related_name="+", null=True, blank=True
    )

    FROZEN = (
        "key",
        "job_id",
        "kind",
        "number",
        "credits_id",
        "reason",
        "customer_name",
        "currency",
        "issued_on",
        "issued_at",
        "issued_by_id",
        "due_on",
        "price_cents",
        "tax_cents",
        "total_cents",
        "retained_cents",
        "snapshot",
        "sha256",
    )

    class Meta:
        ordering = ["-number"]
        verbose_name = _("invoice")
        verbose_name_plural = _("invoices")
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=["invoice", "credit", "release"]), name="invoice_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(total_cents=F("price_cents") + F("tax_cents")),
                name="invoice_total_is_price_and_tax",
            ),
            models.CheckConstraint(
                condition=Q(kind="invoice", total_cents__gt=0, retained_cents__gte=0, credits=None)
                | Q(kind="credit", total_cents__lt=0, retained_cents__lte=0, credits__isnull=False)
                | Q(kind="release", total_cents=0, price_cents=0, retained_cents__lt=0, credits=None),
                name="invoice_signs_by_kind",
            ),
            models.CheckConstraint(
                condition=~Q(kind="invoice") | Q(retained_cents__lte=F("total_cents")),
                name="invoice_retains_at_most_all",
            ),
            models.CheckConstraint(
                condition=~Q(kind="credit") | ~Q(reason=""), name="invoice_credit_says_why"
            ),
            models.CheckConstraint(condition=Q(due_on__gte=F("issued_on")), name="invoice_due_after_issue"),
        ]
        indexes = [models.Index(fields=["due_on"], name="invoice_by_due_date")]

    def __str__(self) -> str:
        return f"{self.PREFIX[Invoice.Kind(self.kind)]}-{self.number}"

    def get_absolute_url(self) -> str:
        return reverse("billing:invoice", args=[self.pk])

    PREFIX = {Kind.INVOICE: "INV", Kind.CREDIT: "CN", Kind.RELEASE: "REL"}

    @property
    def payable_cents(self) -> int:
        """What is to be paid of it: below nothing, what is taken back."""
        return self.total_cents - self.retained_cents


class InvoiceLine(models.Model):
    """How much of which payment of the contract an invoice asks for, tax included; negative: credited."""

    invoice = models.ForeignKey(Invoice, models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    stage_key = models.CharField(max_length=40)
    label = models.JSONField()  # a stored phrase
    cents = models.BigIntegerField()

    class Meta:
        ordering = ["invoice", "position"]
        constraints = [
            models.UniqueConstraint(fields=["invoice", "stage_key"], name="invoice_line_once_a_stage"),
            models.CheckConstraint(condition=~Q(cents=0), name="invoice_line_not_nothing"),
        ]

    def __str__(self) -> str:
        return self.stage_key


class Payment(models.Model):
    """Money that came for an invoice (negative: paid back). A correction supersedes it, 0 strikes it out."""

    class Way(models.TextChoices):
        # A check of the bank, not one of the inspection.
        CHECK = "check", pgettext_lazy("way of paying", "check")
        TRANSFER = "transfer", _("bank transfer")
        CARD = "card", _("card")
        CASH = "cash", _("cash")
        OTHER = "other", _("another way")

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    invoice = models.ForeignKey(Invoice, models.PROTECT, related_name="payments")
    received_on = models.DateField(_("received"))
    way = models.CharField(_("way"), max_length=8, choices=Way)
    amount_cents = models.BigIntegerField(_("amount"))
    reference = models.CharField(_("reference"), max_length=120, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )

    FROZEN = (
        "key",
        "invoice_id",
        "received_on",
        "way",
        "amount_cents",
        "reference",
        "by_id",
        "at",
        "supersedes_id",
    )

    class Meta:
        ordering = ["received_on", "pk"]
        verbose_name = _("payment")
        verbose_name_plural = _("payments")
        constraints = [
            models.CheckConstraint(
                condition=Q(way__in=["check", "transfer", "card", "cash", "other"]), name="payment_way_known"
            ),
            models.CheckConstraint(
                condition=~Q(amount_cents=0) | Q(supersedes__isnull=False),
                name="payment_of_nothing_only_corrects",
            ),
            models.CheckConstraint(
                condition=Q(amount_cents__lte=100_000_000_000, amount_cents__gte=-100_000_000_000),
                name="payment_believable",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.received_on} {self.way}"

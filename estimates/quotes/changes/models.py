"""Change orders of a signed quote: what is added or taken out, and the customer's answer."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from ..signing.models import (
    PrivateLink,
    Signature,
    Visit,
    link_constraints,
    signature_constraints,
    visit_known,
)

if TYPE_CHECKING:
    from ..signing.signable import Paper


class ChangeOrder(models.Model):
    """A change to a signed quote. It is edited as a draft; once issued it is frozen and only followed.

    Amounts are signed whole cents: a deduction is negative. *snapshot* has three parts as a quote's has:
    ``paper`` (all that is printed; no cost), ``work`` (what changes in the work, no money) and ``office``
    (cost, hours and materials for the budget). A database trigger refuses an update of the frozen columns
    of an issued one; on SQLite a migration that alters this table has to create it again (a test fails when
    it is missing).
    """

    class Status(models.TextChoices):
        DRAFT = "draft", _("being written")
        ISSUED = "issued", _("issued")
        ACCEPTED = "accepted", _("signed")
        DECLINED = "declined", _("declined")
        SUPERSEDED = "superseded", _("superseded")
        WITHDRAWN = "withdrawn", _("withdrawn")

    TRANSITIONS = {
        Status.DRAFT: {Status.ISSUED},
        Status.ISSUED: {Status.ACCEPTED, Status.DECLINED, Status.SUPERSEDED, Status.WITHDRAWN},
        Status.DECLINED: {Status.SUPERSEDED},
        Status.WITHDRAWN: {Status.SUPERSEDED},
        Status.ACCEPTED: set(),
        Status.SUPERSEDED: set(),
    }

    class PayWhen(models.TextChoices):
        """When the customer pays for the change."""

        BALANCE = "balance", _("with the last payment")
        SIGNING = "signing", _("when this change is signed")
        DONE = "done", _("when this change is done")

    # Under this key its part of the budget is stored, once.
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    quote = models.ForeignKey("quotes.Quote", models.PROTECT, related_name="change_orders")
    # Counted per quote, so per job; given when it is issued, without gaps.
    sequence = models.PositiveSmallIntegerField(_("number"), null=True, blank=True)
    status = models.CharField(_("status"), max_length=10, choices=Status, default=Status.DRAFT)
    revision = models.PositiveIntegerField(default=1)  # counts the saves of the draft
    replaces = models.ForeignKey(
        "self", models.PROTECT, related_name="replaced_by", null=True, blank=True, verbose_name=_("replaces")
    )
    # The signed change whose measurements this one's are compared with; none: the quote's.
    base = models.ForeignKey("self", models.PROTECT, related_name="+", null=True, blank=True)
    title = models.CharField(_("what changes"), max_length=120)
    reason = models.CharField(_("reason"), max_length=300)
    work_days = models.SmallIntegerField(_("working days more or less"), default=0)
    pay_when = models.CharField(_("to be paid"), max_length=8, choices=PayWhen, default=PayWhen.BALANCE)
    currency = models.CharField(max_length=3)
    price_cents = models.BigIntegerField(_("price before tax"), default=0)
    tax_cents = models.BigIntegerField(_("sales tax"), default=0)
    total_cents = models.BigIntegerField(_("total"), default=0)
    cost_cents = models.BigIntegerField(_("cost"), default=0)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    issued_at = models.DateTimeField(_("issued"), null=True, blank=True)
    valid_until = models.DateField(_("valid until"), null=True, blank=True)
    # Rooms measured again, priced: what remeasure.py worked out. Empty without.
    measured = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    snapshot = models.JSONField(default=dict, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    document = models.ForeignKey(
        "documents.DocumentRequest", models.SET_NULL, related_name="+", null=True, blank=True
    )
    signed_name = models.CharField(_("signed by"), max_length=120, blank=True)
    answered_on = models.DateField(_("signed or declined on"), null=True, blank=True)
    answer_note = models.CharField(_("note"), max_length=300, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    recorded_at = models.DateTimeField(null=True, blank=True)

    FROZEN = (
        "key",
        "quote_id",
        "sequence",
        "revision",
        "replaces_id",
        "base_id",
        "title",
        "reason",
        "work_days",
        "pay_when",
        "currency",
        "price_cents",
        "tax_cents",
        "total_cents",
        "cost_cents",
        "issued_by_id",
        "issued_at",
        "valid_until",
        "measured",
        "snapshot",
        "sha256",
    )

    class Meta:
        ordering = ["quote", "sequence", "pk"]
        verbose_name = _("change order")
        verbose_name_plural = _("change orders")
        constraints = [
            models.UniqueConstraint(fields=["quote", "sequence"], name="change_order_number_once_a_quote"),
            models.UniqueConstraint(
                fields=["replaces"],
                condition=Q(status__in=["issued", "accepted"]),
                name="change_order_replaced_once",
            ),
            models.CheckConstraint(
                condition=Q(
                    status__in=["draft", "issued", "accepted", "declined", "superseded", "withdrawn"]
                ),
                name="change_order_status_known",
            ),
            models.CheckConstraint(
                condition=Q(pay_when__in=["balance", "signing", "done"]), name="change_order_pay_when_known"
            ),
            models.CheckConstraint(
                condition=Q(total_cents=F("price_cents") + F("tax_cents")),
                name="change_order_total_is_price_and_tax",
            ),
            models.CheckConstraint(
                condition=Q(status="draft", sequence=None)
                | (
                    ~Q(status="draft")
                    & Q(sequence__gte=1, issued_at__isnull=False, valid_until__isnull=False)
                    & ~Q(sha256="")
                ),
                name="change_order_issued_has_its_number",
            ),
            models.CheckConstraint(
                condition=~Q(status="accepted") | (~Q(signed_name="") & Q(answered_on__isnull=False)),
                name="change_order_accepted_is_signed",
            ),
            models.CheckConstraint(
                condition=~Q(title="") & ~Q(reason=""), name="change_order_says_what_and_why"
            ),
            models.CheckConstraint(
                condition=Q(work_days__gte=-365, work_days__lte=365), name="change_order_days_believable"
            ),
        ]

    def __str__(self) -> str:
        return self.number or self.title

    def get_absolute_url(self) -> str:
        return reverse("changes:order", args=[self.pk])

    @property
    def number(self) -> str:
        """The quote's number and its own: ``Q-1007 CO-2``; a draft has none yet."""
        return "" if self.sequence is None else f"{self.quote.number} CO-{self.sequence}"

    @property
    def is_draft(self) -> bool:
        return self.status == self.Status.DRAFT

    @property
    def is_open(self) -> bool:
        """Whether it waits for the customer's answer."""
        return self.status == self.Status.ISSUED


class ChangeLine(models.Model):
    """A line written by hand: what it adds or takes away, its price, and what it does to the budget.

    Amounts are of what is written, without sign; *sign* turns them. What the customer never sees stands in
    *minutes*, *labour_cents*, *material_cents* and *other_cents*.
    """

    class Sign(models.IntegerChoices):
        ADDS = 1, _("adds")
        TAKES_AWAY = -1, _("takes away")

    order = models.ForeignKey(ChangeOrder, models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField(default=0)
    sign = models.SmallIntegerField(_("adds or takes away"), choices=Sign, default=Sign.ADDS)
    text = models.CharField(_("what"), max_length=200)
    step = models.CharField(_("trade step"), max_length=40)
    quantity_millionths = models.PositiveBigIntegerField(_("quantity"), default=1_000_000)
    unit = models.CharField(_("unit"), max_length=20, blank=True)
    price_cents = models.PositiveBigIntegerField(_("price each"))
    is_material = models.BooleanField(_("a material (for sales tax)"), default=False)
    minutes = models.PositiveIntegerField(_("hours"), default=0)
    labour_cents = models.PositiveBigIntegerField(_("cost of labour"), null=True, blank=True)
    material_key = models.CharField(_("material"), max_length=120, blank=True)
    material_name = models.CharField(max_length=160, blank=True)
    pack_label = models.CharField(max_length=40, blank=True)
    packs_millionths = models.PositiveBigIntegerField(_("packs"), default=0)
    material_cents = models.PositiveBigIntegerField(_("cost of material"), default=0)
    other_cents = models.PositiveBigIntegerField(_("other cost"), default=0)

    class Meta:
        ordering = ["order", "position", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="change_line_has_text"),
            models.CheckConstraint(condition=Q(sign__in=[1, -1]), name="change_line_adds_or_takes_away"),
            models.CheckConstraint(condition=Q(quantity_millionths__gt=0), name="change_line_quantity"),
            models.CheckConstraint(
                condition=Q(price_cents__lte=10_000_000_000, material_cents__lte=10_000_000_000)
                & Q(other_cents__lte=10_000_000_000, minutes__lte=10_000_000)
                & (Q(labour_cents=None) | Q(labour_cents__lte=10_000_000_000)),
                name="change_line_believable",
            ),
            models.CheckConstraint(
                condition=Q(material_key="") | Q(packs_millionths__gt=0),
                name="change_line_material_has_packs",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class ChangeLink(PrivateLink):
    """A private address where a customer reads and answers one change order."""

    order = models.ForeignKey(ChangeOrder, models.PROTECT, related_name="links")

    class Meta:
        ordering = ["-pk"]
        constraints = link_constraints("change_link")

    @property
    def paper(self) -> Paper:
        return self.order


class ChangeVisit(Visit):
    """One request that came by a private link to a change order."""

    link = models.ForeignKey(ChangeLink, models.CASCADE, related_name="visits")

    class Meta:
        ordering = ["-pk"]
        constraints = [visit_known("change_visit_what_known")]
        indexes = [models.Index(fields=["link", "-at"], name="change_visit_by_time")]


class ChangeAcceptance(Signature):
    """A customer's electronic signature under a change order; a trigger keeps it as a quote's is kept."""

    order = models.OneToOneField(ChangeOrder, models.PROTECT, related_name="acceptance")
    link = models.ForeignKey(ChangeLink, models.PROTECT, related_name="acceptances")

    FROZEN = ("order_id", *Signature.FROZEN)

    class Meta:
        ordering = ["-pk"]
        constraints = signature_constraints("change_acceptance")

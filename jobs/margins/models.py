"""What a job was meant to cost, and the running totals of what it did.

A budget is frozen from the accepted quote; a signed change adds rows to it. The ledger rows are sums over
the daily log, written in the same transaction as the entry that moves them, so that the owner's list reads
one row a job; ``ledger.rebuild`` computes them again from the entries, and a test compares.
"""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from jobs.work.models import Job


class Budget(models.Model):
    """The money an accepted quote gives a job. All amounts are whole cents before sales tax.

    Overhead is held at what the quote put on top of cost: it is a share of the year's cost of being in
    business, and does not rise because a box of tile did.
    """

    job = models.OneToOneField(Job, models.CASCADE, related_name="budget", verbose_name=_("job"))
    currency = models.CharField(max_length=3)
    price_cents = models.BigIntegerField(_("price"))
    overhead_cents = models.BigIntegerField(_("overhead"))
    work_days = models.PositiveSmallIntegerField(_("planned days on site"), null=True)
    quote_sha256 = models.CharField(max_length=64)
    frozen_at = models.DateTimeField()

    class Meta:
        verbose_name = _("budget")
        verbose_name_plural = _("budgets")
        constraints = [
            models.CheckConstraint(condition=Q(price_cents__gte=0), name="budget_price_not_negative"),
            models.CheckConstraint(
                condition=Q(price_cents__lte=100_000_000_000, overhead_cents__lte=100_000_000_000),
                name="budget_believable",
            ),
        ]

    def __str__(self) -> str:
        return str(self.job)


class BudgetChange(models.Model):
    """A signed change to the job: what it adds to price and budget (a deduction is negative)."""

    key = models.UUIDField(editable=False)
    budget = models.ForeignKey(Budget, models.CASCADE, related_name="changes")
    title = models.CharField(_("what changes"), max_length=200)
    agreed_on = models.DateField(_("agreed on"))
    price_cents = models.BigIntegerField(_("price"))
    work_days = models.SmallIntegerField(_("working days more or less"), default=0)

    class Meta:
        ordering = ["budget", "agreed_on", "pk"]
        constraints = [models.UniqueConstraint(fields=["key"], name="budget_change_key_once")]

    def __str__(self) -> str:
        return self.title


class BudgetStep(models.Model):
    """A trade step's part of the budget, of the quote itself or of a change."""

    budget = models.ForeignKey(Budget, models.CASCADE, related_name="steps")
    change = models.ForeignKey(BudgetChange, models.CASCADE, related_name="steps", null=True, blank=True)
    step = models.CharField(_("trade step"), max_length=40)
    minutes = models.IntegerField(_("minutes"), default=0)
    labour_cents = models.BigIntegerField(_("labour"), default=0)
    material_cents = models.BigIntegerField(_("material"), default=0)
    other_cents = models.BigIntegerField(_("other costs"), default=0)
    price_cents = models.BigIntegerField(_("price"), default=0)

    class Meta:
        ordering = ["budget", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["budget", "step"], condition=Q(change=None), name="budget_step_once"
            ),
            models.UniqueConstraint(fields=["change", "step"], name="budget_step_once_a_change"),
            models.CheckConstraint(
                condition=Q(change__isnull=False)
                | Q(minutes__gte=0, labour_cents__gte=0, material_cents__gte=0, other_cents__gte=0),
                name="budget_step_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.step


class BudgetMaterial(models.Model):
    """A material of the purchase list: the packs to buy and what they may cost together."""

    budget = models.ForeignKey(Budget, models.CASCADE, related_name="materials")
    change = models.ForeignKey(BudgetChange, models.CASCADE, related_name="materials", null=True, blank=True)
    material_key = models.CharField(max_length=120)
    name = models.CharField(_("material"), max_length=160)
    pack_label = models.CharField(_("pack"), max_length=40, blank=True)
    step = models.CharField(_("trade step"), max_length=40)
    packs_millionths = models.BigIntegerField(_("packs"))
    cost_cents = models.BigIntegerField(_("cost"))

    class Meta:
        ordering = ["budget", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["budget", "material_key"], condition=Q(change=None), name="budget_material_once"
            ),
            models.UniqueConstraint(fields=["change", "material_key"], name="budget_material_once_a_change"),
            models.CheckConstraint(
                condition=Q(change__isnull=False) | Q(packs_millionths__gt=0, cost_cents__gte=0),
                name="budget_material_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Ledger(models.Model):
    """One job's totals as they stand: what the quote said, the budget with its changes, and the actual cost.

    The four stages each have their budget and what is earned of it while the stage is not behind us; which
    of the two counts follows from the job's stage as it is read (``selectors``), so that moving a job needs
    no write here.
    """

    job = models.OneToOneField(Job, models.CASCADE, primary_key=True, related_name="ledger")
    quoted_price_cents = models.BigIntegerField(default=0)
    quoted_cost_cents = models.BigIntegerField(default=0)
    overhead_cents = models.BigIntegerField(default=0)
    price_cents = models.BigIntegerField(default=0)
    budget_cents = models.BigIntegerField(default=0)
    minutes = models.BigIntegerField(default=0)
    labour_cents = models.BigIntegerField(default=0)
    material_cents = models.BigIntegerField(default=0)
    other_cents = models.BigIntegerField(default=0)
    substrate_budget_cents = models.BigIntegerField(default=0)
    substrate_earned_cents = models.BigIntegerField(default=0)
    membrane_budget_cents = models.BigIntegerField(default=0)
    membrane_earned_cents = models.BigIntegerField(default=0)
    tile_budget_cents = models.BigIntegerField(default=0)
    tile_earned_cents = models.BigIntegerField(default=0)
    punch_budget_cents = models.BigIntegerField(default=0)
    punch_earned_cents = models.BigIntegerField(default=0)
    # Entries whose cost is not yet known for sure: hours without a rate, deliveries without an invoice.
    open_cost_count = models.PositiveIntegerField(default=0)
    last_day = models.DateField(null=True)

    class Meta:
        verbose_name = _("running total")
        verbose_name_plural = _("running totals")

    def __str__(self) -> str:
        return str(self.job)

    @property
    def actual_cents(self) -> int:
        return self.labour_cents + self.material_cents + self.other_cents


class LedgerStep(models.Model):
    """What one trade step of a job has used: time, its cost, other costs; and how much of it is done."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="ledger_steps")
    step = models.CharField(max_length=40)
    minutes = models.BigIntegerField(default=0)
    labour_cents = models.BigIntegerField(default=0)
    other_cents = models.BigIntegerField(default=0)
    done_basis_points = models.PositiveIntegerField(null=True)

    class Meta:
        ordering = ["job", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "step"], name="ledger_step_once")]

    def __str__(self) -> str:
        return self.step


class LedgerMaterial(models.Model):
    """What has come of one material."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="ledger_materials")
    material_key = models.CharField(max_length=120)
    name = models.CharField(max_length=160)
    step = models.CharField(max_length=40)
    packs_millionths = models.BigIntegerField(default=0)
    cost_cents = models.BigIntegerField(default=0)

    class Meta:
        ordering = ["job", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "material_key"], name="ledger_material_once")]

    def __str__(self) -> str:
        return self.name

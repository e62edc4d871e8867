"""What is bought for a job and what is not: orders at suppliers, and packs that lie in stock already.

Rows are added and never edited, as in the daily log; what came is a delivery of the log, so that it is
written once and counts in the job's cost.
"""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from .daily import LogEntry


class SupplyKind(models.TextChoices):
    ORDER = "order", _("ordered")
    STOCK = "stock", _("in stock")


class SupplyEntry(LogEntry):
    """Packs of one material that were ordered, or that need not be bought since they lie in stock.

    *note* says why packs are taken from stock. An entry of no packs strikes an earlier one out.
    """

    kind = models.CharField(_("kind"), max_length=5, choices=SupplyKind)
    material_key = models.CharField(max_length=120)
    material_name = models.CharField(_("material"), max_length=160)
    packs_millionths = models.PositiveBigIntegerField(_("packs"))
    reference = models.CharField(_("order number"), max_length=60, blank=True)
    expected_on = models.DateField(_("expected on"), null=True, blank=True)

    class Meta(LogEntry.Meta):
        verbose_name = _("order or stock")
        verbose_name_plural = _("orders and stock")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(condition=Q(kind__in=SupplyKind.values), name="supply_kind_known"),
            models.CheckConstraint(
                condition=~Q(material_key="") & ~Q(material_name=""), name="supply_says_what_it_is"
            ),
            models.CheckConstraint(
                condition=~Q(packs_millionths=0) | Q(supersedes__isnull=False),
                name="supply_struck_only_by_correction",
            ),
            models.CheckConstraint(
                condition=Q(kind="order") | ~Q(note="") | Q(packs_millionths=0), name="supply_stock_says_why"
            ),
            models.CheckConstraint(
                condition=Q(kind="order") | Q(reference="", expected_on=None),
                name="supply_only_orders_are_expected",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.material_name}"

"""What is bought: suppliers, materials with their data-sheet values, and prices that start on a date."""

import datetime

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _


class Supplier(models.Model):
    """Who sells it."""

    name = models.CharField(_("name"), max_length=120, unique=True)
    account = models.CharField(_("our account number"), max_length=60, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    notes = models.TextField(_("notes"), blank=True)
    is_active = models.BooleanField(_("we buy there"), default=True)

    class Meta:
        ordering = ["name"]
        verbose_name = _("supplier")
        verbose_name_plural = _("suppliers")
        constraints = [models.CheckConstraint(condition=~Q(name=""), name="supplier_has_name")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("pricelists:supplier", args=[self.pk])


class MaterialRole(models.TextChoices):
    """What a material does in the job; the values are those of ``takeoff.model.Role`` (a test compares)."""

    MEMBRANE = "membrane", _("membrane")
    INSIDE_CORNER = "inside corner piece", _("inside corner piece")
    OUTSIDE_CORNER = "outside corner piece", _("outside corner piece")
    BONDING_AGENT = "bonding agent", _("bonding agent")
    SEALANT = "sealant", _("sealant")
    TILE = "tile", _("tile")
    MORTAR = "mortar", _("mortar")
    GROUT = "grout", _("grout")
    BACKER_BOARD = "backer board", _("backer board")
    FASTENER = "fastener", _("fastener")
    JOINT_SEALANT = "movement joint sealant", _("movement joint sealant")
    LEVELLER = "levelling compound", _("levelling compound")


class TileUse(models.TextChoices):
    """Where a tile is the usual one."""

    FLOOR = "floor", _("floors")
    WALL = "wall", _("walls")
    SHOWER_FLOOR = "shower floor", _("shower floors")
    COUNTER = "counter", _("counters")


class AgentUse(models.TextChoices):
    """The way of bonding that an agent is made for; the values are those of ``takeoff.model.BondMethod``."""

    ACRYLIC = "acrylic bonding agent", _("acrylic bonding agent")
    ORGANIC = "organic adhesive", _("organic adhesive")
    MORTAR = "latex-modified mortar", _("latex-modified mortar")


# The uses of a role; of every other role one material is usual for all.
USES: dict[str, type[models.TextChoices]] = {
    MaterialRole.TILE: TileUse,
    MaterialRole.BONDING_AGENT: AgentUse,
}


class Material(models.Model):
    """A thing on the price list, in the pack it is bought in.

    A membrane is sold in several roll sizes; each size is a material, and all usual ones are offered to the
    cut planner. Every other role (for tile and bonding agents: every use) has at most one usual material.
    """

    role = models.CharField(_("what it does"), max_length=24, choices=MaterialRole)
    use = models.CharField(
        _("used for"), max_length=24, choices=[*TileUse.choices, *AgentUse.choices], blank=True, default=""
    )
    name = models.CharField(_("name"), max_length=120)
    supplier = models.ForeignKey(
        Supplier, models.PROTECT, related_name="materials", verbose_name=_("supplier")
    )
    code = models.CharField(
        _("code"), max_length=40, unique=True, help_text=_("Price files find the material by it.")
    )
    pack_label = models.CharField(_("pack"), max_length=40, help_text=_("Such as: roll, pail, bag, box."))
    # Whole millionths, since SQLite keeps decimals as floats.
    pack_millionths = models.BigIntegerField(_("a pack holds"))
    pack_unit = models.CharField(_("unit"), max_length=12)
    waste_basis_points = models.PositiveIntegerField(_("waste"), default=0)
    is_usual = models.BooleanField(_("the usual one"), default=False)
    is_active = models.BooleanField(_("still sold"), default=True)
    notes = models.TextField(_("notes"), blank=True)

    # Only on rows of selectors.with_prices.
    today_cents: int | None
    today_from: datetime.date | None
    next_cents: int | None
    next_from: datetime.date | None

    class Meta:
        ordering = ["role", "use", "name", "pk"]
        verbose_name = _("material")
        verbose_name_plural = _("materials")
        constraints = [
            models.CheckConstraint(condition=Q(role__in=MaterialRole.values), name="material_role_known"),
            models.CheckConstraint(
                condition=Q(use="")
                | Q(role="tile", use__in=TileUse.values)
                | Q(role="bonding agent", use__in=AgentUse.values),
                name="material_use_fits_its_role",
            ),
            models.CheckConstraint(condition=~Q(name="") & ~Q(code=""), name="material_has_name_and_code"),
            models.CheckConstraint(condition=Q(pack_millionths__gt=0), name="material_pack_positive"),
            models.CheckConstraint(
                condition=Q(waste_basis_points__lte=10000), name="material_waste_at_most_double"
            ),
            models.CheckConstraint(
                condition=Q(is_usual=False) | Q(is_active=True), name="material_usual_is_sold"
            ),
            models.UniqueConstraint(
                fields=["role", "use"],
                condition=Q(is_usual=True) & ~Q(role="membrane"),
                name="material_one_usual_per_role",
            ),
        ]
        indexes = [models.Index(fields=["is_active", "role", "name"], name="material_by_role")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("pricelists:material", args=[self.pk])


class MaterialFact(models.Model):
    """A value from a material's data sheet, in the unit it is printed in (names: ``takeoff.materials``)."""

    material = models.ForeignKey(Material, models.CASCADE, related_name="facts")
    name = models.CharField(max_length=40)
    value_millionths = models.BigIntegerField()
    unit = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["material", "name"]
        constraints = [
            models.UniqueConstraint(fields=["material", "name"], name="material_fact_once"),
            models.CheckConstraint(condition=Q(value_millionths__gt=0), name="material_fact_positive"),
        ]

    def __str__(self) -> str:
        return self.name


class Price(models.Model):
    """What a pack costs from a date on. The price on a day is the newest that has started."""

    material = models.ForeignKey(Material, models.CASCADE, related_name="prices")
    starts_on = models.DateField(_("from"))
    cents = models.PositiveBigIntegerField(_("price of a pack"))

    class Meta:
        ordering = ["material", "-starts_on"]
        constraints = [
            models.UniqueConstraint(fields=["material", "starts_on"], name="price_once_per_day"),
            # More than a hundred million for a pack is a slip of the keyboard.
            models.CheckConstraint(condition=Q(cents__lte=10_000_000_000), name="price_believable"),
        ]

    def __str__(self) -> str:
        return f"{self.starts_on}"

"""The living estimate and the issued quote.

An estimate is edited until it is issued, and after. A quote is a frozen copy of everything its paper says;
it is never edited, only followed by a new revision or withdrawn.
"""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from contracting.customers.models import Site
from estimates.rooms.fields import LengthField

# Found by Django here.
from .changes.models import ChangeAcceptance as ChangeAcceptance
from .changes.models import ChangeLine as ChangeLine
from .changes.models import ChangeLink as ChangeLink
from .changes.models import ChangeOrder as ChangeOrder
from .changes.models import ChangeVisit as ChangeVisit
from .signing.models import Acceptance as Acceptance
from .signing.models import LinkVisit as LinkVisit
from .signing.models import QuoteLink as QuoteLink


class NumberSeries(models.Model):
    """The last number given out in a series. The row's update is the lock that keeps numbers unique."""

    name = models.CharField(primary_key=True, max_length=20)
    last_number = models.PositiveIntegerField(default=1000)

    def __str__(self) -> str:
        return self.name


class ProfitRule(models.TextChoices):
    """From which side the price is reached: both give the same price for matching fractions."""

    MARGIN = "margin", _("margin of the price")
    MARKUP = "markup", _("markup on cost")


class Detail(models.TextChoices):
    """How much of the price the customer sees."""

    SUM = "sum", _("one sum")
    ROOM = "room", _("a sum a room")
    STEP = "step", _("a sum a trade step")
    LINE = "line", _("every line")


class Estimate(models.Model):
    """What a job would cost and what we would ask for it; *revision* counts its saves."""

    class Status(models.TextChoices):
        DRAFT = "draft", _("being written")
        ISSUED = "issued", _("issued")
        WON = "won", _("accepted")
        LOST = "lost", _("declined")

    # draft -> issued at the first issue; won and lost follow the quote; a lost one may be issued again.
    TRANSITIONS = {
        Status.DRAFT: {Status.ISSUED},
        Status.ISSUED: {Status.ISSUED, Status.WON, Status.LOST},
        Status.LOST: {Status.ISSUED},
        Status.WON: set(),
    }

    number = models.PositiveIntegerField(_("number"), unique=True)
    title = models.CharField(_("title"), max_length=120)
    site = models.ForeignKey(Site, models.PROTECT, related_name="estimates", verbose_name=_("site"))
    status = models.CharField(_("status"), max_length=8, choices=Status, default=Status.DRAFT)
    revision = models.PositiveIntegerField(default=1)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    price_on = models.DateField(_("prices of"))
    start_on = models.DateField(_("work could start"), null=True, blank=True)
    flood_test_asked = models.BooleanField(_("the owner asks for a flood test"), default=False)
    # Settings copied from the company and the site when the estimate is made, then its own.
    overhead_basis_points = models.PositiveIntegerField(_("overhead on cost"))
    profit_rule = models.CharField(
        _("price from"), max_length=6, choices=ProfitRule, default=ProfitRule.MARGIN
    )
    profit_basis_points = models.PositiveIntegerField(_("margin or markup"))
    minimum_charge_cents = models.PositiveBigIntegerField(_("minimum job charge"), default=0)
    # Off the price and never off the cost: a share of it, or an amount.
    discount_basis_points = models.PositiveIntegerField(_("discount of the price"), default=0)
    discount_cents = models.PositiveBigIntegerField(_("discount, an amount"), default=0)
    discount_reason = models.CharField(_("what the discount is for"), max_length=120, blank=True)
    tax_base = models.CharField(_("sales tax"), max_length=12, choices=Site.TaxBase)
    tax_basis_points = models.PositiveIntegerField(_("sales tax rate"), default=0)
    deposit_basis_points = models.PositiveIntegerField(_("deposit"), default=0)
    valid_days = models.PositiveSmallIntegerField(_("valid for, days"), default=30)
    detail = models.CharField(_("the customer sees"), max_length=4, choices=Detail, default=Detail.ROOM)
    # Other costs that no measurement gives.
    disposal_cents = models.PositiveBigIntegerField(_("demolition and disposal"), default=0)
    levelling_cents = models.PositiveBigIntegerField(_("levelling and preparation"), default=0)
    travel_cents = models.PositiveBigIntegerField(_("travel"), default=0)
    permits_cents = models.PositiveBigIntegerField(_("permits and fees"), default=0)
    inclusions = models.TextField(_("included"), blank=True)
    exclusions = models.TextField(_("not included"), blank=True)
    cautions = models.TextField(_("more cautions"), blank=True)
    terms = models.TextField(_("terms"), blank=True)

    class Meta:
        ordering = ["-number"]
        verbose_name = _("estimate")
        verbose_name_plural = _("estimates")
        constraints = [
            models.CheckConstraint(condition=~Q(title=""), name="estimate_has_title"),
            models.CheckConstraint(
                condition=Q(status__in=["draft", "issued", "won", "lost"]), name="estimate_status_known"
            ),
            models.CheckConstraint(
                condition=Q(detail__in=["sum", "room", "step", "line"]), name="estimate_detail_known"
            ),
            models.CheckConstraint(
                condition=Q(profit_rule="markup", profit_basis_points__lte=100_000)
                | Q(profit_rule="margin", profit_basis_points__lt=10_000),
                name="estimate_margin_below_all",
            ),
            models.CheckConstraint(
                condition=Q(overhead_basis_points__lte=20_000), name="estimate_overhead_believable"
            ),
            models.CheckConstraint(
                condition=Q(discount_basis_points=0, discount_cents__lte=10_000_000_000)
                | Q(discount_basis_points__lte=10_000, discount_cents=0),
                name="estimate_one_discount",
            ),
            models.CheckConstraint(
                condition=Q(tax_base__in=["none", "materials", "everything"]), name="estimate_tax_base_known"
            ),
            models.CheckConstraint(condition=Q(tax_basis_points__lte=5000), name="estimate_tax_at_most_half"),
            models.CheckConstraint(
                condition=Q(deposit_basis_points__lte=10_000), name="estimate_deposit_at_most_all"
            ),
            models.CheckConstraint(
                condition=Q(valid_days__gte=1, valid_days__lte=730), name="estimate_valid_days_in_range"
            ),
        ]
        indexes = [
            models.Index(fields=["status", "-number"], name="estimate_by_status"),
            models.Index(fields=["site", "-number"], name="estimate_by_site"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("quotes:estimate", args=[self.pk])

    @property
    def standing(self) -> str:
        """How the estimate stands with the customer: its status, or what became of its quote.

        An estimate stays issued while its quote runs out or is taken back; who reads it is told the latter.
        Known where the estimate was read with ``quote_status``, the status of its latest quote.
        """
        quote = getattr(self, "quote_status", None)
        ended = {Quote.Status.EXPIRED, Quote.Status.WITHDRAWN}
        return str(quote) if self.status == self.Status.ISSUED and quote in ended else self.status

    def get_standing_display(self) -> str:
        """Return :attr:`standing` in words."""
        return str(dict([*Quote.Status.choices, *self.Status.choices])[self.standing])


class EstimateRoom(models.Model):
    """A measured room in an estimate, in the order the paper shows them."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="estimate_rooms")
    room = models.ForeignKey("rooms.Room", models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["estimate", "position", "pk"]
        constraints = [models.UniqueConstraint(fields=["estimate", "room"], name="estimate_room_once")]

    def __str__(self) -> str:
        return str(self.room)


class Pattern(models.TextChoices):
    """How a tile is laid; the values are those of ``takeoff.model.Pattern`` (a test compares)."""

    STRAIGHT = "straight", _("straight")
    HALF = "half offset", _("half offset")
    THIRD = "third offset", _("third offset")
    DIAGONAL = "diagonal", _("diagonal")
    HERRINGBONE = "herringbone", _("herringbone")
    HEXAGON = "hexagon", _("hexagon")
    MOSAIC = "mosaic sheets", _("mosaic sheets")


class EstimateMaterial(models.Model):
    """What fills a slot: a role, or a role's use (``tile: floor``). A membrane has one row a roll size."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="materials")
    slot = models.CharField(max_length=40)
    material = models.ForeignKey("pricelists.Material", models.PROTECT, related_name="+")
    customer_supplied = models.BooleanField(_("the customer supplies it"), default=False)
    pattern = models.CharField(_("laid"), max_length=16, choices=Pattern, default=Pattern.STRAIGHT)

    class Meta:
        ordering = ["estimate", "slot", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["estimate", "slot"], condition=~Q(slot="membrane"), name="estimate_slot_filled_once"
            ),
            models.UniqueConstraint(
                fields=["estimate", "slot", "material"], name="estimate_material_once_a_slot"
            ),
            models.CheckConstraint(
                condition=Q(pattern__in=Pattern.values), name="estimate_material_pattern_known"
            ),
        ]

    def __str__(self) -> str:
        return self.slot


class SurfaceTile(models.Model):
    """Another tile, pattern or joint than the slot's for one surface; without a material: not tiled."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="surface_tiles")
    # By the surface's key, not its row: a saved room may write its surfaces anew.
    room = models.ForeignKey("rooms.Room", models.PROTECT, related_name="+")
    surface_key = models.CharField(max_length=40)
    material = models.ForeignKey(
        "pricelists.Material", models.PROTECT, related_name="+", null=True, blank=True
    )
    customer_supplied = models.BooleanField(_("the customer supplies it"), default=False)
    pattern = models.CharField(_("laid"), max_length=16, choices=Pattern, default=Pattern.STRAIGHT)
    joint = LengthField(_("joint"), null=True)
    # Laid along the outline of every face of the surface; counted apart from the field.
    border = models.ForeignKey(
        "pricelists.Material",
        models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
        verbose_name=_("border"),
    )

    class Meta:
        ordering = ["estimate", "room", "surface_key"]
        constraints = [
            models.UniqueConstraint(
                fields=["estimate", "room", "surface_key"], name="estimate_surface_tile_once"
            ),
            models.CheckConstraint(
                condition=Q(pattern__in=Pattern.values), name="surface_tile_pattern_known"
            ),
        ]

    def __str__(self) -> str:
        return self.surface_key


class SurfaceAccent(models.Model):
    """A rectangle of another tile within the tile of one surface, on its first face that it fits.

    *along* from the face's left, *base* above its lowest edge (of a level face: from its near edge).
    """

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="surface_accents")
    room = models.ForeignKey("rooms.Room", models.PROTECT, related_name="+")
    surface_key = models.CharField(max_length=40)
    material = models.ForeignKey("pricelists.Material", models.PROTECT, related_name="+")
    customer_supplied = models.BooleanField(_("the customer supplies it"), default=False)
    pattern = models.CharField(_("laid"), max_length=16, choices=Pattern, default=Pattern.STRAIGHT)
    along = LengthField(_("from the left"), zero=True)
    base = LengthField(_("up from the bottom"), zero=True)
    width = LengthField(_("width"))
    height = LengthField(_("height"))

    class Meta:
        ordering = ["estimate", "room", "surface_key"]
        constraints = [
            models.UniqueConstraint(
                fields=["estimate", "room", "surface_key"], name="estimate_surface_accent_once"
            ),
            models.CheckConstraint(
                condition=Q(width_units__gt=0, height_units__gt=0), name="surface_accent_has_size"
            ),
            models.CheckConstraint(
                condition=Q(pattern__in=Pattern.values), name="surface_accent_pattern_known"
            ),
        ]

    def __str__(self) -> str:
        return self.surface_key


class EstimateLine(models.Model):
    """A line written by hand. Without *price_cents* it is priced by the estimate's own rule."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField(default=0)
    room = models.ForeignKey("rooms.Room", models.PROTECT, related_name="+", null=True, blank=True)
    step = models.CharField(_("trade step"), max_length=40)
    text = models.CharField(_("what"), max_length=200)
    quantity_millionths = models.PositiveBigIntegerField(_("quantity"), default=1_000_000)
    unit = models.CharField(_("unit"), max_length=20, blank=True)
    cost_cents = models.PositiveBigIntegerField(_("cost each"))
    price_cents = models.PositiveBigIntegerField(_("price each"), null=True, blank=True)
    is_material = models.BooleanField(_("a material (for sales tax)"), default=False)

    class Meta:
        ordering = ["estimate", "position", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="estimate_line_has_text"),
            models.CheckConstraint(condition=Q(quantity_millionths__gt=0), name="estimate_line_quantity"),
            models.CheckConstraint(
                condition=Q(cost_cents__lte=10_000_000_000)
                & (Q(price_cents=None) | Q(price_cents__lte=10_000_000_000)),
                name="estimate_line_believable",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Override(models.Model):
    """A computed quantity or price set by hand, with the reason. *key* names the priced line."""

    class What(models.TextChoices):
        QUANTITY = "quantity", _("quantity")
        PRICE = "price", _("price")

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="overrides")
    key = models.CharField(max_length=120)
    what = models.CharField(max_length=8, choices=What)
    quantity_millionths = models.PositiveBigIntegerField(_("quantity"), null=True, blank=True)
    price_cents = models.PositiveBigIntegerField(_("price"), null=True, blank=True)
    reason = models.CharField(_("reason"), max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["estimate", "key"]
        constraints = [
            models.UniqueConstraint(fields=["estimate", "key", "what"], name="override_once"),
            models.CheckConstraint(condition=~Q(reason=""), name="override_has_reason"),
            models.CheckConstraint(
                condition=Q(what="quantity", quantity_millionths__isnull=False, price_cents=None)
                | Q(what="price", price_cents__isnull=False, quantity_millionths=None),
                name="override_sets_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return self.key


class PaymentStage(models.Model):
    """A payment between the deposit and the balance; the balance is what remains."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="payment_stages")
    position = models.PositiveSmallIntegerField(default=0)
    due = models.CharField(_("due"), max_length=120, help_text=_("Such as: when the membrane is accepted."))
    share_basis_points = models.PositiveIntegerField(_("share"))

    class Meta:
        ordering = ["estimate", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(share_basis_points__gt=0, share_basis_points__lte=10_000),
                name="payment_stage_share_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.due


class EstimateChange(models.Model):
    """What one save changed: read by the second of two editors, and afterwards by anyone who asks."""

    estimate = models.ForeignKey(Estimate, models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    fields = models.JSONField(default=list)  # [{"name": ..., "label": ..., "before": ..., "after": ...}]

    class Meta:
        ordering = ["estimate", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["estimate", "revision"], name="estimate_change_once_a_revision")
        ]

    def __str__(self) -> str:
        return f"{self.revision}"


class Quote(models.Model):
    """An issued quote. What it says is in *snapshot* and never changes.

    *snapshot* has three parts: ``paper`` (all that is printed; no cost, no margin), ``work`` (the takeoff
    document and drawings, no money) and ``office`` (cost, margin and every working). A database trigger
    refuses an update of the frozen columns; on SQLite a migration that alters this table drops it and has
    to create it again (a test fails when it is missing).
    """

    class Status(models.TextChoices):
        ISSUED = "issued", _("issued")
        ACCEPTED = "accepted", _("accepted")
        DECLINED = "declined", _("declined")
        SUPERSEDED = "superseded", _("superseded")
        WITHDRAWN = "withdrawn", _("withdrawn")
        EXPIRED = "expired", _("expired")

    # An expired quote may still be accepted on paper: the customer signed in time and the office was late.
    TRANSITIONS = {
        Status.ISSUED: {
            Status.ACCEPTED,
            Status.DECLINED,
            Status.SUPERSEDED,
            Status.WITHDRAWN,
            Status.EXPIRED,
        },
        Status.EXPIRED: {Status.ACCEPTED, Status.DECLINED, Status.SUPERSEDED, Status.WITHDRAWN},
        Status.DECLINED: {Status.SUPERSEDED},
        Status.WITHDRAWN: {Status.SUPERSEDED},
        Status.ACCEPTED: set(),
        Status.SUPERSEDED: set(),
    }

    estimate = models.ForeignKey(Estimate, models.PROTECT, related_name="quotes")
    site = models.ForeignKey(Site, models.PROTECT, related_name="quotes")
    number = models.CharField(_("number"), max_length=20)
    revision = models.PositiveSmallIntegerField(_("revision"))
    status = models.CharField(_("status"), max_length=10, choices=Status, default=Status.ISSUED)
    # Copies for the list and its search.
    title = models.CharField(_("title"), max_length=120)
    customer_name = models.CharField(_("customer"), max_length=120)
    site_name = models.CharField(_("site"), max_length=330)
    currency = models.CharField(max_length=3)
    price_cents = models.PositiveBigIntegerField(_("price before tax"))
    tax_cents = models.PositiveBigIntegerField(_("sales tax"))
    total_cents = models.PositiveBigIntegerField(_("total"))
    cost_cents = models.PositiveBigIntegerField(_("cost"))
    issued_at = models.DateTimeField(_("issued"))
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    valid_until = models.DateField(_("valid until"))
    estimate_revision = models.PositiveIntegerField()
    snapshot = models.JSONField()
    sha256 = models.CharField(max_length=64)
    # Its paper: how far the rendering is, and the file. Not frozen, since a failed one is asked for again.
    document = models.ForeignKey(
        "documents.DocumentRequest", models.SET_NULL, related_name="+", null=True, blank=True
    )
    # What happened to it.
    signed_name = models.CharField(_("signed by"), max_length=120, blank=True)
    answered_on = models.DateField(_("signed or declined on"), null=True, blank=True)
    answer_note = models.CharField(_("note"), max_length=300, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    recorded_at = models.DateTimeField(null=True, blank=True)

    FROZEN = (
        "estimate_id",
        "site_id",
        "number",
        "revision",
        "title",
        "customer_name",
        "site_name",
        "currency",
        "price_cents",
        "tax_cents",
        "total_cents",
        "cost_cents",
        "issued_at",
        "issued_by_id",
        "valid_until",
        "estimate_revision",
        "snapshot",
        "sha256",
    )

    class Meta:
        ordering = ["-issued_at", "-pk"]
        verbose_name = _("quote")
        verbose_name_plural = _("quotes")
        constraints = [
            models.UniqueConstraint(fields=["number", "revision"], name="quote_number_and_revision_once"),
            models.UniqueConstraint(
                fields=["estimate"],
                condition=Q(status__in=["issued", "accepted", "expired"]),
                name="quote_one_standing_per_estimate",
            ),
            models.CheckConstraint(
                condition=Q(
                    status__in=["issued", "accepted", "declined", "superseded", "withdrawn", "expired"]
                ),
                name="quote_status_known",
            ),
            models.CheckConstraint(
                condition=Q(total_cents=F("price_cents") + F("tax_cents")),
                name="quote_total_is_price_and_tax",
            ),
            models.CheckConstraint(
                condition=~Q(status="accepted") | (~Q(signed_name="") & Q(answered_on__isnull=False)),
                name="quote_accepted_is_signed",
            ),
            models.CheckConstraint(condition=Q(revision__gte=1), name="quote_revision_from_one"),
        ]
        indexes = [
            models.Index(fields=["status", "-issued_at"], name="quote_by_status"),
            models.Index(fields=["-issued_at"], name="quote_by_date"),
            models.Index(fields=["site", "-issued_at"], name="quote_by_site"),
        ]

    def __str__(self) -> str:
        return f"{self.number} r{self.revision}"

    def get_absolute_url(self) -> str:
        return reverse("quotes:quote", args=[self.pk])

"""Measured rooms, as they were written down on site. Areas and quantities are computed, never stored.

Walls are known by their number, counted from 1 in the order they were walked; openings, surfaces and
fixtures say the number of the wall they were measured from.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from contracting.customers.models import Site
from estimates.takeoff.outline import turn_text

from . import choices
from .fields import LengthField


def known(field: str, values: Iterable[str], name: str) -> models.CheckConstraint:
    """Return the constraint that *field* holds one of *values* (choices alone do not restrict)."""
    return models.CheckConstraint(condition=Q(**{f"{field}__in": list(values)}), name=name)


def above_zero(field: str, name: str) -> models.CheckConstraint:
    """Return the constraint that a length is above zero (or missing, where it may be)."""
    return models.CheckConstraint(condition=Q(**{f"{field}_units__gt": 0}), name=name)


class Room(models.Model):
    """A room of a site, measured once; everything that is quoted and built comes from it."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="rooms", verbose_name=_("site"))
    name = models.CharField(_("name"), max_length=80)
    outline_text = models.CharField(_("walk the walls"), max_length=500, blank=True)
    height = LengthField(_("ceiling height"))
    notes = models.TextField(_("notes"), blank=True)
    revision = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, editable=False, related_name="+"
    )
    updated_at = models.DateTimeField(auto_now=True)
    updated_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, editable=False, related_name="+"
    )

    class Meta:
        ordering = ["site_id", "name", "pk"]
        verbose_name = _("room")
        verbose_name_plural = _("rooms")
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="room_has_name"),
            models.UniqueConstraint("site", "name", name="room_name_once_per_site"),
            above_zero("height", "room_height_above_zero"),
            models.CheckConstraint(condition=Q(revision__gte=1), name="room_revision_from_one"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("rooms:room", args=[self.pk])


class CountOverride(models.Model):
    """A count entered instead of what is counted from the room, and why; the working shows both.

    It outlives a change of the room's measurements: whoever measures anew looks at it again.
    """

    room = models.ForeignKey(Room, models.CASCADE, related_name="count_overrides")
    what = models.CharField(max_length=24, choices=choices.Counted)
    typed = models.CharField(max_length=40)
    quantity_millionths = models.PositiveBigIntegerField()
    unit = models.CharField(max_length=12)
    reason = models.CharField(_("why"), max_length=200)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["room_id", "what"]
        constraints = [
            models.UniqueConstraint("room", "what", name="count_override_once_per_room"),
            known("what", choices.Counted.values, "count_override_what_known"),
            models.CheckConstraint(condition=~Q(reason=""), name="count_override_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.what}: {self.typed}"


class Wall(models.Model):
    """One wall as walked: its length, and the turn to the next one (right positive, in 1/1000 degree)."""

    room = models.ForeignKey(Room, models.CASCADE, related_name="walls")
    number = models.PositiveSmallIntegerField(_("wall"))
    length = LengthField(_("length"))
    turn_millidegrees = models.IntegerField(_("turn"), default=90_000)
    height = LengthField(_("height"), null=True)

    class Meta:
        ordering = ["room_id", "number"]
        constraints = [
            models.UniqueConstraint("room", "number", name="wall_number_once_per_room"),
            models.CheckConstraint(condition=Q(number__gte=1), name="wall_number_from_one"),
            above_zero("length", "wall_length_above_zero"),
            above_zero("height", "wall_height_above_zero"),
            models.CheckConstraint(
                condition=Q(turn_millidegrees__gt=-180_000, turn_millidegrees__lt=180_000),
                name="wall_turn_below_half_circle",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}"

    @property
    def turn_text(self) -> str:
        """Return the turn as a walk writes it, such as ``R`` or ``L30.5``."""
        return turn_text(Decimal(self.turn_millidegrees) / 1000)


class Opening(models.Model):
    """A door, passage or window in a wall."""

    room = models.ForeignKey(Room, models.CASCADE, related_name="openings")
    key = models.CharField(max_length=40, editable=False)
    position = models.PositiveSmallIntegerField(default=0, editable=False)
    kind = models.CharField(_("opening"), max_length=12, choices=choices.OpeningKind)
    wall = models.PositiveSmallIntegerField(_("wall"))
    along = LengthField(_("from the wall's start"), zero=True)
    width = LengthField(_("width"))
    height = LengthField(_("height"))
    base = LengthField(_("sill above the floor"), zero=True)

    class Meta:
        ordering = ["room_id", "position", "pk"]
        constraints = [
            models.UniqueConstraint("room", "key", name="opening_key_once_per_room"),
            known("kind", choices.OpeningKind.values, "opening_kind_known"),
            models.CheckConstraint(condition=Q(wall__gte=1), name="opening_wall_from_one"),
            above_zero("width", "opening_width_above_zero"),
            above_zero("height", "opening_height_above_zero"),
        ]

    def __str__(self) -> str:
        return self.key


class Surface(models.Model):
    """A surface to prepare, waterproof and tile; which tile it gets belongs to the estimate."""

    room = models.ForeignKey(Room, models.CASCADE, related_name="surfaces")
    key = models.CharField(max_length=40, editable=False)
    position = models.PositiveSmallIntegerField(default=0, editable=False)
    kind = models.CharField(_("surface"), max_length=12, choices=choices.SurfaceKind)
    name = models.CharField(_("name"), max_length=80)
    substrate = models.CharField(_("substrate"), max_length=20, choices=choices.Substrate)
    condition = models.CharField(
        _("condition"), max_length=8, choices=choices.Condition, default=choices.Condition.SMOOTH
    )
    exposure = models.CharField(
        _("use"), max_length=4, choices=choices.Exposure, default=choices.Exposure.DRY
    )
    walls = models.JSONField(_("walls"), default=list, blank=True)
    along = LengthField(_("from the wall's start"), zero=True)
    away = LengthField(_("from the wall"), zero=True)
    base = LengthField(_("starts above the floor"), zero=True)
    length = LengthField(_("length"), null=True)
    depth = LengthField(_("depth"), null=True)
    height = LengthField(_("height"), null=True)
    membrane = models.BooleanField(_("membrane"), default=True)
    new_board = models.BooleanField(_("new backer board"), default=False)
    remove = models.CharField(
        _("to be removed"), max_length=20, choices=choices.Covering, default=choices.Covering.NONE
    )
    levelling = LengthField(_("mean levelling depth"), zero=True)
    method = models.CharField(
        _("bonded with"), max_length=24, choices=choices.BondMethod, default=choices.BondMethod.ACRYLIC
    )

    class Meta:
        ordering = ["room_id", "position", "pk"]
        constraints = [
            models.UniqueConstraint("room", "key", name="surface_key_once_per_room"),
            models.CheckConstraint(condition=~Q(name=""), name="surface_has_name"),
            known("kind", choices.SurfaceKind.values, "surface_kind_known"),
            known("substrate", choices.Substrate.values, "surface_substrate_known"),
            known("condition", choices.Condition.values, "surface_condition_known"),
            known("exposure", choices.Exposure.values, "surface_exposure_known"),
            known("remove", choices.Covering.values, "surface_remove_known"),
            known("method", choices.BondMethod.values, "surface_method_known"),
            above_zero("length", "surface_length_above_zero"),
            above_zero("depth", "surface_depth_above_zero"),
            above_zero("height", "surface_height_above_zero"),
        ]

    def __str__(self) -> str:
        return self.name


class Fixture(models.Model):
    """A thing that the membrane and the tile go round, or a pipe that comes through them."""

    room = models.ForeignKey(Room, models.CASCADE, related_name="fixtures")
    key = models.CharField(max_length=40, editable=False)
    position = models.PositiveSmallIntegerField(default=0, editable=False)
    kind = models.CharField(_("fixture"), max_length=8, choices=choices.FixtureKind)
    wall = models.PositiveSmallIntegerField(_("wall"), null=True, blank=True)
    along = LengthField(_("from the wall's start"), zero=True)
    away = LengthField(_("from the wall"), zero=True)
    base = LengthField(_("above the floor"), zero=True)
    diameter = LengthField(_("diameter"), null=True)
    length = LengthField(_("length"), null=True)
    depth = LengthField(_("depth"), null=True)
    surface = models.CharField(_("through"), max_length=40, blank=True)

    class Meta:
        ordering = ["room_id", "position", "pk"]
        constraints = [
            models.UniqueConstraint("room", "key", name="fixture_key_once_per_room"),
            known("kind", choices.FixtureKind.values, "fixture_kind_known"),
            models.CheckConstraint(condition=Q(wall__gte=1), name="fixture_wall_from_one"),
            above_zero("diameter", "fixture_diameter_above_zero"),
            above_zero("length", "fixture_length_above_zero"),
            above_zero("depth", "fixture_depth_above_zero"),
        ]

    def __str__(self) -> str:
        return self.key

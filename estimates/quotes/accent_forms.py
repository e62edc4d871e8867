"""The fields of a rectangle of another tile in a surface: part of the form of an estimate's materials."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django import forms
from django.utils.translation import gettext_lazy as _

from estimates.pricelists.models import Material
from estimates.rooms.fields import Length, LengthFormField
from estimates.rooms.models import Room
from estimates.takeoff.units import System

from .models import Pattern, SurfaceAccent

SIZES = ("width", "height")
PLACES = ("along", "base")
LABELS = {
    "width": _("width"),
    "height": _("height"),
    "along": _("from the left"),
    "base": _("up from the bottom"),
}


@dataclass(frozen=True)
class AccentFields:
    """The bound fields of one surface's accent; *is_open*: something is chosen or wrong, so it is shown."""

    fields: tuple[forms.BoundField, ...]
    is_open: bool


def add_accent(
    form: forms.Form,
    name: str,
    row: SurfaceAccent | None,
    tiles: Sequence[tuple[str, str]],
    system: System,
) -> None:
    """Give *form* the fields of the accent of the surface that its other fields call *name*."""
    fields: dict[str, forms.Field] = {
        "": forms.ChoiceField(label=_("accent"), choices=[("", _("no accent")), *tiles], required=False),
        " pattern": forms.ChoiceField(label=_("laid"), choices=Pattern.choices, required=False),
    }
    for part in (*SIZES, *PLACES):
        field = LengthFormField(label=LABELS[part], required=False, allow_zero=part in PLACES)
        field.system = system
        fields[f" {part}"] = field
    fields[" own"] = forms.BooleanField(label=_("the customer supplies it"), required=False)
    form.fields |= {f"{name} accent{part}": field for part, field in fields.items()}
    form.initial[f"{name} accent pattern"] = row.pattern if row else Pattern.STRAIGHT
    if row is not None:
        form.initial[f"{name} accent"] = str(row.material_id)
        form.initial[f"{name} accent own"] = row.customer_supplied
        for part in (*SIZES, *PLACES):
            form.initial[f"{name} accent {part}"] = getattr(row, part)


def check_accent(form: forms.Form, name: str, *, is_tiled: bool) -> None:
    """Tell at the fields what an accent lacks: its tile, its size, or tile to lie in."""
    cleaned = form.cleaned_data
    if f"{name} accent" in form.errors:
        return
    if not cleaned.get(f"{name} accent"):
        if any(cleaned.get(f"{name} accent {part}") for part in (*SIZES, *PLACES)):
            form.add_error(f"{name} accent", _("Choose the accent's tile, or clear its sizes."))
        return
    if not is_tiled:
        form.add_error(f"{name} accent", _("A surface without tile has no accent."))
    wanted = {"width": _("Say how wide the accent is."), "height": _("Say how high the accent is.")}
    for part, sentence in wanted.items():
        field = f"{name} accent {part}"
        if cleaned.get(field) is None and field not in form.errors:
            form.add_error(field, sentence)


def read_accent(
    form: forms.Form, name: str, room: Room, surface_key: str, material: Material
) -> SurfaceAccent:
    """Return the accent (unsaved) of *material* that a checked form holds for a surface."""
    cleaned = form.cleaned_data
    row = SurfaceAccent(
        room=room,
        surface_key=surface_key,
        material=material,
        customer_supplied=cleaned[f"{name} accent own"],
        pattern=cleaned[f"{name} accent pattern"] or Pattern.STRAIGHT,
    )
    for part in (*SIZES, *PLACES):
        length: Length | None = cleaned[f"{name} accent {part}"]
        setattr(row, part, length)
    return row


def accent_fields(form: forms.Form, name: str) -> AccentFields:
    """Return what the page shows of a surface's accent."""
    names = [f"{name} accent", *(f"{name} accent {part}" for part in ("pattern", *SIZES, *PLACES, "own"))]
    fields = tuple(form[one] for one in names)
    return AccentFields(fields, bool(fields[0].value()) or any(one.errors for one in fields))

"""The form that says which material an estimate uses for what, and which tile single surfaces get."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimates.pricelists.models import Material
from estimates.rooms.fields import LengthFormField
from estimates.rooms.models import Room, Surface
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import SurfaceKind
from estimates.takeoff.units import System

from .accent_forms import AccentFields, accent_fields, add_accent, check_accent, read_accent
from .calculation import Chosen
from .models import Estimate, EstimateMaterial, Pattern, SurfaceAccent, SurfaceTile
from .slots import Slot, tile_slot

NOT_TILED = "none"


@dataclass(frozen=True)
class SlotRow:
    """A slot with its fields, as the page lays them out."""

    slot: Slot
    material: forms.BoundField
    own: forms.BoundField
    pattern: forms.BoundField | None


@dataclass(frozen=True)
class SurfaceRow:
    room: Room
    name: str
    material: forms.BoundField
    pattern: forms.BoundField
    joint: forms.BoundField
    own: forms.BoundField
    border: forms.BoundField
    accent: AccentFields


class MaterialsForm(forms.Form):
    """One choice a slot that the rooms need, and one a surface; what is not asked for stays as it is."""

    revision = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        estimate: Estimate,
        rooms: Sequence[Room],
        slots: Sequence[Slot],
        materials: Sequence[Material],
        **kwargs: Any,
    ) -> None:
        self.estimate, self.rooms, self.slots = estimate, rooms, slots
        self.stored = list(estimate.materials.all())
        self.tiles = {(row.room_id, row.surface_key): row for row in estimate.surface_tiles.all()}
        self.accents = {(row.room_id, row.surface_key): row for row in estimate.surface_accents.all()}
        # What was chosen once stays in the list although it is no longer sold.
        rows = [row.material for row in self.stored]
        rows += [one for row in self.tiles.values() for one in (row.material, row.border) if one is not None]
        rows += [row.material for row in self.accents.values()]
        self.by_pk = {one.pk: one for one in [*materials, *rows]}
        kwargs["initial"] = {"revision": estimate.revision}
        super().__init__(*args, **kwargs)
        for slot in slots:
            self._add_slot(slot)
        for room in rooms:
            for surface in room.surfaces.all():
                self._add_surface(room, surface.key)

    def _add_slot(self, slot: Slot) -> None:
        name = slot.key
        rows = [row for row in self.stored if row.slot == slot.key]
        choices = [(str(one.pk), one.name) for one in self.by_pk.values() if slot.fits(one)]
        if slot.takes_many:
            self.fields[name] = forms.MultipleChoiceField(
                label=slot.label, choices=choices, required=False, widget=forms.CheckboxSelectMultiple
            )
            self.initial[name] = [str(row.material_id) for row in rows]
        else:
            nothing = _("no tile") if slot.is_tile else _("nothing")
            self.fields[name] = forms.ChoiceField(
                label=slot.label, choices=[("", nothing), *choices], required=False
            )
            self.initial[name] = str(rows[0].material_id) if rows else ""
        self.fields[f"{name} own"] = forms.BooleanField(label=_("the customer supplies it"), required=False)
        self.initial[f"{name} own"] = any(row.customer_supplied for row in rows)
        if slot.is_tile:
            self.fields[f"{name} pattern"] = forms.ChoiceField(label=_("laid"), choices=Pattern.choices)
            self.initial[f"{name} pattern"] = rows[0].pattern if rows else Pattern.STRAIGHT

    def _add_surface(self, room: Room, key: str) -> None:
        name = f"{room.pk} {key}"
        row = self.tiles.get((room.pk, key))
        tiles = [(str(one.pk), one.name) for one in self.by_pk.values() if one.role == "tile"]
        self.fields[name] = forms.ChoiceField(
            label=_("Tile"),
            choices=[("", _("as above")), (NOT_TILED, _("no tile")), *tiles],
            required=False,
        )
        self.fields[f"{name} pattern"] = forms.ChoiceField(label=_("laid"), choices=Pattern.choices)
        joint = LengthFormField(label=_("joint"), required=False)
        joint.system = System(self.estimate.site.units)
        self.fields[f"{name} joint"] = joint
        self.fields[f"{name} own"] = forms.BooleanField(label=_("the customer supplies it"), required=False)
        self.fields[f"{name} border"] = forms.ChoiceField(
            label=_("border"), choices=[("", _("no border")), *tiles], required=False
        )
        add_accent(self, name, self.accents.get((room.pk, key)), tiles, System(self.estimate.site.units))
        self.initial[f"{name} pattern"] = Pattern.STRAIGHT
        if row is not None:
            self.initial[name] = NOT_TILED if row.material_id is None else str(row.material_id)
            self.initial[f"{name} pattern"] = row.pattern
            self.initial[f"{name} joint"] = row.joint
            self.initial[f"{name} own"] = row.customer_supplied
            self.initial[f"{name} border"] = str(row.border_id or "")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name, _room, surface in self._surfaces():
            chosen = cleaned.get(name)
            if cleaned.get(f"{name} border") and chosen in ("", NOT_TILED):
                self.add_error(f"{name} border", _("Choose the surface's own tile here to give it a border."))
            is_tiled = (
                chosen != NOT_TILED if chosen else bool(cleaned.get(tile_slot(SurfaceKind(surface.kind))))
            )
            check_accent(self, name, is_tiled=is_tiled)
        return cleaned

    def refuse(self, error: DomainError) -> bool:
        """Tell at its field that a border or an accent does not fit; False: it is something else."""
        at = re.match(r"rooms\[(\d+)\]\.surfaces\[(\d+)\]", error.place)
        part = {"tiling.accent": "accent", "tiling.border": "border"}.get(error.rule)
        if at is None or part is None:
            return False
        room = self.rooms[int(at[1])]
        surface = list(room.surfaces.all())[int(at[2])]
        self.add_error(f"{room.pk} {surface.key} {part}", error.reason.render(gettext))
        return True

    def _surfaces(self) -> Iterator[tuple[str, Room, Surface]]:
        """Yield every surface of the page with its room and the name its fields begin with."""
        for room in self.rooms:
            for surface in room.surfaces.all():
                yield f"{room.pk} {surface.key}", room, surface

    def slot_rows(self) -> list[SlotRow]:
        """Return the slots in the order of the page."""
        return [
            SlotRow(
                slot,
                self[slot.key],
                self[f"{slot.key} own"],
                self[f"{slot.key} pattern"] if slot.is_tile else None,
            )
            for slot in self.slots
        ]

    def surface_rows(self) -> list[SurfaceRow]:
        """Return the surfaces, room by room."""
        return [
            SurfaceRow(
                room,
                surface.name,
                self[name],
                self[f"{name} pattern"],
                self[f"{name} joint"],
                self[f"{name} own"],
                self[f"{name} border"],
                accent_fields(self, name),
            )
            for name, room, surface in self._surfaces()
        ]

    def chosen(self) -> Chosen:
        """Return everything that the form says (unsaved rows)."""
        return Chosen(self.materials(), self.surface_tiles(), self.surface_accents())

    def materials(self) -> list[EstimateMaterial]:
        """Return the rows that fill the slots (unsaved), with those of slots that were not asked for."""
        asked = {slot.key for slot in self.slots}
        kept = [
            EstimateMaterial(
                slot=row.slot,
                material=row.material,
                customer_supplied=row.customer_supplied,
                pattern=row.pattern,
            )
            for row in self.stored
            if row.slot not in asked
        ]
        return kept + [row for slot in self.slots for row in self._slot_materials(slot)]

    def _slot_materials(self, slot: Slot) -> list[EstimateMaterial]:
        value = self.cleaned_data[slot.key]
        chosen: list[str] = value if slot.takes_many else [value] if value else []
        return [
            EstimateMaterial(
                slot=slot.key,
                material=self.by_pk[int(pk)],
                customer_supplied=self.cleaned_data[f"{slot.key} own"],
                pattern=self.cleaned_data.get(f"{slot.key} pattern") or Pattern.STRAIGHT,
            )
            for pk in chosen
        ]

    def surface_tiles(self) -> list[SurfaceTile]:
        """Return what single surfaces get (unsaved)."""
        rows = []
        for name, room, surface in self._surfaces():
            chosen = self.cleaned_data[name]
            if not chosen:
                continue
            row = SurfaceTile(
                room=room,
                surface_key=surface.key,
                material=None if chosen == NOT_TILED else self.by_pk[int(chosen)],
                customer_supplied=self.cleaned_data[f"{name} own"],
                pattern=self.cleaned_data[f"{name} pattern"],
            )
            row.joint = self.cleaned_data[f"{name} joint"]
            border = self.cleaned_data[f"{name} border"]
            row.border = self.by_pk[int(border)] if border else None
            rows.append(row)
        return rows

    def surface_accents(self) -> list[SurfaceAccent]:
        """Return the accents within single surfaces (unsaved)."""
        return [
            read_accent(self, name, room, surface.key, self.by_pk[int(pk)])
            for name, room, surface in self._surfaces()
            if (pk := self.cleaned_data[f"{name} accent"])
        ]

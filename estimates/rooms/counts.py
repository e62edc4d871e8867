"""Counts that somebody enters instead of what was counted from the room, each with its reason.

The form, what was counted, and the act of storing; the takeoff shows both numbers in the working.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.staff.models import User
from estimates.takeoff.assembly import assemble
from estimates.takeoff.errors import DomainError
from estimates.takeoff.lengths import parse_length
from estimates.takeoff.model import Counted, Override
from estimates.takeoff.overrides import check_overrides
from estimates.takeoff.practice import Practice
from estimates.takeoff.sealant import beads, penetrations
from estimates.takeoff.units import Measure, System, convert

from .models import CountOverride, Room
from .selectors import system_of, takeoff_room

MILLION = 1_000_000
LENGTHS = frozenset({Counted.BEAD, Counted.STRIPS})
LABELS = {
    Counted.BEAD: gettext_lazy("Sealant beads"),
    Counted.STRIPS: gettext_lazy("Strips over changes of plane"),
    Counted.INSIDE: gettext_lazy("Inside corner pieces"),
    Counted.OUTSIDE: gettext_lazy("Outside corner pieces"),
}
MOST_PIECES = 10_000


@dataclass(frozen=True)
class Entered:
    """A count as typed and as read, and why it stands instead of what was counted."""

    typed: str
    quantity: Measure
    reason: str


def counted(room: Room, practice: Practice) -> Mapping[Counted, Measure]:
    """Return what is counted from the assembled room; empty for a room that cannot be built yet."""
    system = system_of(room.site)
    try:
        assembly = assemble(takeoff_room(room), practice, system)
        bead = beads(assembly, penetrations(assembly), practice, system, as_counted=True).length
    except DomainError:
        return {}
    strips = sum((one.length_mm for one in assembly.changes if one.has_strip), Decimal(0))
    pieces = [one for one in assembly.corners if not one.by_sealant]
    return {
        Counted.BEAD: Measure(bead.value, bead.unit),
        Counted.STRIPS: Measure(convert(strips, "mm", system.run), system.run),
        Counted.INSIDE: Measure(Decimal(sum(one.inside for one in pieces)), "each"),
        Counted.OUTSIDE: Measure(Decimal(sum(not one.inside for one in pieces)), "each"),
    }


@dataclass(frozen=True)
class CountLine:
    """One count on the page; *own*: what stands instead of it."""

    label: str
    counted: Measure | None
    quantity: forms.BoundField
    reason: forms.BoundField
    own: CountOverride | None


class CountsForm(forms.Form):
    """Two fields a count: what is entered instead, and why. An emptied pair goes back to what was counted."""

    def __init__(self, *args: object, room: Room, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.room = room
        self.system: System = system_of(room.site)
        stored = {one.what: one for one in room.count_overrides.all()}
        for what in Counted:
            own = stored.get(what.value)
            self.fields[f"{what.name}_quantity"] = forms.CharField(
                label=_("%(what)s, entered instead") % {"what": LABELS[what]},
                max_length=40,
                required=False,
                initial=own.typed if own else "",
            )
            self.fields[f"{what.name}_reason"] = forms.CharField(
                label=gettext_lazy("Why"),
                max_length=200,
                required=False,
                initial=own.reason if own else "",
            )

    def lines(self, found: Mapping[Counted, Measure]) -> list[CountLine]:
        """Return each count with what was counted and its two fields."""
        stored = {one.what: one for one in self.room.count_overrides.all()}
        return [
            CountLine(
                str(LABELS[what]),
                found.get(what),
                self[f"{what.name}_quantity"],
                self[f"{what.name}_reason"],
                stored.get(what.value),
            )
            for what in Counted
        ]

    def clean(self) -> dict[str, object]:
        cleaned = super().clean() or {}
        found: dict[Counted, Entered] = {}
        for what in Counted:
            typed = str(cleaned.get(f"{what.name}_quantity", "")).strip()
            reason = str(cleaned.get(f"{what.name}_reason", "")).strip()
            if typed and not reason:
                self.add_error(f"{what.name}_reason", _("Say why it is entered and not counted."))
            # What cannot be read is told beside a missing reason, not after it.
            if reason and not typed:
                self.add_error(
                    f"{what.name}_quantity", _("A reason without a count: enter the count, or empty both.")
                )
            elif typed:
                try:
                    found[what] = Entered(typed, self._read(what, typed), reason)
                except DomainError as error:
                    self.add_error(f"{what.name}_quantity", error.reason.render(_))
                except ValidationError as error:
                    self.add_error(f"{what.name}_quantity", error)
        cleaned["entered"] = found
        return cleaned

    def _read(self, what: Counted, typed: str) -> Measure:
        if what in LENGTHS:
            mm = parse_length(typed, self.system, allow_zero=True)
            run = convert(mm, "mm", self.system.run)
            return Measure(run.quantize(Decimal("0.000001")), self.system.run)
        if not typed.isascii() or not typed.isdecimal() or int(typed) > MOST_PIECES:
            raise ValidationError(
                _("Read “%(typed)s”: expected a whole number of pieces from 0 to %(most)d.")
                % {"typed": typed, "most": MOST_PIECES}
            )
        return Measure(Decimal(int(typed)), "each")


@transaction.atomic
def counts_save(*, room: Room, entered: Mapping[Counted, Entered], by: User | None) -> None:
    """Let *entered* stand instead of what is counted in *room*; what is not in it is counted again.

    Raises:
        DomainError: a count below zero or without a reason (``override.*``).
    """
    core = takeoff_room(room)
    check_overrides(
        type(core)(
            core.key,
            core.name,
            core.height_mm,
            overrides={what: Override(one.quantity, one.reason) for what, one in entered.items()},
        ),
        system_of(room.site),
    )
    stored = {one.what: one for one in CountOverride.objects.filter(room=room)}
    for what in Counted:
        row = stored.get(what.value)
        one = entered.get(what)
        if one is None:
            if row is not None:
                row.delete()
            continue
        row = row or CountOverride(room=room, what=what.value)
        values = (one.typed, int(one.quantity.value * MILLION), one.quantity.unit, one.reason)
        if row.pk and (row.typed, row.quantity_millionths, row.unit, row.reason) == values:
            continue
        row.typed, row.quantity_millionths, row.unit, row.reason = values
        row.by = by
        row.full_clean(validate_constraints=False)
        row.save()

"""Which material an estimate needs for what: a slot for each role, and for each use of tile and agent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.text import format_lazy

from estimates.pricelists.models import USES, Material, MaterialRole, TileUse
from estimates.takeoff.model import SurfaceKind

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise


@dataclass(frozen=True)
class Slot:
    """A place in an estimate that a material fills; *key* is a role, or ``role: use``."""

    key: str
    role: str
    use: str
    label: StrOrPromise

    @property
    def is_tile(self) -> bool:
        return self.role == MaterialRole.TILE

    @property
    def takes_many(self) -> bool:
        """Whether several materials fill it together: the roll sizes of a membrane."""
        return self.role == MaterialRole.MEMBRANE

    def fits(self, material: Material) -> bool:
        """Whether *material* may stand here: of the role, and for this use or for any."""
        return material.role == self.role and (self.is_tile or material.use in ("", self.use))


def _slots() -> tuple[Slot, ...]:
    found = []
    for role in MaterialRole:
        uses = USES.get(role)
        if uses is None:
            found.append(Slot(role.value, role.value, "", role.label))
        else:
            found += [
                Slot(
                    f"{role.value}: {use.value}",
                    role.value,
                    use.value,
                    format_lazy("{}: {}", role.label, use.label),
                )
                for use in uses
            ]
    return tuple(found)


SLOTS: Mapping[str, Slot] = {slot.key: slot for slot in _slots()}

# Which tile a surface gets unless the estimate says otherwise.
USE_OF_SURFACE: Mapping[SurfaceKind, TileUse] = {
    SurfaceKind.FLOOR: TileUse.FLOOR,
    SurfaceKind.WALL: TileUse.WALL,
    SurfaceKind.SHOWER_FLOOR: TileUse.SHOWER_FLOOR,
    SurfaceKind.BENCH: TileUse.WALL,
    SurfaceKind.CURB: TileUse.WALL,
    SurfaceKind.NICHE: TileUse.WALL,
    SurfaceKind.COUNTER: TileUse.COUNTER,
    SurfaceKind.BACKSPLASH: TileUse.WALL,
    SurfaceKind.KNEE_WALL: TileUse.WALL,
    SurfaceKind.COLUMN: TileUse.WALL,
    SurfaceKind.RETURN: TileUse.WALL,
}


def tile_slot(kind: SurfaceKind) -> str:
    """Return the slot whose tile a surface of *kind* gets."""
    return f"{MaterialRole.TILE.value}: {USE_OF_SURFACE[kind].value}"


def usual_for(slot: Slot, usual: list[Material]) -> list[Material]:
    """Return what fills *slot* in a new estimate: made for the use, else usual for any; all roll sizes."""
    fitting = [material for material in usual if material.role == slot.role]
    if slot.takes_many:
        return fitting
    for use in (slot.use, ""):
        for material in fitting:
            if material.use == use:
                return [material]
    return []

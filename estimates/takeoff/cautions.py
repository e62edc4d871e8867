"""Hazards to show with a job, each with the rule that names it. The program advises; the code decides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .model import Covering, FixtureKind, RoomSet, Substrate, Surface, SurfaceKind
from .phrases import gettext_noop, phrase
from .result import Caution

ASBESTOS_PRESUMED_TO = 1980
LEAD_BEFORE = 1978
_FLOOR_COVERINGS = frozenset({Covering.RESILIENT})
_PAINTED = frozenset({Covering.BOARD})


@dataclass(frozen=True)
class Work:
    """What the takeoff found that the cautions turn on."""

    cuts: bool  # tile or board is cut
    wet_products: bool  # adhesives, sealants, mortars are used


def cautions(room_set: RoomSet, work: Work) -> tuple[Caution, ...]:
    """Return the cautions of a job in the order they are shown."""
    return tuple(_cautions(room_set, work))


def _cautions(room_set: RoomSet, work: Work) -> Iterator[Caution]:
    surfaces = [surface for room in room_set.rooms for surface in room.surfaces]
    fixtures = {fixture.kind for room in room_set.rooms for fixture in room.fixtures}
    if work.cuts or any(surface.remove is Covering.TILE for surface in surfaces):
        yield Caution(
            "silica",
            phrase(
                gettext_noop(
                    "Cutting, grinding or breaking tile, mortar and board frees respirable crystalline "
                    "silica: "
                    "cut wet or with shrouded extraction, never dry sweep, follow Table 1 of the rule."
                )
            ),
            "29 CFR 1926.1153",
        )
    if any(_may_hold_asbestos(surface) for surface in surfaces):
        yield from _asbestos(room_set.built_year)
    if any(surface.remove in _PAINTED for surface in surfaces) and _is_before(room_set, LEAD_BEFORE):
        yield Caution(
            "lead",
            phrase(
                gettext_noop(
                    "Painted surfaces are disturbed in a house built before 1978, or in an unknown year: "
                    "work "
                    "lead-safe with a certified firm, or have the paint tested first."
                )
            ),
            "40 CFR 745",
        )
    if work.wet_products:
        yield Caution(
            "vapours",
            phrase(
                gettext_noop(
                    "Adhesives, sealants and primers give off vapours: ventilate, keep flames away, read the "
                    "safety data sheet, protect skin and eyes from wet mortar."
                )
            ),
            "29 CFR 1910.1200",
        )
    if FixtureKind.DRAIN in fixtures or any(surface.kind is SurfaceKind.SHOWER_FLOOR for surface in surfaces):
        yield Caution(
            "plumbing",
            phrase(
                gettext_noop(
                    "Drains, shower receptors and their tests belong to a licensed plumber and the local "
                    "code."
                )
            ),
            "IRC P2709, IPC 417, UPC 408",
        )
    if any(surface.kind in (SurfaceKind.FLOOR, SurfaceKind.SHOWER_FLOOR) for surface in surfaces):
        yield Caution(
            "electricity",
            phrase(
                gettext_noop(
                    "Heating under tile and any wiring belong to a licensed electrician; make circuits dead "
                    "before work near them."
                )
            ),
            "NFPA 70 (National Electrical Code), from memory",
        )
        if any(surface.substrate in (Substrate.PLYWOOD, Substrate.OSB) for surface in surfaces):
            yield Caution(
                "framing",
                phrase(
                    gettext_noop(
                        "A framed floor under ceramic tile may bend no more than its span / 360; where that "
                        "is "
                        "in doubt, or for stone, ask an engineer before work begins."
                    )
                ),
                "IRC Table R301.7 (clause from memory)",
            )


def _may_hold_asbestos(surface: Surface) -> bool:
    return surface.remove in _FLOOR_COVERINGS or (
        surface.substrate is Substrate.SHEET_VINYL and surface.condition.value == "sealed"
    )


def _is_before(room_set: RoomSet, year: int) -> bool:
    return room_set.built_year is None or room_set.built_year < year


def _asbestos(built_year: int | None) -> Iterator[Caution]:
    if built_year is None or built_year <= ASBESTOS_PRESUMED_TO:
        yield Caution(
            "asbestos",
            phrase(
                gettext_noop(
                    "Resilient flooring, its adhesive and backing in a house built in or before 1980, or "
                    "in an "
                    "unknown year, are presumed to hold asbestos: do not sand, scrape dry or break; have "
                    "them "
                    "tested, and removed by a licensed firm."
                )
            ),
            "29 CFR 1926.1101",
        )
    else:
        yield Caution(
            "asbestos-ask",
            phrase(
                gettext_noop(
                    "Resilient flooring is removed: the house is newer than 1980, so asbestos is not "
                    "presumed; "
                    "still ask, and do not sand old adhesive."
                )
            ),
            "29 CFR 1926.1101",
        )

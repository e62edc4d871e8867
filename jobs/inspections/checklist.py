"""What is inspected, against which limit, and who says so. Pure data: no database, no clock.

A check is made from a template where the room has what it looks at; its limits stand in :mod:`.limits`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

from estimates.takeoff.model import BondMethod, Exposure, Substrate, SurfaceKind
from estimates.takeoff.phrases import gettext_noop as _
from estimates.takeoff.sequence import HoldPoint
from estimates.takeoff.units import System, inches

from .limits import (
    FLOOD_STANDS,
    Limit,
    Quantity,
    contact,
    cure,
    fall,
    flatness,
    flood_limit,
    joint_spacing,
    length_limit,
)


class Kind(StrEnum):
    """How a check is answered. Pass or fail is computed from the answer, never given."""

    READING = "reading"  # a number with its instrument, held against a range
    ANSWER = "answer"  # yes or no
    LAID = "laid"  # the moment the last sheet was embedded; the cure runs from it
    FLOOD = "flood"  # a timed test: water in, water read again


class Scope(StrEnum):
    SURFACE = "surface"
    ROOM = "room"
    JOB = "job"


class Step(StrEnum):
    """Work that hold points stand before, in the order of the trade."""

    MEMBRANE = "membrane"
    FLOOD = "flood test"
    TILE = "tile"
    GROUT = "grout"
    PUNCH = "punch list"
    HAND_OVER = "hand over"


NEEDS: dict[Step, frozenset[HoldPoint]] = {
    Step.MEMBRANE: frozenset({HoldPoint.SUBSTRATE}),
    Step.FLOOD: frozenset({HoldPoint.SUBSTRATE, HoldPoint.MEMBRANE}),
    Step.TILE: frozenset({HoldPoint.SUBSTRATE, HoldPoint.MEMBRANE, HoldPoint.FLOOD_TEST}),
    Step.GROUT: frozenset(set(HoldPoint) - {HoldPoint.JOINTS, HoldPoint.FINAL}),
    Step.PUNCH: frozenset(set(HoldPoint) - {HoldPoint.FINAL}),
    Step.HAND_OVER: frozenset(HoldPoint),
}

# Steps that lie on the bond, and so wait for its cure.
AFTER_CURE = frozenset({Step.TILE, Step.GROUT, Step.PUNCH, Step.HAND_OVER})


# --- What the job has -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SurfaceFacts:
    """A surface as it was sold.

    *tile_edge_mm*: the longest edge of its tile, None where none is set. *cure*: what the data sheet of its
    bonding agent says, None where the job was sold without it (then the trade's own figure for the method).
    """

    key: str
    name: str
    kind: SurfaceKind
    substrate: Substrate
    exposure: Exposure
    membrane: bool
    method: BondMethod
    tile_edge_mm: Decimal | None
    cure: timedelta | None = None


@dataclass(frozen=True)
class RoomFacts:
    """A room. *side_laps*, *butt_laps*: whether its membrane has any (True where nobody planned it)."""

    key: str
    name: str
    surfaces: tuple[SurfaceFacts, ...]
    has_penetrations: bool = True
    side_laps: bool = True
    butt_laps: bool = True

    @property
    def membrane(self) -> bool:
        return any(surface.membrane for surface in self.surfaces)

    @property
    def tiled(self) -> bool:
        return any(surface.tile_edge_mm is not None for surface in self.surfaces)

    @property
    def shower_floor(self) -> bool:
        return any(surface.kind is SurfaceKind.SHOWER_FLOOR for surface in self.surfaces)

    @property
    def wet(self) -> bool:
        return any(surface.exposure is Exposure.WET for surface in self.surfaces)


@dataclass(frozen=True)
class JobFacts:
    system: System
    rooms: tuple[RoomFacts, ...]
    flood_test_asked: bool = False


# --- Templates --------------------------------------------------------------------------------------------

Where: TypeAlias = "SurfaceFacts | RoomFacts | JobFacts"


@dataclass(frozen=True)
class Template:
    """A kind of check.

    Attributes:
        label: its short name; *ask*: what to look at; *source*: who says so. Marked for translation.
        applies: whether the place has what is looked at.
        limit: for readings, from the place and the site's units.
        instrument: what it is usually read with.
        needs_note: the answer alone proves nothing, such as a moisture reading's meter and figure.
    """

    key: str
    hold: HoldPoint
    scope: Scope
    kind: Kind
    label: str
    ask: str
    source: str
    applies: Callable[[Where], bool]
    limit: Callable[[SurfaceFacts | None, System], Limit] | None = None
    instrument: str = ""
    needs_note: bool = False


def _surface(test: Callable[[SurfaceFacts], bool]) -> Callable[[Where], bool]:
    return lambda place: isinstance(place, SurfaceFacts) and test(place)


def _room(test: Callable[[RoomFacts], bool]) -> Callable[[Where], bool]:
    return lambda place: isinstance(place, RoomFacts) and test(place)


def _always(place: Where) -> bool:
    return True


def _tiled(surface: SurfaceFacts) -> bool:
    return surface.tile_edge_mm is not None


def _is_shower_floor(surface: SurfaceFacts) -> bool:
    return surface.kind is SurfaceKind.SHOWER_FLOOR


_JOINTED = frozenset({Substrate.PLYWOOD, Substrate.OSB, Substrate.GYPSUM_BOARD, Substrate.CEMENT_BOARD})
_LEVEL = frozenset({SurfaceKind.FLOOR, SurfaceKind.SHOWER_FLOOR})
_FLAT_KINDS = _LEVEL | {SurfaceKind.WALL, SurfaceKind.COUNTER, SurfaceKind.BACKSPLASH}
_COMMON = _("common practice, no source")
DATA_SHEET = _("data sheet of the bonding agent, as the quote was sold")
_STRAIGHTEDGE = _("straightedge and feeler gauge")
_TAPE = _("steel tape")
_LEVEL_TOOL = _("spirit level and steel rule")


def _edge(surface: SurfaceFacts | None) -> Decimal:
    if surface is None or surface.tile_edge_mm is None:
        raise ValueError("a flatness limit needs the surface's tile")
    return surface.tile_edge_mm


def _use(surface: SurfaceFacts | None) -> Exposure:
    return surface.exposure if surface else Exposure.DRY


TEMPLATES: tuple[Template, ...] = (
    Template(
        "sound",
        HoldPoint.SUBSTRATE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Clean and sound"),
        _("Is every surface clean, sound and firm, with fasteners seated, and built to carry tile?"),
        _COMMON,
        _room(lambda room: bool(room.surfaces)),
    ),
    Template(
        "bond_breaker",
        HoldPoint.SUBSTRATE,
        Scope.ROOM,
        Kind.ANSWER,
        _("No bond breaker"),
        _("Is every surface free of wax, sealer, paint, curing compound, oil and dust?"),
        _COMMON,
        _room(lambda room: bool(room.surfaces)),
    ),
    Template(
        "joints_even",
        HoldPoint.SUBSTRATE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Joints even"),
        _("Are the joints between boards even, sanded or filled, with no edge standing up?"),
        _COMMON,
        _room(lambda room: any(surface.substrate in _JOINTED for surface in room.surfaces)),
    ),
    Template(
        "moisture",
        HoldPoint.SUBSTRATE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Moisture"),
        _("Is the moisture measured within the data sheets of membrane and bond? Note meter and reading."),
        _("data sheets of membrane and bonding material; the test itself: common practice, no source"),
        _room(lambda room: bool(room.surfaces)),
        needs_note=True,
    ),
    Template(
        "flat_long",
        HoldPoint.SUBSTRATE,
        Scope.SURFACE,
        Kind.READING,
        _("Flatness over 10 ft (3 m)"),
        _("Largest gap under a 10 ft (3 m) straightedge, from the high points. Mortar does not flatten."),
        "ANSI A108.02 4.2.2",
        _surface(lambda surface: _tiled(surface) and surface.kind in _FLAT_KINDS),
        lambda surface, system: flatness(_edge(surface), system)[0],
        _STRAIGHTEDGE,
    ),
    Template(
        "flat_short_large",
        HoldPoint.SUBSTRATE,
        Scope.SURFACE,
        Kind.READING,
        _("Flatness over 24 in (610 mm)"),
        _("Largest gap under a 24 in (610 mm) straightedge, from the high points."),
        "ANSI A108.02 4.2.2",
        _surface(lambda s: _tiled(s) and s.kind in _FLAT_KINDS and _edge(s) >= inches(15)),
        lambda surface, system: flatness(_edge(surface), system)[1],
        _STRAIGHTEDGE,
    ),
    Template(
        "flat_short_small",
        HoldPoint.SUBSTRATE,
        Scope.SURFACE,
        Kind.READING,
        _("Flatness over 12 in (305 mm)"),
        _("Largest gap under a 12 in (305 mm) straightedge, from the high points."),
        _("ANSI A108.02 (1/16 in in 12 in from memory)"),
        _surface(lambda s: _tiled(s) and s.kind in _FLAT_KINDS and _edge(s) < inches(15)),
        lambda surface, system: flatness(_edge(surface), system)[1],
        _STRAIGHTEDGE,
    ),
    Template(
        "slope_under",
        HoldPoint.SUBSTRATE,
        Scope.SURFACE,
        Kind.READING,
        _("Slope under the membrane"),
        _("Least fall to the drain over 12 in (1 m) of run. 1/4 in per foot is a level bubble plus 1/4 in."),
        _("UPC 408.7: lining pitched 1/4 in per foot; the local code decides"),
        _surface(_is_shower_floor),
        lambda surface, system: Limit(Quantity.LENGTH, least=fall(system).least),
        _LEVEL_TOOL,
    ),
    Template(
        "laid",
        HoldPoint.MEMBRANE,
        Scope.SURFACE,
        Kind.LAID,
        _("Membrane laid"),
        _("When was the last sheet of this surface embedded? The cure runs from then."),
        _COMMON,
        _surface(lambda surface: surface.membrane),
    ),
    Template(
        "side_laps",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.READING,
        _("Side laps"),
        _("Smallest lap found between neighbouring sheets; measure every seam."),
        _COMMON,
        _room(lambda room: room.membrane and room.side_laps),
        lambda surface, system: length_limit(least=inches(2)),
        _TAPE,
    ),
    Template(
        "butt_laps",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.READING,
        _("End laps"),
        _("Smallest lap or cover found where sheets or strips meet end to end."),
        _COMMON,
        _room(lambda room: room.membrane and room.butt_laps),
        lambda surface, system: length_limit(least=inches("1.5")),
        _TAPE,
    ),
    Template(
        "corners",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Corners"),
        _("Is every inside and outside corner covered by its piece, with a bead of sealant at its base?"),
        _COMMON,
        _room(lambda room: room.membrane),
    ),
    Template(
        "seams",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Seams"),
        _("Are all seams pressed down to the edge, upper sheet over lower, none facing the water?"),
        _COMMON,
        _room(lambda room: room.membrane),
    ),
    Template(
        "penetrations",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.ANSWER,
        _("Penetrations"),
        _("Is the membrane cut to fit round every pipe, flange and drain, and sealed all round?"),
        _COMMON,
        _room(lambda room: room.membrane and room.has_penetrations),
    ),
    Template(
        "bubbles",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.ANSWER,
        _("No bubbles"),
        _("Is the membrane bonded all over, with no air, fold or puncture left?"),
        _COMMON,
        _room(lambda room: room.membrane),
    ),
    Template(
        "wall_height",
        HoldPoint.MEMBRANE,
        Scope.ROOM,
        Kind.READING,
        _("Height of waterproofing"),
        _("Lowest top of the waterproofing on the shower's walls, above the room's floor."),
        "IRC R307.2",
        _room(
            lambda room: (
                room.shower_floor
                and any(
                    s.membrane and s.kind is SurfaceKind.WALL and s.exposure is Exposure.WET
                    for s in room.surfaces
                )
            )
        ),
        lambda surface, system: length_limit(least=inches(72)),
        _TAPE,
    ),
    Template(
        "flood",
        HoldPoint.FLOOD_TEST,
        Scope.ROOM,
        Kind.FLOOD,
        _("Flood test"),
        _(
            "Plug the drain, fill, mark and measure the level at the shallowest edge; cover the water, since "
            "a fall by evaporation fails too. Mind the weight: 2 in of water is 10.4 lb on every square foot."
        ),
        _("ASTM D5957 as the guide (24 h unless the office says otherwise); the local code decides"),
        _room(lambda room: room.membrane and room.shower_floor),
        instrument=_("steel rule at a marked point"),
    ),
    Template(
        "coverage",
        HoldPoint.COVERAGE,
        Scope.SURFACE,
        Kind.READING,
        _("Mortar contact"),
        _("Lift a tile while the mortar is fresh: which share of its back does mortar touch, per cent?"),
        "ANSI A108.5 2.2.3",
        _surface(_tiled),
        lambda surface, system: contact(_use(surface)),
        _("tile lifted, area judged over a grid"),
    ),
    Template(
        "joint_places",
        HoldPoint.JOINTS,
        Scope.ROOM,
        Kind.ANSWER,
        _("Movement joints"),
        _("Are the perimeter, every change of plane and every joint of the base kept soft, free of grout?"),
        "ANSI A108.02 4.4.1-4.4.2",
        _room(lambda room: room.tiled),
    ),
    Template(
        "joint_spacing",
        HoldPoint.JOINTS,
        Scope.SURFACE,
        Kind.READING,
        _("Field between movement joints"),
        _("Longest stretch of tile between two movement joints, either way."),
        _("industry detail EJ171: 25 ft indoors, 12 ft in sun or moisture"),
        _surface(lambda surface: _tiled(surface) and surface.kind is SurfaceKind.FLOOR),
        lambda surface, system: joint_spacing(_use(surface)),
        _TAPE,
    ),
    Template(
        "slope",
        HoldPoint.FINAL,
        Scope.SURFACE,
        Kind.READING,
        _("Slope of the finished floor"),
        _("Fall to the drain over 12 in (1 m) of run, at its flattest and not steeper than the limit."),
        _("IRC P2709.1: 1/4 in to 1/2 in per foot; the local code decides"),
        _surface(lambda surface: _is_shower_floor(surface) and _tiled(surface)),
        lambda surface, system: fall(system),
        _LEVEL_TOOL,
    ),
    Template(
        "final",
        HoldPoint.FINAL,
        Scope.JOB,
        Kind.ANSWER,
        _("Final check with the customer"),
        _("Is everything clean, grouted, sealed and as quoted, and has the customer walked through it?"),
        _COMMON,
        _always,
    ),
)
BY_KEY = {template.key: template for template in TEMPLATES}


# --- The plan ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Planned:
    """A check of this job. *room*, *surface*: key and name, ("", "") where it is wider than that.

    *wait*: what the cure takes (laid); *stands*: how long the water stands (flood).
    """

    template: Template
    room: tuple[str, str] = ("", "")
    surface: tuple[str, str] = ("", "")
    limit: Limit | None = None
    wait: timedelta = timedelta(0)
    stands: timedelta = timedelta(0)
    cure_from_data_sheet: bool = False

    @property
    def source(self) -> str:
        """Who says so, in English."""
        return DATA_SHEET if self.cure_from_data_sheet else self.template.source


def plan(job: JobFacts) -> tuple[Planned, ...]:
    """Return every check of *job*: room by room, in the order of the trade, then what concerns all of it."""
    found = [check for room in job.rooms for check in _checks_of(room, job)]
    whole = (Planned(one) for one in TEMPLATES if one.scope is Scope.JOB and one.applies(job))
    return (*found, *whole)


def _checks_of(room: RoomFacts, job: JobFacts) -> Iterator[Planned]:
    for template in TEMPLATES:
        name = (room.key, room.name)
        if template.kind is Kind.FLOOD:
            if template.applies(room) or (job.flood_test_asked and room.membrane and _has_floor(room)):
                yield Planned(
                    template, name, limit=flood_limit(shower=room.shower_floor), stands=FLOOD_STANDS
                )
        elif template.scope is Scope.ROOM and template.applies(room):
            limit = template.limit(None, job.system) if template.limit else None
            yield Planned(template, name, limit=limit)
        elif template.scope is Scope.SURFACE:
            for surface in room.surfaces:
                if template.applies(surface):
                    yield _of_surface(template, name, surface, job.system)


def _of_surface(template: Template, room: tuple[str, str], surface: SurfaceFacts, system: System) -> Planned:
    is_laid = template.kind is Kind.LAID
    own = surface.cure if surface.cure is not None else cure(surface.method)
    return Planned(
        template,
        room,
        (surface.key, surface.name),
        limit=template.limit(surface, system) if template.limit else None,
        wait=own if is_laid else timedelta(0),
        cure_from_data_sheet=is_laid and surface.cure is not None,
    )


def _has_floor(room: RoomFacts) -> bool:
    """Whether water can stand in the room's membrane: only on a floor."""
    return any(surface.membrane and surface.kind in _LEVEL for surface in room.surfaces)

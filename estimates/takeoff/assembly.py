"""The assembled room: from what was measured to faces, changes of plane and corners.

Nothing here knows about materials. What is impossible is refused with the room, the thing and the rule.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from .errors import DomainError
from .faces import FaceBuilder, Placed, refuse_double
from .folds import Fold, changes, corners, find_folds, shells
from .model import FixtureKind, Room, SurfaceKind
from .phrases import Phrase, gettext_noop, phrase
from .plan import Box, RoomPlan, boxes, lay_out
from .practice import Practice
from .refusals import check_room
from .result import ChangeOfPlane, Corner, Face
from .space import area_mm2
from .traverse import Tolerance, Traverse, close_traverse
from .units import System, convert
from .working import Figure, Origin, Working

# Square inches in a square foot; square millimetres in a square metre.
SMALL_IN_AREA = {System.INCH: "144", System.METRIC: "1000000"}


@dataclass(frozen=True)
class Assembly:
    """One room put together; *folds* and *changes* run in the same order."""

    room: Room
    traverse: Traverse | None
    plan: RoomPlan
    boxes: tuple[Box, ...]
    placed: tuple[Placed, ...]
    folds: tuple[Fold, ...]
    changes: tuple[ChangeOfPlane, ...]
    corners: tuple[Corner, ...]

    @property
    def faces(self) -> tuple[Face, ...]:
        return tuple(placed.face for placed in self.placed)


def assemble(room: Room, practice: Practice, system: System) -> Assembly:
    """Put a measured room together.

    Raises:
        DomainError: the room is impossible; *place* is a path inside the room (see :mod:`.refusals`).
    """
    traverse = None
    if room.legs:
        tolerance = Tolerance(practice.close_within.mm, practice.close_ratio.number)
        try:
            traverse = close_traverse(room.legs, tolerance=tolerance, system=system)
        except DomainError as error:
            raise error.of(room.name) from error
    plan = lay_out(room, traverse)
    check_room(room, plan, practice, system)
    found = boxes(room, plan, practice)
    builder = FaceBuilder(room, plan, found, practice)
    placed = tuple(_measured(one, room, practice, system) for one in builder.build())
    refuse_double(room, placed)
    folds = find_folds(placed, shells(builder, plan, found))
    return Assembly(
        room,
        traverse,
        plan,
        found,
        placed,
        folds,
        changes(room.key, folds),
        corners(room.key, folds),
    )


def _measured(placed: Placed, room: Room, practice: Practice, system: System) -> Placed:
    """Return the face with its area figure."""
    sloped = placed.surface.kind is SurfaceKind.SHOWER_FLOOR and any(
        fixture.kind is FixtureKind.DRAIN for fixture in room.fixtures
    )
    figure = area_figure(placed.face, system, practice if sloped else None)
    return replace(placed, face=replace(placed.face, area=figure))


def area_figure(face: Face, system: System, slope: Practice | None = None) -> Figure:
    """Return a face's net area in the system's unit: rectangle or coordinates, less its holes.

    With *slope*, the true area of a floor that falls to its drain: the plan area times sqrt(1 + s^2).
    """
    unit = system.area
    work = Working(f"{face.key}.area", phrase(gettext_noop("Area of {face}"), face=face.label))
    outer = _ring(work, "A", phrase(gettext_noop("Outline")), face.outline, system)
    names = [
        _ring(work, f"a{n}", phrase(gettext_noop("Cut out {n}"), n=n), hole, system)
        for n, hole in enumerate(face.holes, 1)
    ]
    if names or slope is not None:
        work.step("P", phrase(gettext_noop("Net area in plan")), " - ".join([outer, *names]), unit)
    else:
        work.step("P", phrase(gettext_noop("Net area")), outer, unit)
    if slope is not None:
        slope.put(work, "s", "shower_slope", "in/in")
        work.step("T", phrase(gettext_noop("True area on the slope")), "P * sqrt(1 + s ** 2)", unit)
    return work.figure()


def _ring(
    work: Working, symbol: str, label: Phrase, ring: tuple[tuple[Decimal, Decimal], ...], system: System
) -> str:
    """Add a ring's area to the working and return its symbol."""
    unit, small = system.area, system.length
    xs, ys = {x for x, _ in ring}, {y for _, y in ring}
    if len(ring) == 4 and len(xs) == 2 and len(ys) == 2:
        for side, name, size in (
            ("w", phrase(gettext_noop("{part}: width"), part=label), max(xs) - min(xs)),
            ("h", phrase(gettext_noop("{part}: height or depth"), part=label), max(ys) - min(ys)),
        ):
            work.given(f"{symbol}_{side}", name, convert(size, "mm", small), small, Origin.MEASURED)
        work.step(symbol, label, f"{symbol}_w * {symbol}_h / {SMALL_IN_AREA[system]}", unit)
    else:
        work.given(
            symbol,
            phrase(gettext_noop("{part}, by the coordinates of its corners"), part=label),
            convert(area_mm2(ring), "sq mm", unit),
            unit,
            Origin.GEOMETRY,
        )
    return symbol

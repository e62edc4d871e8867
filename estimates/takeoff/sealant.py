"""Sealant on the membrane: where its beads run, and what they hold.

A bead is a triangular fillet: half the product of its legs, times its length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely.geometry import Point as Spot

from .assembly import Assembly
from .errors import DomainError
from .faces import Placed
from .model import Counted, Fixture, FixtureKind
from .overrides import corrected
from .phrases import gettext_noop, phrase
from .practice import Practice
from .refusals import is_on_floor, named
from .result import Lie
from .units import System, convert
from .working import Figure, Origin, Working

PIERCING = frozenset(
    {FixtureKind.FLANGE, FixtureKind.PIPE, FixtureKind.DRAIN, FixtureKind.MIXER, FixtureKind.SPOUT}
)


@dataclass(frozen=True)
class Penetration:
    """A round thing that goes through a face, at (x, y) on it (mm)."""

    fixture: Fixture
    placed: Placed
    x: float
    y: float


def penetrations(assembly: Assembly) -> tuple[Penetration, ...]:
    """Return the round fixtures that pierce a face of ours, each with the face and its place there."""
    found = []
    for fixture in assembly.room.fixtures:
        if fixture.kind not in PIERCING or fixture.wall is None:
            continue
        wall = assembly.plan.wall(fixture.wall)
        if is_on_floor(fixture):
            lie = Lie.LEVEL
            x, y = wall.point(float(fixture.along_mm), float(fixture.away_mm))
        else:
            lie = Lie.UPRIGHT
            x, y = wall.span(float(fixture.along_mm), 0.0)[0], float(fixture.base_mm)
        for placed in assembly.placed:
            if fixture.surface is not None and placed.surface.key != fixture.surface:
                continue
            if fixture.surface is None and lie is Lie.LEVEL and placed.plane.origin[2] != 0:
                continue
            here = placed.face.lie is lie and (lie is Lie.LEVEL or placed.face.wall == fixture.wall)
            if here and placed.shape.buffer(0.1).contains(Spot(x, y)):
                found.append(Penetration(fixture, placed, x, y))
                break
    return tuple(found)


def refuse_lost(assembly: Assembly) -> None:
    """Refuse a fixture that is said to pierce a surface and lies outside it.

    Raises:
        DomainError: rule ``room.outside``; *place* is the fixture's path in the room.
    """
    found = {one.fixture.key for one in penetrations(assembly)}
    names = {surface.key: surface.name for surface in assembly.room.surfaces}
    for at, fixture in enumerate(assembly.room.fixtures):
        if fixture.kind in PIERCING and fixture.surface is not None and fixture.key not in found:
            raise DomainError(
                phrase(
                    gettext_noop("{room}: {thing} lies outside {surface}, which it is said to go through."),
                    room=assembly.room.name,
                    thing=named(fixture.kind.value, fixture.key),
                    surface=names[fixture.surface],
                ),
                rule="room.outside",
                place=f"fixtures[{at}].along",
                room=assembly.room.key,
            )


@dataclass(frozen=True)
class Beads:
    """The beads of one room, as figures in the system's run unit and volume."""

    length: Figure
    volume: Figure
    corner_count: int


def beads(
    assembly: Assembly,
    found: Sequence[Penetration],
    practice: Practice,
    system: System,
    *,
    as_counted: bool = False,
) -> Beads:
    """Return the sealant of one room: at corners' bases, round penetrations and along tubs.

    *as_counted*: leave aside what was entered instead.
    """
    unit, small = system.run, system.length
    room = assembly.room.key
    tubs = sum((change.length_mm for change in assembly.changes if change.has_sealant), Decimal(0))
    round_mm = sum(
        (one.fixture.diameter_mm or Decimal(0) for one in found if one.placed.surface.membrane),
        Decimal(0),
    )
    work = Working(f"{room}.bead", phrase(gettext_noop("Length of sealant beads")))
    work.given("T", phrase(gettext_noop("Along tubs")), convert(tubs, "mm", unit), unit, Origin.GEOMETRY)
    work.given(
        "D",
        phrase(gettext_noop("Diameters of all penetrations together")),
        convert(round_mm, "mm", unit),
        unit,
        Origin.MEASURED,
    )
    work.given(
        "k",
        phrase(gettext_noop("Corners where three planes meet")),
        len(assembly.corners),
        "each",
        Origin.GEOMETRY,
    )
    practice.put(work, "b", "corner_bead", unit)
    work.step("L", phrase(gettext_noop("Length of beads")), "T + pi * D + k * b", unit)
    length = work.figure()
    if not as_counted:
        length = corrected(assembly.room, Counted.BEAD, length)
    return Beads(length, _volume(room, length, practice, system, small), len(assembly.corners))


def _volume(room: str, length: Figure, practice: Practice, system: System, small: str) -> Figure:
    work = Working(f"{room}.sealant", phrase(gettext_noop("Sealant in this room")))
    work.carry("L", phrase(gettext_noop("Length of beads")), length)
    practice.put(work, "a", "fillet_leg", small)
    if system is System.INCH:
        work.given(
            "z",
            phrase(gettext_noop("Cubic inches in a fluid ounce")),
            Decimal("1.8046875"),
            "cu in",
            Origin.STANDARD,
            phrase(gettext_noop("US gallon of 231 cu in / 128")),
        )
        work.step("V", phrase(gettext_noop("Volume of a fillet")), "a ** 2 / 2 * L * 12 / z", "fl oz")
    else:
        # A square millimetre over a metre is a millilitre.
        work.step("V", phrase(gettext_noop("Volume of a fillet")), "a ** 2 / 2 * L", "ml")
    return work.figure()


def cartridge_unit(system: System) -> str:
    """Return the unit in which cartridges are filled."""
    return "fl oz" if system is System.INCH else "ml"

"""A measured room as plain values: what a form or a demonstration hands to the service.

The names are those of the models, so that stored rows and these values are read by the same code.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimates.takeoff import model
from estimates.takeoff.outline import parse_outline
from estimates.takeoff.traverse import Leg
from estimates.takeoff.units import System

from .fields import Length

ZERO = Length("", Decimal(0))


@dataclass(frozen=True)
class WallData:
    """One wall as walked; *turn_millidegrees* right above zero; *height* None: as the room's."""

    length: Length
    turn_millidegrees: int = 90_000
    height: Length | None = None


@dataclass(frozen=True)
class OpeningData:
    kind: str
    wall: int
    width: Length
    height: Length
    along: Length = ZERO
    base: Length = ZERO
    key: str = ""


@dataclass(frozen=True)
class SurfaceData:
    """A surface; an empty *key* is given by the service and kept from then on."""

    kind: str
    name: str
    substrate: str
    condition: str = model.Condition.SMOOTH
    exposure: str = model.Exposure.DRY
    walls: tuple[int, ...] = ()
    along: Length = ZERO
    away: Length = ZERO
    base: Length = ZERO
    length: Length | None = None
    depth: Length | None = None
    height: Length | None = None
    membrane: bool = True
    new_board: bool = False
    remove: str = model.Covering.NONE
    levelling: Length = ZERO
    method: str = model.BondMethod.ACRYLIC
    key: str = ""


@dataclass(frozen=True)
class FixtureData:
    kind: str
    wall: int | None = None
    along: Length = ZERO
    away: Length = ZERO
    base: Length = ZERO
    diameter: Length | None = None
    length: Length | None = None
    depth: Length | None = None
    surface: str = ""
    key: str = ""


@dataclass(frozen=True)
class RoomData:
    """A whole room. Walls are numbered by their place in *walls*, from 1."""

    name: str
    height: Length
    outline_text: str = ""
    walls: tuple[WallData, ...] = ()
    openings: tuple[OpeningData, ...] = ()
    surfaces: tuple[SurfaceData, ...] = ()
    fixtures: tuple[FixtureData, ...] = ()
    notes: str = ""


def walls_from_outline(
    text: str, system: System, heights: Mapping[int, Length] | None = None
) -> tuple[WallData, ...]:
    """Read a walk, a rectangle or an L-shape into walls; raises the core's WalkError.

    *heights*: those of the walls that differ from the room's, by number.
    """
    return tuple(
        WallData(
            Length(wall.typed, wall.leg.length_mm),
            int(wall.leg.turn_degrees * 1000),
            (heights or {}).get(number),
        )
        for number, wall in enumerate(parse_outline(text, system).walls, 1)
    )


def legs_of(walls: Iterable[WallData]) -> tuple[Leg, ...]:
    """Return the walls as the core walks them."""
    return tuple(Leg(wall.length.mm, Decimal(wall.turn_millidegrees) / 1000) for wall in walls)


def core_room(data: RoomData, key: str) -> model.Room:
    """Return *data* as the takeoff is given it, under *key*. Things without a key get their place as one."""
    return model.Room(
        key=key,
        name=data.name,
        height_mm=data.height.mm,
        legs=legs_of(data.walls),
        wall_heights_mm={
            number: wall.height.mm for number, wall in enumerate(data.walls, 1) if wall.height is not None
        },
        openings=tuple(_opening(one, at) for at, one in enumerate(data.openings, 1)),
        surfaces=tuple(_surface(one, at) for at, one in enumerate(data.surfaces, 1)),
        fixtures=tuple(_fixture(one, at) for at, one in enumerate(data.fixtures, 1)),
    )


def _opening(one: OpeningData, at: int) -> model.Opening:
    return model.Opening(
        key=one.key or f"new-{at}",
        kind=model.OpeningKind(one.kind),
        wall=one.wall,
        along_mm=one.along.mm,
        width_mm=one.width.mm,
        height_mm=one.height.mm,
        base_mm=one.base.mm,
    )


def _mm(length: Length | None) -> Decimal | None:
    return None if length is None else length.mm


def _surface(one: SurfaceData, at: int) -> model.Surface:
    return model.Surface(
        key=one.key or f"new-{at}",
        kind=model.SurfaceKind(one.kind),
        name=one.name,
        substrate=model.Substrate(one.substrate),
        condition=model.Condition(one.condition),
        exposure=model.Exposure(one.exposure),
        walls=one.walls,
        along_mm=one.along.mm,
        away_mm=one.away.mm,
        base_mm=one.base.mm,
        length_mm=_mm(one.length),
        depth_mm=_mm(one.depth),
        height_mm=_mm(one.height),
        membrane=one.membrane,
        new_board=one.new_board,
        remove=model.Covering(one.remove),
        levelling_mm=one.levelling.mm,
        method=model.BondMethod(one.method),
    )


def _fixture(one: FixtureData, at: int) -> model.Fixture:
    return model.Fixture(
        key=one.key or f"new-{at}",
        kind=model.FixtureKind(one.kind),
        wall=one.wall,
        along_mm=one.along.mm,
        away_mm=one.away.mm,
        base_mm=one.base.mm,
        diameter_mm=_mm(one.diameter),
        length_mm=_mm(one.length),
        depth_mm=_mm(one.depth),
        surface=one.surface or None,
    )

"""The takeoff's cast: an invented material list, small rooms, and a generator of whole houses.

The materials are the ones of the example files in ``fixtures/rooms/``; every product is invented.
"""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from pathlib import Path

from estimates.takeoff.document import Document, read_document
from estimates.takeoff.model import (
    Exposure,
    Fixture,
    FixtureKind,
    Opening,
    OpeningKind,
    Room,
    RoomSet,
    Substrate,
    Surface,
    SurfaceKind,
    TileChoice,
)
from estimates.takeoff.result import RoomTakeoff, Takeoff
from estimates.takeoff.run import run
from estimates.takeoff.traverse import Leg
from estimates.takeoff.units import System, inches
from estimates.takeoff.working import Figure, Given, Step

ROOMS = Path(__file__).parents[3] / "fixtures" / "rooms"
EXAMPLES = tuple(sorted(path.stem for path in ROOMS.glob("*.json")))
START = datetime(2026, 12, 1, 8, tzinfo=UTC)


@cache
def example(name: str) -> Document:
    return read_document((ROOMS / f"{name}.json").read_text(encoding="utf-8"))


@cache
def taken_off(name: str) -> Takeoff:
    document = example(name)
    return run(document.room_set, document.materials, document.practice, start=START)


def materials():
    return example("wet_room").materials


def figure(room: RoomTakeoff, key: str) -> Figure:
    """Return the room's figure whose key ends with *key*."""
    found = [one for one in room.figures if one.key == f"{room.key}.{key}"]
    assert len(found) == 1, (key, [one.key for one in room.figures])
    return found[0]


def area(room: RoomTakeoff, part: str) -> Decimal:
    return next(face.area.value for face in room.faces if face.key == f"{room.key}.{part}")


def legs(*sizes: object, turns: tuple[int, ...] = ()) -> tuple[Leg, ...]:
    """Return walls of so many inches, turning right unless *turns* says otherwise."""
    given = turns or (90,) * len(sizes)
    return tuple(Leg(inches(str(size)), Decimal(turn)) for size, turn in zip(sizes, given, strict=True))


def rectangle(width: object, depth: object, **more: object) -> Room:
    room = Room("r", "Room", inches(96), legs(width, depth, width, depth))
    return replace(room, **more)


def floor(**more: object) -> Surface:
    return replace(Surface("floor", SurfaceKind.FLOOR, "Floor", Substrate.PLYWOOD), **more)


def wall(*numbers: int, **more: object) -> Surface:
    key = "wall" + "".join(str(number) for number in numbers)
    return replace(
        Surface(key, SurfaceKind.WALL, f"Wall {key}", Substrate.CEMENT_BOARD, walls=numbers), **more
    )


def take_off(*rooms: Room, **more: object) -> Takeoff:
    return run(RoomSet(System.INCH, rooms, **more), materials(), start=START)


def house(count: int, *, tile: bool = True) -> RoomSet:
    """Return a house of *count* rooms of five kinds, no two of one size."""
    rooms = []
    for number in range(count):
        width, depth = 60 + 3 * number, 84 + 4 * number
        rooms.append(_KINDS[number % len(_KINDS)](number, width, depth, tile))
    return RoomSet(System.INCH, tuple(rooms), 1990)


def _choice(tile: bool, key: str) -> TileChoice | None:
    return TileChoice(key) if tile else None


def _tub_bath(number: int, width: int, depth: int, tile: bool) -> Room:
    return rectangle(
        width,
        depth,
        key=f"r{number}",
        name=f"Bath {number}",
        openings=(Opening("door", OpeningKind.DOOR, 3, inches(4), inches(30), inches(80)),),
        surfaces=(
            floor(tile=_choice(tile, "tile12")),
            wall(1, exposure=Exposure.WET, height_mm=inches(75), tile=_choice(tile, "tile6")),
        ),
        fixtures=(
            Fixture("tub", FixtureKind.TUB, 1, length_mm=inches(width), depth_mm=inches(30)),
            Fixture("wc", FixtureKind.FLANGE, 2, inches(60), inches(15), diameter_mm=inches(4)),
        ),
    )


def _shower(number: int, width: int, depth: int, tile: bool) -> Room:
    small = _choice(tile, "tile6")
    return rectangle(
        width,
        depth,
        key=f"r{number}",
        name=f"Shower {number}",
        openings=(Opening("door", OpeningKind.DOOR, 3, inches(10), inches(30), inches(80)),),
        surfaces=(
            floor(tile=_choice(tile, "tile12")),
            Surface(
                "pan",
                SurfaceKind.SHOWER_FLOOR,
                "Shower floor",
                Substrate.MORTAR_BED,
                exposure=Exposure.WET,
                walls=(1,),
                length_mm=inches(width),
                depth_mm=inches(34),
                tile=small,
            ),
            Surface(
                "curb",
                SurfaceKind.CURB,
                "Curb",
                Substrate.CEMENT_BOARD,
                exposure=Exposure.WET,
                walls=(1,),
                away_mm=inches(34),
                length_mm=inches(width),
                depth_mm=inches(4),
                height_mm=inches(4),
                tile=small,
            ),
            wall(1, exposure=Exposure.WET, height_mm=inches(72), tile=small),
            wall(2, exposure=Exposure.WET, length_mm=inches(38), height_mm=inches(72), tile=small),
        ),
        fixtures=(
            Fixture("drain", FixtureKind.DRAIN, 1, inches(width // 2), inches(17), diameter_mm=inches(4)),
        ),
    )


def _hall(number: int, width: int, depth: int, tile: bool) -> Room:
    return rectangle(
        width,
        depth,
        key=f"r{number}",
        name=f"Hall {number}",
        openings=(Opening("passage", OpeningKind.PASSAGE, 1, inches(6), inches(36), inches(84)),),
        surfaces=(floor(substrate=Substrate.CONCRETE, tile=_choice(tile, "tile12")),),
    )


def _l_kitchen(number: int, width: int, depth: int, tile: bool) -> Room:
    return Room(
        f"r{number}",
        f"Kitchen {number}",
        inches(96),
        legs(width + 40, depth, width, 30, 40, depth + 30, turns=(90, 90, -90, 90, 90, 90)),
        surfaces=(floor(tile=_choice(tile, "tile12")),),
        fixtures=(Fixture("base", FixtureKind.CABINET, 1, length_mm=inches(width), depth_mm=inches(24)),),
    )


_KINDS = (_tub_bath, _shower, _hall, _l_kitchen)


def every_figure(value: object) -> list[Figure]:
    """Return all figures anywhere inside a result."""
    if isinstance(value, Figure):
        return [value]
    if isinstance(value, Given | Step | str | Decimal):
        return []
    if isinstance(value, tuple | list):
        return [found for one in value for found in every_figure(one)]
    if hasattr(value, "__dataclass_fields__"):
        return [found for name in value.__dataclass_fields__ for found in every_figure(getattr(value, name))]
    return []

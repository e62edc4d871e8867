"""Rooms that cannot be: each is refused with the room, the thing and the rule, at its place in the input."""

from __future__ import annotations

from decimal import Decimal
from typing import NoReturn

from shapely.geometry import Point as Spot

from .errors import DomainError
from .lengths import format_length
from .model import (
    Condition,
    Covering,
    Exposure,
    Fixture,
    FixtureKind,
    Opening,
    Room,
    Substrate,
    Surface,
    SurfaceKind,
)
from .phrases import Phrase, Value, gettext_noop, phrase
from .plan import RoomPlan
from .practice import Practice
from .units import System

_NEEDED = {
    SurfaceKind.BENCH: ("length", "depth", "height"),
    SurfaceKind.CURB: ("length", "depth", "height"),
    SurfaceKind.KNEE_WALL: ("length", "depth", "height"),
    SurfaceKind.COLUMN: ("length", "depth"),
    SurfaceKind.NICHE: ("length", "height", "depth"),
    SurfaceKind.RETURN: ("length", "height", "depth"),
    SurfaceKind.COUNTER: ("length", "depth", "height"),
    SurfaceKind.BACKSPLASH: ("height",),
}
_ONE_WALL = frozenset(
    {
        SurfaceKind.BENCH,
        SurfaceKind.CURB,
        SurfaceKind.NICHE,
        SurfaceKind.KNEE_WALL,
        SurfaceKind.COLUMN,
        SurfaceKind.RETURN,
    }
)
_NO_PLAN = frozenset({SurfaceKind.COUNTER, SurfaceKind.BACKSPLASH})
_ON_FLOOR = frozenset({FixtureKind.FLANGE, FixtureKind.DRAIN, FixtureKind.TUB, FixtureKind.CABINET})
_ON_WALL = frozenset({FixtureKind.MIXER, FixtureKind.SPOUT})


def check_room(room: Room, plan: RoomPlan, practice: Practice, system: System) -> None:
    """Refuse an impossible room.

    Raises:
        DomainError: rules ``room.*`` and ``surface.*``; *place* as ``surfaces[2].length``.
    """
    check = _Check(room, plan, practice, system)
    check.keys()
    for at, opening in enumerate(room.openings):
        check.opening(opening, f"openings[{at}]")
    for at, surface in enumerate(room.surfaces):
        check.surface(surface, f"surfaces[{at}]")
    for at, fixture in enumerate(room.fixtures):
        check.fixture(fixture, f"fixtures[{at}]")


class _Check:
    def __init__(self, room: Room, plan: RoomPlan, practice: Practice, system: System) -> None:
        self.room = room
        self.plan = plan
        self.fit = practice.fit.mm
        self.system = system

    def refuse(self, rule: str, place: str, message: str, **values: Value) -> DomainError:
        return DomainError(
            phrase(message, room=self.room.name, **values), rule=rule, place=place, room=self.room.key
        )

    def say(self, mm: Decimal) -> str:
        return format_length(mm, self.system)

    def keys(self) -> None:
        for name, keys in (
            ("surfaces", [surface.key for surface in self.room.surfaces]),
            ("fixtures", [fixture.key for fixture in self.room.fixtures]),
            ("openings", [opening.key for opening in self.room.openings]),
        ):
            for at, key in enumerate(keys):
                if key in keys[:at]:
                    raise self.refuse(
                        "room.key-twice",
                        f"{name}[{at}].key",
                        gettext_noop("{room}: the key {key} is given twice; each needs its own."),
                        key=key,
                    )
        if self.room.height_mm <= 0:
            raise self.refuse(
                "room.height", "height", gettext_noop("{room}: the ceiling height must be above zero.")
            )

    def wall(self, number: int | None, thing: Value, place: str) -> Decimal:
        """Return a wall's length; refuse a number that no wall has."""
        if number is None or not 1 <= number <= len(self.plan.walls):
            raise self.refuse(
                "room.unknown-wall",
                place,
                gettext_noop("{room}: {thing} stands at wall {number}, but the room has {count} walls."),
                thing=thing,
                number=number if number is not None else "?",
                count=len(self.plan.walls),
            )
        return Decimal(str(self.plan.wall(number).length))

    def within_wall(
        self, number: int, along: Decimal, length: Decimal, thing: Value, place: str, field: str
    ) -> None:
        wall = self.wall(number, thing, f"{place}.wall")
        if along < 0 or along + length > wall + self.fit:
            raise self.refuse(
                "room.beyond-wall",
                f"{place}.{field}",
                gettext_noop("{room}: {thing} ends {end} along wall {number}, which is {wall} long."),
                thing=thing,
                end=self.say(along + length),
                number=number,
                wall=self.say(wall),
            )

    def below_ceiling(self, number: int, top: Decimal, thing: Value, place: str, field: str) -> None:
        height = Decimal(str(self.plan.wall(number).height))
        if top > height + self.fit:
            raise self.refuse(
                "room.above-ceiling",
                f"{place}.{field}",
                gettext_noop("{room}: {thing} reaches {top} up wall {number}, which is {height} high."),
                thing=thing,
                top=self.say(top),
                number=number,
                height=self.say(height),
            )

    def positive(self, value: Decimal | None, name: str, thing: Value, place: str) -> None:
        if value is None or value <= 0:
            raise self.refuse(
                "room.measurement-missing",
                f"{place}.{name}",
                gettext_noop("{room}: {thing} needs its {name}, above zero."),
                thing=thing,
                name=name,
            )

    # --- Things -------------------------------------------------------------------------------------------

    def opening(self, opening: Opening, place: str) -> None:
        thing = named(opening.kind.value, opening.key)
        self.wall(opening.wall, thing, f"{place}.wall")
        self.positive(opening.width_mm, "width", thing, place)
        self.positive(opening.height_mm, "height", thing, place)
        self.within_wall(opening.wall, opening.along_mm, opening.width_mm, thing, place, "width")
        self.below_ceiling(opening.wall, opening.base_mm + opening.height_mm, thing, place, "height")

    def surface(self, surface: Surface, place: str) -> None:
        thing = surface.name
        for name in _NEEDED.get(surface.kind, ()):
            self.positive(getattr(surface, f"{name}_mm"), name, thing, place)
        if self.plan.outline is None and (surface.walls or surface.kind not in _NO_PLAN):
            raise self.refuse(
                "room.no-plan",
                place,
                gettext_noop("{room}: {thing} needs the room's walls, and none were measured."),
                thing=thing,
            )
        for number in surface.walls:
            self.wall(number, thing, f"{place}.walls")
        if surface.kind in _ONE_WALL and len(surface.walls) != 1:
            raise self.refuse(
                "surface.one-wall",
                f"{place}.walls",
                gettext_noop("{room}: {thing} stands at one wall; {count} are given."),
                thing=thing,
                count=len(surface.walls),
            )
        self._on_its_wall(surface, place)
        self._substrate(surface, place)

    def _on_its_wall(self, surface: Surface, place: str) -> None:
        thing = surface.name
        match surface.kind:
            case SurfaceKind.WALL:
                if not surface.walls:
                    raise self.refuse(
                        "surface.no-wall",
                        f"{place}.walls",
                        gettext_noop("{room}: {thing} names no wall."),
                        thing=thing,
                    )
                for number in surface.walls:
                    if surface.length_mm is not None:
                        self.within_wall(number, surface.along_mm, surface.length_mm, thing, place, "length")
                    if surface.height_mm is not None:
                        self.below_ceiling(
                            number, surface.base_mm + surface.height_mm, thing, place, "height"
                        )
            case SurfaceKind.NICHE | SurfaceKind.RETURN:
                number = surface.walls[0]
                assert surface.length_mm
                assert surface.height_mm
                self._niche(surface, place, number)
            case SurfaceKind.SHOWER_FLOOR:
                if surface.length_mm is not None:
                    self.positive(surface.depth_mm, "depth", thing, place)
                    if len(surface.walls) != 1:
                        raise self.refuse(
                            "surface.one-wall",
                            f"{place}.walls",
                            gettext_noop("{room}: {thing} stands at one wall; {count} are given."),
                            thing=thing,
                            count=len(surface.walls),
                        )
                    self.within_wall(
                        surface.walls[0], surface.along_mm, surface.length_mm, thing, place, "length"
                    )
            case SurfaceKind.BENCH | SurfaceKind.CURB | SurfaceKind.KNEE_WALL | SurfaceKind.COLUMN:
                assert surface.length_mm
                self.within_wall(
                    surface.walls[0], surface.along_mm, surface.length_mm, thing, place, "length"
                )
            case SurfaceKind.BACKSPLASH if not surface.walls:
                self.positive(surface.length_mm, "length", thing, place)
            case SurfaceKind.COUNTER | SurfaceKind.BACKSPLASH:
                for number in surface.walls:
                    if surface.length_mm is not None:
                        self.within_wall(number, surface.along_mm, surface.length_mm, thing, place, "length")

    def _niche(self, surface: Surface, place: str, number: int) -> None:
        assert surface.length_mm
        assert surface.height_mm
        wall = self.plan.wall(number)
        length, height = Decimal(str(wall.length)), Decimal(str(wall.height))
        if surface.length_mm >= length or surface.height_mm >= height:
            raise self.refuse(
                "surface.niche-too-big",
                f"{place}.{'length' if surface.length_mm >= length else 'height'}",
                gettext_noop(
                    "{room}: {thing} is {width} by {height}, bigger than wall {number} ({wall} by {ceiling})."
                ),
                thing=surface.name,
                width=self.say(surface.length_mm),
                height=self.say(surface.height_mm),
                number=number,
                wall=self.say(length),
                ceiling=self.say(height),
            )
        self.within_wall(number, surface.along_mm, surface.length_mm, surface.name, place, "length")
        self.below_ceiling(number, surface.base_mm + surface.height_mm, surface.name, place, "height")

    def _substrate(self, surface: Surface, place: str) -> None:
        is_wet_wall = (
            surface.kind in (SurfaceKind.WALL, SurfaceKind.NICHE) and surface.exposure is Exposure.WET
        )
        if is_wet_wall and surface.substrate is Substrate.GYPSUM_BOARD and not surface.new_board:
            raise self.refuse(
                "surface.gypsum-in-wet-area",
                f"{place}.substrate",
                gettext_noop(
                    "{room}: {thing} is a wet-area wall on gypsum board alone; it needs a backer that the "
                    "local "
                    "code approves for wet areas first. Plan new backer board, or name the backer that is "
                    "there."
                ),
                thing=surface.name,
            )
        if (
            surface.kind in _SHOWER_PARTS
            and surface.substrate is Substrate.GYPSUM_BOARD
            and not surface.new_board
        ):
            raise self.refuse(
                "surface.gypsum-in-wet-area",
                f"{place}.substrate",
                gettext_noop(
                    "{room}: {thing} is part of a shower and on gypsum board alone; plan new backer board, "
                    "or name the backer that is there."
                ),
                thing=surface.name,
            )
        if surface.substrate is Substrate.POURED_GYPSUM and surface.kind in _UPRIGHT:
            raise self.refuse(
                "surface.contradiction",
                f"{place}.substrate",
                gettext_noop("{room}: {thing} stands upright, and poured gypsum lies on a floor."),
                thing=surface.name,
            )
        needs_leveller = surface.condition is Condition.UNEVEN and surface.levelling_mm < 0
        if surface.levelling_mm < 0 or needs_leveller:
            raise self.refuse(
                "surface.levelling",
                f"{place}.levelling",
                gettext_noop("{room}: the levelling depth of {thing} must not be below zero."),
                thing=surface.name,
            )
        if surface.remove is Covering.TILE and surface.substrate is Substrate.EXISTING_TILE:
            raise self.refuse(
                "surface.contradiction",
                f"{place}.remove",
                gettext_noop(
                    "{room}: {thing} is to be laid on existing tile, and the tile is to be removed; "
                    "choose one."
                ),
                thing=surface.name,
            )
        if surface.remove is _REMOVED_WITH.get(surface.substrate) and not surface.new_board:
            raise self.refuse(
                "surface.contradiction",
                f"{place}.remove",
                gettext_noop(
                    "{room}: {thing} is to be laid on {substrate}, and that is to be removed; choose one."
                ),
                thing=surface.name,
                substrate=phrase(surface.substrate.value),
            )
        if surface.remove is Covering.RESILIENT and surface.substrate is Substrate.SHEET_VINYL:
            raise self.refuse(
                "surface.contradiction",
                f"{place}.remove",
                gettext_noop(
                    "{room}: {thing} is to be laid on sheet vinyl, and the vinyl is to be removed; choose "
                    "one."
                ),
                thing=surface.name,
            )

    def fixture(self, fixture: Fixture, place: str) -> None:
        thing = named(fixture.kind.value, fixture.key)
        known = {surface.key for surface in self.room.surfaces}
        if fixture.surface is not None and fixture.surface not in known:
            raise self.refuse(
                "room.unknown-surface",
                f"{place}.surface",
                gettext_noop("{room}: {thing} is in a surface {surface}, which the room does not have."),
                thing=thing,
                surface=fixture.surface,
            )
        if fixture.kind is FixtureKind.SINK:
            self._sink(fixture, thing, place)
            return
        if fixture.kind in (FixtureKind.TUB, FixtureKind.CABINET):
            self.wall(fixture.wall, thing, f"{place}.wall")
            return
        self.positive(fixture.diameter_mm, "diameter", thing, place)
        length = self.wall(fixture.wall, thing, f"{place}.wall")
        if not 0 <= fixture.along_mm <= length:
            raise self.refuse(
                "room.outside",
                f"{place}.along",
                gettext_noop("{room}: {thing} stands {along} along wall {number}, which is {wall} long."),
                thing=thing,
                along=self.say(fixture.along_mm),
                number=fixture.wall or 0,
                wall=self.say(length),
            )
        if is_on_floor(fixture):
            self._on_floor(fixture, thing, place)
        elif fixture.wall is not None:
            self.below_ceiling(fixture.wall, fixture.base_mm, thing, place, "base")

    def _on_floor(self, fixture: Fixture, thing: Value, place: str) -> None:
        assert fixture.wall is not None
        assert self.plan.outline is not None
        assert fixture.diameter_mm is not None
        spot = Spot(self.plan.wall(fixture.wall).point(float(fixture.along_mm), float(fixture.away_mm)))
        if not self.plan.outline.contains(spot.buffer(float(fixture.diameter_mm) / 2 - 0.1)):
            raise self.refuse(
                "room.outside",
                f"{place}.away",
                gettext_noop("{room}: {thing} lies outside the room's floor."),
                thing=thing,
            )

    def _sink(self, fixture: Fixture, thing: Value, place: str) -> None:
        counters = [
            surface
            for surface in self.room.surfaces
            if surface.kind is SurfaceKind.COUNTER and fixture.surface in (surface.key, None)
        ]
        if not counters:
            raise self.refuse(
                "room.unknown-surface",
                f"{place}.surface",
                gettext_noop("{room}: {thing} is cut into a counter, and the room has none."),
                thing=thing,
            )
        length = fixture.length_mm or fixture.diameter_mm
        depth = fixture.depth_mm or fixture.diameter_mm
        self.positive(length, "length", thing, place)
        self.positive(depth, "depth", thing, place)
        assert length
        assert depth
        assert counters[0].length_mm
        assert counters[0].depth_mm
        along, away = fixture.along_mm + length, fixture.away_mm + depth
        if along > counters[0].length_mm:
            self._past(thing, along, counters[0], counters[0].length_mm, f"{place}.along")
        if away > counters[0].depth_mm:
            self._past(thing, away, counters[0], counters[0].depth_mm, f"{place}.away")

    def _past(self, thing: Value, reach: Decimal, counter: Surface, has: Decimal, place: str) -> NoReturn:
        raise self.refuse(
            "room.outside",
            place,
            gettext_noop("{room}: {thing} would end at {reach}, and {counter} ends at {has}."),
            thing=thing,
            reach=self.say(reach),
            counter=counter.name,
            has=self.say(has),
        )


_SHOWER_PARTS = frozenset({SurfaceKind.SHOWER_FLOOR, SurfaceKind.BENCH, SurfaceKind.CURB})
_UPRIGHT = frozenset(
    {SurfaceKind.WALL, SurfaceKind.NICHE, SurfaceKind.BACKSPLASH, SurfaceKind.COLUMN, SurfaceKind.RETURN}
)
# What is no longer there to be laid on once this is taken out.
_REMOVED_WITH = {Substrate.SHEET_VINYL: Covering.RESILIENT}


def named(kind: str, key: str) -> Phrase:
    """Return what a thing is called: its kind in words and its key, where that says more than the kind."""
    # One that is not stored yet has no key but its place in the list.
    rest = key.removeprefix("new-").removeprefix(kind.replace(" ", "-")).removeprefix("-")
    return phrase(gettext_noop("{kind} {key}"), kind=phrase(kind), key=rest) if rest else phrase(kind)


def is_on_floor(fixture: Fixture) -> bool:
    """Whether a fixture stands on or goes through a floor; a pipe does where it has a way from the wall."""
    if fixture.kind is FixtureKind.PIPE:
        return fixture.away_mm > 0
    return fixture.kind in _ON_FLOOR

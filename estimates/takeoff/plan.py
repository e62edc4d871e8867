"""The room's plan in space: its walls, and the boxes that stand in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely import union_all
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from .errors import DomainError
from .model import Fixture, FixtureKind, OpeningKind, Room, Surface, SurfaceKind
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice
from .space import NEAR, Edge, Flat, Interval, Plane, rectangle, run_together, tidy, upright_plane
from .traverse import Traverse


@dataclass(frozen=True)
class PlanWall:
    """A wall in the plan: from *start* to *end* as walked, *inward* into the room, with its own plane.

    *turned*: the room was walked with its inside on the left, so seen from inside the wall's start is at
    the right, and an x on its face is its length less the distance along it.
    """

    number: int
    start: Flat
    end: Flat
    run: Flat
    inward: Flat
    length: float
    height: float
    plane: Plane
    turned: bool

    def point(self, along: float, away: float = 0.0) -> Flat:
        """Return the place in the plan at *along* and *away* from this wall."""
        return (
            self.start[0] + along * self.run[0] + away * self.inward[0],
            self.start[1] + along * self.run[1] + away * self.inward[1],
        )

    def span(self, along: float, length: float) -> Interval:
        """Return x from left to right on the wall's face for a thing *length* wide at *along*."""
        if self.turned:
            return (round(self.length - along - length, 4), round(self.length - along, 4))
        return (round(along, 4), round(along + length, 4))


@dataclass(frozen=True)
class Box:
    """A thing that stands on the floor: four corners in plan (back left, back right, front right, front left
    along the walk) and its height. *of* is the surface or fixture it belongs to."""

    of: Surface | Fixture
    wall: PlanWall
    corners: tuple[Flat, Flat, Flat, Flat]
    height: float
    label: Phrase

    @property
    def is_tub(self) -> bool:
        return isinstance(self.of, Fixture) and self.of.kind is FixtureKind.TUB

    @property
    def is_ours(self) -> bool:
        """Whether it is a surface of the room, such as a bench or a curb, that we cover."""
        return isinstance(self.of, Surface)

    @property
    def shape(self) -> Shape:
        return tidy(Shape(self.corners))

    def sides(self) -> tuple[tuple[str, Flat, Flat, Flat], ...]:
        """Return (name, a, b, outward) for back, right, front and left side."""
        c0, c1, c2, c3 = self.corners
        inward, run = self.wall.inward, self.wall.run
        back = (-inward[0], -inward[1])
        before = (-run[0], -run[1])
        return (
            ("back", c0, c1, back),
            ("far", c1, c2, run),
            ("front", c2, c3, inward),
            ("near", c3, c0, before),
        )


@dataclass(frozen=True)
class RoomPlan:
    """Walls, floor outline and boxes of one room; no walls for a counter without a plan."""

    walls: tuple[PlanWall, ...]
    outline: Shape | None

    def wall(self, number: int) -> PlanWall:
        return self.walls[number - 1]


# Surfaces that are boxes standing on the floor.
_BOXES = frozenset({SurfaceKind.BENCH, SurfaceKind.CURB, SurfaceKind.KNEE_WALL, SurfaceKind.COLUMN})


def lay_out(room: Room, traverse: Traverse | None) -> RoomPlan:
    """Return the room's plan from its balanced traverse."""
    if traverse is None:
        return RoomPlan((), None)
    points: list[Flat] = [(float(x), float(y)) for x, y in traverse.vertices]
    turned = not traverse.is_right_handed
    walls = []
    for number, (start, end) in enumerate(zip(points, [*points[1:], points[0]], strict=True), 1):
        size = math.dist(start, end)
        run = ((end[0] - start[0]) / size, (end[1] - start[1]) / size)
        inward = (-run[1], run[0]) if turned else (run[1], -run[0])
        plane, _ = upright_plane(start, end, inward)
        height = float(room.wall_heights_mm.get(number, room.height_mm))
        walls.append(PlanWall(number, start, end, run, inward, round(size, 4), height, plane, turned))
    return RoomPlan(tuple(walls), tidy(Shape(points)))


def corners_at(
    plan: RoomPlan, number: int, along: Decimal, away: Decimal, length: Decimal, depth: Decimal, fit: Decimal
) -> tuple[Flat, Flat, Flat, Flat]:
    """Return the plan corners of a rectangle by wall *number*.

    A tape measures a tub and the alcove it stands in a little differently, so an end that misses the wall's
    end, or a front that misses the wall across, by no more than *fit* is taken to touch it.
    """
    wall = plan.wall(number)
    slack = float(fit)
    start, end, near, far = float(along), float(along + length), float(away), float(away + depth)
    start = 0.0 if abs(start) <= slack else start
    end = wall.length if abs(end - wall.length) <= slack else end
    near = 0.0 if abs(near) <= slack else near
    across = _distance_across(plan, wall, (start + end) / 2)
    far = across if abs(far - across) <= slack else far
    return (wall.point(start, near), wall.point(end, near), wall.point(end, far), wall.point(start, far))


def _distance_across(plan: RoomPlan, wall: PlanWall, along: float) -> float:
    """Return the way from *wall* straight across the room to the next wall that is square to that way."""
    origin = wall.point(along)
    best = math.inf
    for other in plan.walls:
        if (
            other.number == wall.number
            or abs(other.run[0] * wall.run[1] - other.run[1] * wall.run[0]) > 0.001
        ):
            continue
        way = (other.start[0] - origin[0], other.start[1] - origin[1])
        distance = way[0] * wall.inward[0] + way[1] * wall.inward[1]
        low, high = sorted(
            (point[0] - origin[0]) * wall.run[0] + (point[1] - origin[1]) * wall.run[1]
            for point in (other.start, other.end)
        )
        if distance > NEAR and low <= 0 <= high:
            best = min(best, distance)
    return best


def boxes(room: Room, plan: RoomPlan, practice: Practice) -> tuple[Box, ...]:
    """Return what stands on the floor: tubs, cabinets, benches, curbs, knee walls and columns."""
    found = []
    fit = practice.fit.mm
    for at, fixture in enumerate(room.fixtures):
        if fixture.kind not in (FixtureKind.TUB, FixtureKind.CABINET):
            continue
        place = f"fixtures[{at}]"
        length, depth = (
            _needed(room, fixture.key, place, "length", fixture.length_mm),
            _needed(room, fixture.key, place, "depth", fixture.depth_mm),
        )
        wall = fixture.wall or 1
        corners = corners_at(plan, wall, fixture.along_mm, fixture.away_mm, length, depth, fit)
        is_tub = fixture.kind is FixtureKind.TUB
        top = fixture.base_mm or (practice.tub_rim.mm if is_tub else practice.cabinet_top.mm)
        label = phrase(gettext_noop("tub")) if is_tub else phrase(gettext_noop("cabinet"))
        found.append(
            _inside(room, plan, Box(fixture, plan.wall(wall), corners, float(top), label), place, fit)
        )
    for at, surface in enumerate(room.surfaces):
        if surface.kind not in _BOXES:
            continue
        place = f"surfaces[{at}]"
        tall = surface.height_mm
        if surface.kind is SurfaceKind.COLUMN and tall is None:
            tall = Decimal(str(plan.wall(surface.walls[0]).height))
        length, depth, height = (
            _needed(room, surface.name, place, name, value)
            for name, value in (
                ("length", surface.length_mm),
                ("depth", surface.depth_mm),
                ("height", tall),
            )
        )
        number = surface.walls[0]
        corners = corners_at(plan, number, surface.along_mm, surface.away_mm, length, depth, fit)
        box = Box(surface, plan.wall(number), corners, float(height), phrase(surface.name))
        found.append(_inside(room, plan, box, place, fit))
    _refuse_overlap(room, found)
    _refuse_blocked(room, plan, found)
    return tuple(found)


def _needed(room: Room, thing: str, place: str, name: str, value: Decimal | None) -> Decimal:
    if value is None or value <= 0:
        raise DomainError(
            phrase(
                gettext_noop("{room}: {thing} needs its {name}, above zero."),
                room=room.name,
                thing=thing,
                name=name,
            ),
            rule="room.measurement-missing",
            place=f"{place}.{name}",
            room=room.key,
        )
    return value


def _inside(room: Room, plan: RoomPlan, box: Box, place: str, fit: Decimal) -> Box:
    assert plan.outline is not None
    if box.shape.difference(plan.outline.buffer(float(fit))).area > 1:
        raise DomainError(
            phrase(
                gettext_noop("{room}: {thing} does not fit inside the room where it is placed."),
                room=room.name,
                thing=name_of(box),
            ),
            rule="room.outside",
            place=f"{place}.along",
            room=room.key,
        )
    return box


def name_of(box: Box) -> str:
    """Return what people call the thing."""
    return box.of.name if isinstance(box.of, Surface) else box.of.key


def _refuse_overlap(room: Room, found: Sequence[Box]) -> None:
    for at, box in enumerate(found):
        for other in found[:at]:
            if box.shape.intersection(other.shape).area > 100:
                raise DomainError(
                    phrase(
                        gettext_noop("{room}: {thing} and {other} stand in the same place."),
                        room=room.name,
                        thing=name_of(box),
                        other=name_of(other),
                    ),
                    rule="room.overlap",
                    place="fixtures" if isinstance(box.of, Fixture) else "surfaces",
                    room=room.key,
                )


def _refuse_blocked(room: Room, plan: RoomPlan, found: Sequence[Box]) -> None:
    """Refuse a door or passage behind a tub, cabinet or bench; a curb may well lie in a doorway."""
    for at, opening in enumerate(room.openings):
        if opening.kind is OpeningKind.WINDOW:
            continue
        wall = plan.wall(opening.wall)
        x0, x1 = wall.span(float(opening.along_mm), float(opening.width_mm))
        mouth = rectangle(x0, float(opening.base_mm), x1, float(opening.base_mm + opening.height_mm))
        for box in found:
            if isinstance(box.of, Surface) and box.of.kind is SurfaceKind.CURB:
                continue
            if hidden_on(wall.start, wall.end, wall.plane, [box]).intersection(mouth).area > 1000:
                raise DomainError(
                    phrase(
                        gettext_noop("{room}: {thing} stands in front of {opening} in wall {number}."),
                        room=room.name,
                        thing=name_of(box),
                        opening=opening.key,
                        number=opening.wall,
                    ),
                    rule="room.blocked",
                    place=f"openings[{at}].along",
                    room=room.key,
                )


def hidden_on(a: Flat, b: Flat, plane: Plane, found: Sequence[Box], own: Box | None = None) -> BaseGeometry:
    """Return the part of the upright face over *a* to *b* that boxes stand against, in the face's x and y."""
    line = Edge((*plane.local((*a, 0.0)), 0.0), (*plane.local((*b, 0.0)), 0.0), (0.0, 0.0, 0.0))
    left = min(line.a[0], line.b[0])
    hidden = []
    for box in found:
        if box is own:
            continue
        for _, p, q, _ in box.sides():
            # The side's ends in the face's own coordinates: x along it, and how far in front it stands.
            ends = [(plane.local((*point, 0.0))[0], plane.above((*point, 0.0)), 0.0) for point in (p, q)]
            span = run_together(line, Edge(ends[0], ends[1], (0.0, 0.0, 0.0)))
            if span is not None:
                forward = line.b[0] > line.a[0]
                x0 = line.a[0] + span[0] if forward else line.a[0] - span[1]
                x1 = line.a[0] + span[1] if forward else line.a[0] - span[0]
                hidden.append(rectangle(max(x0, left), 0.0, x1, box.height))
    return union_all(hidden) if hidden else Shape()

"""Where things of a measured room lie in its plan, in real millimetres as floats (for drawing only)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Opening, Room
from estimates.takeoff.traverse import CrossingError, Leg, MisclosureError, Traverse, close_traverse, trace

from .paper import Point


@dataclass(frozen=True)
class Outline:
    """The walls to draw: corners in order (not closed), and what is wrong with them.

    Attributes:
        corners: (x, y) in mm; for a closed room as many as walls, for an open walk one more.
        is_closed: whether the last wall ends where the first began.
        wrong: numbers of the walls to mark.
        gap: whether to show how far the end is from the start.
    """

    corners: tuple[Point, ...]
    is_closed: bool = True
    wrong: frozenset[int] = field(default_factory=frozenset)
    gap: bool = False

    @property
    def is_right_handed(self) -> bool:
        """Whether the room lies at the right hand of the walk (so it does until a walk is closed)."""
        if len(self.corners) < 3:
            return True
        return area(self.corners) <= 0


@dataclass(frozen=True)
class WallLine:
    """A wall in plan: *run* is its direction as walked, *inward* points into the room."""

    number: int
    start: Point
    end: Point
    run: Point
    inward: Point
    length: float

    def at(self, along: float, away: float = 0) -> Point:
        return (
            self.start[0] + self.run[0] * along + self.inward[0] * away,
            self.start[1] + self.run[1] * along + self.inward[1] * away,
        )

    def rectangle(self, along: float, away: float, length: float, depth: float) -> list[Point]:
        return [
            self.at(along, away),
            self.at(along + length, away),
            self.at(along + length, away + depth),
            self.at(along, away + depth),
        ]


def outline_of(traverse: Traverse) -> Outline:
    """Return the outline of a closed and balanced room."""
    return Outline(tuple((float(x), float(y)) for x, y in traverse.vertices))


def outline_walked(legs: Sequence[Leg], error: DomainError | None = None) -> Outline:
    """Return the outline of a walk that does not (yet) make a room, with the walls *error* names marked."""
    corners = tuple((float(x), float(y)) for x, y in trace(legs))
    if isinstance(error, CrossingError):
        return Outline(corners, False, frozenset(error.facts["walls"]))
    if isinstance(error, MisclosureError):
        suggested = error.facts.get("suggestions") or ()
        return Outline(corners, False, frozenset(one.wall for one in suggested[:1]), gap=True)
    return Outline(corners, False)


def outline_for(room: Room) -> Outline | None:
    """Return the outline of *room*, closed if it closes; None for a room without walls."""
    if not room.legs:
        return None
    try:
        return outline_of(close_traverse(room.legs))
    except DomainError as error:
        return outline_walked(room.legs, error)


def walls_of(outline: Outline) -> list[WallLine]:
    """Return the walls of *outline*; a wall of no length is left out."""
    corners = outline.corners
    ends = [*corners[1:], corners[0]] if outline.is_closed else corners[1:]
    hand = 1 if outline.is_right_handed else -1
    walls = []
    for number, (start, end) in enumerate(zip(corners, ends, strict=False), 1):
        length = math.dist(start, end)
        if length == 0:
            continue
        run = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        walls.append(WallLine(number, start, end, run, (run[1] * hand, -run[0] * hand), length))
    return walls


def area(points: Sequence[Point]) -> float:
    """Return the area of a polygon, above zero when its corners run anticlockwise."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


def inside(point: Point, ring: Sequence[Point]) -> bool:
    """Whether *point* lies in *ring*."""
    x, y = point
    found = False
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            found = not found
    return found


def crossing(walls: Sequence[WallLine], first: int, second: int) -> Point | None:
    """Return where two walls cross, or None."""
    by_number = {wall.number: wall for wall in walls}
    if first not in by_number or second not in by_number:
        return None
    a, b = by_number[first], by_number[second]
    turn = a.run[0] * b.run[1] - a.run[1] * b.run[0]
    if abs(turn) < 1e-9:
        return None
    dx, dy = b.start[0] - a.start[0], b.start[1] - a.start[1]
    along = (dx * b.run[1] - dy * b.run[0]) / turn
    return a.at(min(max(along, 0), a.length))


def mm(value: Decimal | None) -> float:
    return float(value or 0)


def opening_span(opening: Opening) -> tuple[float, float]:
    return mm(opening.along_mm), mm(opening.along_mm) + mm(opening.width_mm)

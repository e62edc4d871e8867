"""Flat elements in the room: planes with their own coordinates, and where straight edges run together.

Everything here is in millimetres. Floats are used inside; what leaves is put on the grid of 0.0001 mm by
:func:`on_grid`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

import shapely
from shapely.geometry import MultiPolygon
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from .result import Point, Polygon

Vec: TypeAlias = tuple[float, float, float]
Flat: TypeAlias = tuple[float, float]
Interval: TypeAlias = tuple[float, float]

NEAR = 0.05
"""Two lines closer than this (mm) are one: well under what a tape reads, well over float noise."""
LEAST = 0.5
"""An edge shorter than this (mm) is noise of the arithmetic, not a place for material."""
UP: Vec = (0.0, 0.0, 1.0)


def on_grid(value: float) -> Decimal:
    """Return *value* (mm) as a whole number of ten-thousandths."""
    return Decimal(round(value * 10_000)).scaleb(-4)


def dot(a: Vec, b: Vec) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def minus(a: Vec, b: Vec) -> Vec:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def plus(a: Vec, b: Vec, times: float = 1.0) -> Vec:
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def length(a: Vec) -> float:
    return math.sqrt(dot(a, a))


@dataclass(frozen=True)
class Plane:
    """A plane with its own x (*u*) and y (*v*); *n* points to where the room's air is."""

    origin: Vec
    u: Vec
    v: Vec
    n: Vec

    def at(self, x: float, y: float) -> Vec:
        """Return the place in the room of (x, y)."""
        return plus(plus(self.origin, self.u, x), self.v, y)

    def local(self, place: Vec) -> Flat:
        """Return (x, y) of a place, on the grid."""
        way = minus(place, self.origin)
        return (round(dot(way, self.u), 4), round(dot(way, self.v), 4))

    def above(self, place: Vec) -> float:
        """Return how far in front of the plane a place stands."""
        return dot(minus(place, self.origin), self.n)

    def along(self, x: float, y: float) -> Vec:
        """Return a direction of the plane as a direction in the room."""
        return plus(tuple(x * part for part in self.u), self.v, y)  # type: ignore[arg-type]


def level_plane(height: float, *, faces_down: bool = False, origin: Flat = (0.0, 0.0)) -> Plane:
    """Return a level plane in the room plan's coordinates."""
    return Plane(
        (origin[0], origin[1], height),
        (1.0, 0.0, 0.0),
        (0.0, 1.0, 0.0),
        (0.0, 0.0, -1.0) if faces_down else UP,
    )


def upright_plane(a: Flat, b: Flat, inward: Flat) -> tuple[Plane, float]:
    """Return the plane over the line *a* to *b*, seen against *inward*, and the line's length.

    Its x runs from the left end of the line to the right, its y up from the floor.
    """
    n: Vec = (inward[0], inward[1], 0.0)
    u = cross(UP, n)
    way: Vec = (b[0] - a[0], b[1] - a[1], 0.0)
    left = a if dot(way, u) > 0 else b
    return Plane((left[0], left[1], 0.0), u, UP, n), length(way)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Shape:
    """Return an upright rectangle, its coordinates on the grid."""
    x0, y0, x1, y1 = (round(value, 4) for value in (x0, y0, x1, y1))
    return Shape([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def parts(shape: BaseGeometry, least_area: float = 1.0) -> list[Shape]:
    """Return the polygons of *shape* that have an area, their corners on the grid, from left to right."""
    found: list[Shape] = []
    for part in (shape, *getattr(shape, "geoms", ())):
        if isinstance(part, Shape):
            found.append(part)
        elif part is not shape and isinstance(part, MultiPolygon):
            found += part.geoms
    kept = [tidy(part) for part in found if not part.is_empty and part.area > least_area]
    return sorted(kept, key=lambda part: (part.bounds[1], part.bounds[0]))


def without_slivers(shape: BaseGeometry, width: float = NEAR) -> BaseGeometry:
    """Return *shape* without parts thinner than *width* (mm): drawn in by less than half of it and out again.

    A tub that stands in the corner of a room whose walls meet at 90.0001 degrees would else leave a sliver
    of floor, or a hole whose edge crosses the wall by a ten-thousandth.
    """
    thin = width / 2
    drawn_in = shape.buffer(-thin, join_style="mitre", mitre_limit=100)
    return drawn_in.buffer(thin, join_style="mitre", mitre_limit=100)


def tidy(shape: Shape) -> Shape:
    """Return the polygon counter-clockwise, without doubled corners or corners on a straight line."""
    holes = [_tidy_ring(list(ring.coords)[:-1]) for ring in shape.interiors]
    outer = _tidy_ring(list(shape.exterior.coords)[:-1])
    return shapely.geometry.polygon.orient(Shape(outer, [hole for hole in holes if len(hole) > 2]))


def _tidy_ring(points: Sequence[tuple[float, ...]]) -> list[Flat]:
    ring = [(round(point[0], 4), round(point[1], 4)) for point in points]
    changed = True
    while changed and len(ring) > 3:
        changed = False
        for at in range(len(ring)):
            before, here, after = ring[at - 1], ring[at], ring[(at + 1) % len(ring)]
            base = math.dist(before, after)
            bend = abs(
                (here[0] - before[0]) * (after[1] - before[1])
                - (here[1] - before[1]) * (after[0] - before[0])
            )
            if math.dist(before, here) < NEAR / 10 or bend <= 0.001 * max(base, 1.0):
                del ring[at]
                changed = True
                break
    return ring


def polygon(shape: Shape) -> Polygon:
    """Return the outer ring as points on the grid, beginning at the lowest left corner."""
    return ring_points([(x, y) for x, y, *_ in shape.exterior.coords][:-1])


def holes(shape: Shape) -> tuple[Polygon, ...]:
    """Return the holes as rings of points on the grid."""
    return tuple(ring_points([(x, y) for x, y, *_ in ring.coords][:-1]) for ring in shape.interiors)


def ring_points(ring: Sequence[Flat]) -> Polygon:
    points: list[Point] = [(on_grid(x), on_grid(y)) for x, y in ring]
    first = min(range(len(points)), key=lambda at: (points[at][1], points[at][0]))
    return tuple(points[first:] + points[:first])


def shape_of(outline: Iterable[Point], cut: Iterable[Iterable[Point]] = ()) -> Shape:
    """Return points as a polygon for set operations."""
    return Shape(
        [(float(x), float(y)) for x, y in outline],
        [[(float(x), float(y)) for x, y in ring] for ring in cut],
    )


def area_mm2(outline: Sequence[Point]) -> Decimal:
    """Return the area of a ring by its coordinates (shoelace), exact, >= 0.

    >>> area_mm2(((Decimal(0), Decimal(0)), (Decimal(4), Decimal(0)), (Decimal(4), Decimal(3))))
    Decimal('6')
    """
    x0, y0 = outline[0]
    moved = [(x - x0, y - y0) for x, y in outline]
    doubled = sum(
        (a[0] * b[1] - b[0] * a[1] for a, b in zip(moved, [*moved[1:], moved[0]], strict=True)), Decimal(0)
    )
    return abs(doubled) / 2


@dataclass(frozen=True)
class Edge:
    """A straight edge of an element: from *a* to *b*; *into* points from it into the element."""

    a: Vec
    b: Vec
    into: Vec

    @property
    def run(self) -> Vec:
        way = minus(self.b, self.a)
        size = length(way)
        return (way[0] / size, way[1] / size, way[2] / size)

    @property
    def long(self) -> float:
        return length(minus(self.b, self.a))

    def place(self, t: float) -> Vec:
        return plus(self.a, self.run, t)


def edges(plane: Plane, shape: Shape) -> Iterator[Edge]:
    """Yield the edges of a polygon that lies on *plane*, its holes' edges too."""
    for ring in (shape.exterior, *shape.interiors):
        # Outer rings run counter-clockwise and holes clockwise, so the material is on the left of each.
        points = [(x, y) for x, y, *_ in ring.coords]
        for (ax, ay), (bx, by) in itertools.pairwise(points):
            size = math.hypot(bx - ax, by - ay)
            if size >= LEAST:
                into = plane.along(-(by - ay) / size, (bx - ax) / size)
                yield Edge(plane.at(ax, ay), plane.at(bx, by), into)


def run_together(edge: Edge, other: Edge) -> Interval | None:
    """Return where (mm from ``edge.a``) *other* lies on the line of *edge*, or None."""
    run = edge.run
    ends = []
    for point in (other.a, other.b):
        way = minus(point, edge.a)
        t = dot(way, run)
        if length(plus(way, run, -t)) > NEAR:
            return None
        ends.append(t)
    start, end = max(0.0, min(ends)), min(edge.long, max(ends))
    return (start, end) if end - start >= LEAST else None


def left_over(intervals: Iterable[Interval], taken: Iterable[Interval]) -> list[Interval]:
    """Return *intervals* less what is *taken*."""
    rest = list(intervals)
    for low, high in taken:
        rest = [
            piece
            for a, b in rest
            for piece in ((a, min(b, low)), (max(a, high), b))
            if piece[1] - piece[0] >= LEAST
        ]
    return rest

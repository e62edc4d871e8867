"""Plane polygons with exact coordinates: area, perimeter, what crosses, what lies inside.

A polygon is a sequence of at least three corners ``(x, y)`` in millimetres, ``y`` up, not closed (the first
corner is not given again), walked in either direction. Sums of products are exact: they are made in 60
digits, far beyond what coordinates on the 0.0001 mm grid need.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TypeAlias

Point: TypeAlias = tuple[Decimal, Decimal]

EXACT = decimal.Context(prec=60, rounding=decimal.ROUND_HALF_EVEN)


def edges(points: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield every side of the polygon, from corner to corner, the last back to the first."""
    return zip(points, (*points[1:], *points[:1]), strict=True)


def signed_area(points: Sequence[Point]) -> Decimal:
    """Return the area in square millimetres, positive when the corners run anticlockwise.

    The shoelace formula, with the first corner subtracted before the products are formed, so that a polygon
    far from the origin loses no digits.

    >>> square = [(Decimal(x), Decimal(y)) for x, y in ((0, 0), (2, 0), (2, 2), (0, 2))]
    >>> signed_area(square), signed_area(square[::-1])
    (Decimal('4'), Decimal('-4'))
    """
    with decimal.localcontext(EXACT):
        (x0, y0), *_ = points
        total = sum(
            ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0) for (ax, ay), (bx, by) in edges(points)),
            start=Decimal(0),
        )
        return total / 2


def perimeter(points: Sequence[Point]) -> Decimal:
    """Return the length of all sides in millimetres, to 28 digits.

    >>> perimeter([(Decimal(0), Decimal(0)), (Decimal(3), Decimal(0)), (Decimal(3), Decimal(4))])
    Decimal('12')
    """
    return sum((distance(start, end) for start, end in edges(points)), start=Decimal(0))


def distance(start: Point, end: Point) -> Decimal:
    """Return the distance between two points, to 28 digits (exact along an axis)."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    if not dx or not dy:
        return abs(dx + dy)
    with decimal.localcontext(EXACT):
        length = (dx * dx + dy * dy).sqrt()
    return +length


def point_in_polygon(point: Point, points: Sequence[Point]) -> bool:
    """Return whether *point* lies in the polygon or on its boundary; exact.

    >>> square = [(Decimal(x), Decimal(y)) for x, y in ((0, 0), (2, 0), (2, 2), (0, 2))]
    >>> point_in_polygon((Decimal(2), Decimal(1)), square), point_in_polygon((Decimal(3), Decimal(1)), square)
    (True, False)
    """
    inside = False
    for start, end in edges(points):
        side = _side(start, end, point)
        if side == 0 and _within(start, end, point):
            return True
        # A side is crossed by the ray to the right of the point when it passes the point's height upwards
        # with the point on its left, or downwards with the point on its right.
        if (start[1] <= point[1]) != (end[1] <= point[1]) and (side > 0) == (end[1] > start[1]):
            inside = not inside
    return inside


def first_crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Return the indices of the first two sides that meet elsewhere than at the corner they share, or None.

    Side *i* runs from corner *i* to the next. Sides that merely touch count as meeting, and so does a side
    that runs back over its neighbour.
    """
    sides = list(edges(points))
    count = len(sides)
    for first in range(count):
        for second in range(first + 1, count):
            neighbours = second == first + 1 or (first == 0 and second == count - 1)
            one, two = (sides[second], sides[first]) if second != first + 1 else (sides[first], sides[second])
            if _runs_back(one, two) if neighbours else _meet(sides[first], sides[second]):
                return first, second
    return None


def _side(start: Point, end: Point, point: Point) -> Decimal:
    """Return a number above zero when *point* is left of the line from *start* to *end*, 0 when on it."""
    with decimal.localcontext(EXACT):
        return (end[0] - start[0]) * (point[1] - start[1]) - (end[1] - start[1]) * (point[0] - start[0])


def _within(start: Point, end: Point, point: Point) -> bool:
    return min(start[0], end[0]) <= point[0] <= max(start[0], end[0]) and (
        min(start[1], end[1]) <= point[1] <= max(start[1], end[1])
    )


def _meet(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, two
    # Boxes apart: the cheap answer for nearly every pair.
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    sides = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    if sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0:
        return True
    touching = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(
        side == 0 and _within(start, end, point)
        for side, (start, end, point) in zip(sides, touching, strict=True)
    )


def _runs_back(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Return whether *two*, which starts where *one* ends, runs back over it."""
    (a, b), (_, d) = one, two
    with decimal.localcontext(EXACT):
        ahead = (b[0] - a[0]) * (d[0] - b[0]) + (b[1] - a[1]) * (d[1] - b[1])
    return _side(a, b, d) == 0 and ahead < 0

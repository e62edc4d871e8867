"""Where the two legs of a strip lie: half on each plane, creased along the change of plane."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Shape

from .result import ChangeOfPlane, Point, Polygon, Strip
from .space import parts, polygon


def strip_legs(
    strip: Strip, change: ChangeOfPlane, shapes: Mapping[str, Shape]
) -> Iterator[tuple[str, Polygon]]:
    """Yield the legs of *strip* on faces of ours: the face's key and the leg's outline on it (mm).

    Args:
        change: what the strip covers.
        shapes: the faces by key, in their own coordinates, less what is cut out of them.
    """
    other = change.faces[1]
    lines = [(change.faces[0], change.line)]
    if other is not None and change.other_line is not None:
        lines.append((other, change.other_line))
    for face, line in lines:
        shape = shapes.get(face)
        if shape is None:
            continue
        band = _band(line, float(strip.start_mm), float(strip.end_mm), float(strip.width_mm) / 2, shape)
        for part in parts(band.intersection(shape)):
            yield face, polygon(Shape(part.exterior))


def _band(line: tuple[Point, Point], start: float, end: float, half: float, shape: Shape) -> Shape:
    (ax, ay), (bx, by) = ((float(x), float(y)) for x, y in line)
    size = math.hypot(bx - ax, by - ay) or 1.0
    run = ((bx - ax) / size, (by - ay) / size)
    side = (-run[1], run[0])

    def at(along: float, away: float) -> tuple[float, float]:
        return (ax + run[0] * along + side[0] * away, ay + run[1] * along + side[1] * away)

    # The face lies on one side of its own edge; a few places are tried, since a hole may lie at the middle.
    tried = [start + (end - start) * share for share in (0.5, 0.25, 0.75, 0.05, 0.95)]
    lies = sum(shape.contains(Spot(*at(along, 2))) - shape.contains(Spot(*at(along, -2))) for along in tried)
    away = half if lies >= 0 else -half
    return Shape([at(start, 0), at(min(end, size), 0), at(min(end, size), away), at(start, away)])

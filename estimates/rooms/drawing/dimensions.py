"""Dimensions after ISO 129-1: thin lines outside the walls with oblique ticks, read from below and right."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .labels import Labels, Place, overlap
from .paper import TEXT_MM, LineType, Paper, Point, text_box, text_width

LEVELS = (7.0, 12.5, 18.0, 23.5)
_INWARD = (-5.5, -10.0)


@dataclass(frozen=True)
class Dimension:
    """A length to print from *start* to *end* (paper mm), drawn on the side of *outward*."""

    start: Point
    end: Point
    outward: Point
    words: str
    first_level: int = 0


def readable(angle: float) -> float:
    """Return *angle* turned so that the text is read from below or from the right.

    A wall that is a hair off plumb after balancing still reads from the right, hence the two degrees.
    """
    angle = (angle + 180) % 360 - 180
    if angle > 92:
        return angle - 180
    return angle + 180 if angle <= -88 else angle


def draw_dimension(paper: Paper, labels: Labels, dimension: Dimension, *, size: float = TEXT_MM) -> None:
    """Draw *dimension* at the nearest level where neither its line nor its text covers anything."""
    (ax, ay), (bx, by) = dimension.start, dimension.end
    length = math.hypot(bx - ax, by - ay)
    if length < 0.2:
        return
    run = ((bx - ax) / length, (by - ay) / length)
    out = dimension.outward
    angle = readable(math.degrees(math.atan2(run[1], run[0])))
    best: tuple[float, float, Place] | None = None
    for rank, offset in enumerate([*LEVELS[dimension.first_level :], *_INWARD]):
        line = [(ax + out[0] * offset, ay + out[1] * offset), (bx + out[0] * offset, by + out[1] * offset)]
        line_cost = _line_cost(labels, line, run)
        for place in _places(line, run, out, angle, length, dimension.words, size):
            box = text_box(place.at, dimension.words, size, place.angle)
            cost = labels.touched(box) * 2 + line_cost + rank * 0.4
            if best is None or cost < best[0]:
                best = (cost, offset, place)
        if best is not None and best[0] <= rank * 0.4:
            break
    if best is None:
        return
    _, offset, place = best
    _draw(paper, labels, dimension, offset, run)
    labels.boxes.append(text_box(place.at, dimension.words, size, place.angle))
    if place.leader:
        paper.path(place.leader, LineType.LEADER)
    paper.text(place.at, dimension.words, size=size, angle=place.angle)


def _line_cost(labels: Labels, line: list[Point], run: Point) -> float:
    """Return what a dimension line would cover. As a thin band, so that one on top of another is noticed;
    a little short, so that two in a chain may touch."""
    (ax, ay), (bx, by) = line
    inset = min(0.5, math.hypot(bx - ax, by - ay) / 3)
    x, y, thick = run[0] * inset, run[1] * inset, 0.8
    band = [
        (ax + x - run[1] * thick, ay + y + run[0] * thick),
        (bx - x - run[1] * thick, by - y + run[0] * thick),
        (bx - x + run[1] * thick, by - y - run[0] * thick),
        (ax + x + run[1] * thick, ay + y - run[0] * thick),
    ]
    return sum(10 for box in labels.boxes if overlap(box, band)) + sum(
        4 for other in labels.lines if overlap(other, band)
    )


def _places(
    line: list[Point], run: Point, out: Point, angle: float, length: float, words: str, size: float
) -> list[Place]:
    """Return where the figure may stand on this dimension line: above it, below it, or past an end."""
    (ax, ay), (bx, by) = line
    middle = ((ax + bx) / 2, (ay + by) / 2)
    radians = math.radians(angle)
    up = (-math.sin(radians), math.cos(radians))
    lift = size * 0.62 + 0.7
    width = text_width(words, size)
    if width + 1.5 <= length:
        return [
            Place((middle[0] + up[0] * lift, middle[1] + up[1] * lift), angle),
            Place((middle[0] - up[0] * lift, middle[1] - up[1] * lift), angle),
        ]
    past = length / 2 + width / 2 + 2
    beyond = out[0] * (size + 3.2), out[1] * (size + 3.2)
    led = (middle[0] + beyond[0], middle[1] + beyond[1])
    leader = (middle, (middle[0] + out[0] * (size * 0.62 + 2.2), middle[1] + out[1] * (size * 0.62 + 2.2)))
    return [
        Place((middle[0] + run[0] * past, middle[1] + run[1] * past), angle),
        Place((middle[0] - run[0] * past, middle[1] - run[1] * past), angle),
        Place(led, angle, leader),
    ]


def _draw(paper: Paper, labels: Labels, dimension: Dimension, offset: float, run: Point) -> None:
    out = dimension.outward
    sign = 1 if offset > 0 else -1
    ends = []
    for x, y in (dimension.start, dimension.end):
        foot = (x + out[0] * 1.4 * sign, y + out[1] * 1.4 * sign)
        head = (x + out[0] * (offset + 1.2 * sign), y + out[1] * (offset + 1.2 * sign))
        paper.path([foot, head], LineType.DIMENSION)
        end = (x + out[0] * offset, y + out[1] * offset)
        ends.append(end)
        # The tick leans 45 degrees to the right of the reading direction.
        lean = ((run[0] + out[0]) * 0.75, (run[1] + out[1]) * 0.75)
        paper.path(
            [(end[0] - lean[0], end[1] - lean[1]), (end[0] + lean[0], end[1] + lean[1])], LineType.EDGE
        )
    paper.path(ends, LineType.DIMENSION, mark="dimension")
    labels.keep_clear(*ends)

"""Placing texts so that they do not cover each other: each tries its places in order of preference."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from .paper import LineType, Paper, Point, text_box


@dataclass(frozen=True)
class Place:
    """Where a text could stand; *leader*: a thin line leads from there to what it names."""

    at: Point
    angle: float = 0
    leader: tuple[Point, Point] | None = None


@dataclass
class Labels:
    """Knows where texts and lines already are on a sheet."""

    boxes: list[Sequence[Point]] = field(default_factory=list)
    lines: list[Sequence[Point]] = field(default_factory=list)

    def keep_clear(self, *points: Point) -> None:
        """Keep texts off the line through *points*."""
        self.lines.extend([a, b] for a, b in pairwise(points))

    def choose(self, words: str, size: float, places: Iterable[Place]) -> Place:
        """Return the first place where *words* touch nothing, or else the one that touches least."""
        best: Place | None = None
        least = 10**9
        for place in places:
            touched = self.touched(text_box(place.at, words, size, place.angle))
            if touched < least:
                best, least = place, touched
            if not touched:
                break
        if best is None:
            raise ValueError("a label needs at least one place")
        self.boxes.append(text_box(best.at, words, size, best.angle))
        return best

    def touched(self, box: Sequence[Point]) -> int:
        # Text over text cannot be read; text over a line can, so it counts less.
        return sum(10 for other in self.boxes if overlap(box, other)) + sum(
            1 for line in self.lines if overlap(box, line)
        )

    def write(
        self,
        paper: Paper,
        words: str,
        places: Iterable[Place],
        *,
        size: float,
        soft: bool = False,
        bold: bool = False,
        over: bool = False,
    ) -> Place:
        """Choose a place for *words* and write them there; *over*: on white, above what lies there."""
        place = self.choose(words, size, places)
        if over:
            paper.blank(text_box(place.at, words, size, place.angle))
        if place.leader:
            paper.path(place.leader, LineType.LEADER)
        paper.text(place.at, words, size=size, angle=place.angle, soft=soft, bold=bold)
        return place


def overlap(a: Sequence[Point], b: Sequence[Point]) -> bool:
    """Whether two convex shapes (or a shape and a line of two points) overlap: separating axes."""
    for shape in (a, b):
        for (x1, y1), (x2, y2) in zip(shape, [*shape[1:], shape[0]], strict=True):
            nx, ny = y2 - y1, x1 - x2
            if nx == ny == 0:
                continue
            of_a = [nx * x + ny * y for x, y in a]
            of_b = [nx * x + ny * y for x, y in b]
            slack = 1e-6 * (abs(nx) + abs(ny))
            if max(of_a) <= min(of_b) + slack or max(of_b) <= min(of_a) + slack:
                return False
    return True

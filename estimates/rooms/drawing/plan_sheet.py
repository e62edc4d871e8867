"""The sheet a plan is drawn on: its scale, its walls, and where things stand on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from estimates.takeoff.model import Fixture, FixtureKind, Room, Surface, SurfaceKind
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import System

from .geometry import Outline, WallLine, mm
from .labels import Labels
from .marks import Layer
from .paper import Paper, Point, Translate, say


@dataclass
class PlanDrawing:
    """One plan being drawn: real millimetres are multiplied by *factor* to get paper millimetres."""

    room: Room
    outline: Outline
    factor: float
    system: System
    translate: Translate
    layers: frozenset[Layer]
    paper: Paper = field(default_factory=Paper)
    labels: Labels = field(default_factory=Labels)
    used: set[str] = field(default_factory=set)
    walls: Sequence[WallLine] = ()

    def host(self, fixture: Fixture) -> WallLine | None:
        """Return the line that *fixture* is measured from: its wall, or the back edge of its counter."""
        if fixture.kind is FixtureKind.SINK:
            counter = next((one for one in self.room.surfaces if one.key == fixture.surface), None)
            if counter is None:
                counter = next((one for one in self.room.surfaces if one.kind is SurfaceKind.COUNTER), None)
            return self.back_edge(counter) if counter else None
        return next((one for one in self.walls if one.number == fixture.wall), None)

    def back_edge(self, surface: Surface) -> WallLine | None:
        """Return the line along the back of *surface*, from the left end as one faces it."""
        if not self.room.legs:
            return table_lines(self.room).get(surface.key)
        wall = next((one for one in self.walls if surface.walls and one.number == surface.walls[0]), None)
        if wall is None or surface.length_mm is None:
            return None
        start = wall.at(mm(surface.along_mm), mm(surface.away_mm))
        long = mm(surface.length_mm)
        return WallLine(wall.number, start, wall.at(mm(surface.along_mm) + long), wall.run, wall.inward, long)

    def footprint(self, fixture: Fixture) -> list[Point] | None:
        host = self.host(fixture)
        if host is None or fixture.length_mm is None or fixture.depth_mm is None:
            return None
        return host.rectangle(
            mm(fixture.along_mm), mm(fixture.away_mm), mm(fixture.length_mm), mm(fixture.depth_mm)
        )

    def put(self, point: Point) -> Point:
        return (point[0] * self.factor, point[1] * self.factor)

    def say(self, words: Phrase) -> str:
        return say(words, self.translate)


def extent(corners: Sequence[Point]) -> tuple[float, float]:
    """Return how wide and how high the corners reach, in their own unit."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return (max(xs) - min(xs), max(ys) - min(ys)) if corners else (0.0, 0.0)


def table_lines(room: Room) -> dict[str, WallLine]:
    """Return, for a room without walls, the back edge of each surface as if it were a wall."""
    placed = [one for one in room.surfaces if one.length_mm and (one.depth_mm or one.height_mm)]
    gap = 0.16 * max((mm(one.length_mm) for one in placed), default=0)
    lines, y = {}, 0.0
    for surface in placed:
        long = mm(surface.length_mm)
        lines[surface.key] = WallLine(0, (0.0, y), (long, y), (1.0, 0.0), (0.0, -1.0), long)
        y -= mm(surface.depth_mm or surface.height_mm) + gap
    return lines

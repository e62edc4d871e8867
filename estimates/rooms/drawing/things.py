"""What stands in a room or comes through its floor and walls, on the plan: surfaces, fixtures, names."""

from __future__ import annotations

import math
from collections.abc import Sequence

from estimates.takeoff.lengths import format_length
from estimates.takeoff.model import Fixture, FixtureKind, Surface, SurfaceKind
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.units import System

from . import marks
from .dimensions import Dimension, draw_dimension, readable
from .geometry import WallLine, mm
from .labels import Place
from .marks import Layer, pair
from .paper import SMALL_MM, LineType, Point, Translate, text_width
from .plan_sheet import PlanDrawing

FIXTURE_WORDS = {
    FixtureKind.FLANGE: gettext_noop("flange"),
    FixtureKind.PIPE: gettext_noop("pipe"),
    FixtureKind.DRAIN: gettext_noop("drain"),
    FixtureKind.TUB: gettext_noop("tub"),
    FixtureKind.CABINET: gettext_noop("cabinet"),
    FixtureKind.MIXER: gettext_noop("mixer"),
    FixtureKind.SPOUT: gettext_noop("spout"),
    FixtureKind.SINK: gettext_noop("sink"),
}
UPRIGHT_FIXTURES = frozenset({FixtureKind.MIXER, FixtureKind.SPOUT})

# They reach into the wall, away from the room.
_INTO_WALL = frozenset({SurfaceKind.NICHE, SurfaceKind.RETURN})


def draw_surfaces(drawing: PlanDrawing) -> list[tuple[str, list[Point]]]:
    """Draw what stands or lies on the floor, a counter, and the recess of a niche behind its wall.

    Returns the names to write and where, for when everything else is drawn.
    """
    names = []
    for surface in drawing.room.surfaces:
        line = drawing.back_edge(surface)
        across = mm(surface.depth_mm or (None if drawing.room.legs else surface.height_mm))
        if line is None or not across or surface.kind in {SurfaceKind.FLOOR, SurfaceKind.WALL}:
            continue
        into_wall = surface.kind in _INTO_WALL and bool(drawing.room.legs)
        ring = line.rectangle(0, -across if into_wall else 0, line.length, across)
        hidden = surface.kind in {*_INTO_WALL, SurfaceKind.SHOWER_FLOOR}
        points = [drawing.put(point) for point in ring]
        drawing.paper.path(
            points,
            LineType.HIDDEN if hidden else LineType.OUTLINE,
            closed=True,
            mark=f"surface {surface.key}",
        )
        drawing.labels.keep_clear(*points, points[0])
        if hidden:
            drawing.used.add("surface")
        names.append((drawing.say(phrase(surface.name)), points))
        if not drawing.room.legs:
            _dimension_box(drawing, points, surface)
    return names


def write_inside(
    drawing: PlanDrawing, words: str, ring: Sequence[Point], *, is_crossed: bool = False
) -> None:
    """Write *words* in a ring or beside it; *is_crossed*: lines run through it, so they stand on white."""
    places = marks.places_within(ring)
    middle = places[0].at
    aside = [
        Place((middle[0] + dx, middle[1] + dy), 0, ((middle[0] + dx * 0.6, middle[1] + dy * 0.6), middle))
        for dx, dy in ((0, 7), (0, -7), (14, 5), (-14, 5), (14, -5), (-14, -5))
    ]
    over = is_crossed or bool(drawing.layers & {Layer.TILES, Layer.BATCHES})
    drawing.labels.write(drawing.paper, words, [*places, *aside], size=SMALL_MM, soft=True, over=over)


def _dimension_box(drawing: PlanDrawing, points: Sequence[Point], surface: Surface) -> None:
    """Dimension a counter or a backsplash that stands on no wall: its length above, its depth at the left."""
    if surface.length_mm is None or Layer.DIMENSIONS not in drawing.layers:
        return
    across = surface.depth_mm or surface.height_mm
    draw_dimension(
        drawing.paper,
        drawing.labels,
        Dimension(points[0], points[1], (0, 1), format_length(surface.length_mm, drawing.system)),
    )
    if across:
        draw_dimension(
            drawing.paper,
            drawing.labels,
            Dimension(points[3], points[0], (-1, 0), format_length(across, drawing.system)),
        )


def draw_fixtures(drawing: PlanDrawing) -> None:
    for fixture in drawing.room.fixtures:
        ring = drawing.footprint(fixture)
        wall = drawing.host(fixture)
        if ring is not None:
            _draw_block(drawing, fixture, ring)
        elif wall is not None and is_upright(fixture):
            _draw_on_wall(drawing, fixture, wall)
        elif wall is not None:
            _draw_round(drawing, fixture, wall)


def is_upright(fixture: Fixture) -> bool:
    """Whether *fixture* comes through a wall and not through the floor."""
    return fixture.kind in UPRIGHT_FIXTURES or (fixture.kind is FixtureKind.PIPE and fixture.base_mm > 0)


def _draw_block(drawing: PlanDrawing, fixture: Fixture, ring: Sequence[Point]) -> None:
    points = [drawing.put(point) for point in ring]
    drawing.paper.path(points, LineType.OUTLINE, closed=True, fill="#fff", mark=f"fixture {fixture.key}")
    drawing.labels.keep_clear(*points, points[0])
    if fixture.kind in {FixtureKind.TUB, FixtureKind.SINK}:
        drawing.paper.path(_shrunk(points), LineType.EDGE, closed=True)
    elif fixture.kind is FixtureKind.CABINET:
        drawing.paper.path([points[0], points[2]], LineType.EDGE)
        drawing.paper.path([points[1], points[3]], LineType.EDGE)


def _shrunk(points: Sequence[Point]) -> list[Point]:
    """Return a smaller rectangle inside, its corners round: the bowl of a tub or a sink."""
    (ax, ay), (bx, by), _, (dx, dy) = points
    long, deep = math.hypot(bx - ax, by - ay), math.hypot(dx - ax, dy - ay)
    u = ((bx - ax) / (long or 1), (by - ay) / (long or 1))
    v = ((dx - ax) / (deep or 1), (dy - ay) / (deep or 1))
    rim = min(long, deep) * 0.1
    bend = min(long, deep) * 0.24
    corners = [
        ((long - rim - bend, rim + bend), -90), ((long - rim - bend, deep - rim - bend), 0),
        ((rim + bend, deep - rim - bend), 90), ((rim + bend, rim + bend), 180),
    ]  # fmt: skip
    turned = [
        (x + bend * math.cos(math.radians(start + step)), y + bend * math.sin(math.radians(start + step)))
        for (x, y), start in corners
        for step in range(0, 91, 15)
    ]
    return [(ax + u[0] * x + v[0] * y, ay + u[1] * x + v[1] * y) for x, y in turned]


def _draw_round(drawing: PlanDrawing, fixture: Fixture, wall: WallLine) -> None:
    """Draw a flange, a drain or a pipe through the floor with its centre lines."""
    at = drawing.put(wall.at(mm(fixture.along_mm), mm(fixture.away_mm)))
    radius = mm(fixture.diameter_mm) / 2 * drawing.factor
    arm = marks.draw_round(drawing.paper, drawing.labels, at, radius, mark=f"fixture {fixture.key}")
    if fixture.kind is FixtureKind.DRAIN:
        marks.draw_drain(drawing.paper, at, arm - marks.ARM_MM)
    drawing.used.add("centre")


def _draw_on_wall(drawing: PlanDrawing, fixture: Fixture, wall: WallLine) -> None:
    """Mark a mixer, a spout or a pipe that comes through a wall: a short stub into the room."""
    a = drawing.put(wall.at(mm(fixture.along_mm)))
    inward = wall.inward
    tip = (a[0] + inward[0] * 2.6, a[1] + inward[1] * 2.6)
    drawing.paper.path([a, tip], LineType.OUTLINE, mark=f"fixture {fixture.key}")
    drawing.paper.circle(tip, 0.7, LineType.OUTLINE, fill="#fff")


def fixture_words(fixture: Fixture, system: System, translate: Translate) -> str:
    """Return the kind of *fixture* with its size, such as ``tub 60″ × 30″``."""
    words = translate(FIXTURE_WORDS[fixture.kind])
    if fixture.length_mm and fixture.depth_mm:
        return f"{words} {pair(fixture.length_mm, fixture.depth_mm, system)}"
    if fixture.diameter_mm:
        return f"{words} {format_length(fixture.diameter_mm, system, style='piece')}"
    return words


def name_fixtures(drawing: PlanDrawing) -> None:
    if Layer.FIXTURES not in drawing.layers:
        return
    together: dict[Point, list[Fixture]] = {}
    for fixture in drawing.room.fixtures:
        words = fixture_words(fixture, drawing.system, drawing.translate)
        ring, wall = drawing.footprint(fixture), drawing.host(fixture)
        if ring is not None:
            is_crossed = fixture.kind is FixtureKind.CABINET
            write_inside(drawing, words, [drawing.put(point) for point in ring], is_crossed=is_crossed)
        elif wall is not None and is_upright(fixture):
            together.setdefault(wall.at(mm(fixture.along_mm)), []).append(fixture)
        elif wall is not None:
            at = drawing.put(wall.at(mm(fixture.along_mm), mm(fixture.away_mm)))
            radius = max(mm(fixture.diameter_mm) / 2 * drawing.factor, 0.7) + 2.2
            drawing.labels.write(
                drawing.paper, words, _around(at, words, radius), size=SMALL_MM, soft=True, over=True
            )
    for place, fixtures in together.items():
        _name_on_wall(drawing, place, fixtures)


def _name_on_wall(drawing: PlanDrawing, place: Point, fixtures: Sequence[Fixture]) -> None:
    """Name what comes through a wall at one place, outside the wall where the floor's texts are not."""
    wall = drawing.host(fixtures[0])
    if wall is None:
        return
    words = ", ".join(drawing.translate(FIXTURE_WORDS[one.kind]) for one in fixtures)
    x, y = drawing.put(place)
    angle = readable(math.degrees(math.atan2(wall.run[1], wall.run[0])))
    drawing.labels.write(
        drawing.paper,
        words,
        [Place((x - wall.inward[0] * away, y - wall.inward[1] * away), angle) for away in (3.6, -5.5, -9, 7)],
        size=SMALL_MM,
        soft=True,
    )


def _around(at: Point, words: str, radius: float) -> list[Place]:
    x, y = at
    half = text_width(words, SMALL_MM) / 2 + 1
    close = [
        Place((x, y - radius - 2)),
        Place((x, y + radius + 2)),
        Place((x + radius + half, y)),
        Place((x - radius - half, y)),
    ]
    far = [
        Place((x + dx * (half + 5), y + dy), 0, ((x + dx * 4, y + dy * 0.85), (x, y)))
        for dy in (8, -8, 14, -14)
        for dx in (1, -1, 0.3, -0.3)
    ]
    return close + far

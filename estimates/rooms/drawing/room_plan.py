"""The plan of a room, to scale: walls, openings, fixtures, surfaces, dimensions, what lies on the floor."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from estimates.takeoff.lengths import format_length
from estimates.takeoff.model import Fixture, FixtureKind, Opening, OpeningKind, Room, Surface, SurfaceKind
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.result import Face, Lie, RoomTakeoff
from estimates.takeoff.units import System

from . import marks
from .dimensions import Dimension, draw_dimension, readable
from .geometry import (
    Outline,
    WallLine,
    crossing,
    mm,
    opening_span,
    outline_for,
    outline_of,
    walls_of,
)
from .labels import Labels, Place
from .marks import MEASURED, Layer, pair
from .paper import INK, SMALL_MM, LineType, Paper, Point, Translate, say, text_width
from .scales import scale_words

_AROUND = 26.0  # mm of paper that dimensions need on each side

OPENING_WORDS = {
    OpeningKind.DOOR: gettext_noop("door {width}"),
    OpeningKind.PASSAGE: gettext_noop("passage {width}"),
    OpeningKind.WINDOW: gettext_noop("window {width}"),
}
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


def plan_svg(
    room: Room,
    found: RoomTakeoff | None = None,
    *,
    outline: Outline | None = None,
    system: System,
    translate: Translate,
    layers: Iterable[Layer] = MEASURED,
    width_mm: float | None = 170,
    scale: float | None = None,
    name: str = "plan",
) -> str:
    """Draw the plan of *room* as SVG.

    Args:
        room: what was measured.
        found: what was taken off for it; without it only what was measured is drawn.
        outline: the walls to draw; worked out from *room* when not given.
        width_mm: the width of the drawing on screen (used when *scale* is None).
        scale: n of 1:n; the SVG then has its true size in millimetres.
        name: makes ids unique on a page with several drawings.
    """
    if outline is None:
        outline = outline_of(found.traverse) if found and found.traverse else outline_for(room)
    outline = outline or _table_outline(room)
    factor = 1 / scale if scale else _fit(outline.corners, width_mm or 170)
    drawing = PlanDrawing(room, outline, factor, system, translate, frozenset(layers))
    walls = drawing.walls = walls_of(outline) if room.legs else []
    floor = _floor_face(found)
    if outline.is_closed and len(outline.corners) > 2 and room.legs:
        drawing.paper.path([drawing.put(p) for p in outline.corners], None, closed=True, fill="#fff")
    if found and floor:
        _draw_floor(drawing, found, floor)
    names = _draw_surfaces(drawing) if Layer.SURFACES in drawing.layers else []
    if Layer.FIXTURES in drawing.layers:
        _draw_fixtures(drawing)
    if room.legs:
        _draw_walls(drawing, walls)
    if Layer.OPENINGS in drawing.layers:
        _draw_openings(drawing, walls)
    _name_fixtures(drawing)
    blocks = [[drawing.put(p) for p in ring] for one in room.fixtures if (ring := drawing.footprint(one))]
    drawing.labels.boxes.extend(blocks)
    for words, ring in names:
        _write_inside(drawing, words, ring)
    if Layer.DIMENSIONS in drawing.layers and room.legs:
        _dimension(drawing, walls)
    if found and floor and Layer.SHEETS in drawing.layers:
        marks.name_sheets(drawing.paper, drawing.labels, floor, found, drawing.put, system)
    _foot(drawing, scale, width_mm)
    return drawing.paper.svg(
        title=drawing.say(phrase(gettext_noop("Plan of {room}"), room=room.name or drawing.say(_UNNAMED))),
        description=drawing.say(_describe(room, outline, system)),
        name=name,
        true_size=scale is not None,
        at_least_mm=0 if scale else (width_mm or 170) - 4,
    )


_UNNAMED = phrase(gettext_noop("the room"))


def extent(corners: Sequence[Point]) -> tuple[float, float]:
    """Return how wide and how high the corners reach, in their own unit."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return (max(xs) - min(xs), max(ys) - min(ys)) if corners else (0.0, 0.0)


def _fit(corners: Sequence[Point], width_mm: float) -> float:
    """Return the factor at which the room fills the width, and no more than about as much height."""
    wide, high = extent(corners)
    around = min(_AROUND, width_mm * 0.17)
    space = width_mm - 2 * around
    return min(space / max(wide, 1), max(space * 0.95, 60) / max(high, 1), 1.0)


def _table_outline(room: Room) -> Outline:
    """A room without walls (a counter): its surfaces lie one under the other on an open sheet."""
    lines = table_lines(room)
    points = [line.at(0) for line in lines.values()] + [line.at(line.length) for line in lines.values()]
    low = [
        lines[one.key].at(0, mm(one.depth_mm or one.height_mm)) for one in room.surfaces if one.key in lines
    ]
    return Outline((*points, *low) or ((0.0, 0.0),), is_closed=False)


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


def _floor_face(found: RoomTakeoff | None) -> Face | None:
    if found is None:
        return None
    level = [face for face in found.faces if face.lie is Lie.LEVEL]
    floors = [face for face in level if face.surface_kind in {SurfaceKind.FLOOR, SurfaceKind.SHOWER_FLOOR}]
    return floors[0] if floors else None


def _draw_floor(drawing: PlanDrawing, found: RoomTakeoff, floor: Face) -> None:
    faces = [
        face
        for face in found.faces
        if face.lie is Lie.LEVEL and face.surface_kind in {SurfaceKind.FLOOR, SurfaceKind.SHOWER_FLOOR}
    ]
    for face in faces:
        if Layer.SHEETS in drawing.layers:
            drawing.used |= marks.draw_sheets(drawing.paper, face, found, drawing.put)
        if Layer.STRIPS in drawing.layers:
            drawing.used |= marks.draw_strips(drawing.paper, face, found, drawing.put)
        if Layer.TILES in drawing.layers and marks.draw_tiles(drawing.paper, face, found, drawing.put):
            drawing.used.add("tile")


def _draw_walls(drawing: PlanDrawing, walls: Sequence[WallLine]) -> None:
    corners = [drawing.put(point) for point in drawing.outline.corners]
    drawing.paper.path(corners, LineType.WALL, closed=drawing.outline.is_closed, mark="walls")
    drawing.labels.keep_clear(*corners, *(corners[:1] if drawing.outline.is_closed else ()))
    drawing.used.add("wall")
    for wall in walls:
        if wall.number in drawing.outline.wrong:
            line = [drawing.put(wall.start), drawing.put(wall.end)]
            drawing.paper.path(line, LineType.WRONG, mark=f"wrong wall {wall.number}")
            drawing.used.add("wrong")
    wrong = sorted(drawing.outline.wrong)
    if len(wrong) == 2 and (at := crossing(walls, *wrong)):
        drawing.paper.circle(drawing.put(at), 3, LineType.WRONG, mark="crossing")
    if drawing.outline.gap and len(corners) > 1:
        drawing.paper.path([corners[-1], corners[0]], LineType.HIDDEN, mark="gap")
        drawing.paper.circle(corners[-1], 1.6, LineType.OUTLINE)
        _name_gap(drawing, corners[-1], corners[0])
    _draw_start(drawing, walls)


def _name_gap(drawing: PlanDrawing, end: Point, start: Point) -> None:
    size = math.dist(drawing.outline.corners[-1], drawing.outline.corners[0])
    words = drawing.say(phrase(gettext_noop("gap {size}"), size=_plain(size, drawing.system)))
    x, y = (end[0] + start[0]) / 2, (end[1] + start[1]) / 2
    places = [Place((x + dx, y + dy)) for dx, dy in ((0, -4), (0, 4), (10, -4), (-10, -4), (0, -9), (0, 9))]
    drawing.labels.write(drawing.paper, words, places, size=SMALL_MM, bold=True)


def _draw_start(drawing: PlanDrawing, walls: Sequence[WallLine]) -> None:
    """Mark the first corner, so that wall 1 and the way of the walk are known on site."""
    if not walls:
        return
    x, y = drawing.put(walls[0].start)
    drawing.paper.circle((x, y), 1.1, LineType.EDGE, fill=INK, mark="start")
    drawing.used.add("start")


def _draw_openings(drawing: PlanDrawing, walls: Sequence[WallLine]) -> None:
    by_number = {wall.number: wall for wall in walls}
    for opening in drawing.room.openings:
        wall = by_number.get(opening.wall)
        if wall is None:
            continue
        begin, end = opening_span(opening)
        a, b = drawing.put(wall.at(begin)), drawing.put(wall.at(end))
        out = (-wall.inward[0], -wall.inward[1])
        half = 0.75
        gap = [
            (a[0] - out[0] * half, a[1] - out[1] * half),
            (b[0] - out[0] * half, b[1] - out[1] * half),
            (b[0] + out[0] * half, b[1] + out[1] * half),
            (a[0] + out[0] * half, a[1] + out[1] * half),
        ]
        drawing.paper.path(gap, None, closed=True, fill="#fff", mark=f"opening {opening.key}")
        for x, y in (a, b):
            jamb = 1.3
            drawing.paper.path(
                [(x - out[0] * jamb, y - out[1] * jamb), (x + out[0] * jamb, y + out[1] * jamb)],
                LineType.OUTLINE,
            )
        if opening.kind is OpeningKind.WINDOW:
            for shift in (-half, half):
                drawing.paper.path(
                    [(x + out[0] * shift, y + out[1] * shift) for x, y in (a, b)], LineType.EDGE
                )
        elif opening.kind is OpeningKind.DOOR:
            drawing.paper.path([a, b], LineType.EDGE)
        _name_opening(drawing, wall, opening, a, b)


def _name_opening(drawing: PlanDrawing, wall: WallLine, opening: Opening, a: Point, b: Point) -> None:
    width = format_length(opening.width_mm, drawing.system, style="piece")
    words = drawing.say(phrase(OPENING_WORDS[opening.kind], width=width))
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    angle = readable(math.degrees(math.atan2(wall.run[1], wall.run[0])))
    out = (-wall.inward[0], -wall.inward[1])
    places = [
        Place((middle[0] + out[0] * away, middle[1] + out[1] * away), angle) for away in (3.6, -3.6, -7, -11)
    ]
    drawing.labels.write(drawing.paper, words, places, size=SMALL_MM, soft=True)


def _draw_surfaces(drawing: PlanDrawing) -> list[tuple[str, list[Point]]]:
    """Draw what stands or lies on the floor, a counter, and the recess of a niche behind its wall.

    Returns the names to write and where, for when everything else is drawn.
    """
    names = []
    for surface in drawing.room.surfaces:
        line = drawing.back_edge(surface)
        across = mm(surface.depth_mm or (None if drawing.room.legs else surface.height_mm))
        if line is None or not across or surface.kind in {SurfaceKind.FLOOR, SurfaceKind.WALL}:
            continue
        into_wall = surface.kind is SurfaceKind.NICHE and bool(drawing.room.legs)
        ring = line.rectangle(0, -across if into_wall else 0, line.length, across)
        hidden = surface.kind in {SurfaceKind.NICHE, SurfaceKind.SHOWER_FLOOR}
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
        names.append((surface.name, points))
        if not drawing.room.legs:
            _dimension_box(drawing, points, surface)
    return names


def _write_inside(drawing: PlanDrawing, words: str, ring: Sequence[Point]) -> None:
    places = marks.places_within(ring)
    middle = places[0].at
    aside = [
        Place((middle[0] + dx, middle[1] + dy), 0, ((middle[0] + dx * 0.6, middle[1] + dy * 0.6), middle))
        for dx, dy in ((0, 7), (0, -7), (14, 5), (-14, 5), (14, -5), (-14, -5))
    ]
    drawing.labels.write(drawing.paper, words, [*places, *aside], size=SMALL_MM, soft=True)


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


def _draw_fixtures(drawing: PlanDrawing) -> None:
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
    x, y = drawing.put(wall.at(mm(fixture.along_mm), mm(fixture.away_mm)))
    radius = max(mm(fixture.diameter_mm) / 2 * drawing.factor, 0.7)
    drawing.paper.circle((x, y), radius, LineType.OUTLINE, fill="#fff", mark=f"fixture {fixture.key}")
    if fixture.kind is FixtureKind.DRAIN:
        side = radius * 0.62
        square = [(x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)]
        drawing.paper.path(square, LineType.EDGE, closed=True)
    arm = radius + 2.2
    drawing.paper.path([(x - arm, y), (x + arm, y)], LineType.CENTRE)
    drawing.paper.path([(x, y - arm), (x, y + arm)], LineType.CENTRE)
    drawing.labels.boxes.append(
        [(x - arm, y - arm), (x + arm, y - arm), (x + arm, y + arm), (x - arm, y + arm)]
    )
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


def _name_fixtures(drawing: PlanDrawing) -> None:
    if Layer.FIXTURES not in drawing.layers:
        return
    together: dict[Point, list[Fixture]] = {}
    for fixture in drawing.room.fixtures:
        words = fixture_words(fixture, drawing.system, drawing.translate)
        ring, wall = drawing.footprint(fixture), drawing.host(fixture)
        if ring is not None:
            _write_inside(drawing, words, [drawing.put(point) for point in ring])
        elif wall is not None and is_upright(fixture):
            together.setdefault(wall.at(mm(fixture.along_mm)), []).append(fixture)
        elif wall is not None:
            at = drawing.put(wall.at(mm(fixture.along_mm), mm(fixture.away_mm)))
            radius = max(mm(fixture.diameter_mm) / 2 * drawing.factor, 0.7) + 2.2
            drawing.labels.write(drawing.paper, words, _around(at, words, radius), size=SMALL_MM, soft=True)
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


def _dimension(drawing: PlanDrawing, walls: Sequence[WallLine]) -> None:
    named = {one.wall for one in drawing.room.openings}
    named |= {one.wall for one in drawing.room.fixtures if is_upright(one) and one.wall}
    named |= {one.walls[0] for one in drawing.room.surfaces if one.kind is SurfaceKind.NICHE and one.walls}
    # The longest first: they have the fewest places where their figure fits.
    for wall in sorted(walls, key=lambda one: -one.length):
        measured = drawing.room.legs[wall.number - 1].length_mm
        words = f"{wall.number} · {format_length(measured, drawing.system)}"
        draw_dimension(
            drawing.paper,
            drawing.labels,
            Dimension(
                drawing.put(wall.start),
                drawing.put(wall.end),
                (-wall.inward[0], -wall.inward[1]),
                words,
                first_level=1 if wall.number in named else 0,
            ),
        )
    _name_angles(drawing, walls)


def _name_angles(drawing: PlanDrawing, walls: Sequence[WallLine]) -> None:
    """Write the room's angle at every corner that is not square."""
    legs = drawing.room.legs
    hand = 1 if drawing.outline.is_right_handed else -1
    for index, wall in enumerate(walls):
        turn = float(legs[wall.number - 1].turn_degrees) * hand
        following = walls[(index + 1) % len(walls)]
        if round(abs(turn), 3) in {0.0, 90.0} or (not drawing.outline.is_closed and index == len(walls) - 1):
            continue
        into = (wall.inward[0] + following.inward[0], wall.inward[1] + following.inward[1])
        size = math.hypot(*into) or 1
        x, y = drawing.put(wall.end)
        places = [Place((x + into[0] / size * away, y + into[1] / size * away)) for away in (6, 8.5, 11, -6)]
        drawing.labels.write(drawing.paper, f"{180 - turn:g}°", places, size=SMALL_MM, soft=True)


def _foot(drawing: PlanDrawing, scale: float | None, width_mm: float | None) -> None:
    paper = drawing.paper
    if paper.left > paper.right:
        return
    left, right = paper.left, max(paper.right, paper.left + 60)
    y = paper.low - 5
    if Layer.SCALE in drawing.layers:
        words = scale_words(scale, drawing.system) if scale else None
        marks.draw_scale_bar(
            paper,
            drawing.factor,
            left=left,
            y=y,
            system=drawing.system,
            words=words,
            translate=drawing.translate,
        )
        y -= 5
    if Layer.LEGEND in drawing.layers:
        if width_mm and not scale:
            right = max(right, left + width_mm - 8)
        marks.draw_legend(paper, drawing.used, left=left, right=right, top=y, translate=drawing.translate)


def _describe(room: Room, outline: Outline, system: System) -> Phrase:
    if not room.legs:
        return phrase(gettext_noop("Surfaces without a room plan: {count}."), count=len(room.surfaces))
    wide, high = extent(outline.corners)
    return phrase(
        gettext_noop(
            "{walls} walls, {width} by {depth} overall; openings: {openings}; "
            "fixtures: {fixtures}. Drawn to scale."
        ),
        walls=len(room.legs),
        width=_plain(wide, system),
        depth=_plain(high, system),
        openings=len(room.openings),
        fixtures=len(room.fixtures),
    )


def _plain(value: float, system: System) -> str:
    return format_length(Decimal(str(round(value, 4))), system)


__all__ = ["extent", "fixture_words", "plan_svg"]

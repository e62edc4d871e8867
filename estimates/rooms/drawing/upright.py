"""Elevations of walls, seen from inside the room, and any one face with what lies on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from estimates.takeoff.lengths import format_length
from estimates.takeoff.model import Fixture, FixtureKind, OpeningKind, Room, Surface, SurfaceKind
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.result import Face, Lie, RoomTakeoff
from estimates.takeoff.units import System

from . import batches, marks
from .dimensions import Dimension, draw_dimension
from .geometry import Outline, WallLine, mm, outline_for, outline_of, walls_of
from .labels import Labels, Place
from .marks import MEMBRANE, Layer, floats
from .paper import SMALL_MM, LineType, Paper, Point, Translate, say, text_box, text_width
from .plan_sheet import extent
from .room_plan import OPENING_WORDS
from .scales import scale_words
from .things import FIXTURE_WORDS, fixture_words, is_upright


@dataclass
class UprightDrawing:
    """One upright or single face being drawn: real millimetres times *factor* are paper millimetres."""

    factor: float
    system: System
    translate: Translate
    layers: frozenset[Layer]
    paper: Paper = field(default_factory=Paper)
    labels: Labels = field(default_factory=Labels)
    used: set[str] = field(default_factory=set)

    def put(self, point: Point) -> Point:
        return (point[0] * self.factor, point[1] * self.factor)

    def rectangle(self, x: float, y: float, wide: float, high: float) -> list[Point]:
        return [self.put(p) for p in ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))]

    def say(self, words: Phrase) -> str:
        return say(words, self.translate)

    def size(self, value: Decimal | float) -> str:
        return format_length(Decimal(str(round(float(value), 4))), self.system)

    def across(self, a: Point, b: Point, out: Point, level: int = 0) -> None:
        """Dimension from *a* to *b* (real millimetres) on the side of *out*."""
        length = abs(b[0] - a[0]) + abs(b[1] - a[1])
        if length > 0:
            words = self.size(length)
            draw_dimension(
                self.paper, self.labels, Dimension(self.put(a), self.put(b), out, words, first_level=level)
            )

    def finish(self, scale: float | None, width_mm: float | None) -> None:
        """Write the scale bar and the legend under the drawing."""
        if width_mm and not scale:
            self.paper.centre_in(width_mm - 8)
        left, y = self.paper.left, self.paper.low - 5
        right = max(self.paper.right, left + (width_mm - 8 if width_mm and not scale else 60))
        if Layer.SCALE in self.layers:
            marks.draw_scale_bar(
                self.paper,
                self.factor,
                left=left,
                y=y,
                system=self.system,
                words=scale_words(scale, self.system) if scale else None,
                translate=self.translate,
            )
            y -= 5
        if Layer.LEGEND in self.layers:
            marks.draw_legend(self.paper, self.used, left=left, right=right, top=y, translate=self.translate)


def elevation_svg(
    room: Room,
    wall: int,
    found: RoomTakeoff | None = None,
    *,
    outline: Outline | None = None,
    system: System,
    translate: Translate,
    layers: Iterable[Layer] = MEMBRANE,
    width_mm: float | None = 170,
    scale: float | None = None,
    name: str = "elevation",
) -> str:
    """Draw wall number *wall* seen from inside the room; arguments as for :func:`.plan_svg`.

    Raises:
        ValueError: the room has no such wall.
    """
    if outline is None:
        outline = outline_of(found.traverse) if found and found.traverse else outline_for(room)
    lines = {one.number: one for one in walls_of(outline)} if outline else {}
    if outline is None or wall not in lines:
        raise ValueError(wall)
    line = lines[wall]
    high = mm(room.wall_heights_mm.get(wall, room.height_mm))
    factor = 1 / scale if scale else _fit(line.length, high, width_mm or 170)
    drawing = UprightDrawing(factor, system, translate, frozenset(layers))
    view = _View(line, not outline.is_right_handed)
    drawing.paper.path(drawing.rectangle(0, 0, line.length, high), None, closed=True, fill="#fff")
    for face in _faces_on(found, wall):
        _draw_face(drawing, face, found)
    names = _draw_surfaces(drawing, room, view, high)
    _draw_frame(drawing, line.length, high)
    names += _draw_standing(drawing, room, view, outline)
    _draw_openings(drawing, room, view)
    _draw_fixtures(drawing, room, view)
    for face in _faces_on(found, wall):
        _name_face(drawing, face, found)
    for words, ring in names:
        # A name without a free place is left out: the page lists the surfaces beside the drawing.
        places = [
            place
            for place in marks.places_within(ring)
            if not drawing.labels.touched(text_box(place.at, words, SMALL_MM, place.angle))
        ]
        if places:
            drawing.labels.write(drawing.paper, words, places, size=SMALL_MM, soft=True)
    if Layer.DIMENSIONS in drawing.layers:
        drawing.across((0, 0), (line.length, 0), (0, -1))
        drawing.across((0, 0), (0, high), (-1, 0))
    drawing.finish(scale, width_mm)
    title = phrase(gettext_noop("Wall {number} of {room}"), number=wall, room=room.name)
    described = phrase(
        gettext_noop("Elevation of wall {number}, {length} long and {height} high, seen from inside."),
        number=wall,
        length=drawing.size(line.length),
        height=drawing.size(high),
    )
    return drawing.paper.svg(
        title=drawing.say(title),
        description=drawing.say(described),
        name=name,
        true_size=scale is not None,
        at_least_mm=0 if scale else (width_mm or 170) - 4,
    )


def face_svg(
    face: Face,
    found: RoomTakeoff,
    *,
    system: System,
    translate: Translate,
    layers: Iterable[Layer] = MEMBRANE,
    width_mm: float | None = 170,
    scale: float | None = None,
    name: str = "face",
) -> str:
    """Draw one face with its sheets, laps, strips, corner pieces and tiles; arguments as for plan_svg."""
    outline = floats(face.outline)
    wide, high = extent(outline)
    factor = 1 / scale if scale else _fit(wide, high, width_mm or 170)
    drawing = UprightDrawing(factor, system, translate, frozenset(layers))
    left, low = min(x for x, _ in outline), min(y for _, y in outline)
    rings = [outline, *(floats(hole) for hole in face.holes)]
    drawing.paper.polygons([[drawing.put(p) for p in ring] for ring in rings], None, fill="#fff")
    _draw_face(drawing, face, found)
    drawing.paper.polygons(
        [[drawing.put(p) for p in ring] for ring in rings], LineType.OUTLINE, mark=f"face {face.key}"
    )
    for ring in rings:
        points = [drawing.put(p) for p in ring]
        drawing.labels.keep_clear(*points, points[0])
    if Layer.FIXTURES in drawing.layers:
        for one, at, arm in marks.draw_pierced(drawing.paper, drawing.labels, face, found, drawing.put):
            drawing.used.add("centre")
            size = f" {format_length(one.diameter_mm, system, style='piece')}" if one.diameter_mm else ""
            named = f"{translate(FIXTURE_WORDS[one.kind])}{size}"
            drawing.labels.write(
                drawing.paper, named, _beside(at, arm, named), size=SMALL_MM, soft=True, over=True
            )
    _name_face(drawing, face, found)
    if Layer.DIMENSIONS in drawing.layers:
        drawing.across((left, low), (left + wide, low), (0, -1))
        drawing.across((left, low), (left, low + high), (-1, 0))
    drawing.finish(scale, width_mm)
    words = phrase(
        gettext_noop("{face}: {width} by {height}; sheets: {sheets}. Drawn to scale."),
        face=face.label,
        width=drawing.size(wide),
        height=drawing.size(high),
        sheets=sum(one.face == face.key for one in found.sheets),
    )
    return drawing.paper.svg(
        title=drawing.say(face.label),
        description=drawing.say(words),
        name=name,
        true_size=scale is not None,
        at_least_mm=0 if scale else (width_mm or 170) - 4,
    )


@dataclass(frozen=True)
class _View:
    """A wall seen from inside: with the room at the left of the walk, its start is at the right."""

    line: WallLine
    is_mirrored: bool

    def x(self, along: float, width: float = 0.0) -> float:
        return self.line.length - along - width if self.is_mirrored else along


def _fit(wide: float, high: float, width_mm: float) -> float:
    around = min(22.0, width_mm * 0.15)
    space = width_mm - 2 * around
    return min(space / max(wide, 1), space * 0.9 / max(high, 1), 1.0)


def _faces_on(found: RoomTakeoff | None, wall: int) -> list[Face]:
    """Return the faces that lie in the wall's own coordinates: not the sides of a niche."""
    if found is None:
        return []
    flat = {SurfaceKind.WALL, SurfaceKind.BACKSPLASH}
    return [
        face
        for face in found.faces
        if face.wall == wall and face.lie is Lie.UPRIGHT and face.surface_kind in flat
    ]


def _draw_face(drawing: UprightDrawing, face: Face, found: RoomTakeoff | None) -> None:
    if found is None:
        return
    if Layer.SHEETS in drawing.layers:
        drawing.used |= marks.draw_sheets(drawing.paper, drawing.labels, face, found, drawing.put)
    if Layer.STRIPS in drawing.layers:
        drawing.used |= marks.draw_strips(drawing.paper, face, found, drawing.put)
    if Layer.TILES in drawing.layers:
        drawing.used |= marks.draw_tiles(drawing.paper, face, found, drawing.put)
        drawing.used |= marks.draw_tile_start(drawing.paper, face, found, drawing.put)
    if Layer.BATCHES in drawing.layers:
        drawing.used |= batches.draw_batches(drawing.paper, drawing.labels, face, found, drawing.put)


def _name_face(drawing: UprightDrawing, face: Face, found: RoomTakeoff | None) -> None:
    """Write the batches' numbers and the sheets' marks on *face*, where nothing else stands."""
    if found is None or Layer.SHEETS not in drawing.layers:
        return
    is_batched = Layer.BATCHES in drawing.layers
    if is_batched:
        batches.number_batches(drawing.paper, drawing.labels, face, found, drawing.put)
    marks.name_sheets(
        drawing.paper, drawing.labels, face, found, drawing.put, drawing.system, sizes=not is_batched
    )
    if Layer.STRIPS in drawing.layers:
        marks.name_strips(drawing.paper, drawing.labels, face, found, drawing.put)


def _draw_frame(drawing: UprightDrawing, wide: float, high: float) -> None:
    frame = drawing.rectangle(0, 0, wide, high)
    drawing.paper.path(frame, LineType.WALL, closed=True, mark="walls")
    drawing.labels.keep_clear(*frame, frame[0])
    drawing.used.add("wall")


def _draw_surfaces(
    drawing: UprightDrawing, room: Room, view: _View, high: float
) -> list[tuple[str, list[Point]]]:
    """Draw the edges of wall surfaces and the recesses of niches, with their heights.

    Returns their names and where they may stand, for when everything else is drawn.
    """
    names: list[tuple[str, list[Point]]] = []
    heights: dict[tuple[float, float], None] = {}
    if Layer.SURFACES not in drawing.layers:
        return names
    for surface in room.surfaces:
        if view.line.number not in surface.walls or surface.kind not in _UPRIGHT_KINDS:
            continue
        x, y, wide, tall = _span(surface, view, high)
        ring = drawing.rectangle(x, y, wide, tall)
        is_niche = surface.kind is SurfaceKind.NICHE
        drawing.paper.path(
            ring,
            LineType.OUTLINE if is_niche else LineType.HIDDEN,
            closed=True,
            fill="#fff" if is_niche else "none",
            mark=f"surface {surface.key}",
        )
        drawing.used.add("surface")
        drawing.labels.keep_clear(*ring, ring[0])
        names.append((drawing.say(phrase(surface.name)), ring))
        if y + tall < high - 1:
            heights.setdefault((y, tall))
    if Layer.DIMENSIONS in drawing.layers:
        # Outside the wall, where they cross nothing; like heights are written once.
        for low, tall in heights:
            drawing.across((view.line.length, low), (view.line.length, low + tall), (1, 0))
    return names


_UPRIGHT_KINDS = frozenset({SurfaceKind.WALL, SurfaceKind.NICHE, SurfaceKind.BACKSPLASH})


def _span(surface: Surface, view: _View, high: float) -> tuple[float, float, float, float]:
    """Return x, y, width and height of an upright surface on its wall."""
    along, low = mm(surface.along_mm), mm(surface.base_mm)
    wide = mm(surface.length_mm) if surface.length_mm else view.line.length - along
    tall = mm(surface.height_mm) if surface.height_mm else high - low
    return view.x(along, wide), low, wide, tall


def _draw_standing(
    drawing: UprightDrawing, room: Room, view: _View, outline: Outline
) -> list[tuple[str, list[Point]]]:
    """Draw what stands against this wall, such as a bench's end or a tub: its outline over the wall.

    Returns their names and where they may stand.
    """
    names: list[tuple[str, list[Point]]] = []
    if Layer.FIXTURES not in drawing.layers:
        return names
    walls = {one.number: one for one in walls_of(outline)}
    things: list[tuple[Surface | Fixture, int, Decimal | None, str]] = [
        (one, one.walls[0], one.height_mm or room.height_mm, drawing.say(phrase(one.name)))
        for one in room.surfaces
        if one.kind in _STANDING and one.walls
    ]
    things += [
        (one, one.wall, one.base_mm, drawing.translate(FIXTURE_WORDS[one.kind]))
        for one in room.fixtures
        if one.kind in {FixtureKind.TUB, FixtureKind.CABINET} and one.wall and one.base_mm
    ]
    for thing, number, tall, name in things:
        host = walls.get(number)
        if host is None or not thing.length_mm or not thing.depth_mm:
            continue
        corners = host.rectangle(
            mm(thing.along_mm), mm(thing.away_mm), mm(thing.length_mm), mm(thing.depth_mm)
        )
        span = _touching(view.line, corners)
        if span is None:
            continue
        wide = span[1] - span[0]
        ring = drawing.rectangle(view.x(span[0], wide), 0, wide, mm(tall))
        drawing.paper.path(ring, LineType.OUTLINE, closed=True, mark=f"standing {thing.key}")
        drawing.labels.keep_clear(*ring, ring[0])
        names.append((name, ring))
    return names


_STANDING = frozenset({SurfaceKind.BENCH, SurfaceKind.CURB, SurfaceKind.KNEE_WALL, SurfaceKind.COLUMN})
_CLOSE_MM = 15.0  # a thing this near to a wall was measured as standing against it


def _touching(line: WallLine, corners: list[Point]) -> tuple[float, float] | None:
    """Return from where to where along a wall a thing stands against it, or None."""
    near = []
    for x, y in corners:
        way = (x - line.start[0], y - line.start[1])
        if abs(way[0] * line.inward[0] + way[1] * line.inward[1]) <= _CLOSE_MM:
            near.append(min(max(way[0] * line.run[0] + way[1] * line.run[1], 0.0), line.length))
    return (min(near), max(near)) if near and max(near) - min(near) > _CLOSE_MM else None


def _draw_openings(drawing: UprightDrawing, room: Room, view: _View) -> None:
    if Layer.OPENINGS not in drawing.layers:
        return
    for opening in room.openings:
        if opening.wall != view.line.number:
            continue
        wide, tall = mm(opening.width_mm), mm(opening.height_mm)
        x, y = view.x(mm(opening.along_mm), wide), mm(opening.base_mm)
        ring = drawing.rectangle(x, y, wide, tall)
        drawing.paper.path(ring, LineType.OUTLINE, closed=True, fill="#fff", mark=f"opening {opening.key}")
        drawing.labels.keep_clear(*ring, ring[0])
        if opening.kind is OpeningKind.WINDOW:
            drawing.paper.path([ring[0], ring[2]], LineType.EDGE)
            drawing.paper.path([ring[1], ring[3]], LineType.EDGE)
        words = drawing.say(
            phrase(
                OPENING_WORDS[opening.kind],
                width=marks.pair(opening.width_mm, opening.height_mm, drawing.system),
            )
        )
        drawing.labels.write(
            drawing.paper, words, marks.places_within(ring), size=SMALL_MM, soft=True, over=True
        )


def _draw_fixtures(drawing: UprightDrawing, room: Room, view: _View) -> None:
    """Draw what comes through this wall: a circle with its centre lines, its name and its height."""
    if Layer.FIXTURES not in drawing.layers:
        return
    for fixture in room.fixtures:
        if fixture.wall != view.line.number or not is_upright(fixture):
            continue
        x = view.x(mm(fixture.along_mm))
        at = drawing.put((x, mm(fixture.base_mm)))
        radius = mm(fixture.diameter_mm) / 2 * drawing.factor
        arm = marks.draw_round(drawing.paper, drawing.labels, at, radius, mark=f"fixture {fixture.key}")
        drawing.used.add("centre")
        _name_fixture(drawing, fixture, at, arm, max(x, view.line.length - x) * drawing.factor)


def _name_fixture(drawing: UprightDrawing, fixture: Fixture, at: Point, arm: float, space: float) -> None:
    """Write kind, size and height of *fixture* beside it, or further off at the end of a thin line.

    Where the wall has no *space* for them beside it (paper millimetres) they stand above and below.
    """
    words = fixture_words(fixture, drawing.system, drawing.translate)
    if fixture.base_mm:
        height = drawing.size(fixture.base_mm)
        if text_width(f"{words}, {height}", SMALL_MM) + arm + 1 > space:
            for text, side in ((words, -1), (height, 1)):
                places = [Place((at[0], at[1] + side * (arm + away))) for away in (2, 4, 6)]
                drawing.labels.write(drawing.paper, text, places, size=SMALL_MM, soft=True, over=True)
            return
        words = f"{words}, {height}"
    drawing.labels.write(drawing.paper, words, _beside(at, arm, words), size=SMALL_MM, soft=True, over=True)


def _beside(at: Point, arm: float, words: str) -> list[Place]:
    half = text_width(words, SMALL_MM) / 2 + 1
    x, y = at
    return [
        Place((x + arm + half, y)),
        Place((x - arm - half, y)),
        Place((x, y - arm - 2)),
        Place((x, y + arm + 2)),
        *(
            Place((x + dx * (half + 4), y + dy), 0, ((x + dx * 4, y + dy - 2 * (dy > 0) + 2 * (dy < 0)), at))
            for dy in (arm + 5, -arm - 5, arm + 10, -arm - 10)
            for dx in (1, -1, 0.4, -0.4)
        ),
    ]

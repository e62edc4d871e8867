"""The plan of a room, to scale: walls, openings, fixtures, surfaces, dimensions, what lies on the floor."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal

from estimates.takeoff.lengths import format_length
from estimates.takeoff.model import Opening, OpeningKind, Room, SurfaceKind
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.result import Face, Lie, RoomTakeoff
from estimates.takeoff.units import System

from . import batches, marks
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
from .labels import Place
from .marks import MEASURED, Layer
from .paper import INK, SMALL_MM, LineType, Point, Translate
from .plan_sheet import PlanDrawing, extent, table_lines
from .scales import scale_words
from .things import draw_fixtures, draw_surfaces, is_upright, name_fixtures, write_inside

_AROUND = 26.0  # mm of paper that dimensions need on each side

OPENING_WORDS = {
    OpeningKind.DOOR: gettext_noop("door {width}"),
    OpeningKind.PASSAGE: gettext_noop("passage {width}"),
    OpeningKind.WINDOW: gettext_noop("window {width}"),
}


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
    if outline.is_closed and len(outline.corners) > 2 and room.legs:
        drawing.paper.path([drawing.put(p) for p in outline.corners], None, closed=True, fill="#fff")
    if found:
        _draw_floor(drawing, found)
    names = draw_surfaces(drawing) if Layer.SURFACES in drawing.layers else []
    if Layer.FIXTURES in drawing.layers:
        draw_fixtures(drawing)
    if room.legs:
        _draw_walls(drawing, walls)
    if Layer.OPENINGS in drawing.layers:
        _draw_openings(drawing, walls)
    name_fixtures(drawing)
    blocks = [[drawing.put(p) for p in ring] for one in room.fixtures if (ring := drawing.footprint(one))]
    drawing.labels.boxes.extend(blocks)
    for words, ring in names:
        write_inside(drawing, words, ring)
    if Layer.DIMENSIONS in drawing.layers and room.legs:
        _dimension(drawing, walls)
    if found and Layer.SHEETS in drawing.layers:
        is_batched = Layer.BATCHES in drawing.layers
        for face, put in faces_in_plan(drawing, found):
            if is_batched:
                batches.number_batches(drawing.paper, drawing.labels, face, found, put)
            marks.name_sheets(drawing.paper, drawing.labels, face, found, put, system, sizes=not is_batched)
            if Layer.STRIPS in drawing.layers:
                marks.name_strips(drawing.paper, drawing.labels, face, found, put)
    if found:
        drawing.used |= marks.keys_of(found, drawing.layers)
        if Layer.BATCHES in drawing.layers and batches.has_strips_apart(found):
            drawing.used.add("batch strip")
    _foot(drawing, scale, width_mm)
    return drawing.paper.svg(
        title=drawing.say(phrase(gettext_noop("Plan of {room}"), room=room.name or drawing.say(_UNNAMED))),
        description=drawing.say(_describe(room, outline, system)),
        name=name,
        true_size=scale is not None,
        at_least_mm=0 if scale else (width_mm or 170) - 4,
    )


_UNNAMED = phrase(gettext_noop("the room"))


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


def faces_in_plan(drawing: PlanDrawing, found: RoomTakeoff) -> list[tuple[Face, marks.Put]]:
    """Return the faces that the plan shows, each with the way from its coordinates to the paper."""
    if drawing.room.legs:
        # What lies level in the room's own plan: no sill of a niche, no counter without a plan.
        kinds = {
            SurfaceKind.FLOOR,
            SurfaceKind.SHOWER_FLOOR,
            SurfaceKind.BENCH,
            SurfaceKind.CURB,
            SurfaceKind.KNEE_WALL,
        }
        level = (face for face in found.faces if face.lie is Lie.LEVEL and face.surface_kind in kinds)
        return [(face, drawing.put) for face in level]
    lines = table_lines(drawing.room)
    shown: list[tuple[Face, marks.Put]] = []
    for face in found.faces:
        is_top = face.surface_kind is SurfaceKind.COUNTER and face.lie is Lie.LEVEL
        if face.surface in lines and (is_top or face.surface_kind is SurfaceKind.BACKSPLASH):
            top = max(y for _, y in marks.floats(face.outline))
            shown.append((face, _shifted(drawing, lines[face.surface].start[1] - top)))
    return shown


def _shifted(drawing: PlanDrawing, up: float) -> marks.Put:
    return lambda point: drawing.put((point[0], point[1] + up))


def _draw_floor(drawing: PlanDrawing, found: RoomTakeoff) -> None:
    for face, put in faces_in_plan(drawing, found):
        if Layer.SHEETS in drawing.layers:
            drawing.used |= marks.draw_sheets(drawing.paper, drawing.labels, face, found, put)
        if Layer.STRIPS in drawing.layers:
            drawing.used |= marks.draw_strips(drawing.paper, face, found, put)
        if Layer.TILES in drawing.layers:
            drawing.used |= marks.draw_tiles(drawing.paper, face, found, put)
            drawing.used |= marks.draw_tile_start(drawing.paper, face, found, put)
        if Layer.BATCHES in drawing.layers:
            drawing.used |= batches.draw_batches(drawing.paper, drawing.labels, face, found, put)


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
    if width_mm and not scale:
        paper.centre_in(width_mm - 8)
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

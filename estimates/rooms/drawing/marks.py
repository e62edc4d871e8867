"""What lies on a face: membrane sheets, laps, strips, corner pieces and tiles, on any drawing of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from enum import StrEnum

from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.result import Face, RoomTakeoff, Sheet
from estimates.takeoff.units import System

from .geometry import inside
from .labels import Labels, Place
from .paper import INK, SMALL_MM, WASH, LineType, Paper, Point, Translate, say, text_width


class Layer(StrEnum):
    """What a drawing may show."""

    DIMENSIONS = "dimensions"
    OPENINGS = "openings"
    FIXTURES = "fixtures"
    SURFACES = "surfaces"
    SHEETS = "sheets"
    STRIPS = "strips"
    TILES = "tiles"
    LEGEND = "legend"
    SCALE = "scale"


MEASURED = frozenset(
    {Layer.DIMENSIONS, Layer.OPENINGS, Layer.FIXTURES, Layer.SURFACES, Layer.LEGEND, Layer.SCALE}
)
"""What was measured, without what follows from it."""
MEMBRANE = MEASURED | {Layer.SHEETS, Layer.STRIPS}
TILED = MEASURED | {Layer.TILES}

Put = Callable[[Point], Point]

LEGEND = {
    "wall": (LineType.WALL, gettext_noop("wall")),
    "start": (LineType.EDGE, gettext_noop("start of the walk")),
    "sheet": (LineType.EDGE, gettext_noop("sheet edge")),
    "lap": (LineType.HIDDEN, gettext_noop("lap hidden beneath")),
    "strip": (LineType.STRIP, gettext_noop("strip over a change of plane")),
    "corner": (LineType.OUTLINE, gettext_noop("corner piece")),
    "tile": (LineType.TILE, gettext_noop("tile joint")),
    "surface": (LineType.HIDDEN, gettext_noop("edge of a surface")),
    "centre": (LineType.CENTRE, gettext_noop("centre line")),
    "wrong": (LineType.WRONG, gettext_noop("to be checked")),
}


def floats(ring: Iterable[tuple[Decimal, Decimal]]) -> list[Point]:
    return [(float(x), float(y)) for x, y in ring]


def draw_tiles(paper: Paper, face: Face, found: RoomTakeoff, put: Put) -> bool:
    """Draw the joints of the tile layout on *face*, lightly; return whether there are any."""
    drawn = False
    for tiled in found.tiled:
        if tiled.face == face.key:
            rings = [[put(point) for point in floats(one.outline)] for one in tiled.layout.placements]
            if rings:
                paper.polygons(rings, LineType.TILE, mark=f"tiles {face.key}")
                drawn = True
    return drawn


def draw_sheets(paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put) -> set[str]:
    """Draw sheets in laying order and their laps, and keep texts off them; return the legend's keys used."""
    sheets = sorted((one for one in found.sheets if one.face == face.key), key=lambda one: one.order)
    keys = {one.key for one in sheets}
    for sheet in sheets:
        edge = [put(point) for point in floats(sheet.outline)]
        labels.keep_clear(*edge, edge[0])
        paper.path(
            edge,
            LineType.EDGE,
            closed=True,
            fill="#fff",
            mark=f"sheet {sheet.key}",
        )
    used = {"sheet"} if sheets else set()
    for lap in found.laps:
        if lap.over in keys and lap.under in keys and lap.area:
            ring = [put(point) for point in floats(lap.area)]
            paper.path(ring, LineType.HIDDEN, closed=True, mark=f"lap {lap.over} {lap.under}")
            used.add("lap")
    return used


def draw_strips(paper: Paper, face: Face, found: RoomTakeoff, put: Put) -> set[str]:
    """Draw the half of each strip that lies on *face*, and the corner pieces on it."""
    used: set[str] = set()
    outline = floats(face.outline)
    changes = {one.key: one for one in found.changes if one.faces[0] == face.key}
    for strip in found.strips:
        if strip.change in changes:
            band = _band(
                floats(changes[strip.change].line),
                float(strip.start_mm),
                float(strip.end_mm),
                float(strip.width_mm) / 2,
                outline,
            )
            paper.path(
                [put(point) for point in band],
                LineType.STRIP,
                closed=True,
                fill=WASH,
                mark=f"strip {strip.key}",
            )
            used.add("strip")
    placed = {one.corner for one in found.corner_pieces}
    for corner in found.corners:
        if corner.face == face.key and corner.key in placed:
            x, y = put((float(corner.at[0]), float(corner.at[1])))
            square = [(x - 1.3, y - 1.3), (x + 1.3, y - 1.3), (x + 1.3, y + 1.3), (x - 1.3, y + 1.3)]
            paper.path(square, LineType.OUTLINE, closed=True, fill="#fff", mark=f"corner {corner.key}")
            paper.path([square[0], square[2]], LineType.OUTLINE)
            used.add("corner")
    return used


def _band(
    line: Sequence[Point], start: float, end: float, half: float, outline: Sequence[Point]
) -> list[Point]:
    (ax, ay), (bx, by) = line
    length = math.hypot(bx - ax, by - ay) or 1.0
    run = ((bx - ax) / length, (by - ay) / length)
    side = (-run[1], run[0])
    middle = ((ax + bx) / 2, (ay + by) / 2)
    if not inside((middle[0] + side[0] * 2, middle[1] + side[1] * 2), outline):
        side = (-side[0], -side[1])
    first = (ax + run[0] * start, ay + run[1] * start)
    last = (ax + run[0] * min(end, length), ay + run[1] * min(end, length))
    return [
        first,
        last,
        (last[0] + side[0] * half, last[1] + side[1] * half),
        (first[0] + side[0] * half, first[1] + side[1] * half),
    ]


def sheet_words(sheet: Sheet, system: System) -> str:
    """Return a sheet's size as the cut list gives it: across the roll by along it."""
    return pair(sheet.across_mm, sheet.along_mm, system)


def name_sheets(
    paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put, system: System
) -> None:
    """Write each sheet's mark and size inside it, where nothing else stands."""
    for sheet in found.sheets:
        if sheet.face != face.key:
            continue
        ring = [put(point) for point in floats(sheet.outline)]
        words = sheet_words(sheet, system)
        long = f"{sheet.key}  {words}"
        fits = text_width(long, SMALL_MM) < max(x for x, _ in ring) - min(x for x, _ in ring)
        upright = 0 if fits else 90
        labels.write(paper, long, places_within(ring, upright), size=SMALL_MM, over=True, bold=False)


def places_within(ring: Sequence[Point], angle: float = 0) -> list[Place]:
    """Return places inside *ring*, the middle first."""
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    shares = (0.5, 0.35, 0.65, 0.2, 0.8, 0.12, 0.88)
    points = [
        (min(xs) + (max(xs) - min(xs)) * across, min(ys) + (max(ys) - min(ys)) * up)
        for up in shares
        for across in shares
    ]
    points.sort(key=lambda p: abs(p[0] - sum(xs) / len(xs)) + abs(p[1] - sum(ys) / len(ys)))
    within = [point for point in points if inside(point, ring)] or points[:1]
    return [Place(point, angle) for point in within] + [Place(point, 90 - angle) for point in within]


def draw_legend(
    paper: Paper, used: Iterable[str], *, left: float, right: float, top: float, translate: Translate
) -> None:
    """Write the line types in *used* with their meaning, in rows between *left* and *right*."""
    x, y = left, top
    for key in [key for key in LEGEND if key in set(used)]:
        line, message = LEGEND[key]
        words = say(phrase(message), translate)
        width = 9 + text_width(words, SMALL_MM) + 5
        if x > left and x + width > right:
            x, y = left, y - 5
        if key in {"strip", "corner"}:
            box = [(x, y - 1.2), (x + 7, y - 1.2), (x + 7, y + 1.2), (x, y + 1.2)]
            paper.path(box, line, closed=True, fill=WASH if key == "strip" else "#fff")
        elif key == "start":
            paper.circle((x + 3.5, y), 1.1, line, fill=INK)
        else:
            paper.path([(x, y), (x + 7, y)], line)
        paper.text((x + 9 + text_width(words, SMALL_MM) / 2, y), words, size=SMALL_MM, soft=True)
        x += width


def draw_scale_bar(
    paper: Paper,
    factor: float,
    *,
    left: float,
    y: float,
    system: System,
    words: Phrase | None,
    translate: Translate,
) -> None:
    """Draw a bar of a round length and, on paper, the stated scale beside it."""
    steps = (
        (304.8, 609.6, 1524.0, 3048.0, 7620.0)
        if system is System.INCH
        else (250.0, 500.0, 1000.0, 2000.0, 5000.0)
    )
    real = next((step for step in steps if step * factor >= 16), steps[-1])
    long = real * factor
    paper.path([(left, y + 0.8), (left, y - 0.8)], LineType.EDGE)
    paper.path([(left, y), (left + long, y)], LineType.OUTLINE, mark="scale bar")
    paper.path([(left + long, y + 0.8), (left + long, y - 0.8)], LineType.EDGE)
    text = format_length(Decimal(str(real)), system)
    if words is not None:
        text = f"{text} · {say(words, translate)}"
    paper.text((left + long + 2.5 + text_width(text, SMALL_MM) / 2, y), text, size=SMALL_MM, soft=True)


def pair(first: Decimal, second: Decimal, system: System) -> str:
    return f"{format_length(first, system, style='piece')} × {format_length(second, system, style='piece')}"

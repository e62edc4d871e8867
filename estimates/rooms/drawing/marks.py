"""What lies on a face: membrane sheets, laps, strips, corner pieces and tiles, on any drawing of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from enum import StrEnum

from estimates.takeoff.lengths import format_length
from estimates.takeoff.model import FixtureKind
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.result import Face, Pierced, RoomTakeoff, Sheet, TilePart
from estimates.takeoff.space import shape_of
from estimates.takeoff.strip_legs import strip_legs
from estimates.takeoff.tiling import PlacementKind
from estimates.takeoff.units import System

from .geometry import inside
from .labels import Labels, Place
from .paper import (
    INK,
    LEAST_MM,
    SMALL_MM,
    WASH,
    LineType,
    Paper,
    Point,
    Translate,
    say,
    text_box,
    text_width,
)


class Layer(StrEnum):
    """What a drawing may show."""

    DIMENSIONS = "dimensions"
    OPENINGS = "openings"
    FIXTURES = "fixtures"
    SURFACES = "surfaces"
    SHEETS = "sheets"
    STRIPS = "strips"
    TILES = "tiles"
    BATCHES = "batches"
    LEGEND = "legend"
    SCALE = "scale"


MEASURED = frozenset(
    {Layer.DIMENSIONS, Layer.OPENINGS, Layer.FIXTURES, Layer.SURFACES, Layer.LEGEND, Layer.SCALE}
)
"""What was measured, without what follows from it."""
MEMBRANE = MEASURED | {Layer.SHEETS, Layer.STRIPS}
TILED = MEASURED | {Layer.TILES}
BATCHED = frozenset({Layer.OPENINGS, Layer.FIXTURES, Layer.SHEETS, Layer.BATCHES, Layer.LEGEND, Layer.SCALE})
"""What is spread at one go, in order: without dimensions, which the other drawings have."""

Put = Callable[[Point], Point]
Drawn = tuple[Pierced, Point, float]
ARM_MM = 2.2  # how far centre lines reach past what they cross

_BOXES = frozenset({"strip", "corner", "batch", "batch strip", "cut tile", "inlay"})
LEGEND = {
    "wall": (LineType.WALL, gettext_noop("wall")),
    "start": (LineType.EDGE, gettext_noop("start of the walk")),
    "sheet": (LineType.EDGE, gettext_noop("sheet edge")),
    "lap": (LineType.HIDDEN, gettext_noop("lap hidden beneath")),
    "strip": (LineType.STRIP, gettext_noop("strip over a change of plane")),
    "corner": (LineType.OUTLINE, gettext_noop("corner piece")),
    "batch": (LineType.BATCH, gettext_noop("spread at one go, by number")),
    "batch strip": (LineType.EDGE, gettext_noop("strip spread with another batch")),
    "tile": (LineType.TILE, gettext_noop("tile joint")),
    "cut tile": (LineType.TILE, gettext_noop("cut tile")),
    "inlay": (LineType.OUTLINE, gettext_noop("border or accent, of another tile")),
    "tile start": (LineType.CENTRE, gettext_noop("start of the tile")),
    "surface": (LineType.HIDDEN, gettext_noop("edge of a surface")),
    "centre": (LineType.CENTRE, gettext_noop("centre line")),
    "wrong": (LineType.WRONG, gettext_noop("to be checked")),
}


def floats(ring: Iterable[tuple[Decimal, Decimal]]) -> list[Point]:
    return [(float(x), float(y)) for x, y in ring]


def draw_tiles(paper: Paper, face: Face, found: RoomTakeoff, put: Put) -> set[str]:
    """Draw the tile layout on *face*, cut tiles washed, and the lines it is set out from; return the legend's
    keys used."""
    used: set[str] = set()
    for tiled in found.tiled:
        if tiled.face != face.key:
            continue
        for is_cut, key in ((False, "tile"), (True, "cut tile")):
            rings = [
                [put(point) for point in floats(ring)]
                for one in tiled.layout.placements
                if (one.kind is not PlacementKind.FULL) is is_cut
                for ring in (one.outline, *one.holes)
            ]
            if rings:
                mark = f"{'cut tiles' if is_cut else 'tiles'} {face.key}"
                paper.polygons(rings, LineType.TILE, fill=WASH if is_cut else "none", mark=mark)
                used.add(key)
        if tiled.part is not TilePart.FIELD:
            edge = [put(point) for point in floats(tiled.layout.region.outer)]
            paper.path(edge, LineType.OUTLINE, closed=True, mark=f"{tiled.part.value} {face.key}")
            used.add("inlay")
    return used


def draw_tile_start(paper: Paper, face: Face, found: RoomTakeoff, put: Put) -> set[str]:
    """Draw the two lines that the tile of *face* is set out from, where they run over it."""
    shape = shape_of(face.outline, face.holes)
    x0, y0, x1, y1 = shape.bounds
    used: set[str] = set()
    for tiled in found.tiled:
        is_field = tiled.face == face.key and tiled.part is TilePart.FIELD
        if not is_field or len(tiled.layout.placements) < _TILES_SET_OUT:
            continue
        x, y = (float(part) for part in tiled.layout.start)
        ways = (
            ([(x, y0), (x, y1)], x0 < x < x1),
            ([(x0, y), (x1, y)], y0 < y < y1),
        )
        for ends, is_over in ways:
            if is_over:
                paper.path([put(end) for end in ends], LineType.CENTRE, mark=f"tile start {face.key}")
                used.add("tile start")
    return used


_TILES_SET_OUT = 9  # fewer tiles, as in a niche, are set from what surrounds them


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
    """Draw the legs of strips that lie on *face*, and the corner pieces on it."""
    used: set[str] = set()
    shapes = {face.key: shape_of(face.outline, face.holes)}
    changes = {one.key: one for one in found.changes if face.key in one.faces}
    for strip in found.strips:
        change = changes.get(strip.change)
        for _, leg in strip_legs(strip, change, shapes) if change is not None else ():
            paper.path(
                [put(point) for point in floats(leg)],
                LineType.STRIP,
                closed=True,
                fill=WASH,
                mark=f"strip {strip.key}",
            )
            used.add("strip")
    for corner, at in corners_on(face, found):
        x, y = put(at)
        square = [(x - 1.3, y - 1.3), (x + 1.3, y - 1.3), (x + 1.3, y + 1.3), (x - 1.3, y + 1.3)]
        paper.path(square, LineType.OUTLINE, closed=True, fill="#fff", mark=f"corner {corner}")
        paper.path([square[0], square[2]], LineType.OUTLINE)
        used.add("corner")
    return used


def corners_on(face: Face, found: RoomTakeoff) -> list[tuple[str, Point]]:
    """Return the corner pieces that lie on *face*, with their place on it."""
    placed = {one.corner for one in found.corner_pieces}
    return [
        (corner.key, (float(at[0]), float(at[1])))
        for corner in found.corners
        if corner.key in placed
        for key, at in ((corner.face, corner.at), *corner.others)
        if key == face.key
    ]


def sheet_words(sheet: Sheet, system: System) -> str:
    """Return a sheet's size as the cut list gives it: across the roll by along it."""
    return pair(sheet.across_mm, sheet.along_mm, system)


def name_sheets(
    paper: Paper,
    labels: Labels,
    face: Face,
    found: RoomTakeoff,
    put: Put,
    system: System,
    *,
    sizes: bool = True,
) -> None:
    """Write each sheet's mark, and its size with *sizes*, inside it, where nothing else stands."""
    holes = [[put(point) for point in floats(hole)] for hole in face.holes]
    for sheet in found.sheets:
        if sheet.face != face.key:
            continue
        ring = [put(point) for point in floats(sheet.outline)]
        long = f"{sheet.key}  {sheet_words(sheet, system)}" if sizes else sheet.key
        fits = text_width(long, SMALL_MM) < max(x for x, _ in ring) - min(x for x, _ in ring)
        places = places_within(ring, 0 if fits else 90, holes)
        if any(not labels.touched(text_box(one.at, long, SMALL_MM, one.angle)) for one in places):
            labels.write(paper, long, places, size=SMALL_MM, over=True)
        else:
            # Its mark alone, where the size would run over something; the cut list has the size.
            labels.write(paper, sheet.key, places_within(ring, 0, holes), size=SMALL_MM, over=True)


def name_strips(paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put) -> None:
    """Write each strip's mark beside its leg on *face*, where nothing else stands; the cut list has all."""
    shapes = {face.key: shape_of(face.outline, face.holes)}
    changes = {one.key: one for one in found.changes if face.key in one.faces}
    for strip in found.strips:
        change = changes.get(strip.change)
        for _, leg in strip_legs(strip, change, shapes) if change is not None else ():
            places = _beside_leg([put(point) for point in floats(leg)], strip.key)
            free = [
                place
                for place in places
                if not labels.touched(text_box(place.at, strip.key, LEAST_MM, place.angle))
            ]
            if free:
                labels.write(paper, strip.key, free[:1], size=LEAST_MM, soft=True)
                break


def _beside_leg(ring: Sequence[Point], words: str) -> list[Place]:
    """Return places in the band of a strip's leg and close to it on the inside, its middle first."""
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    is_level = wide >= high
    gap = min(wide, high) / 2 + LEAST_MM * 0.62 + 0.3
    if not is_level:
        gap = min(wide, high) / 2 + text_width(words, LEAST_MM) / 2 + 0.8
    fits = min(wide, high) > LEAST_MM * 1.3
    places = []
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        x = min(xs) + wide * (share if is_level else 0.5)
        y = min(ys) + high * (0.5 if is_level else share)
        if fits:
            places.append(Place((x, y), 0 if is_level else 90))
        places += [Place((x, y + way * gap) if is_level else (x + way * gap, y), 0) for way in (1, -1)]
    return places


def places_within(
    ring: Sequence[Point], angle: float = 0, holes: Sequence[Sequence[Point]] = ()
) -> list[Place]:
    """Return places inside *ring* and outside *holes*, the middle first."""
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.15, 0.85, 0.1, 0.9)
    points = [
        (min(xs) + (max(xs) - min(xs)) * across, min(ys) + (max(ys) - min(ys)) * up)
        for up in shares
        for across in shares
    ]
    points.sort(key=lambda p: abs(p[0] - sum(xs) / len(xs)) + abs(p[1] - sum(ys) / len(ys)))
    within = [
        point for point in points if inside(point, ring) and not any(inside(point, hole) for hole in holes)
    ] or points[:1]
    return [Place(point, angle) for point in within] + [Place(point, 90 - angle) for point in within]


def draw_pierced(paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put) -> list[Drawn]:
    """Draw what comes through *face*: a circle to scale with its centre lines; return each with its place."""
    drawn = []
    for one in found.pierced:
        if one.face != face.key:
            continue
        at = put((float(one.at[0]), float(one.at[1])))
        edge = put((float(one.at[0]) + float(one.diameter_mm or 0) / 2, float(one.at[1])))
        arm = draw_round(paper, labels, at, edge[0] - at[0], mark=f"fixture {one.fixture}")
        if one.kind is FixtureKind.DRAIN:
            draw_drain(paper, at, arm - ARM_MM)
        drawn.append((one, at, arm))
    return drawn


def draw_round(paper: Paper, labels: Labels, at: Point, radius: float, *, mark: str) -> float:
    """Draw a round thing with its centre lines and keep texts off it; return how far the lines reach."""
    x, y = at
    radius = max(radius, 0.7)
    paper.circle(at, radius, LineType.OUTLINE, fill="#fff", mark=mark)
    arm = radius + ARM_MM
    paper.path([(x - arm, y), (x + arm, y)], LineType.CENTRE)
    paper.path([(x, y - arm), (x, y + arm)], LineType.CENTRE)
    labels.boxes.append([(x - arm, y - arm), (x + arm, y - arm), (x + arm, y + arm), (x - arm, y + arm)])
    return arm


def draw_drain(paper: Paper, at: Point, radius: float) -> None:
    """Draw the square grate that tells a drain from a pipe."""
    (x, y), side = at, radius * 0.62
    square = [(x - side, y - side), (x + side, y - side), (x + side, y + side), (x - side, y + side)]
    paper.path(square, LineType.EDGE, closed=True)


def keys_of(found: RoomTakeoff, layers: Iterable[Layer]) -> set[str]:
    """Return the legend's keys of everything that *layers* show on any face of the room.

    The plan explains the drawings of single faces that stand beside it.
    """
    shown = {
        Layer.SHEETS: {"sheet"} | ({"lap"} if found.laps else set()),
        Layer.STRIPS: ({"strip"} if found.strips else set()) | ({"corner"} if found.corner_pieces else set()),
        Layer.TILES: {"tile", "cut tile", "tile start"} if found.tiled else set(),
        Layer.BATCHES: {"batch"} if found.batches else set(),
    }
    if any(one.part is not TilePart.FIELD for one in found.tiled):
        shown[Layer.TILES].add("inlay")
    if not found.sheets:
        shown = {**shown, Layer.SHEETS: set()}
    return {key for layer in layers for key in shown.get(layer, ())}


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
        if key in _BOXES:
            box = [(x, y - 1.2), (x + 7, y - 1.2), (x + 7, y + 1.2), (x, y + 1.2)]
            paper.path(box, line, closed=True, fill=WASH if key in {"strip", "cut tile"} else "#fff")
        elif key == "start":
            paper.circle((x + 3.5, y), 1.1, line, fill=INK)
        else:
            paper.path([(x, y), (x + 7, y)], line)
        paper.text((x + 9, y), words, size=SMALL_MM, soft=True, begins=True)
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
    paper.text((left + long + 2.5, y), text, size=SMALL_MM, soft=True, begins=True)


def pair(first: Decimal, second: Decimal, system: System) -> str:
    return f"{format_length(first, system, style='piece')} × {format_length(second, system, style='piece')}"

"""Batches of bonding agent on a face: each one outlined, hatched and numbered in the order of spreading.

Hatching after ISO 128-50: thin lines at 45 degrees; areas side by side differ in direction or in spacing, so
they are told apart without colour. Everything is drawn from the patches the takeoff gave each batch.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from shapely import union_all
from shapely.geometry import LineString, MultiLineString
from shapely.geometry import Polygon as Shape

from estimates.takeoff.result import Batch, Face, RoomTakeoff

from .labels import Labels, Place
from .marks import Put, floats, places_within
from .paper import SMALL_MM, TEXT_MM, LineType, Paper, Point, text_width

# Angle and spacing (mm on paper) of the hatching, in turn: neighbours differ in direction, then in spacing.
_HATCHES = ((45, 2.6), (135, 2.6), (45, 4.6), (135, 4.6))
_RADIUS = 3.4


def draw_batches(paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put) -> set[str]:
    """Draw what each batch covers on *face*; return the legend's keys used."""
    used: set[str] = set()
    for batch in found.batches:
        for part in _areas(batch, face, put):
            rings = [_ring(part.exterior.coords), *(_ring(hole.coords) for hole in part.interiors)]
            lines = list(_hatched(part, *_HATCHES[(batch.number - 1) % len(_HATCHES)]))
            if lines:
                paper.polygons(lines, LineType.HATCH, closed=False)
            paper.polygons(rings, LineType.BATCH, mark=f"batch {batch.number}")
            for ring in rings:
                labels.keep_clear(*ring, ring[0])
            used.add("batch")
    return used


def number_batches(paper: Paper, labels: Labels, face: Face, found: RoomTakeoff, put: Put) -> None:
    """Write each batch's number in a circle on what it covers; a strip's own number only where it differs."""
    areas = [(batch.number, part) for batch in found.batches for part in _areas(batch, face, put)]
    strips: list[tuple[str, list[Point]]] = []
    told: set[tuple[int, int]] = set()
    for number, where, part in _strips_apart(face, found, put):
        ring = _ring(part.exterior.coords)
        paper.path(ring, LineType.EDGE, closed=True, fill="#fff", mark=f"batch {number} strip")
        if (number, where) not in told:
            told.add((number, where))
            strips.append((str(number), ring))
    for number, part in areas:
        _number(paper, labels, part, str(number))
    for words, ring in strips:
        places = [place for place in places_within(ring) if place.angle == 0]
        labels.write(paper, words, places, size=SMALL_MM, over=True, bold=True)


def has_strips_apart(found: RoomTakeoff) -> bool:
    """Return whether a strip anywhere in the room is spread with another batch than what it lies on."""
    # About as large as on paper, so that what is too small to be drawn is left out here too.
    return any(
        True for face in found.faces for _ in _strips_apart(face, found, lambda at: (at[0] / 20, at[1] / 20))
    )


def _strips_apart(face: Face, found: RoomTakeoff, put: Put) -> Iterator[tuple[int, int, Shape]]:
    """Yield the strips that are spread with another batch: its number, the number beneath (0: none), and what
    it covers."""
    areas = [(batch.number, part) for batch in found.batches for part in _areas(batch, face, put)]
    for batch in found.batches:
        for part in _areas(batch, face, put, is_strip=True):
            where = next((number for number, over in areas if over.intersects(part.centroid)), 0)
            if where != batch.number:
                yield batch.number, where, part


def _areas(batch: Batch, face: Face, put: Put, *, is_strip: bool = False) -> Iterator[Shape]:
    """Yield what *batch* covers on *face* in paper millimetres; sheets that touch or lap are one area."""
    shapes = [
        Shape(
            [put(point) for point in floats(patch.outline)],
            [[put(point) for point in floats(hole)] for hole in patch.holes],
        )
        for patch in batch.patches
        if patch.face == face.key and patch.is_strip is is_strip
    ]
    if not shapes:
        return
    # Numbers rounded on either side leave hairs between sheets that touch; a hundredth closes them.
    whole = union_all([shape.buffer(0.01, join_style="mitre") for shape in shapes])
    for part in getattr(whole, "geoms", [whole]):
        if isinstance(part, Shape) and part.area > 0.5:
            yield part


def _ring(coordinates: Iterable[tuple[float, ...]]) -> list[Point]:
    return [(x, y) for x, y, *_ in coordinates][:-1]


def _hatched(shape: Shape, angle: float, spacing: float) -> Iterator[list[Point]]:
    """Yield the lines that hatch *shape*; they run through the same places wherever the area begins."""
    run = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    across = (-run[1], run[0])
    corners = [(x, y) for x, y, *_ in shape.exterior.coords]
    heights = [x * across[0] + y * across[1] for x, y in corners]
    reach = max(abs(x) + abs(y) for x, y in corners) + 1
    for step in range(math.ceil(min(heights) / spacing), math.floor(max(heights) / spacing) + 1):
        x, y = across[0] * step * spacing, across[1] * step * spacing
        line = LineString(
            [(x - run[0] * reach, y - run[1] * reach), (x + run[0] * reach, y + run[1] * reach)]
        )
        met = line.intersection(shape)
        for piece in met.geoms if isinstance(met, MultiLineString) else [met]:
            if isinstance(piece, LineString) and piece.length > 0.3:
                yield [(px, py) for px, py, *_ in piece.coords]


def _number(paper: Paper, labels: Labels, part: Shape, words: str) -> None:
    """Write a batch's number where it lies wholly inside *part*, in the middle if that is free."""
    radius = max(_RADIUS, text_width(words, TEXT_MM) / 2 + 1.2)
    ring = _ring(part.exterior.coords)
    places = [place for place in places_within(ring) if place.angle == 0]
    roomy = [place for place in places if part.contains(_disc(place.at, radius))]
    free = [place for place in roomy if not labels.touched(_disc_box(place.at, radius))]
    at = (free or roomy or [Place(_middle(part))])[0].at
    paper.circle(at, radius, LineType.OUTLINE, fill="#fff", mark=f"batch number {words}")
    labels.boxes.append(_disc_box(at, radius))
    paper.text(at, words, size=TEXT_MM, bold=True)


def _middle(part: Shape) -> Point:
    spot = part.representative_point()
    return spot.x, spot.y


def _disc(at: Point, radius: float) -> Shape:
    turns = [math.radians(step) for step in range(0, 360, 30)]
    return Shape([(at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns])


def _disc_box(at: Point, radius: float) -> list[Point]:
    x, y = at
    return [
        (x - radius, y - radius),
        (x + radius, y - radius),
        (x + radius, y + radius),
        (x - radius, y + radius),
    ]

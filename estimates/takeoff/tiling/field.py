"""The face in the pattern's frame, and the pattern cut to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from .patterns import PLACES, Box, Floats, Ints, Lattice, corners_of

THIN = 0.01  # mm; what is thinner is noise of the arithmetic, not a piece
_EPS = 1e-6


@dataclass(frozen=True)
class Field:
    """The face to tile in the pattern's frame, edge joint already taken off.

    *cells*: disjoint rectangles that make up the face when all its sides are parallel to the axes; pieces
    can then be found without clipping polygons. *xs*, *ys*: where sides lie, the outermost first.
    """

    polygon: Any
    cells: Floats | None
    box: Box
    xs: tuple[float, ...]
    ys: tuple[float, ...]
    angle: float

    @cached_property
    def cover(self) -> Any:
        """The field a hair larger, so that a tile flush with a wall counts as inside."""
        cover = self.polygon.buffer(1e-5, join_style="mitre")
        shapely.prepare(cover)
        return cover


@dataclass(frozen=True)
class Pieces:
    """The pattern cut to the field at one phase. Boxes are (n, 4); *shapes* None: the pieces are boxes."""

    full: Floats  # corners (n, k, 2)
    boxes: Floats
    areas: Floats
    tiles: Floats  # the whole tile's box, per piece
    turns: Ints
    shapes: Any = None

    @property
    def sizes(self) -> tuple[Floats, Floats]:
        """Widths and heights of the cut pieces."""
        return self.boxes[:, 2] - self.boxes[:, 0], self.boxes[:, 3] - self.boxes[:, 1]

    @property
    def full_boxes(self) -> Floats:
        if not len(self.full):
            return np.zeros((0, 4))
        return np.hstack((self.full.min(axis=1), self.full.max(axis=1)))


def field_of(polygon: Any, angle: float) -> Field:
    """Return the field of a polygon already turned into the pattern's frame."""
    polygon = shapely.transform(polygon, lambda xy: np.round(xy, PLACES))
    rings = [polygon.exterior, *polygon.interiors] if polygon.geom_type == "Polygon" else []
    if not rings:
        rings = [ring for part in polygon.geoms for ring in (part.exterior, *part.interiors)]
    segments = np.vstack([np.hstack((c[:-1], c[1:])) for c in (np.asarray(r.coords) for r in rings)])
    upright = np.abs(segments[:, 0] - segments[:, 2]) < _EPS
    level = np.abs(segments[:, 1] - segments[:, 3]) < _EPS
    box = tuple(float(v) for v in polygon.bounds)
    cells = None
    if bool(np.all(upright | level)):
        xs = _distinct(np.concatenate((segments[:, 0], segments[:, 2])))
        ys = _distinct(np.concatenate((segments[:, 1], segments[:, 3])))
        cells = _cells(polygon, xs, ys) if len(xs) * len(ys) <= 400 else None
    return Field(
        polygon,
        cells,
        (box[0], box[1], box[2], box[3]),
        _sides(segments[upright], 0, box[0], box[2]),
        _sides(segments[level], 1, box[1], box[3]),
        angle,
    )


def coarse_of(lattice: Lattice, field: Field) -> Field:
    """Return the field to search in: without holes smaller than a tile (pipes, drains)."""
    if field.cells is not None or field.polygon.geom_type != "Polygon":
        return field
    holes = [ring for ring in field.polygon.interiors if shapely.Polygon(ring).area >= lattice.tile_area]
    if len(holes) == len(field.polygon.interiors):
        return field
    return field_of(shapely.Polygon(field.polygon.exterior, holes), field.angle)


def _distinct(values: Floats) -> Floats:
    ordered = np.unique(values)
    return ordered[np.concatenate(([True], np.diff(ordered) > _EPS))]


def _cells(polygon: Any, xs: Floats, ys: Floats) -> Floats:
    mid_x, mid_y = (xs[:-1] + xs[1:]) / 2, (ys[:-1] + ys[1:]) / 2
    rows = []
    for j, y in enumerate(mid_y):
        inside = shapely.contains_xy(polygon, mid_x, np.full_like(mid_x, y))
        start = None
        for i, is_in in enumerate([*inside, False]):
            if is_in and start is None:
                start = i
            elif not is_in and start is not None:
                rows.append((xs[start], ys[j], xs[i], ys[j + 1]))
                start = None
    return np.array(rows, dtype=np.float64)


def _sides(segments: Floats, axis: int, low: float, high: float) -> tuple[float, ...]:
    """Return where sides across *axis* lie: the two outermost, then the longest others, six at most."""
    lengths: dict[float, float] = {}
    for segment in segments:
        at = round(float(segment[axis]), 4)
        lengths[at] = lengths.get(at, 0.0) + abs(float(segment[1 - axis] - segment[3 - axis]))
    others = sorted(
        (at for at in lengths if low + _EPS < at < high - _EPS), key=lambda at: (-lengths[at], at)
    )
    return (low, high, *others[:4])


def pieces_at(lattice: Lattice, field: Field, px: float, py: float, exact: bool) -> Pieces:
    """Cut the pattern at phase (px, py) to the field."""
    if field.cells is not None and lattice.bond.is_rows and not exact:
        return _pieces_of_cells(lattice, field, px, py)
    corners, turns = lattice.tiles(px, py, field.box)
    inside = _well_inside(field, corners)
    near = np.flatnonzero(~inside)
    outlines: Any = shapely.polygons(corners[near])
    covered = shapely.covers(field.cover, outlines)
    inside[near[covered]] = True
    shapely.prepare(field.polygon)
    edge = ~covered & shapely.intersects(field.polygon, outlines)
    near, outlines = near[edge], outlines[edge]
    met: Any = shapely.intersection(field.polygon, outlines)
    parts, owner = shapely.get_parts(met, return_index=True)
    bounds = shapely.bounds(parts).reshape(-1, 4)
    areas = shapely.area(parts)
    keep = (areas > THIN) & (bounds[:, 2] - bounds[:, 0] > THIN) & (bounds[:, 3] - bounds[:, 1] > THIN)
    keep &= areas / np.maximum(shapely.length(parts), _EPS) > THIN / 2
    owner = owner[keep]
    tiles = shapely.bounds(outlines[owner]).reshape(-1, 4)
    return Pieces(corners[inside], bounds[keep], areas[keep], tiles, turns[near[owner]], parts[keep])


def _well_inside(field: Field, corners: Floats) -> NDArray[np.bool_]:
    """Return which tiles lie so far from the field's edge that they need no closer look."""
    if not len(corners):
        return np.zeros(0, dtype=bool)
    centres = corners.mean(axis=1)
    reach = float(np.linalg.norm(corners[0] - centres[0], axis=1).max())
    inside = shapely.contains_xy(field.cover, centres[:, 0], centres[:, 1])
    at = np.flatnonzero(inside)
    inside[at] = shapely.distance(field.polygon.boundary, shapely.points(centres[at])) >= reach
    return np.asarray(inside, dtype=bool)


def _pieces_of_cells(lattice: Lattice, field: Field, px: float, py: float) -> Pieces:
    assert field.cells is not None
    tiles, cells = lattice.rows(px, py, field.box), field.cells
    low_x = np.maximum(tiles[:, None, 0], cells[None, :, 0])
    low_y = np.maximum(tiles[:, None, 1], cells[None, :, 1])
    high_x = np.minimum(tiles[:, None, 2], cells[None, :, 2])
    high_y = np.minimum(tiles[:, None, 3], cells[None, :, 3])
    met = (high_x - low_x > THIN) & (high_y - low_y > THIN)
    areas = np.where(met, (high_x - low_x) * (high_y - low_y), 0.0).sum(axis=1)
    is_full = areas > lattice.tile_area - THIN
    at = np.flatnonzero((areas > THIN) & ~is_full)
    far = 1e12
    some = met[at]
    boxes = np.column_stack(
        (
            np.where(some, low_x[at], far).min(axis=1),
            np.where(some, low_y[at], far).min(axis=1),
            np.where(some, high_x[at], -far).max(axis=1),
            np.where(some, high_y[at], -far).max(axis=1),
        )
    )
    return Pieces(corners_of(tiles[is_full]), boxes, areas[at], tiles[at], np.zeros(len(at), dtype=np.int64))


def in_tile(pieces: Pieces) -> Any:
    """Return the pieces' shapes in their tile's own frame: centred, standing tiles laid down."""
    shapes = pieces.shapes if pieces.shapes is not None else shapely.box(*pieces.boxes.T)
    coordinates, owner = shapely.get_coordinates(shapes, return_index=True)
    middle = (pieces.tiles[:, :2] + pieces.tiles[:, 2:]) / 2
    local = coordinates - middle[owner]
    standing = pieces.turns[owner] == 1
    local[standing] = np.column_stack((local[standing, 1], -local[standing, 0]))
    return shapely.set_coordinates(np.array(shapes, dtype=object, copy=True), local)


def turned(shape: Any, angle: float) -> Any:
    """Return *shape* turned counter-clockwise about the origin by *angle* degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return shapely.transform(shape, lambda xy: xy @ np.array([[c, s], [-s, c]]))

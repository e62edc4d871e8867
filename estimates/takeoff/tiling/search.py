"""Where the pattern starts: candidates worth trying, and the best of them.

A cheapest start has some tile edge at a wall, a cut of just the smallest size, or a symmetry about the
middle: between those positions the counts do not change. So only those phases are tried, in a fixed order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
import shapely

from .patterns import Box, Floats, Ints, Lattice, corners_of
from .reuse import Piece, pack_rectangles, pack_shapes
from .spec import Bond, TileSpec

THIN = 0.01  # mm; what is thinner is noise of the arithmetic, not a piece
_EPS = 1e-6
_MOST_PACKED = 40
_MOST_PHASES = 18


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
    def full_boxes(self) -> Floats:
        if not len(self.full):
            return np.zeros((0, 4))
        return np.hstack((self.full.min(axis=1), self.full.max(axis=1)))


@dataclass(frozen=True)
class Verdict:
    """How the cuts of a layout are judged.

    *shortfall*: how far the worst piece stays under the size wanted, as a fraction of the tile; *smallest*:
    the smallest piece as a fraction of the tile (None: no cuts).
    """

    undersized: int
    shortfall: float
    smallest: float | None


@dataclass(frozen=True)
class Trial:
    px: float
    py: float
    pieces: Pieces
    verdict: Verdict
    imbalance: float


def field_of(polygon: Any, angle: float) -> Field:
    """Return the field of a polygon already turned into the pattern's frame."""
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
    outlines: Any = shapely.polygons(corners)
    shapely.prepare(field.polygon)
    inside = _covered(field, outlines)
    edge = ~inside & shapely.intersects(field.polygon, outlines)
    at = np.flatnonzero(edge)
    met: Any = shapely.intersection(field.polygon, outlines[at])
    parts, owner = shapely.get_parts(met, return_index=True)
    bounds = shapely.bounds(parts).reshape(-1, 4)
    areas = shapely.area(parts)
    keep = (areas > THIN) & (bounds[:, 2] - bounds[:, 0] > THIN) & (bounds[:, 3] - bounds[:, 1] > THIN)
    keep &= areas / np.maximum(shapely.length(parts), _EPS) > THIN / 2
    owner = at[owner[keep]]
    tiles = shapely.bounds(outlines[owner]).reshape(-1, 4)
    return Pieces(corners[inside], bounds[keep], areas[keep], tiles, turns[owner], parts[keep])


def _covered(field: Field, outlines: Any) -> Any:
    cover = field.polygon.buffer(1e-5, join_style="mitre")
    shapely.prepare(cover)
    return shapely.covers(cover, outlines)


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


def least_row_cut(spec: TileSpec) -> float:
    """Return the smallest cut wanted along the rows, as a fraction of the tile.

    An offset bond must start rows with a, a - f, a - 2f … of a tile; where that is less than the wanted
    fraction (a third bond: a third) the bond decides.
    """
    wanted = float(spec.smallest_fraction)
    if spec.pattern is not Bond.OFFSET or not spec.offset_fraction:
        return wanted
    f = float(spec.offset_fraction)
    starts = [1 - math.fmod(k * f + 1e-9, 1.0) for k in range(1, 13)]
    return min([wanted, *(s for s in starts if s < 1 - 1e-6)])


def judge(lattice: Lattice, spec: TileSpec, field: Field, pieces: Pieces) -> Verdict:
    """Judge the cuts against the smallest size wanted.

    In rows a piece is measured along its tile's edges, joint included on both sides of the comparison: half
    of a half-bond tile is (tile - joint)/2 and is a half tile on site. A side that the whole face spans
    is not a cut that a better start could avoid. Other patterns are judged by area.
    """
    if not len(pieces.boxes):
        return Verdict(0, 0.0, None)
    if not lattice.bond.is_square_cut:
        shares = pieces.areas / lattice.tile_area
        short = float(spec.smallest_fraction) - shares
    else:
        widths, heights = _sizes(pieces)
        span_x, span_y = field.box[2] - field.box[0], field.box[3] - field.box[1]
        least_x = min(least_row_cut(spec) * lattice.pitch_x - lattice.j, span_x)
        least_y = min(float(spec.smallest_fraction) * lattice.pitch_y - lattice.j, span_y)
        shares = np.minimum(widths / lattice.w, heights / lattice.h)
        short = np.maximum((least_x - widths) / lattice.w, (least_y - heights) / lattice.h)
    under = short > 1e-5
    return Verdict(int(np.count_nonzero(under)), max(float(short.max()), 0.0), float(shares.min()))


def _sizes(pieces: Pieces) -> tuple[Floats, Floats]:
    return pieces.boxes[:, 2] - pieces.boxes[:, 0], pieces.boxes[:, 3] - pieces.boxes[:, 1]


def sources(lattice: Lattice, spec: TileSpec, pieces: Pieces) -> list[int]:
    """Return the number of the tile, among those cut, that each piece comes from."""
    if lattice.bond.is_square_cut:
        turns = [0]
        if spec.allow_rotation_of_offcuts:
            turns = [0, 1, 2, 3] if abs(lattice.w - lattice.h) < _EPS else [0, 2]
        kerf = 0.0 if spec.pattern is Bond.MOSAIC else float(spec.kerf_mm)
        return pack_rectangles(_rectangles(spec, pieces), (lattice.w, lattice.h), kerf, turns)
    step, turns_count = {
        Bond.HEXAGON: (60.0, 6),
        Bond.HERRINGBONE: (180.0, 2),
    }.get(lattice.bond, (90.0, 4) if abs(lattice.w - lattice.h) < _EPS else (180.0, 2))
    return pack_shapes(
        list(in_tile(pieces)), float(spec.kerf_mm), step, turns_count if spec.allow_rotation_of_offcuts else 1
    )


def in_tile(pieces: Pieces) -> Any:
    """Return the pieces' shapes in their tile's own frame: centred, standing tiles laid down."""
    shapes = pieces.shapes if pieces.shapes is not None else shapely.box(*pieces.boxes.T)
    coordinates, owner = shapely.get_coordinates(shapes, return_index=True)
    middle = (pieces.tiles[:, :2] + pieces.tiles[:, 2:]) / 2
    local = coordinates - middle[owner]
    standing = pieces.turns[owner] == 1
    local[standing] = np.column_stack((local[standing, 1], -local[standing, 0]))
    return shapely.set_coordinates(np.array(shapes, dtype=object, copy=True), local)


def _rectangles(spec: TileSpec, pieces: Pieces) -> list[Piece]:
    widths, heights = _sizes(pieces)
    if spec.pattern is Bond.MOSAIC:
        # A sheet is cut between its chips, so every side is as good as a factory edge; a chip cut through
        # is used up whole.
        w = _whole_chips(widths, float(spec.width_mm), float(spec.joint_mm), float(spec.unit_width_mm))
        h = _whole_chips(heights, float(spec.height_mm), float(spec.joint_mm), float(spec.unit_height_mm))
        return [Piece(a, b, False, False, False, False) for a, b in zip(w, h, strict=True)]
    near = np.abs(pieces.boxes - pieces.tiles) < 1e-3
    return [
        Piece(float(a), float(b), bool(n[0]), bool(n[2]), bool(n[1]), bool(n[3]))
        for a, b, n in zip(widths, heights, near, strict=True)
    ]


def _whole_chips(sizes: Floats, chip: float, joint: float, sheet: float) -> list[float]:
    chips = np.ceil((sizes + joint) / (chip + joint) - 1e-6)
    return [float(v) for v in np.minimum(chips * (chip + joint) - joint, sheet)]


def sides_of(lattice: Lattice, field: Field, pieces: Pieces) -> tuple[float | None, ...]:
    """Return the mean size of the pieces along the left, right, bottom and top of the face (room's frame)."""
    boxes = np.vstack((pieces.full_boxes, pieces.boxes))
    box = field.box
    if field.angle:
        shapes = pieces.shapes if pieces.shapes is not None else shapely.box(*pieces.boxes.T)
        whole: Any = shapely.polygons(pieces.full)
        everything: Any = np.append(whole, np.asarray(shapes))
        boxes = shapely.bounds(turned(everything, field.angle)).reshape(-1, 4)
        box = tuple(float(v) for v in turned(field.polygon, field.angle).bounds)  # type: ignore[assignment]
    means: list[float | None] = []
    for side, axis in ((0, 0), (2, 0), (1, 1), (3, 1)):
        touching = np.abs(boxes[:, side] - box[side]) < 1e-3
        sizes = boxes[touching, axis + 2] - boxes[touching, axis]
        means.append(float(sizes.mean()) if len(sizes) else None)
    return tuple(means)


def turned(shape: Any, angle: float) -> Any:
    """Return *shape* turned counter-clockwise about the origin by *angle* degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return shapely.transform(shape, lambda xy: xy @ np.array([[c, s], [-s, c]]))


def imbalance_of(lattice: Lattice, sides: tuple[float | None, ...]) -> float:
    """Return how far opposite sides differ, as fractions of the tile, both directions added."""
    total = 0.0
    for a, b, size in ((sides[0], sides[1], lattice.w), (sides[2], sides[3], lattice.h)):
        total += abs((a or 0.0) - (b or 0.0)) / size
    return round(total, 6)


BALANCED = 0.02  # sides within two hundredths of a tile look alike


def best_start(lattice: Lattice, spec: TileSpec, field: Field) -> Trial:
    """Return the best phase.

    First the smallest cut: in rows, the worst piece no further under the wanted size than can be had (to a
    tenth of a tile); in other patterns, where small pieces cannot be avoided, none under a tenth of a
    tile. Then balance, unless the spec gives it up; then the fewest tiles; then looks.
    """
    trials = [_trial(lattice, spec, field, px, py) for px, py in phases(lattice, spec, field)]
    trials = _least(trials, [_severity(lattice, trial.verdict) for trial in trials])
    if spec.keep_balance and lattice.bond.is_square_cut:
        trials = _least(trials, [int(trial.imbalance > BALANCED) for trial in trials])
    bounds = [_bound(lattice, trial.pieces) for trial in trials]
    best: tuple[tuple[float, ...], Trial] | None = None
    order = sorted(range(len(trials)), key=lambda i: (bounds[i], trials[i].imbalance, i))
    for place in order[: _MOST_PACKED if lattice.bond.is_square_cut else 8]:
        if best is not None and bounds[place] > best[0][0]:
            break
        trial = trials[place]
        used = sources(lattice, spec, trial.pieces)
        needed = len(trial.pieces.full) + (max(used) + 1 if used else 0)
        smallest = -round(trial.verdict.smallest or 1.0, 6)
        key = (needed, trial.verdict.undersized, trial.imbalance, len(used), smallest, place)
        if best is None or key < best[0]:
            best = (key, trial)
    assert best is not None
    return best[1]


def _severity(lattice: Lattice, verdict: Verdict) -> int:
    if lattice.bond.is_square_cut:
        return math.ceil(verdict.shortfall * 10 - 1e-4)
    smallest = 1.0 if verdict.smallest is None else verdict.smallest
    return 0 if smallest >= 0.1 else 1 if smallest >= 0.05 else 2


def _least(trials: list[Trial], ranks: list[int]) -> list[Trial]:
    least = min(ranks)
    return [trial for trial, rank in zip(trials, ranks, strict=True) if rank == least]


def _trial(lattice: Lattice, spec: TileSpec, field: Field, px: float, py: float) -> Trial:
    pieces = pieces_at(lattice, field, px, py, exact=False)
    imbalance = imbalance_of(lattice, sides_of(lattice, field, pieces))
    return Trial(px, py, pieces, judge(lattice, spec, field, pieces), imbalance)


def _bound(lattice: Lattice, pieces: Pieces) -> int:
    """Return how many tiles the pieces need at least."""
    by_area = math.ceil(float(pieces.areas.sum()) / lattice.tile_area - 1e-9)
    pairs = 0 if lattice.bond.is_square_cut else math.ceil(len(pieces.boxes) / 2)
    return len(pieces.full) + max(by_area, pairs)


def phases(lattice: Lattice, spec: TileSpec, field: Field) -> list[tuple[float, float]]:
    """Return the phases worth trying, in a fixed order."""
    if lattice.bond.is_rows and not (field.angle and field.cells is None):
        x = _row_phases(
            field.xs, lattice.w, lattice.pitch_x, least_row_cut(spec) * lattice.pitch_x - lattice.j
        )
        y = _row_phases(
            field.ys, lattice.h, lattice.pitch_y, float(spec.smallest_fraction) * lattice.pitch_y - lattice.j
        )
        if lattice.f:
            shifts = [k * lattice.f * lattice.pitch_x for k in range(1, 3)]
            x = _few((at + shift for shift in [0.0, *shifts] for at in x), lattice.pitch_x, 2 * _MOST_PHASES)
        if field.cells is None:
            x, y = x[:8], y[:8]
        return list(product(x, y))
    return _free_phases(lattice, spec, field)


def _row_phases(sides: tuple[float, ...], size: float, pitch: float, least: float) -> list[float]:
    low, high, *others = sides
    joint = pitch - size
    middle = [(low + high) / 2, *((a + b) / 2 for a, b in ((low, o) for o in others))]
    middle += [(o + high) / 2 for o in others]
    wanted = [*(m + shift for m in middle[:1] for shift in (-size / 2, joint / 2))]
    wanted += [low, high - size, low - (size - least), high - least]
    for other in others:
        wanted += [other, other - size, other + joint, other - size - joint]
    wanted += [m + shift for m in middle[1:] for shift in (-size / 2, joint / 2)]
    for other in others:
        wanted += [other - (size - least), other - least]
    return _few(wanted, pitch, _MOST_PHASES)


def _few(values: Iterable[float], pitch: float, most: int) -> list[float]:
    seen: dict[int, float] = {}
    for value in values:
        phase = math.fmod(value, pitch)
        phase += pitch if phase < 0 else 0.0
        seen.setdefault(round(phase * 1000) % max(round(pitch * 1000), 1), phase)
    return list(seen.values())[:most]


def _free_phases(lattice: Lattice, spec: TileSpec, field: Field) -> list[tuple[float, float]]:
    """Phases of a pattern that no wall is parallel to: symmetric about the middle, at corners, on a grid."""
    centre = field.polygon.envelope.centroid
    if field.angle:
        centre = turned(turned(field.polygon, field.angle).envelope.centroid, -field.angle)
    w, h, px, py = lattice.w, lattice.h, lattice.pitch_x, lattice.pitch_y
    anchors = [
        (-w / 2, -h / 2),
        (lattice.j / 2, lattice.j / 2),
        (-w / 2, lattice.j / 2),
        (lattice.j / 2, -h / 2),
    ]
    if lattice.bond is Bond.HEXAGON:
        anchors = [(0.0, 0.0), (px / 2, 0.0), (0.0, px / math.sqrt(3)), (px / 4, py / 2)]
    found = [(centre.x + a, centre.y + b) for a, b in anchors]
    outer = field.polygon.geoms[0].exterior if hasattr(field.polygon, "geoms") else field.polygon.exterior
    # Half the kerf inside the tile's diagonal: both triangles of a tile cut corner to corner are used.
    k = float(spec.kerf_mm) / math.sqrt(2)
    shifts = (
        [(0.0, 0.0), (k, 0.0), (-k, 0.0), (0.0, k), (0.0, -k)]
        if lattice.bond is Bond.DIAGONAL
        else [(0.0, 0.0)]
    )
    corners = list(outer.coords)[:-1][:4]
    found += [(x + a, y + b) for x, y in corners for a, b in shifts]
    steps = 4 if float(field.polygon.area) / lattice.module_area < 400 else 2
    found += [
        (centre.x + a * px / steps, centre.y + b * py / steps) for a in range(steps) for b in range(steps)
    ]
    return found

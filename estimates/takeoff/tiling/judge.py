"""How good a layout is: the size of its cuts, and the balance of opposite sides."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from .field import Field, Pieces, turned
from .patterns import Floats, Lattice
from .spec import Bond, TileSpec

BALANCED = 0.02  # sides within two hundredths of a tile look alike
_SMALL, _SLIVER = 0.1, 0.02  # of a tile by area: awkward, and not to be had at all


@dataclass(frozen=True)
class Verdict:
    """How the cuts of a layout are judged.

    *severity* ranks them (less is better): first the pieces along the outermost sides, then all.
    *smallest*: the smallest cut, as a fraction of its tile or chip, and *smallest_mm* its smaller side (None:
    no cuts).
    """

    undersized: int
    severity: tuple[int, int]
    smallest: float | None
    smallest_mm: float | None


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

    In rows a cut is measured along its tile's edges (mosaic: the chip at the cut), joint included on both
    sides of the comparison: half of a half-bond tile is (tile - joint)/2 and is a half tile on site. A side
    that the whole face spans is not a cut that a better start could avoid. Other patterns are judged by area,
    and ranked by their share of small pieces, since some can never be avoided.

    In rows the rank is the root mean square of what the cuts lack, to a tenth of a tile: a sliver weighs more
    than several cuts just under a half, and a trifle does not outweigh tiles.
    """
    if not len(pieces.boxes):
        return Verdict(0, (0, 0), None, None)
    widths, heights = _cut_sizes(lattice, pieces)
    wanted = float(spec.smallest_fraction)
    if not lattice.bond.is_square_cut:
        shares = pieces.areas / lattice.tile_area
        short = wanted - shares
    else:
        pitch_x, pitch_y = lattice.chip_pitch
        span_x, span_y = field.box[2] - field.box[0], field.box[3] - field.box[1]
        least_x = min(least_row_cut(spec) * pitch_x - lattice.j, span_x)
        least_y = min(wanted * pitch_y - lattice.j, span_y)
        shares = np.minimum(widths / (pitch_x - lattice.j), heights / (pitch_y - lattice.j))
        short = np.maximum((least_x - widths) / pitch_x, (least_y - heights) / pitch_y)
    short = np.where(short > 1e-5, short, 0.0)
    if lattice.bond.is_square_cut:
        at_side = (np.abs(pieces.boxes - np.array(field.box)) < lattice.j + 1e-3).any(axis=1)
        severity = (_rank(short[at_side]), _rank(short))
    else:
        tenths = math.ceil(10 * float((shares < _SMALL).mean()))
        severity = (int(bool((shares < _SLIVER).any())), tenths)
    return Verdict(
        int(np.count_nonzero(short)),
        severity,
        float(shares.min()),
        float(min(widths.min(), heights.min())),
    )


def _rank(short: Floats) -> int:
    return math.ceil(10 * math.sqrt(float(short @ short) / len(short)) - 1e-4) if len(short) else 0


def _cut_sizes(lattice: Lattice, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return the width and height that a cut leaves: of the piece, or of the mosaic chip that is cut."""
    if lattice.bond is not Bond.MOSAIC:
        return pieces.sizes
    low = _chip_left(lattice, pieces.boxes[:, :2] - pieces.tiles[:, :2], np.array([False, False]))
    high = _chip_left(lattice, pieces.boxes[:, 2:] - pieces.tiles[:, :2], np.array([True, True]))
    both = np.minimum(low, high)
    return both[:, 0], both[:, 1]


def _chip_left(lattice: Lattice, at: Floats, is_end: NDArray[np.bool_]) -> Floats:
    """Return what a cut at *at* from the sheet's corner leaves of the chip it meets (whole: the chip)."""
    pitch = np.array(lattice.chip_pitch)
    chip = pitch - lattice.j
    into = np.mod(at + 1e-6, pitch) - 1e-6
    left = np.where(is_end, into, chip - into)
    # In the joint, or at its edge, no chip is cut.
    return np.where((left <= 1e-5) | (left > chip), chip, left)


def sides_of(lattice: Lattice, field: Field, pieces: Pieces) -> tuple[float | None, ...]:
    """Return the mean size of the pieces along the left, right, bottom and top of the face.

    Rows are looked at along their own axes, other patterns along the room's.
    """
    boxes = np.vstack((pieces.full_boxes, pieces.boxes))
    tiles = np.vstack((pieces.full_boxes, pieces.tiles))
    box = field.box
    if field.angle and not lattice.bond.is_square_cut:
        shapes = pieces.shapes if pieces.shapes is not None else shapely.box(*pieces.boxes.T)
        whole: Any = shapely.polygons(pieces.full)
        everything: Any = np.append(whole, np.asarray(shapes))
        boxes = shapely.bounds(turned(everything, field.angle)).reshape(-1, 4)
        box = tuple(float(v) for v in turned(field.polygon, field.angle).bounds)  # type: ignore[assignment]
    means: list[float | None] = []
    for side, axis in ((0, 0), (2, 0), (1, 1), (3, 1)):
        touching = np.abs(boxes[:, side] - box[side]) < 1e-3
        sizes = boxes[touching, axis + 2] - boxes[touching, axis]
        if lattice.bond is Bond.MOSAIC:
            sizes = _side_chips(lattice, tiles[touching], boxes[touching], side)
        means.append(float(sizes.mean()) if len(sizes) else None)
    return tuple(means)


def _side_chips(lattice: Lattice, tiles: Floats, boxes: Floats, side: int) -> Floats:
    corner = boxes[:, 2:] if side >= 2 else boxes[:, :2]
    left = _chip_left(lattice, corner - tiles[:, :2], np.array([side >= 2, side >= 2]))
    return np.asarray(left[:, side % 2], dtype=np.float64)


def imbalance_of(lattice: Lattice, sides: tuple[float | None, ...]) -> float:
    """Return how far opposite sides differ, as fractions of the tile, both directions added."""
    total = 0.0
    for a, b, size in ((sides[0], sides[1], lattice.w), (sides[2], sides[3], lattice.h)):
        total += abs((a or 0.0) - (b or 0.0)) / size
    return round(total, 6)

"""The tiles of an endless pattern over a box, in the pattern's own frame (floats, mm).

Every pattern is a lattice with a phase (px, py): moving the phase moves the whole pattern. Tiles come as an
array of corners ``(n, k, 2)``, counter-clockwise, and an array of quarter turns ``(n,)`` (herringbone: 0
lying, 1 standing), from which a piece can be carried back into its tile.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from .spec import Bond, TileSpec

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Box: TypeAlias = tuple[float, float, float, float]

PLACES = 6  # decimals of a millimetre kept in the pattern's frame


@dataclass(frozen=True)
class Lattice:
    """A pattern with its measures as floats: unit *w* x *h*, joint *j*, row shift *f* of the module.

    *chips*: how many chips a mosaic sheet has each way; (1, 1) for single tiles.
    """

    bond: Bond
    w: float
    h: float
    j: float
    f: float
    chips: tuple[int, int] = (1, 1)

    @property
    def chip_pitch(self) -> tuple[float, float]:
        """Distance from chip to chip, so that the joints between sheets match those between chips."""
        return self.pitch_x / self.chips[0], (self.h + self.j) / self.chips[1]

    @property
    def pitch_x(self) -> float:
        return self.w + self.j

    @property
    def pitch_y(self) -> float:
        if self.bond is Bond.HEXAGON:
            return (self.w + self.j) * math.sqrt(3) / 2
        return self.h + self.j

    @property
    def tile_area(self) -> float:
        return self.w * self.w * math.sqrt(3) / 2 if self.bond is Bond.HEXAGON else self.w * self.h

    @property
    def module_area(self) -> float:
        """Area of a tile with its share of the joints."""
        return self.pitch_x * self.pitch_y

    def rows(self, px: float, py: float, box: Box) -> Floats:
        """Return the rectangles ``(n, 4)`` as (x0, y0, x1, y1) of a pattern in rows that meet *box*."""
        x0, y0, x1, y1 = box
        first = math.floor((y0 - py - self.h) / self.pitch_y)
        last = math.ceil((y1 - py) / self.pitch_y)
        rows = np.arange(first, last + 1, dtype=np.float64)
        shifts = np.mod(rows * self.f + 1e-9, 1.0) * self.pitch_x if self.f else np.zeros_like(rows)
        left = math.floor((x0 - px - self.w) / self.pitch_x) - (1 if self.f else 0)
        right = math.ceil((x1 - px) / self.pitch_x)
        columns = np.arange(left, right + 1, dtype=np.float64)
        lefts = (px + shifts[:, None] + columns[None, :] * self.pitch_x).ravel()
        bottoms = np.repeat(py + rows * self.pitch_y, len(columns))
        keep = (lefts < x1) & (lefts + self.w > x0) & (bottoms < y1) & (bottoms + self.h > y0)
        lefts, bottoms = lefts[keep], bottoms[keep]
        return np.column_stack((lefts, bottoms, lefts + self.w, bottoms + self.h))

    def tiles(self, px: float, py: float, box: Box) -> tuple[Floats, Ints]:
        """Return the corners of all tiles that may meet *box*, and their quarter turns."""
        turns = None
        if self.bond is Bond.HERRINGBONE:
            corners, turns = self._herringbone(px, py, box)
        elif self.bond is Bond.HEXAGON:
            corners = self._hexagons(px, py, box)
        else:
            corners = corners_of(self.rows(px, py, box))
        # To a millionth, as the field is: sides that meet must meet exactly, or clipping leaves spikes.
        corners = np.round(corners, PLACES)
        return corners, np.zeros(len(corners), dtype=np.int64) if turns is None else turns

    def _hexagons(self, px: float, py: float, box: Box) -> Floats:
        radius = self.w / math.sqrt(3)
        rows = np.arange(
            math.floor((box[1] - py - radius) / self.pitch_y),
            math.ceil((box[3] - py + radius) / self.pitch_y) + 1,
        )
        columns = np.arange(
            math.floor((box[0] - px - self.w) / self.pitch_x) - 1,
            math.ceil((box[2] - px + self.w) / self.pitch_x) + 1,
        )
        shift = np.mod(rows, 2) * (self.pitch_x / 2)
        xs = (px + shift[:, None] + columns[None, :] * self.pitch_x).ravel()
        ys = np.repeat(py + rows * self.pitch_y, len(columns)).astype(np.float64)
        angles = np.radians(np.arange(6) * 60 + 30)
        ring = np.column_stack((np.cos(angles), np.sin(angles))) * radius
        keep = (
            (xs - self.w / 2 < box[2])
            & (xs + self.w / 2 > box[0])
            & (ys - radius < box[3])
            & (ys + radius > box[1])
        )
        centres = np.column_stack((xs[keep], ys[keep]))
        return np.asarray(centres[:, None, :] + ring[None, :, :], dtype=np.float64)

    def _herringbone(self, px: float, py: float, box: Box) -> tuple[Floats, Ints]:
        # The long side lies along x. With modules L and W (tile plus joint), lying tiles climb the
        # diagonal by (W, W), a standing tile follows each, and (L, -L) leads to the next stair:
        # the cell spanned is 2 L W, that is exactly the two tiles.
        long, short = max(self.w, self.h), min(self.w, self.h)
        big, small = long + self.j, short + self.j
        # m counts along (1, 1) and n along (1, -1) from the box's middle; half its span and a tile beyond.
        half = ((box[2] - box[0]) + (box[3] - box[1])) / 4 + big
        mid_x, mid_y = (box[0] + box[2]) / 2 - px, (box[1] + box[3]) / 2 - py
        m_mid, n_mid = round((mid_x + mid_y) / (2 * small)), round((mid_x - mid_y) / (2 * big))
        m_half, n_half = math.ceil(half / small) + 1, math.ceil(half / big) + 1
        m = np.arange(m_mid - m_half, m_mid + m_half + 1)
        n = np.arange(n_mid - n_half, n_mid + n_half + 1)
        xs = (px + m[:, None] * small + n[None, :] * big).ravel().astype(np.float64)
        ys = (py + m[:, None] * small - n[None, :] * big).ravel().astype(np.float64)
        lying = np.column_stack((xs, ys, xs + long, ys + short))
        standing = np.column_stack((xs + big, ys + small - big, xs + big + short, ys + small - big + long))
        both = np.vstack((lying, standing))
        turns = np.repeat(np.array([0, 1], dtype=np.int64), len(xs))
        keep = (both[:, 0] < box[2]) & (both[:, 2] > box[0]) & (both[:, 1] < box[3]) & (both[:, 3] > box[1])
        return corners_of(both[keep]), turns[keep]


def corners_of(boxes: Floats) -> Floats:
    """Return the four corners, counter-clockwise from the lower left, of each (x0, y0, x1, y1)."""
    return np.asarray(boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 4, 2), dtype=np.float64)


def lattice_of(spec: TileSpec) -> Lattice:
    """Return the lattice of *spec*."""
    w, h, j = float(spec.unit_width_mm), float(spec.unit_height_mm), float(spec.joint_mm)
    shift = float(spec.offset_fraction) if spec.pattern is Bond.OFFSET else 0.0
    chips = (1, 1)
    if spec.pattern is Bond.MOSAIC:
        chips = (
            max(round((w + j) / (float(spec.width_mm) + j)), 1),
            max(round((h + j) / (float(spec.height_mm) + j)), 1),
        )
    return Lattice(spec.pattern, w, h, j, shift, chips)

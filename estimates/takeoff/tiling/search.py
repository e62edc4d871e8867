"""Where the pattern starts: candidates worth trying, and the best of them.

A cheapest start has some tile edge at a wall, a cut of just the smallest size, or a symmetry about the
middle: between those positions the counts do not change. So only those phases are tried, in a fixed order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from .field import THIN, Field, Pieces, in_tile, pieces_at, turned
from .judge import BALANCED, Verdict, imbalance_of, judge, least_row_cut, sides_of
from .patterns import Lattice
from .reuse import Piece, pack_rectangles, pack_shapes
from .spec import Bond, TileSpec

_EPS = 1e-6
_MOST_PHASES = 9
_FINE = 8
_MOST_PACKED_PIECES = 6000  # bounds the time; by count, so that the same input gives the same layout


@dataclass(frozen=True)
class Trial:
    px: float
    py: float
    pieces: Pieces
    verdict: Verdict
    imbalance: float = 0.0


def best_start(lattice: Lattice, spec: TileSpec, field: Field) -> Trial:
    """Return the best phase.

    First the cuts: no further under the wanted size than must be. Then balance, unless the spec gives it up;
    then the fewest tiles; then looks.
    """
    trials = [_trial(lattice, spec, field, px, py) for px, py in phases(lattice, spec, field)]
    around: set[tuple[float, float]] = set()
    for _ in range(2):
        trials += _near_by(lattice, spec, field, trials, around)
    trials = [
        replace(trial, imbalance=imbalance_of(lattice, sides_of(lattice, field, trial.pieces)))
        for trial in _least(trials, [trial.verdict.severity for trial in trials])
    ]
    if spec.keep_balance:
        trials = _least(trials, [(int(trial.imbalance > BALANCED), 0) for trial in trials])
    bounds = [_bound(lattice, trial.pieces) for trial in trials]
    best: tuple[tuple[float, ...], Trial] | None = None
    order = sorted(range(len(trials)), key=lambda i: (bounds[i], trials[i].imbalance, i))
    packed = 0
    for place in order:
        if best is not None and (bounds[place] > best[0][0] or packed > _MOST_PACKED_PIECES):
            break
        trial = trials[place]
        used = sources(lattice, spec, trial.pieces)
        # Shapes cost more to compare than rectangles.
        packed += len(used) * (1 if lattice.bond.is_square_cut else 10)
        needed = len(trial.pieces.full) + (max(used) + 1 if used else 0)
        smallest = -round(trial.verdict.smallest or 1.0, 6)
        key = (needed, trial.verdict.undersized, trial.imbalance, len(used), smallest, place)
        if best is None or key < best[0]:
            best = (key, trial)
    assert best is not None
    return best[1]


def _near_by(
    lattice: Lattice, spec: TileSpec, field: Field, trials: list[Trial], around: set[tuple[float, float]]
) -> list[Trial]:
    """Try round the best starts found so far, unless they are in *around*; add them to it.

    In rows each of the two best is moved along one axis at a time, an eighth of a tile each; only straight
    rows on a rectangle need no more than the first starts. In a free pattern a small shift of the two best
    may take slivers away. Of starts of equal rank the first along either axis are taken, so that a room and
    its mirror at the diagonal are searched alike.
    """
    ranks = [(trial.verdict.severity, _bound(lattice, trial.pieces)) for trial in trials]
    order = [trial for _, trial in sorted(zip(ranks, trials, strict=True), key=lambda pair: pair[0])]
    best = [(trial.px, trial.py) for trial in order[:2]]
    if lattice.bond is Bond.STRAIGHT:
        # As seen from the room's own corner, so that where the room lies changes nothing.
        ranked = [
            (
                rank,
                _from(field.box[0], trial.px, lattice.pitch_x),
                _from(field.box[1], trial.py, lattice.pitch_y),
            )
            for rank, trial in zip(ranks, trials, strict=True)
        ]
        places = range(len(trials))
        along_x = sorted(places, key=lambda i: (ranked[i][0], ranked[i][1], ranked[i][2]))[:2]
        along_y = sorted(places, key=lambda i: (ranked[i][0], ranked[i][2], ranked[i][1]))[:2]
        best = list(dict.fromkeys((trials[i].px, trials[i].py) for i in [*along_x, *along_y]))
    fresh = [start for start in best if start not in around]
    around.update(best)
    if not lattice.bond.is_square_cut:
        if order[0].verdict.severity == (0, 0):
            return []
        step_x, step_y = lattice.pitch_x / 12, lattice.pitch_y / 12
        shifts = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1)]
        found = [(px + a * step_x, py + b * step_y) for px, py in fresh for a, b in shifts]
    elif lattice.bond is Bond.MOSAIC or (not lattice.f and field.cells is not None and len(field.cells) == 1):
        return []
    else:
        step_x, step_y = lattice.pitch_x / _FINE, lattice.pitch_y / _FINE
        found = [
            start
            for px, py in fresh
            for k in range(1, _FINE)
            for start in ((px + k * step_x, py), (px, py + k * step_y))
        ]
    return [_trial(lattice, spec, field, px, py) for px, py in found]


def _from(corner: float, phase: float, pitch: float) -> float:
    return round((phase - corner) % pitch, 6) % pitch


def _least(trials: list[Trial], ranks: list[tuple[int, int]]) -> list[Trial]:
    least = min(ranks)
    return [trial for trial, rank in zip(trials, ranks, strict=True) if rank == least]


def _trial(lattice: Lattice, spec: TileSpec, field: Field, px: float, py: float) -> Trial:
    pieces = pieces_at(lattice, field, px, py, exact=False)
    return Trial(px, py, pieces, judge(lattice, spec, field, pieces))


def _bound(lattice: Lattice, pieces: Pieces) -> int:
    """Return how many tiles the pieces need at least."""
    by_area = math.ceil(float(pieces.areas.sum()) / lattice.tile_area - 1e-9)
    pairs = 0 if lattice.bond.is_square_cut else math.ceil(len(pieces.boxes) / 2)
    return len(pieces.full) + max(by_area, pairs)


def sources(lattice: Lattice, spec: TileSpec, pieces: Pieces) -> list[int]:
    """Return the number of the tile, among those cut, that each piece comes from."""
    if lattice.bond.is_square_cut:
        turns = [0]
        if spec.allow_rotation_of_offcuts:
            turns = [0, 1, 2, 3] if abs(lattice.w - lattice.h) < _EPS else [0, 2]
        # A mosaic sheet is parted in a joint between chips, and that joint goes to neither piece.
        kerf = lattice.j if lattice.bond is Bond.MOSAIC else float(spec.kerf_mm)
        return pack_rectangles(_rectangles(lattice, pieces), (lattice.w, lattice.h), kerf, turns)
    step, turns_count = {
        Bond.HEXAGON: (60.0, 6),
        Bond.HERRINGBONE: (180.0, 2),
    }.get(lattice.bond, (90.0, 4) if abs(lattice.w - lattice.h) < _EPS else (180.0, 2))
    return pack_shapes(
        list(in_tile(pieces)), float(spec.kerf_mm), step, turns_count if spec.allow_rotation_of_offcuts else 1
    )


def _rectangles(lattice: Lattice, pieces: Pieces) -> list[Piece]:
    widths, heights = pieces.sizes
    if lattice.bond is Bond.MOSAIC:
        # A sheet is cut between its chips, so every side is as good as a factory edge; a chip cut through
        # is used up whole.
        pitch = np.array(lattice.chip_pitch)
        first = np.floor((pieces.boxes[:, :2] - pieces.tiles[:, :2]) / pitch + 1e-6)
        last = np.ceil((pieces.boxes[:, 2:] - pieces.tiles[:, :2]) / pitch - 1e-6)
        sizes = (last - first) * pitch - lattice.j
        return [Piece(float(a), float(b), False, False, False, False) for a, b in sizes]
    near = np.abs(pieces.boxes - pieces.tiles) < 1e-3
    # A strip across a narrow face (curb, sill) is cut on both sides in the layout, but one of them shows: it
    # gets a factory edge.
    near[:, 0] |= ~near[:, 2] & (widths < lattice.w - 1e-3)
    near[:, 1] |= ~near[:, 3] & (heights < lattice.h - 1e-3)
    return [
        Piece(float(a), float(b), bool(n[0]), bool(n[2]), bool(n[1]), bool(n[3]))
        for a, b, n in zip(widths, heights, near, strict=True)
    ]


def phases(lattice: Lattice, spec: TileSpec, field: Field) -> list[tuple[float, float]]:
    """Return the phases worth trying, in a fixed order."""
    if not lattice.bond.is_square_cut:
        return _free_phases(lattice, spec, field)
    pitch_x, pitch_y = lattice.chip_pitch
    j = lattice.j
    x = _row_phases(field.xs, pitch_x - j, pitch_x, least_row_cut(spec) * pitch_x - j)
    y = _row_phases(field.ys, pitch_y - j, pitch_y, float(spec.smallest_fraction) * pitch_y - j)
    if lattice.f:
        shifts = [k * lattice.f * lattice.pitch_x for k in range(3)]
        x = _few((at + shift for shift in shifts for at in x), lattice.pitch_x, 2 * _MOST_PHASES)
    if lattice.bond is Bond.MOSAIC:
        # Chips may start anywhere; the first sheet starts with the first chip, so none is begun for less.
        x = [_first_chip(field.xs[0], at, pitch_x, j) for at in x]
        y = [_first_chip(field.ys[0], at, pitch_y, j) for at in y]
    if field.cells is None:
        x, y = x[:8], y[:8]
    elif len(field.cells) == 1 and lattice.bond is Bond.STRAIGHT:
        x = _unlike(x, field.xs, pitch_x, j)
        y = _unlike(y, field.ys, pitch_y, j)
    return list(product(x, y))


def _unlike(phases: list[float], sides: tuple[float, ...], pitch: float, joint: float) -> list[float]:
    """Return the phases without those that mirror an earlier one: on a rectangle they cut the same pieces."""
    low, high = sides[0], sides[1]
    found: dict[tuple[float, ...], float] = {}
    for at in phases:
        left = max((at - low) % pitch - joint, 0.0)
        right = min((high - at) % pitch, pitch - joint)
        found.setdefault(tuple(sorted((round(left, 3), round(right, 3)))), at)
    return list(found.values())


def _first_chip(low: float, at: float, pitch: float, joint: float) -> float:
    """Return where the first chip begins that lies, whole or cut, beyond *low*; one chip begins at *at*."""
    start = low - math.fmod(low - at + pitch, pitch)
    # Where only a joint of the chip's pitch reaches beyond, the chip would be begun for nothing.
    return start + pitch if start + pitch - joint <= low + THIN else start


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

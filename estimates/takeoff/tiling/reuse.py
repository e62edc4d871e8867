"""Which pieces come out of the same tile.

A piece keeps every factory edge it has in the layout: the side that meets a joint is never a cut side.
Within that rule pieces are packed into as few tiles as a greedy search finds, so the count is sound (it can
be cut as stated) though not proven least.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np
import shapely
from shapely import affinity

_EPS = 1e-6


class Piece(NamedTuple):
    """A rectangle to cut, mm, and the sides on which it needs the tile's factory edge."""

    w: float
    h: float
    left: bool
    right: bool
    bottom: bool
    top: bool

    def turned(self, quarter_turns: int) -> Piece:
        """Return the piece turned counter-clockwise in its plane."""
        piece = self
        for _ in range(quarter_turns % 4):
            piece = Piece(piece.h, piece.w, piece.top, piece.bottom, piece.left, piece.right)
        return piece


class _Leftover(NamedTuple):
    w: float
    h: float
    left: bool
    right: bool
    bottom: bool
    top: bool
    tile: int


# Orders in which pieces are taken.
_ORDERS: tuple[Callable[[Piece], tuple[float, float]], ...] = (
    lambda piece: (-piece.w * piece.h, -max(piece.w, piece.h)),
    lambda piece: (-piece.w, -piece.h),
    lambda piece: (-piece.h, -piece.w),
)


def pack_rectangles(
    pieces: Sequence[Piece], tile: tuple[float, float], kerf: float, turns: Sequence[int]
) -> list[int]:
    """Return for each piece the number of the tile it is cut from (0, 1, … as tiles are opened).

    Best fit with straight cuts from edge to edge (guillotine), as a tile cutter makes them; the best of three
    orders. *turns* lists the quarter turns an offcut may be given (``[0]``, ``[0, 2]`` or ``[0, 1, 2, 3]``).

    For pieces that run through in one direction, each keeping one factory end, at most two fit a tile, and
    taking them in falling size pairs as many as can be paired: what fits a leftover now also fits later.
    """
    least = math.ceil(sum(piece.w * piece.h for piece in pieces) / (tile[0] * tile[1]) - _EPS)
    best: list[int] = []
    for rank in _ORDERS:
        result, opened, any_left = _pack(pieces, tile, kerf, turns, rank)
        if not best or opened <= max(best):
            best = result
        # Nothing better can come: the area asks for so many, or no leftover could ever be used.
        if opened <= least or not any_left:
            break
    return best


def _pack(
    pieces: Sequence[Piece],
    tile: tuple[float, float],
    kerf: float,
    turns: Sequence[int],
    rank: Callable[[Piece], tuple[float, float]],
) -> tuple[list[int], int, bool]:
    """Pack in one order; return the tiles, how many were opened, and whether any leftover was of use."""
    result = [0] * len(pieces)
    # Rounded, and factory edges before the index: like rooms are packed alike whatever order pieces come in.
    order = sorted(
        range(len(pieces)), key=lambda i: ([round(size, 3) for size in rank(pieces[i])], pieces[i][2:], i)
    )
    least_w = min((min(p.w, p.h) if 1 in turns else p.w for p in pieces), default=0.0)
    least_h = min((min(p.w, p.h) if 1 in turns else p.h for p in pieces), default=0.0)
    leftovers: list[_Leftover] = []
    opened, any_left = 0, False
    for index in order:
        found = _best(pieces[index], leftovers, turns)
        if found is None:
            source = _Leftover(*tile, True, True, True, True, opened)
            piece = pieces[index]
            opened += 1
        else:
            place, piece = found
            source = leftovers.pop(place)
        result[index] = source.tile
        kept = [
            rest
            for rest in _split(source, piece, kerf)
            if rest.w > least_w - _EPS and rest.h > least_h - _EPS
        ]
        any_left = any_left or bool(kept)
        leftovers += kept
    return result, opened, any_left


def _best(piece: Piece, leftovers: list[_Leftover], turns: Sequence[int]) -> tuple[int, Piece] | None:
    best: tuple[float, int, Piece] | None = None
    ways = [piece.turned(turn) for turn in turns] if leftovers else []
    for place, rest in enumerate(leftovers):
        for way in ways:
            if _fits(way, rest):
                spare = rest.w * rest.h - way.w * way.h
                if best is None or spare < best[0] - _EPS:
                    best = (spare, place, way)
                break
    return None if best is None else (best[1], best[2])


def _fits(piece: Piece, rest: _Leftover) -> bool:
    if piece.w > rest.w + _EPS or piece.h > rest.h + _EPS:
        return False
    # A piece with both factory ends is a whole tile long, and so must the leftover be.
    if piece.left and piece.right and piece.w < rest.w - _EPS:
        return False
    if piece.bottom and piece.top and piece.h < rest.h - _EPS:
        return False
    return not (
        (piece.left and not rest.left)
        or (piece.right and not rest.right)
        or (piece.bottom and not rest.bottom)
        or (piece.top and not rest.top)
    )


def _split(source: _Leftover, piece: Piece, kerf: float) -> list[_Leftover]:
    """Return what is left of *source*: two rectangles, by the guillotine cut that leaves the larger one."""
    rest_w, rest_h = source.w - piece.w - kerf, source.h - piece.h - kerf
    at_left = piece.left or (not piece.right and not source.left)
    at_bottom = piece.bottom or (not piece.top and not source.bottom)
    if not (piece.left or piece.right) and source.left and not source.right:
        at_left = False  # keep the one factory edge for a piece that needs it
    if not (piece.bottom or piece.top) and source.bottom and not source.top:
        at_bottom = False
    # The part beside the piece, and the part above (or below) it, without the corner both could have.
    side_l, side_r = (False, source.right) if at_left else (source.left, False)
    end_b, end_t = (False, source.top) if at_bottom else (source.bottom, False)
    near_l, near_r = (source.left, False) if at_left else (False, source.right)
    near_b, near_t = (source.bottom, False) if at_bottom else (False, source.top)
    if rest_w <= _EPS:
        near_l, near_r, rest_w = source.left, source.right, 0.0
    if rest_h <= _EPS:
        near_b, near_t, rest_h = source.bottom, source.top, 0.0
    full_side = _Leftover(rest_w, source.h, side_l, side_r, source.bottom, source.top, source.tile)
    full_end = _Leftover(source.w, rest_h, source.left, source.right, end_b, end_t, source.tile)
    if full_side.w * full_side.h >= full_end.w * full_end.h:
        options = [full_side, _Leftover(piece.w, rest_h, near_l, near_r, end_b, end_t, source.tile)]
    else:
        options = [full_end, _Leftover(rest_w, piece.h, side_l, side_r, near_b, near_t, source.tile)]
    return [option for option in options if option.w > _EPS and option.h > _EPS]


def pack_shapes(shapes: Sequence[Any], kerf: float, step_deg: float, turns: int) -> list[int]:
    """Return the tile number of each piece of any shape, at most two pieces to a tile.

    *shapes* are polygons in the tile's own frame, centred on the tile. Two pieces come out of one tile when,
    each at its own place in the tile (one of them turned by a multiple of *step_deg* that maps the tile on
    itself, *turns* of them), their convex hulls lie at least *kerf* apart: a straight cut then parts them
    and both keep their factory edges.
    """
    if not shapes:
        return []
    hulls = shapely.convex_hull(np.array(shapes, dtype=object))
    # Like pieces are compared once: a layout has few kinds and many pieces.
    kinds: dict[bytes, int] = {}
    of_kind: list[int] = []
    samples: list[Any] = []
    for hull, mark in zip(
        hulls, shapely.to_wkb(shapely.normalize(shapely.set_precision(hulls, 0.01))), strict=True
    ):
        if mark not in kinds:
            kinds[mark] = len(samples)
            samples.append(hull)
        of_kind.append(kinds[mark])
    fits = _compatible(samples, kerf, step_deg, turns)
    areas = shapely.area(np.array(samples, dtype=object))
    result = [0] * len(shapes)
    waiting: dict[int, list[int]] = {}  # kind -> tiles with room for a second piece
    opened = 0
    for index in sorted(range(len(shapes)), key=lambda i: (-areas[of_kind[i]], of_kind[i], i)):
        kind = of_kind[index]
        partner = next(
            (other for other in sorted(waiting, key=lambda k: (-areas[k], k)) if fits[other, kind]), None
        )
        if partner is None:
            result[index] = opened
            waiting.setdefault(kind, []).append(opened)
            opened += 1
        else:
            result[index] = waiting[partner].pop()
            if not waiting[partner]:
                del waiting[partner]
    return result


def _compatible(samples: list[Any], kerf: float, step_deg: float, turns: int) -> Any:
    base = np.array(samples, dtype=object)
    fits = np.zeros((len(samples), len(samples)), dtype=bool)
    for turn in range(turns):
        other = np.array([affinity.rotate(s, turn * step_deg, origin=(0, 0)) for s in samples], dtype=object)
        gap = shapely.distance(base[:, None], other[None, :])
        if kerf > 0:
            fits |= gap >= kerf - _EPS
        else:
            overlap = shapely.area(shapely.intersection(base[:, None], other[None, :]))
            fits |= overlap <= 1e-3
    return fits | fits.T

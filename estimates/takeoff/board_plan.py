"""Backer boards as they are hung on each face, and the whole boards they are cut from.

Boards go up in rows from the lower left corner, all one way on a face, a gap apart (common practice, no
source). What is narrower than a board is cut from one, either way round; cuts run from edge to edge, as a
scored board breaks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import count

from shapely.geometry import Polygon as Shape

from .cutting import CutPlan, CutSettings, Piece, RollKind, plan_cuts
from .faces import Placed
from .model import Material
from .phrases import gettext_noop, phrase
from .practice import Practice
from .result import BoardPiece, BoardPlan
from .space import on_grid, parts, polygon, rectangle
from .working import Figure, Origin, Round, Working

_GRID = Decimal("0.0001")
# A board is a board whatever it costs: the plan's cost counts them.
_ONE = 1
_WORK = 1_000_000
_OUTER_LIMIT_S = 60.0


@dataclass(frozen=True)
class _Way:
    """The pieces of a face with boards hung one way: outline, width and height."""

    placed: Placed
    pieces: tuple[tuple[Shape, Decimal, Decimal], ...]


def plan_boards(boarded: Sequence[Placed], board: Material, practice: Practice) -> BoardPlan:
    """Hang boards on every face and cut them from whole boards.

    Three choices are planned: all boards standing, all lying, and on each face the way of fewer pieces; the
    one of fewest boards is kept, then of fewest pieces. ``least`` counts boards by area, which no choice can
    go below.
    """
    width, height = board.facts["width"].to("mm"), board.facts["height"].to("mm")
    gap = practice.board_gap.mm
    standing = [_hang(placed, width, height, gap) for placed in boarded]
    lying = [_hang(placed, height, width, gap) for placed in boarded]
    fewest = [min(pair, key=lambda way: len(way.pieces)) for pair in zip(standing, lying, strict=True)]
    kind = RollKind(board.key, width.quantize(_GRID), height.quantize(_GRID), _ONE)
    plans = [_planned(ways, board, kind) for ways in (fewest, standing, lying)]
    best = min(plans, key=lambda found: (found.plan.cost_cents, len(found.pieces)))
    # What gaps leave bare is no board, and is taken off with every joint there may be.
    bare = gap * (width + height) / ((width + gap) * (height + gap))
    area = sum(placed.shape.area for placed in boarded) * (1 - float(bare))
    return BoardPlan(best.material, best.pieces, best.plan, math.ceil(area / float(width * height) - 1e-9))


def _planned(ways: Sequence[_Way], board: Material, kind: RollKind) -> BoardPlan:
    numbers = count(1)
    pieces = tuple(
        BoardPiece(
            f"B{next(numbers)}", way.placed.face.room, way.placed.face.key, polygon(shape), width, height
        )
        for way in ways
        for shape, width, height in way.pieces
    )
    settings = CutSettings(time_limit_s=_OUTER_LIMIT_S, work_limit=_WORK)
    cut = [Piece(piece.key, piece.width_mm, piece.height_mm, may_turn=True) for piece in pieces]
    return BoardPlan(board.key, pieces, plan_cuts(cut, [kind], settings), 0)


def _hang(placed: Placed, width: Decimal, height: Decimal, gap: Decimal) -> _Way:
    x0, y0, x1, y1 = placed.shape.bounds
    found = []
    for low_y, high_y in _rows(y0, y1, float(height), float(gap)):
        for low_x, high_x in _rows(x0, x1, float(width), float(gap)):
            cell = rectangle(low_x, low_y, high_x, high_y)
            for part in parts(placed.shape.intersection(cell)):
                a, b, c, d = part.bounds
                found.append((part, min(on_grid(c - a), width), min(on_grid(d - b), height)))
    return _Way(placed, tuple(found))


def _rows(low: float, high: float, size: float, gap: float) -> Iterator[tuple[float, float]]:
    while low < high - 0.01:
        yield low, min(low + size, high)
        low += size + gap


def boards_figure(material: Material, plan: CutPlan) -> Figure:
    """Return the boards to buy: those of the plan, in packs. No waste is added; it is in the plan."""
    work = Working(
        f"{material.key}.packs", phrase(gettext_noop("Packs of {material}"), material=material.name)
    )
    work.given(
        "n",
        phrase(gettext_noop("Boards taken by the cut plan, what is cut off included")),
        len(plan.rolls),
        "each",
        Origin.COMPUTED,
        phrase(gettext_noop("cut plan of the boards")),
    )
    work.given(
        "c",
        phrase(gettext_noop("Content of one {pack}"), pack=material.pack.label),
        material.pack.content.to("each"),
        "each",
        Origin.PRICE_LIST,
        phrase(gettext_noop("price list, {material}"), material=material.name),
    )
    work.step(
        "N", phrase(gettext_noop("Packs, rounded up once for the job")), "n / c", "each", Round.UP_WHOLE
    )
    return work.figure()

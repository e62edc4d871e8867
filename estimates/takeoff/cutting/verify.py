"""An independent check of a plan: it knows nothing of how the plan was found."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from .model import CutPlan, CutRoll, CutSettings, Piece, Placed, RollKind
from .sizes import ceil_units, floor_units

_Rect = tuple[int, int, int, int]


class PlanFault(AssertionError):
    """The plan cannot be cut as written; the message says where."""


def verify(
    plan: CutPlan,
    pieces: Sequence[Piece],
    kinds: Sequence[RollKind],
    settings: CutSettings | None = None,
) -> None:
    """Prove that every piece is placed once, inside its roll, and can be parted by straight cuts.

    Raises:
        PlanFault: a piece is missing, doubled, of the wrong size, outside its roll, overlaps another, or
            no sequence of edge-to-edge cuts with the kerf of *settings* parts the pieces.
    """
    settings = settings or CutSettings()
    kerf = ceil_units(settings.kerf_mm)
    by_key = {piece.key: piece for piece in pieces}
    kind_of = {kind.key: kind for kind in kinds}
    placed = [p for roll in plan.rolls for p in roll.placed]
    if sorted(p.piece_key for p in placed) != sorted(by_key):
        raise PlanFault("not every piece is placed exactly once")
    _check_numbers(plan, kind_of)
    for roll in plan.rolls:
        kind = kind_of[roll.kind_key]
        start = 0 if kind.is_stock else ceil_units(settings.trim_mm)
        bed = (0, start, floor_units(kind.width_mm), floor_units(kind.length_mm))
        rects = [_rect(p, by_key[p.piece_key]) for p in roll.placed]
        for p, rect in zip(roll.placed, rects, strict=True):
            if rect[0] < bed[0] or rect[1] < bed[1] or rect[2] > bed[2] or rect[3] > bed[3]:
                raise PlanFault(f"piece {p.piece_key} leaves roll {roll.number}")
        _check_overlaps(roll, rects)
        if not _separable(rects, kerf):
            raise PlanFault(f"roll {roll.number} cannot be parted by straight cuts")
        if rects and max(r[3] for r in rects) > ceil_units(roll.used_length_mm):
            raise PlanFault(f"roll {roll.number} uses more than it says")
        for o in roll.offcuts:
            rest = _box(o.x_mm, o.y_mm, o.across_mm, o.along_mm)
            if rest[2] > bed[2] or rest[3] > bed[3] or any(_overlap(rest, r) for r in rects):
                raise PlanFault(f"an offcut of roll {roll.number} is not free")
    cost = sum(0 if kind_of[r.kind_key].is_stock else kind_of[r.kind_key].cost_cents for r in plan.rolls)
    if cost != plan.cost_cents or plan.bound_cents > cost:
        raise PlanFault("the cost or its bound is wrong")


def _check_numbers(plan: CutPlan, kind_of: dict[str, RollKind]) -> None:
    taken: dict[str, int] = {}
    for roll in plan.rolls:
        taken[roll.kind_key] = taken.get(roll.kind_key, 0) + 1
        if any(p.roll != roll.number for p in roll.placed):
            raise PlanFault(f"a piece of roll {roll.number} names another roll")
    for key, count in taken.items():
        kind = kind_of[key]
        limit = kind.available if kind.available is not None else (1 if kind.is_stock else count)
        if count > limit:
            raise PlanFault(f"{count} rolls of {key} are planned, {limit} are on offer")


def _rect(placed: Placed, piece: Piece) -> _Rect:
    sides = (ceil_units(piece.across_mm), ceil_units(piece.along_mm))
    if placed.turned:
        if not piece.may_turn:
            raise PlanFault(f"piece {piece.key} must not be turned")
        sides = (sides[1], sides[0])
    box = _box(placed.x_mm, placed.y_mm, placed.across_mm, placed.along_mm)
    if (box[2] - box[0], box[3] - box[1]) != sides:
        raise PlanFault(f"piece {piece.key} is placed in another size")
    return box


def _box(x_mm: Decimal, y_mm: Decimal, across_mm: Decimal, along_mm: Decimal) -> _Rect:
    x, y = floor_units(x_mm), floor_units(y_mm)
    return x, y, x + ceil_units(across_mm), y + ceil_units(along_mm)


def _overlap(a: _Rect, b: _Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _check_overlaps(roll: CutRoll, rects: Sequence[_Rect]) -> None:
    ordered = sorted(range(len(rects)), key=lambda i: rects[i][1])
    for at, i in enumerate(ordered):
        for j in ordered[at + 1 :]:
            if rects[j][1] >= rects[i][3]:
                break
            if _overlap(rects[i], rects[j]):
                names = (roll.placed[i].piece_key, roll.placed[j].piece_key)
                raise PlanFault(f"pieces {names[0]} and {names[1]} of roll {roll.number} overlap")


def _separable(rects: Sequence[_Rect], kerf: int) -> bool:
    """Return whether edge-to-edge cuts, each *kerf* wide, part the rectangles.

    Any cut that is possible may be made at once: it never spoils another one.
    """
    todo = [list(rects)]
    while todo:
        group = todo.pop()
        if len(group) < 2:
            continue
        for low, high in ((1, 3), (0, 2)):
            group.sort(key=lambda r, low=low: r[low])  # type: ignore[misc]
            parts, reach = [[group[0]]], group[0][high]
            for rect in group[1:]:
                if rect[low] >= reach + kerf:
                    parts.append([rect])
                else:
                    parts[-1].append(rect)
                reach = max(reach, rect[high])
            if len(parts) > 1:
                todo.extend(parts)
                break
        else:
            return False
    return True

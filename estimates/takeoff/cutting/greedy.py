"""A first plan in no time: fill one roll after another, largest pieces first.

The fallback that always answers, and the starting point of the searches.
"""

from __future__ import annotations

from collections.abc import Sequence

from .blocks import Block, behind, beside, leaf
from .sizes import Job, Shape, Stock

Load = tuple[int, list[Block]]


def fill_roll(shapes: Sequence[Shape], left: list[int], width: int, length: int) -> list[Block]:
    """Cut from *left* (how many of each shape, changed here) what one roll takes; return its sections.

    Each section begins with the piece that is longest along the roll; the width beside it is filled with
    the widest pieces that are no longer than that, piled up one behind the other where they are shorter.
    """
    order = sorted(range(len(shapes)), key=lambda i: (-shapes[i].along, -shapes[i].across, i))
    sections: list[Block] = []
    while True:
        first = next(
            (i for i in order if left[i] and shapes[i].along <= length and shapes[i].across <= width), None
        )
        if first is None:
            return sections
        depth = shapes[first].along
        parts = []
        room = width
        while (column := _column(shapes, left, order, room, depth)) is not None:
            parts.append(column)
            room -= column.across
        section = beside(parts)
        sections.append(section)
        length -= section.along


def _column(
    shapes: Sequence[Shape], left: list[int], order: Sequence[int], room: int, depth: int
) -> Block | None:
    """Take the piece that comes first in *order* and fits, and pile up no wider ones behind it."""
    pile: list[Block] = []
    for i in order:
        while left[i] and shapes[i].across <= room and shapes[i].along <= depth:
            left[i] -= 1
            pile.append(leaf(i, shapes[i].across, shapes[i].along))
            if len(pile) == 1:
                room = shapes[i].across
            depth -= shapes[i].along
    return behind(pile) if pile else None


def fill_in_order(
    shapes: Sequence[Shape], stocks: Sequence[Stock], order: Sequence[int]
) -> list[Load] | None:
    """Use up each kind of roll in *order* (all that is available) until no piece is left.

    Returns None when pieces are left over at the end.
    """
    left = [shape.count for shape in shapes]
    loads: list[Load] = []
    for kind in order:
        stock = stocks[kind]
        taken = 0
        while any(left) and taken != stock.available:
            sections = fill_roll(shapes, left, stock.width, stock.length)
            if not sections:
                break
            loads.append((kind, sections))
            taken += 1
    return None if any(left) else loads


def shrink_last(loads: list[Load], stocks: Sequence[Stock]) -> list[Load]:
    """Change each roll, the last first, for the cheapest kind on offer that still holds its sections."""
    taken = [0] * len(stocks)
    for kind, _ in loads:
        taken[kind] += 1
    result = list(loads)
    for at in range(len(loads) - 1, -1, -1):
        kind, sections = result[at]
        across = max(b.across for b in sections)
        along = sum(b.along for b in sections)
        best = kind
        for other, stock in enumerate(stocks):
            free = stock.available < 0 or taken[other] < stock.available
            holds = across <= stock.width and along <= stock.length
            if free and holds and (stock.cost, stock.length) < (stocks[best].cost, stocks[best].length):
                best = other
        if best != kind:
            taken[kind] -= 1
            taken[best] += 1
            result[at] = (best, sections)
    return result


def first_plan(job: Job) -> list[Load] | None:
    """Return the cheapest of the plans that fill the rolls kind by kind, or None if none holds all."""
    stocks = job.stocks
    kinds = range(len(stocks))
    shelf = sorted((k for k in kinds if stocks[k].is_stock), key=lambda k: stocks[k].width * stocks[k].length)
    bought = [k for k in kinds if not stocks[k].is_stock]
    bought.sort(key=lambda k: stocks[k].cost / (stocks[k].width * stocks[k].length))
    orders = [shelf + [k] + [other for other in bought if other != k] for k in bought] or [shelf]
    orders += [order[len(shelf) :] for order in orders if shelf and bought]
    orders.append(sorted(kinds, key=lambda k: (-stocks[k].width, -stocks[k].length)))
    best: list[Load] | None = None
    for order in orders:
        loads = fill_in_order(job.shapes, stocks, order)
        if loads is None:
            continue
        loads = shrink_last(loads, stocks)
        if best is None or _score(loads, stocks) < _score(best, stocks):
            best = loads
    return best


def _score(loads: Sequence[Load], stocks: Sequence[Stock]) -> tuple[int, int]:
    return plan_cost(loads, stocks), length_used(loads, stocks)


def plan_cost(loads: Sequence[Load], stocks: Sequence[Stock]) -> int:
    """Return the cents of the rolls taken."""
    return sum(stocks[kind].cost for kind, _ in loads)


def length_used(loads: Sequence[Load], stocks: Sequence[Stock]) -> int:
    """Return the units of length used of the rolls bought (of all rolls, if none is bought)."""
    bought = [sections for kind, sections in loads if not stocks[kind].is_stock]
    return sum(b.along for sections in (bought or [s for _, s in loads]) for b in sections)

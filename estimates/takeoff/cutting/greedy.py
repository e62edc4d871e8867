"""A first plan in no time: fill one roll after another, largest pieces first.

The fallback that always answers, and the starting point of the searches.
"""

from __future__ import annotations

from collections.abc import Sequence

from .blocks import Block, behind, beside, leaf
from .sizes import Job, Shape, Stock

Load = tuple[int, list[Block]]


def _ways(shapes: Sequence[Shape]) -> list[Block]:
    """Return every piece each way it may lie, the longest along the roll first."""
    ways = [leaf(i, s.across, s.along) for i, s in enumerate(shapes)]
    ways += [leaf(i, s.along, s.across, turned=True) for i, s in enumerate(shapes) if s.may_turn]
    return sorted(ways, key=lambda b: (-b.along, -b.across, b.shape))


def fill_roll(shapes: Sequence[Shape], left: list[int], width: int, length: int) -> list[Block]:
    """Cut from *left* (how many of each shape, changed here) what one roll takes; return its sections.

    Each section begins with the piece that is longest along the roll; the width beside it is filled with
    the longest pieces that still fit, piled up one behind the other where they are shorter.
    """
    ways = _ways(shapes)
    sections: list[Block] = []
    while True:
        first = next((b for b in ways if left[b.shape] and b.along <= length and b.across <= width), None)
        if first is None:
            return sections
        parts: list[Block] = []
        room = width
        while (pile := _pile(ways, left, room, first.along)) is not None:
            parts.append(pile)
            room -= pile.across
        section = beside(parts)
        sections.append(section)
        length -= section.along


def _pile(ways: Sequence[Block], left: list[int], room: int, depth: int) -> Block | None:
    """Take the first piece that fits and pile up no wider ones behind it."""
    pile: list[Block] = []
    for way in ways:
        while left[way.shape] and way.across <= room and way.along <= depth:
            left[way.shape] -= 1
            pile.append(way)
            room = min(room, pile[0].across)
            depth -= way.along
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


def shrink_rolls(loads: Sequence[Load], stocks: Sequence[Stock]) -> list[Load]:
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
    orders = [[*shelf, k, *(other for other in bought if other != k)] for k in bought] or [shelf]
    orders += [order[len(shelf) :] for order in orders if shelf and bought]
    orders.append(sorted(kinds, key=lambda k: (-stocks[k].width, -stocks[k].length)))
    orders = [list(order) for order in dict.fromkeys(tuple(order) for order in orders)]
    plans = [loads for order in orders if (loads := fill_in_order(job.shapes, stocks, order)) is not None]
    return best_of([shrink_rolls(loads, stocks) for loads in plans], stocks)


def best_of(plans: Sequence[list[Load]], stocks: Sequence[Stock]) -> list[Load] | None:
    """Return the plan of least cents, then of least length; the first of equals."""
    return min(plans, key=lambda loads: score(loads, stocks), default=None)


def score(loads: Sequence[Load], stocks: Sequence[Stock]) -> tuple[int, int, int]:
    """Return what plans are compared by: cents, length used, then the greatest length left on one roll."""
    spare = max((stocks[k].length - sum(b.along for b in sections) for k, sections in loads), default=0)
    return plan_cost(loads, stocks), length_used(loads, stocks), -spare


def plan_cost(loads: Sequence[Load], stocks: Sequence[Stock]) -> int:
    """Return the cents of the rolls taken."""
    return sum(stocks[kind].cost for kind, _ in loads)


def length_used(loads: Sequence[Load], stocks: Sequence[Stock]) -> int:
    """Return the units of length used of the rolls bought (of all rolls, if none is bought)."""
    bought = [sections for kind, sections in loads if not stocks[kind].is_stock]
    return sum(b.along for sections in (bought or [s for _, s in loads]) for b in sections)

"""The cheapest set of whole rolls that is not proven too small: the bound where rolls of several widths mix.

One list of prices values every roll once and for all; a set of rolls may then look large enough that is
not, since it has too much of one width. So the sets are gone through, the cheapest first, and for each that
all prices so far let pass the programme of slices is solved on just these rolls: where it leaves pieces
uncut, its own prices prove the set too small, and may rule out dearer ones too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from heapq import heappop, heappush

from .sizes import Stock
from .slices import SliceProgramme, Way

_MOST_SETS = 20_000
_MOST_PROGRAMMES = 8


def cheapest_set(programme: SliceProgramme, floor: int, limit: int) -> int:
    """Return cents, from *floor* to *limit*, that every choice of ways costs at least.

    Args:
        programme: of all ways and rolls, solved.
        floor: cents that are proven already.
        limit: cents of a plan that is known.
    """
    stocks = programme.stocks
    if len({stock.width for stock in stocks if stock.available != 0}) < 2 or floor >= limit:
        return min(floor, limit)
    kinds = [at for at, stock in enumerate(stocks) if stock.cost > 0 and stock.available != 0]
    cuts = [(programme.supply(), programme.need())]
    heap: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, (0,) * len(kinds))]
    solved = 0
    for _ in range(_MOST_SETS):
        if not heap:
            break
        cents, last, counts = heappop(heap)
        if cents >= limit:
            return limit
        if cents >= floor:
            taken = _taken(stocks, kinds, counts)
            if all(sum(s * n for s, n in zip(supply, taken, strict=True)) >= need for supply, need in cuts):
                if solved == _MOST_PROGRAMMES:
                    return cents
                solved += 1
                cut = _proof(programme, taken)
                if cut is None:
                    return cents
                cuts.append(cut)
            floor = cents
        for at in range(last, len(kinds)):
            stock = stocks[kinds[at]]
            if stock.available < 0 or counts[at] < stock.available:
                more = (*counts[:at], counts[at] + 1, *counts[at + 1 :])
                heappush(heap, (cents + stock.cost, at, more))
    return min(floor, limit)


def _taken(stocks: Sequence[Stock], kinds: Sequence[int], counts: Sequence[int]) -> list[int]:
    """Return how many of each stock a set has; all of what costs nothing and is limited."""
    number = dict(zip(kinds, counts, strict=True))
    return [number.get(at, max(0, stock.available)) for at, stock in enumerate(stocks)]


def _proof(programme: SliceProgramme, taken: Sequence[int]) -> tuple[list[int], int] | None:
    """Return supply of each stock and need at prices that prove a set too small, or None if none do.

    A need above all supply (of nothing) stands for a set whose rolls are too narrow or short for a piece.
    """
    stocks = [replace(s, cost=0, available=n) for s, n in zip(programme.stocks, taken, strict=True)]
    offered = [stock for stock in stocks if stock.available]
    if not offered:
        return [1] * len(stocks), 1
    rows = [[way for way in row if _goes_on(way, offered)] for row in programme.rows]
    if not all(rows) or not _goes_on(programme.fixed, offered):
        return [0 if n else 1 for n in taken], 1
    small = SliceProgramme(rows, programme.fixed, offered)
    small.solve()
    supply = [0] * len(stocks)
    for at, stock in enumerate(stocks):
        supply[at] = small.slice_worth(stock.width) * stock.length
    need = small.need()
    have = sum(s * n for s, n in zip(supply, taken, strict=True))
    if need <= have:
        return None
    # On rolls that are wider or longer, faces may be laid and pieces turned in ways that these do not take:
    # of sets with such rolls nothing is proven here.
    fewer = any(len(few) < len(row) for few, row in zip(rows, programme.rows, strict=True))
    width, length = max(s.width for s in offered), max(s.length for s in offered)
    for at, stock in enumerate(stocks):
        if not taken[at] and (fewer or stock.width > width or stock.length > length):
            supply[at] = need
    return supply, need


def _goes_on(way: Way, offered: Sequence[Stock]) -> bool:
    return all(
        any(
            (across <= s.width and along <= s.length) or (turns and along <= s.width and across <= s.length)
            for s in offered
        )
        for across, along, turns in way
    )

"""The cheapest set of whole rolls that is not proven too small: the bound where rolls of several widths mix.

One list of prices values every roll once and for all; a set of rolls may then look large enough that is
not, since it has too much of one width. So the sets are gone through, the cheapest first, and for each that
all proofs so far let pass the programme of slices is solved on just these rolls (:mod:`.fullness`): where it
leaves pieces uncut, its own prices prove the set too small, and may rule out dearer ones too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from .fullness import Fullness, Taken
from .sizes import Stock

_MOST_SETS = 20_000
_MOST_PROGRAMMES = 30


@dataclass(frozen=True)
class Candidate:
    """A set of rolls; *share*: what the pieces take of it at least."""

    cents: int
    taken: Taken
    share: float


class CheapSets:
    """Goes through the sets of rolls, the cheapest first.

    Attributes:
        floor: cents that every set costs at least that is not proven too small.
    """

    def __init__(self, full: Fullness, floor: int, limit: int, fullest: float = 1.0) -> None:
        """*floor*: cents that are proven already; *limit*: cents of a plan that is known.

        *fullest*: sets after the first of which the pieces take a greater share are left out.
        """
        self.floor = floor
        self._fullest = fullest
        self._full = full
        self._limit = limit

    def __iter__(self) -> Iterator[Candidate]:
        """Yield the sets that are not proven too small; the programme is solved for the one last yielded.

        Ends at the limit, or when the programme was solved often enough.
        """
        stocks = self._full.stocks
        kinds = [at for at, stock in enumerate(stocks) if stock.cost > 0 and stock.available != 0]
        yet_to_solve = _MOST_PROGRAMMES
        is_proof = True
        for cents, taken in _by_cost(stocks, kinds):
            if is_proof:
                self.floor = max(self.floor, min(cents, self._limit))
            if cents >= self._limit:
                return
            most = 1.0 if is_proof else self._fullest
            if cents < self.floor or self._full.least_share(taken) > most:
                continue
            if not yet_to_solve:
                return
            yet_to_solve -= 1
            share = self._full.share(taken)
            if self._full.least_share(taken) <= most:
                is_proof = False
                yield Candidate(cents, taken, share)


def least_of(full: Fullness, kinds: Sequence[int], limit: int) -> int:
    """Return cents, *limit* at most, that rolls of only these kinds cost at least, by the proofs so far."""
    cents = 0
    for cents, taken in _by_cost(full.stocks, kinds):
        if cents >= limit or full.least_share(taken) <= 1:
            break
    return min(cents, limit)


def _by_cost(stocks: Sequence[Stock], kinds: Sequence[int]) -> Iterator[tuple[int, Taken]]:
    """Yield cents and rolls of sets of some kinds, the cheapest first, up to a limit in number.

    Each set has all of what costs nothing and is limited.
    """
    free = [max(0, stock.available) if stock.cost == 0 else 0 for stock in stocks]
    heap: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, (0,) * len(kinds))]
    for _ in range(_MOST_SETS):
        if not heap:
            return
        cents, last, counts = heappop(heap)
        taken = free.copy()
        for at, count in zip(kinds, counts, strict=True):
            taken[at] = count
        yield cents, tuple(taken)
        for at in range(last, len(kinds)):
            stock = stocks[kinds[at]]
            if stock.available < 0 or counts[at] < stock.available:
                more = (*counts[:at], counts[at] + 1, *counts[at + 1 :])
                heappush(heap, (cents + stock.cost, at, more))


def are_sets(stocks: Sequence[Stock]) -> bool:
    """Whether rolls of several widths are on offer, and none of them free in any number."""
    offered = [stock for stock in stocks if stock.available != 0]
    return len({stock.width for stock in offered}) > 1 and all(s.cost or s.available > 0 for s in offered)


def cheapest_set(full: Fullness, floor: int, limit: int) -> int:
    """Return cents, from *floor* to *limit*, that every choice of ways costs at least."""
    if floor >= limit or not are_sets(full.stocks):
        return min(floor, limit)
    sets = CheapSets(full, floor, limit)
    next(iter(sets), None)
    return min(sets.floor, limit)

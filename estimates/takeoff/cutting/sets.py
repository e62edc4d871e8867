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
# A set of which the pieces take a greater share is not worth a try.
_FULLEST = 0.993


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

    def __init__(self, full: Fullness, floor: int, limit: int) -> None:
        """*floor*: cents that are proven already; *limit*: cents of a plan that is known."""
        self.floor = floor
        self._full = full
        self._limit = limit

    def __iter__(self) -> Iterator[Candidate]:
        """Yield the sets that are not proven too small; the programme is solved for the one last yielded.

        After the first, sets that are hardly large enough are left out. Ends at the limit, or when the
        programme was solved often enough.
        """
        stocks = self._full.stocks
        kinds = [at for at, stock in enumerate(stocks) if stock.cost > 0 and stock.available != 0]
        heap: list[tuple[int, int, Taken]] = [(0, 0, (0,) * len(kinds))]
        yet_to_solve = _MOST_PROGRAMMES
        is_proof = True
        for _ in range(_MOST_SETS):
            if not heap:
                return
            cents, last, counts = heappop(heap)
            if is_proof:
                self.floor = max(self.floor, min(cents, self._limit))
            if cents >= self._limit:
                return
            for at in range(last, len(kinds)):
                stock = stocks[kinds[at]]
                if stock.available < 0 or counts[at] < stock.available:
                    more = (*counts[:at], counts[at] + 1, *counts[at + 1 :])
                    heappush(heap, (cents + stock.cost, at, more))
            taken = _taken(stocks, kinds, counts)
            most = 1.0 if is_proof else _FULLEST
            if cents < self.floor or self._full.least_share(taken) > most:
                continue
            if not yet_to_solve:
                return
            yet_to_solve -= 1
            share = self._full.share(taken)
            if self._full.least_share(taken) <= most:
                is_proof = False
                yield Candidate(cents, taken, share)


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


def _taken(stocks: Sequence[Stock], kinds: Sequence[int], counts: Sequence[int]) -> Taken:
    """Return how many of each stock a set has; all of what costs nothing and is limited."""
    number = dict(zip(kinds, counts, strict=True))
    return tuple(number.get(at, max(0, stock.available)) for at, stock in enumerate(stocks))

"""How full a given set of rolls gets, and proofs that a set is too small.

The programme of slices (:mod:`.slices`), with the rolls given instead of bought: it spreads the pieces so
that the same share of every width is used, and that share is the least. Above one, the set is too small, and
the programme's prices prove it; they may prove other sets too small as well. Well below one, the pieces are
likely to be cut from the set (:mod:`.fitting`). One programme serves all sets: only the lengths in it change.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from .pool import Fill
from .sizes import Stock
from .slices import Size, SliceProgramme, Source, Way, most_of

# The share of nothing.
_NOTHING = Fraction(1_000_000)

Taken = tuple[int, ...]  # how many of each stock


class Fullness(SliceProgramme):
    """The programme for one set after the other.

    Attributes:
        proofs: supply of each stock and need, at the prices of the sets so far: a set that supplies less than
            the need does not hold the pieces, however they are laid.
    """

    def __init__(self, rows: Sequence[Sequence[Way]], fixed: Way, stocks: Sequence[Stock]) -> None:
        self.proofs: list[tuple[list[int], int]] = []
        super().__init__(rows, fixed, _shortened(stocks, most_of(rows, fixed)))

    def _build(self) -> None:
        widths = sorted({stock.width for stock in self.stocks if stock.available != 0}, reverse=True)
        self._sources = [Source(width, 0.0, 0.0) for width in widths]
        super()._build()
        self._share = self._highs.getNumCol()
        self._column(1.0, {})

    def share(self, taken: Taken) -> float:
        """Return the share of each width that the pieces take at least; the attributes become this set's."""
        for at, source in enumerate(self._sources):
            length = sum(
                stock.length * count
                for stock, count in zip(self.stocks, taken, strict=True)
                if stock.width == source.width
            )
            self._highs.changeCoeff(self._room_row[at], self._share, -length / self._scale)
        self.shares = []
        self.solve()
        duals = self._highs.getSolution().row_dual
        self.rates = {
            source.width: max(0.0, -duals[self._room_row[at]]) for at, source in enumerate(self._sources)
        }
        self.proofs.append((self.supply(), self.need()))
        return float(self._highs.getInfo().objective_function_value)

    def least_share(self, taken: Taken) -> Fraction:
        """Return a share that some width is used to at least, by the proofs so far; above 1: too small."""
        least = Fraction(0)
        for supply, need in self.proofs:
            have = sum(gives * count for gives, count in zip(supply, taken, strict=True))
            if need > have * least:
                least = Fraction(need, have) if have else _NOTHING
        return least


def _shortened(stocks: Sequence[Stock], most: Mapping[Size, int]) -> list[Stock]:
    """Return the rolls, only as long as some pieces one behind the other reach.

    Pieces pushed to the start of a roll end where sums of lengths do.
    """
    lengths = [along for (_, along, _), count in most.items() for _ in range(count)]
    lengths += [across for (across, _, turns), count in most.items() if turns for _ in range(count)]
    fill = Fill(lengths, max(stock.length for stock in stocks))
    return [replace(stock, length=max(1, fill.last_sum(stock.length))) for stock in stocks]


def fullness(programme: SliceProgramme) -> Fullness:
    """Return the programme of sets for a solved programme of the same pieces and rolls."""
    full = Fullness(programme.rows, programme.fixed, programme.stocks)
    supply = [programme.slice_worth(stock.width) * stock.length for stock in full.stocks]
    full.proofs.append((supply, programme.need()))
    return full

"""The least that any plan costs, by cutting rolls into slices across: one linear programme for the whole job.

Look at a plan along the roll, a hair's breadth at a time: what lies side by side there fits the width. So a
plan is a mixture of slices, and the mixture must give every width the length that its pieces have. The
programme mixes slices of all rolls on offer at their price per length, and chooses at the same time how
every face is laid and which of the pieces that may turn are turned; slices are found as they are wanted
(column generation, Gilmore & Gomory 1961). What it says of a face's ways or of a piece's turn is a share,
so its least cost is no more than that of any real plan.

The proof does not rest on floating point: the programme's prices are rounded to whole numbers, what a slice
of each roll can be worth at these prices is found exactly, and the cheapest set of whole rolls that is worth
as much as the pieces is found exactly (``bounds.least_cost``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from .knapsack import FINEST_PROOF, Knapsack
from .sizes import Shape, Stock
from .solver import quiet_solver

Size = tuple[int, int, bool]  # across, along (units, each with one kerf), may turn
Way = Mapping[Size, int]  # how many pieces of each size

_PRICE_STEPS = 1 << 30
_GAIN = 1e-7
_MOST_ROUNDS = 400


@dataclass(frozen=True)
class Source:
    """Rolls that slices are cut from: those of one width bought at will, or one kind that is limited."""

    width: int
    rate: float
    room: float | None  # length there is; None: any


class SliceProgramme:
    """The linear programme, and the proof that follows from its prices.

    Attributes:
        shares: for each row of ways the share that the programme gives each way.
        values: by width, what a unit of length of it is worth, in what *rates* are in.
        rates: by width of the rolls that are bought at will, what a unit of length costs at least.
        prices: the values as whole numbers, in a unit of their own.
        most: how many pieces of each size there can be, whatever the ways.
    """

    def __init__(self, rows: Sequence[Sequence[Way]], fixed: Way, stocks: Sequence[Stock]) -> None:
        self.rows = rows
        self.fixed = fixed
        self.stocks = stocks
        offered = [stock for stock in stocks if stock.available != 0]
        self._widest = max(stock.width for stock in offered)
        self._longest = max(stock.length for stock in offered)
        self._scale = float(self._longest)
        self.most = most_of(rows, fixed)
        counts: Counter[int] = Counter()
        for size, count in self.most.items():
            for across in {across for across, _ in self.lies(size)}:
                counts[across] += count
        self.widths = sorted(counts, reverse=True)
        self.counts = [counts[width] for width in self.widths]
        self._at = {width: at for at, width in enumerate(self.widths)}
        self._sources = _read_sources(offered, self._scale)
        self.rates = {source.width: source.rate for source in self._sources if source.room is None}
        self._slices: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self._highs = quiet_solver()
        self._highs.setOptionValue("presolve", "off")
        self._turn_row: dict[Size, int] = {}
        self._room_row: dict[int, int] = {}
        self._first_way = 0
        self.shares: list[list[float]] = []
        self.values: dict[int, float] = {}
        self.prices: dict[int, int] = {}
        self._build()

    def lies(self, size: Size) -> list[tuple[int, int]]:
        """Return across and along for each way round that a piece may be cut."""
        across, along, turns = size
        ways = [(across, along)]
        if turns and across != along:
            ways.append((along, across))
        return [(a, b) for a, b in ways if 0 < a <= self._widest and 0 < b <= self._longest]

    def _build(self) -> None:
        """Make the rows: length of every width, pieces of every size that turns, faces, rolls there are."""
        highs, inf = self._highs, highspy.kHighsInf
        turning = [size for size in self.most if size[2] and len(self.lies(size)) > 1]
        self._turn_row = {size: len(self.widths) + at for at, size in enumerate(turning)}
        base = len(self.widths) + len(turning)
        open_rows = [row for row in self.rows if len(row) > 1]
        need = np.zeros(base)
        for way in (self.fixed, *(row[0] for row in self.rows if len(row) == 1)):
            self._count(way, need)
        for value in need:
            highs.addRow(float(value), inf, 0, [], [])
        for _ in open_rows:
            highs.addRow(1.0, 1.0, 0, [], [])
        for at, source in enumerate(self._sources):
            if source.room is not None:
                self._room_row[at] = base + len(open_rows) + len(self._room_row)
                highs.addRow(-inf, source.room, 0, [], [])
        # Length may be left uncut at a high price, so that the programme can always be solved.
        for at in range(len(self.widths)):
            self._column(10.0, {at: 1.0})
        for size, row_at in self._turn_row.items():
            for across, along in self.lies(size):
                self._column(0.0, {row_at: 1.0, self._at[across]: -along / self._scale})
        self._first_way = highs.getNumCol()
        for at, row in enumerate(open_rows):
            for way in row:
                gives = np.zeros(base)
                self._count(way, gives)
                entries = {int(i): -float(gives[i]) for i in np.flatnonzero(gives)}
                self._column(0.0, {**entries, base + at: 1.0})
        for at, source in enumerate(self._sources):
            for i, width in enumerate(self.widths):
                if width <= source.width:
                    self._add(at, {i: min(self.counts[i], source.width // width)})

    def _count(self, way: Way, into: NDArray[np.float64]) -> None:
        for size, count in way.items():
            if size in self._turn_row:
                into[self._turn_row[size]] += count
                continue
            for across, along in self.lies(size)[:1]:
                into[self._at[across]] += count * along / self._scale

    def _column(self, cost: float, entries: Mapping[int, float]) -> None:
        rows = np.fromiter(entries, np.int32, len(entries))
        numbers = np.fromiter(entries.values(), np.float64, len(entries))
        self._highs.addCol(cost, 0.0, highspy.kHighsInf, len(entries), rows, numbers)

    def _add(self, source: int, piece_counts: Mapping[int, int]) -> bool:
        key = (source, tuple(sorted(piece_counts.items())))
        if not piece_counts or key in self._slices:
            return False
        self._slices.add(key)
        entries = {i: float(n) for i, n in piece_counts.items()}
        if source in self._room_row:
            entries[self._room_row[source]] = 1.0
        self._column(self._sources[source].rate, entries)
        return True

    def solve(self) -> None:
        """Add slices until none makes the programme cheaper; afterwards all attributes are set."""
        tables = {s.width: Knapsack(self.widths, (s.width,)) for s in self._sources}
        for _ in range(_MOST_ROUNDS):
            self._highs.run()
            solution = self._highs.getSolution()
            duals = solution.row_dual
            values = [max(0.0, price) for price in duals[: len(self.widths)]]
            gained = False
            for at, source in enumerate(self._sources):
                price = source.rate - (duals[self._room_row[at]] if at in self._room_row else 0.0)
                gained |= self._add_slices(at, tables[source.width], values, price)
            if not gained:
                break
        self._read(solution, values)

    def _add_slices(self, source: int, table: Knapsack, values: Sequence[float], price: float) -> bool:
        """Add slices of a roll that are worth more than *price*, each with widths the last ones left."""
        rest = list(self.counts)
        gained = False
        while any(rest):
            found = table.solve(values, rest)
            if found.value(0) < price + _GAIN:
                break
            load = found.load(0)
            gained |= self._add(source, load)
            for i, n in load.items():
                rest[i] %= n
        return gained

    def _read(self, solution: highspy.HighsSolution, values: Sequence[float]) -> None:
        at = self._first_way
        for row in self.rows:
            if len(row) == 1:
                self.shares.append([1.0])
                continue
            self.shares.append(list(solution.col_value[at : at + len(row)]))
            at += len(row)
        self.values = dict(zip(self.widths, values, strict=True))
        top = max([*values, 1e-9])
        self.prices = {width: int(value / top * _PRICE_STEPS) for width, value in self.values.items()}

    def worth(self, size: Size) -> int:
        """Return what a piece is worth at the prices, the way round that is worth less."""
        return min((self.prices[across] * along for across, along in self.lies(size)), default=0)

    def way_worth(self, way: Way) -> int:
        """Return what the pieces of a way are worth together."""
        return sum(count * self.worth(size) for size, count in way.items())

    def need(self) -> int:
        """Return what the pieces of any choice of ways are worth together at least."""
        return self.way_worth(self.fixed) + sum(min(map(self.way_worth, row)) for row in self.rows)

    def slice_worth(self, width: int) -> int:
        """Return what no slice across a roll of *width* exceeds in worth."""
        prices = [self.prices[w] for w in self.widths]
        return Knapsack(self.widths, (width,), FINEST_PROOF).most(prices, self.counts)[0]

    def supply(self) -> list[int]:
        """Return what each roll on offer can be worth at most."""
        worth = {width: self.slice_worth(width) for width in {stock.width for stock in self.stocks}}
        return [worth[stock.width] * stock.length for stock in self.stocks]


def _read_sources(offered: Sequence[Stock], scale: float) -> list[Source]:
    """Return the rolls that slices come from; rates on the dearest one's 1."""
    dearest = max((s.cost / s.length for s in offered), default=0.0) or 1.0
    rates: dict[int, float] = {}
    limited = []
    for stock in offered:
        rate = stock.cost / stock.length / dearest
        if stock.available < 0:
            rates[stock.width] = min(rate, rates.get(stock.width, rate))
        else:
            limited.append(Source(stock.width, rate, stock.available * stock.length / scale))
    return [Source(width, rate, None) for width, rate in sorted(rates.items(), reverse=True)] + limited


def most_of(rows: Sequence[Sequence[Way]], fixed: Way) -> Counter[Size]:
    """Return how many pieces of each size there can be at most, whatever the ways."""
    most = Counter(fixed)
    for row in rows:
        each: Counter[Size] = Counter()
        for way in row:
            for size, count in way.items():
                each[size] = max(each[size], count)
        most.update(each)
    return most


def job_programme(shapes: Sequence[Shape], stocks: Sequence[Stock]) -> SliceProgramme:
    """Return the solved programme of pieces that are given, with no ways to choose from."""
    pieces: Counter[Size] = Counter()
    for shape in shapes:
        pieces[shape.across, shape.along, shape.may_turn] += shape.count
    programme = SliceProgramme([], pieces, stocks)
    programme.solve()
    return programme

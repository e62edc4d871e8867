"""Which way every face is laid, chosen together with the rolls that all pieces are cut from.

Each face (and, where rolls of several widths are on offer, each change of plane) may be laid in one of
several ways. The search changes one at a time, weighing each try by a quick plan; the few best choices are
then planned in full, and the cheapest plan wins. How much is tried is limited by count, so the same input
gives the same choice.

The bound holds for every choice: a weight on widths gives no roll more than its length (see
:mod:`.cutting.bounds`), so the sum of each face's least weighted length, over the ways it may be laid, is
length that any choice must buy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .cutting.bounds import least_cost, width_weights
from .cutting.greedy import first_plan, score
from .cutting.lengths import slice_weights
from .cutting.sizes import Job, Shape, Stock

Size = tuple[int, int]  # across, along; whole units, each with one kerf
Way = tuple[Size, ...]
Choice = tuple[int, ...]
Value = tuple[int, int]  # cents; length used (units), each piece counted with what it is worth

# Pieces looked at by quick plans, in all; measured: under a tenth of a second.
_MOST_PIECES = 9_000
# Rounds in which weights and choices answer each other; the bound hardly rises after these.
_ROUNDS = 2
_PARTS = 1 << 16


@dataclass(frozen=True)
class Bounds:
    """What no choice can go below: *cents*, and on rolls of one width *length* (units; 0 where not known)."""

    cents: int
    length: int


def bounds(ways: Sequence[Sequence[Way]], fixed: Way, stocks: Sequence[Stock], limit: int) -> Bounds:
    """Return what every choice costs at least; *limit*: the cost of a choice already found."""
    widest = max(stock.width for stock in stocks)
    area = _least(ways, fixed, lambda size: size[0] * size[1])
    by_area = least_cost(stocks, [s.width * s.length for s in stocks], area, limit)
    length = max(_lengths(ways, fixed, widest))
    cents = max(by_area, least_cost(stocks, [s.length for s in stocks], length, limit))
    is_plain = len({stock.width for stock in stocks}) == 1 and not any(stock.is_stock for stock in stocks)
    return Bounds(cents, length if is_plain else 0)


def _lengths(ways: Sequence[Sequence[Way]], fixed: Way, width: int) -> Iterator[int]:
    """Yield lengths that every choice needs: one for each list of weights.

    The plain lists first. Then the choice that is least by the weights so far and the weights that are
    best against the mean of the choices so far answer each other in turn; each answer's sum is a bound.
    """
    most = Counter(fixed)
    for row in ways:
        each: Counter[Size] = Counter()
        for way in row:
            each |= Counter(way)
        most += each
    shapes = [Shape(across, along, count) for (across, along), count in sorted(most.items(), reverse=True)]
    families = width_weights(shapes, width)
    best = _weight(shapes, families[0])
    for shares in families:
        yield _whole(_least(ways, fixed, _weight(shapes, shares)))
    counts: Counter[int] = Counter()
    for (across, _), count in most.items():
        counts[across] += count
    widths = sorted(counts, reverse=True)
    mean: Counter[int] = Counter()
    for _ in range(_ROUNDS):
        for row in (*ways, (fixed,)):
            for across, along in min(row, key=lambda way: sum(map(best, way))):
                mean[across] += along
        by_width = dict(
            zip(
                widths,
                slice_weights(widths, [counts[w] for w in widths], [mean[w] + 1 for w in widths], width),
                strict=True,
            )
        )
        best = _weight(shapes, [by_width[shape.across] for shape in shapes])
        yield _whole(_least(ways, fixed, best))


def _weight(shapes: Sequence[Shape], shares: Sequence[Fraction]) -> Callable[[Size], int]:
    """Return share times length by size, in parts of a unit and rounded down: a bound stays one."""
    table = {
        (s.across, s.along): x.numerator * s.along * _PARTS // x.denominator
        for s, x in zip(shapes, shares, strict=True)
    }
    return table.__getitem__


def _whole(parts: int) -> int:
    return -(-parts // _PARTS)


def _least(ways: Sequence[Sequence[Way]], fixed: Way, weight: Callable[[Size], int]) -> int:
    """Return the least sum of weights that any choice has."""
    return sum(min(sum(map(weight, way)) for way in row) for row in (*ways, (fixed,)))


@dataclass(frozen=True)
class Aim:
    """What is cut from which rolls. *worth*: length of roll (units) that one piece fewer is worth."""

    ways: Sequence[Sequence[Way]]
    fixed: Way
    stocks: Sequence[Stock]
    worth: int

    def pieces(self, choice: Choice) -> int:
        return len(self.fixed) + sum(len(row[at]) for row, at in zip(self.ways, choice, strict=True))

    def quick(self, choice: Choice) -> Value:
        """Return the value of a quick plan of a choice."""
        counts = Counter(self.fixed)
        for row, at in zip(self.ways, choice, strict=True):
            counts.update(row[at])
        shapes = tuple(
            Shape(across, along, count) for (across, along), count in sorted(counts.items(), reverse=True)
        )
        loads = first_plan(Job(shapes, (), tuple(self.stocks), 0))
        if loads is None:
            return (1 << 62, 0)
        cents, length, _ = score(loads, self.stocks)
        return cents, length + self.worth * self.pieces(choice)


def choices(aim: Aim, starts: Sequence[Choice]) -> list[tuple[Choice, Value]]:
    """Return choices worth planning in full with the value of a quick plan, the most promising first.

    From the best of *starts* one face at a time is laid another way, as long as a quick plan gets cheaper (in
    cents, then in length used and pieces) and the limit of tries is not reached.
    """
    known = {start: aim.quick(start) for start in starts}
    best = min(starts, key=lambda start: known[start])
    open_rows = [at for at, row in enumerate(aim.ways) if len(row) > 1]
    left = _MOST_PIECES
    improved = True
    while improved and left > 0:
        improved = False
        for other in _neighbours(best, aim.ways, open_rows):
            if left <= 0:
                break
            if other not in known:
                known[other] = aim.quick(other)
                left -= aim.pieces(other)
            if known[other] < known[best]:
                best = other
                improved = True
    found = sorted(starts, key=lambda start: known[start])
    return [(choice, known[choice]) for choice in dict.fromkeys([best, *found])]


def _neighbours(choice: Choice, ways: Sequence[Sequence[Way]], rows: Sequence[int]) -> Iterator[Choice]:
    for row in rows:
        for at in range(len(ways[row])):
            if at != choice[row]:
                yield (*choice[:row], at, *choice[row + 1 :])

"""What the rolls must cost at least: proofs that need no search.

A weight on widths (a dual feasible function, Fekete & Schepers 2001) gives each piece a share of the
roll's width such that pieces that fit side by side never get more than the whole. Share times length,
summed over the pieces, is then a length that the rolls must supply, and the cheapest rolls that supply it
are found exactly. The best weights for one job are the prices of :mod:`.slices`, which value rolls of several
widths and pieces that may turn as well; the ready-made ones here sometimes round up better.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import gcd

import numpy as np

from .fullness import Fullness, fullness
from .sets import cheapest_set
from .sizes import Job, Shape, Stock
from .slices import SliceProgramme, job_programme

_MOST_STEPS = 1_000_000


def width_weights(shapes: Sequence[Shape], width: int) -> list[list[Fraction]]:
    """Return lists of shares, one share for each shape, for a roll of *width*.

    First the plain share; then, for thresholds e up to half the width, those that give wide pieces (over
    width - e) the whole width and narrow ones (under e) nothing; then rounding to k + 1 parts (x if (k + 1)x
    is whole, else floor((k + 1)x) / k). Pieces that may be turned count only in the plain share, which is
    right either way round.
    """
    fixed = [not s.may_turn for s in shapes]
    plain = [Fraction(min(s.across, width), width) for s in shapes]
    families = [plain]
    for e in sorted({s.across for s in shapes if 2 * s.across <= width} | {(width + 1) // 2}):
        families.append(
            [
                Fraction(1) if s.across > width - e else (Fraction(0) if s.across < e else x)
                for s, x in zip(shapes, plain, strict=True)
            ]
        )
    for k in range(1, 6):
        families.append(
            [x if ((k + 1) * x).denominator == 1 else Fraction(int((k + 1) * x), k) for x in plain]
        )
    unique: dict[tuple[Fraction, ...], list[Fraction]] = {tuple(plain): plain}
    for family in families[1:]:
        turned_off = [x if stays else Fraction(0) for x, stays in zip(family, fixed, strict=True)]
        unique.setdefault(tuple(turned_off), turned_off)
    return list(unique.values())


def length_needed(shapes: Sequence[Shape], width: int, count_plain: bool = True) -> int:
    """Return the length that the shares of the pieces add up to, for the shares that give most."""
    best = 0
    for shares in width_weights(shapes, width)[0 if count_plain else 1 :]:
        need = sum((x * s.along * s.count for x, s in zip(shares, shapes, strict=True)), Fraction(0))
        best = max(best, -(-need.numerator // need.denominator))
    return best


def strip_bound(shapes: Sequence[Shape], width: int) -> int:
    """Return a length that pieces from a strip of *width* need at least (units, each with its kerf)."""
    if not shapes:
        return 0
    longest = max(min(s.along, s.across) if s.may_turn and s.along <= width else s.along for s in shapes)
    top = sum(max(s.along, s.across) * s.count for s in shapes)
    programme = job_programme(shapes, [Stock(width, top, top, -1, False, 0)])
    by_slices = -(-programme.need() // max(1, programme.slice_worth(width)))
    return max(longest, by_slices, length_needed(shapes, width))


class CostTable:
    """Every sum of prices up to *limit* cents that the rolls on offer can make, and the most they supply."""

    def __init__(self, stocks: Sequence[Stock], supply: Sequence[int], need: int, limit: int) -> None:
        """*supply* is what a roll of each kind gives, *need* what must be given, in the same unit."""
        shrink = max(1, need // 2**40)
        supply = [-(-s // shrink) for s in supply]
        need = need // shrink
        unit = gcd(*(s.cost for s in stocks)) or 1
        self.unit = unit = max(unit, -(-limit // _MOST_STEPS))
        self.most = np.full(limit // unit + 1, -1, dtype=np.int64)
        self.most[0] = 0
        self.need = need
        free = 0
        for stock, gives in zip(stocks, supply, strict=True):
            step = stock.cost // unit
            if stock.available == 0 or gives <= 0:
                continue
            enough = -(-need // gives)
            count = enough if stock.available < 0 else min(stock.available, enough)
            if step == 0:
                free += gives * count
                continue
            self._add(step, gives, min(count, limit // unit // step))
        self.most[self.most >= 0] += free

    def _add(self, step: int, gives: int, count: int) -> None:
        batch = 1
        while count > 0:
            n = min(batch, count)
            shift = n * step
            if shift < len(self.most):
                before = self.most[:-shift] if shift else self.most
                moved = np.where(before >= 0, before + n * gives, -1)
                np.maximum(self.most[shift:], moved, out=self.most[shift:])
            count -= n
            batch *= 2

    def least(self) -> int | None:
        """Return the least cents that supply the need, or None if nothing up to the limit does."""
        enough = np.flatnonzero(self.most >= self.need)
        return int(enough[0]) * self.unit if len(enough) else None

    def next_sum(self, cents: int) -> int:
        """Return the least sum of prices that is at least *cents* (or *cents* past the table's end)."""
        start = -(-cents // self.unit)
        found = np.flatnonzero(self.most[start:] >= 0)
        return (start + int(found[0])) * self.unit if len(found) else cents


def least_cost(stocks: Sequence[Stock], supply: Sequence[int], need: int, limit: int) -> int:
    """Return the least cents of rolls that supply the need, or *limit* if nothing below it does."""
    least = CostTable(stocks, supply, need, limit).least()
    return limit if least is None else min(least, limit)


def least_for_sections(stocks: Sequence[Stock], lengths: Mapping[int, int], limit: int) -> int:
    """Return the least cents of whole rolls as long together as sections of each width, or over *limit*."""
    cents = 0
    for width, length in lengths.items():
        offered = [stock for stock in stocks if stock.width == width]
        least = CostTable(offered, [s.length for s in offered], length, limit).least()
        if least is None:
            return limit + 1
        cents += least
    return cents


def lone_shapes(shapes: Sequence[Shape], width: int) -> list[bool]:
    """Return for each shape whether no other piece fits beside it, so that it takes its length alone."""
    least = [min(s.across, s.along) if s.may_turn else s.across for s in shapes]
    lone = []
    for i, shape in enumerate(shapes):
        others = [w for j, w in enumerate(least) if j != i or shape.count > 1]
        lone.append(not shape.may_turn and shape.across + min(others, default=width) > width)
    return lone


def lifted(job: Job) -> tuple[Shape, ...]:
    """Return the shapes, with those that lie alone on rolls of the one width made as wide as the roll."""
    widths = {s.width for s in job.stocks}
    if len(widths) > 1:
        return job.shapes
    width = widths.pop()
    lone = lone_shapes(job.shapes, width)
    return tuple(
        Shape(width, s.along, s.count) if alone else s for s, alone in zip(job.shapes, lone, strict=True)
    )


def cover_bound(
    job: Job, limit: int, programme: SliceProgramme | None = None, full: Fullness | None = None
) -> int:
    """Return cents that every plan costs at least; *limit* is the cost of a plan already found.

    *programme*, *full*: of the job's pieces; the first is solved.
    """
    if limit <= 0 or not job.shapes:
        return 0
    programme = programme or job_programme(job.shapes, job.stocks)
    stocks = job.stocks
    by_slices = least_cost(stocks, programme.supply(), programme.need(), limit)
    shapes = lifted(job)
    area = sum(s.area * s.count for s in shapes)
    by_area = least_cost(stocks, [s.width * s.length for s in stocks], area, limit)
    # On narrower rolls shares are no greater, so that every roll supplies its length.
    need = length_needed(shapes, max(s.width for s in stocks), count_plain=False)
    by_shares = least_cost(stocks, [s.length for s in stocks], need, limit)
    return cheapest_set(full or fullness(programme), max(by_slices, by_area, by_shares), limit)

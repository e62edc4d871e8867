"""What the rolls must cost at least: proofs that need no search.

A weight on widths (a dual feasible function, Fekete & Schepers 2001) gives each piece a share of the
roll's width such that pieces that fit side by side never get more than the whole. Share times length,
summed over the pieces, is then a length that the rolls must supply, and the cheapest rolls that supply it
are found exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, lcm

import numpy as np

from .sizes import Job, Shape, Stock

_MOST_STEPS = 1_000_000


def width_weights(shapes: Sequence[Shape], width: int) -> list[list[Fraction]]:
    """Return lists of shares, one share for each shape, for a roll of *width*.

    Always the plain share; then, for thresholds e up to half the width, the one that gives wide pieces
    (over width - e) the whole width and narrow ones (under e) nothing; then the rounding ones that cut the
    width into k + 1 parts (f(x) = x if (k+1)x is whole, else floor((k+1)x)/k).
    """
    plain = [Fraction(min(s.across, width), width) for s in shapes]
    if any(s.may_turn for s in shapes):
        return [plain]
    families = [plain]
    for e in sorted({s.across for s in shapes if 2 * s.across <= width} | {(width + 1) // 2}):
        families.append(
            [
                Fraction(1)
                if x.numerator * width > (width - e) * x.denominator
                else (Fraction(0) if s.across < e else x)
                for s, x in zip(shapes, plain, strict=True)
            ]
        )
    for k in range(1, 6):
        families.append(
            [x if ((k + 1) * x).denominator == 1 else Fraction(int((k + 1) * x), k) for x in plain]
        )
    unique: dict[tuple[Fraction, ...], list[Fraction]] = {tuple(f): f for f in families}
    return list(unique.values())


def strip_bound(shapes: Sequence[Shape], width: int) -> int:
    """Return a length that pieces from a strip of *width* need at least (units, each with its kerf)."""
    best = max((s.along if not s.may_turn else min(s.along, s.across) for s in shapes), default=0)
    for shares in width_weights(shapes, width):
        need = sum(share * s.along * s.count for share, s in zip(shares, shapes, strict=True))
        best = max(best, -(-need.numerator // need.denominator) if isinstance(need, Fraction) else need)
    return best


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


def cover_bound(job: Job, limit: int) -> int:
    """Return cents that every plan costs at least; *limit* is the cost of a plan already found."""
    if limit <= 0 or not job.shapes:
        return 0
    best = 0
    shapes = lifted(job)
    stocks = job.stocks
    width = max(s.width for s in stocks)
    area = sum(s.area * s.count for s in shapes)
    best = least_cost(stocks, [s.width * s.length for s in stocks], area, limit)
    for shares in width_weights(shapes, width):
        if best >= limit:
            break
        scale = lcm(*(share.denominator for share in shares))
        need = int(scale * sum(x * s.along * s.count for x, s in zip(shares, shapes, strict=True)))
        best = max(best, least_cost(stocks, [s.length * scale for s in stocks], need, limit))
    return best

"""Sections filled by worth: many pieces, most of them narrow, beside a few wide ones.

The prices of :mod:`.slices` say what a unit of length of each width is worth. No section is worth more than
its length costs, and what it is worth less is lost; the losses of all sections together are what a plan
costs over the bound. So a section begins with a wide or long piece, and columns are put beside it that are
worth most for the width they take; each column is filled as far as sums of its pieces' lengths allow.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import gcd

import numpy as np

from .blocks import Block, behind, beside, leaf
from .knapsack import batches
from .sizes import Shape

_FINEST = 20_000
_WIDTH_STEPS = 2_000
# A column may hold pieces that are narrower than it by this share.
_NARROWER = 0.13
# Longer sections that are tried beside one as long as the piece it begins with.
_LONGER = 2
# How often a section begins with a piece that may turn only the way that is wide across.
_WIDE_WAY_ONLY = 0.7
# Part of a piece's value that is its area, so that pieces without a price are laid somewhere too.
_BY_AREA = 0.03
_MOST_OF_ONE = 500
_BATCHES = [tuple(batches(n, n)) for n in range(_MOST_OF_ONE + 1)]

# A class that pieces are left for: its number, width, least step, price, and the length left in all (steps).
_There = tuple[int, int, int, float, int]


@dataclass(frozen=True)
class Cloth:
    """What sections are cut from: rolls of *width*, no longer than *longest*; a unit costs *rate*."""

    width: int
    rate: float
    longest: int


@dataclass(frozen=True, slots=True)
class Section:
    """A full-width block of rolls numbered *cloth*; *loss*: what it costs more than its pieces are worth."""

    cloth: int
    block: Block
    loss: float


class _Class:
    """The ways of one width, the longest first; *band*: the classes its columns may hold pieces of."""

    __slots__ = ("band", "least", "price", "ways", "width")

    def __init__(self, width: int, price: float, ways: list[tuple[int, Block]]) -> None:
        self.width = width
        self.price = price
        self.ways = ways
        self.least = min(step for step, _ in ways)
        self.band: list[int] = []


class Filler:
    """Makes sections for *shapes*; *prices* by width, in what the cloths' rates are in."""

    def __init__(
        self,
        shapes: Sequence[Shape],
        cloths: Sequence[Cloth],
        prices: Mapping[int, float],
        seed: int = 1,
    ) -> None:
        """Every shape goes on one of the cloths."""
        self.cloths = cloths
        self.work = 0
        self._chance = random.Random(seed)  # noqa: S311 - a search, not a secret
        widest = max(cloth.width for cloth in cloths)
        per_area = max(cloth.rate / cloth.width for cloth in cloths)
        ways = [leaf(i, s.across, s.along) for i, s in enumerate(shapes)]
        ways += [leaf(i, s.along, s.across, turned=True) for i, s in enumerate(shapes) if s.may_turn]
        ways = sorted(
            (b for b in ways if any(goes_on(b, cloth) for cloth in cloths)),
            key=lambda b: (-b.along, -b.across),
        )
        worth = [float("inf")] * len(shapes)
        self._ways: list[list[Block]] = [[] for _ in shapes]
        for way in sorted(ways, key=lambda b: -b.across):
            worth[way.shape] = min(worth[way.shape], prices[way.across] * way.along)
            self._ways[way.shape].append(way)
        self._worths = [
            (1 - _BY_AREA) * w + _BY_AREA * per_area * s.area for w, s in zip(worth, shapes, strict=True)
        ]
        self._unit = gcd(*(way.along for way in ways))
        if ways[0].along > _FINEST * self._unit:
            self._unit = -(-ways[0].along // _FINEST)
        self._classes = self._sorted_out(ways, prices, per_area)
        at = {one.width: number for number, one in enumerate(self._classes)}
        # For each shape: the classes that count it in, and with what length.
        self._homes = [
            [
                (number, -(-b.along // self._unit))
                for b in self._ways[i]
                for number, one in enumerate(self._classes)
                if at[b.across] in one.band
            ]
            for i in range(len(shapes))
        ]
        self._at = at
        # For each shape: the classes of its ways, and where in the class each is.
        self._places: list[list[tuple[int, int]]] = [[] for _ in shapes]
        for number, one in enumerate(self._classes):
            for rank, (_, way) in enumerate(one.ways):
                self._places[way.shape].append((number, rank))
        self._here: dict[int, list[tuple[int, Block]]] = {}
        self._scale = -(-widest // _WIDTH_STEPS)
        self._best = self._values(widest)

    def _sorted_out(
        self, ways: Sequence[Block], prices: Mapping[int, float], per_area: float
    ) -> list[_Class]:
        by_width: dict[int, list[tuple[int, Block]]] = {}
        for way in ways:
            by_width.setdefault(way.across, []).append((-(-way.along // self._unit), way))
        classes = [
            _Class(width, (1 - _BY_AREA) * prices[width] + _BY_AREA * per_area * width, by_width[width])
            for width in sorted(by_width, reverse=True)
        ]
        for one in classes:
            low = one.width * (1 - _NARROWER)
            one.band = [at for at, other in enumerate(classes) if low <= other.width <= one.width]
        return classes

    def _values(self, widest: int) -> list[float]:
        """Return for every width (in steps) what columns are worth that fill it, if there are enough."""
        top = widest // self._scale
        best = np.zeros(top + 1)
        for one in self._classes:
            step = -(-one.width // self._scale)
            for start in range(step, top + 1, step):
                rooms = best[start : start + step]
                np.maximum(rooms, best[start - step : start - step + len(rooms)] + one.price, out=rooms)
        values: list[float] = best.tolist()
        return values

    def plan(self, order: Sequence[int], left: list[int]) -> list[Section]:
        """Return sections that hold all pieces *left*; *order*: the shapes to begin sections with."""
        self._look(order)
        totals: dict[int, int] = {}
        for i in order:
            for at, step in self._homes[i]:
                totals[at] = totals.get(at, 0) + left[i] * step
        totals = dict(sorted(totals.items()))
        sections = []
        for i in order:
            while left[i]:
                section = self._section(i, left, totals)
                for piece in section.block.leaves():
                    left[piece.shape] -= 1
                    for at, step in self._homes[piece.shape]:
                        totals[at] -= step
                sections.append(section)
        return sections

    def _look(self, order: Sequence[int]) -> None:
        """Note the ways of these shapes by class, so that the many others need not be looked at."""
        ranks: dict[int, list[int]] = {}
        for i in order:
            for number, rank in self._places[i]:
                ranks.setdefault(number, []).append(rank)
        self._here = {
            number: [self._classes[number].ways[rank] for rank in sorted(some)]
            for number, some in ranks.items()
        }

    def _section(self, first: int, left: list[int], totals: Mapping[int, int]) -> Section:
        """Return the best of a few sections that begin with a piece of shape *first*."""
        classes = self._classes
        there: list[_There] = [
            (at, classes[at].width, classes[at].least, classes[at].price, total)
            for at, total in totals.items()
            if total
        ]
        wide_only = self._chance.random() < _WIDE_WAY_ONLY
        best: tuple[float, Section] | None = None
        for cloth, stuff in enumerate(self.cloths):
            ways = [way for way in self._ways[first] if goes_on(way, stuff)]
            for way in ways[:1] if wide_only else ways:
                for along in self._lengths(way, stuff, left, there):
                    block, worth = self._filled(way, along, stuff.width, left, there)
                    cost = stuff.rate * block.along
                    rate = (cost - worth) / worth
                    if best is None or rate < best[0]:
                        best = (rate, Section(cloth, block, cost - worth))
        assert best is not None
        return best[1]

    def _lengths(self, way: Block, stuff: Cloth, left: Sequence[int], there: Sequence[_There]) -> list[int]:
        """Return the lengths to try for a section that begins with *way*: its own, and longer pieces'."""
        found = set()
        room = stuff.width - way.across
        for at, width, *_ in there:
            if width <= room:
                for _, other in self._here.get(at, ()):
                    if other.along <= way.along:
                        break
                    if left[other.shape] and other.along <= stuff.longest:
                        found.add(other.along)
        if not found:
            return [way.along]
        longer = sorted(found)
        if len(longer) > _LONGER:
            longer = self._chance.sample(longer, _LONGER)
        return [way.along, *longer]

    def _filled(
        self, way: Block, along: int, width: int, left: list[int], there: Sequence[_There]
    ) -> tuple[Block, float]:
        """Fill a section of length *along*: behind its first piece, then column by column beside it."""
        left[way.shape] -= 1
        taken = [way.shape]
        column = [way]
        if along > way.along:
            column += self._stack(self._at[way.across], along - way.along, left, taken)
        columns = [behind(column)]
        room = width - way.across
        while room > 0:
            at = self._column(room, along, there)
            if at < 0:
                break
            stack = self._stack(at, along, left, taken)
            if not stack:
                at = self._next_column(room, along, left, there)
                if at < 0:
                    break
                stack = self._stack(at, along, left, taken)
            block = behind(stack)
            columns.append(block)
            room -= block.across
        worth = 0.0
        for shape in taken:
            left[shape] += 1
            worth += self._worths[shape]
        return beside(columns), worth

    def _column(self, room: int, along: int, there: Sequence[_There]) -> int:
        """Return the class of the column that makes the most of *room*, by what there is in all; -1: none."""
        top = along // self._unit
        values, scale = self._best, self._scale
        best, best_value = -1, 0.0
        for at, width, least, price, length in there:
            if width <= room and least <= top:
                value = values[(room - width) // scale]
                value += price if length >= top else price * length / top
                if value > best_value:
                    best, best_value = at, value
        self.work += len(there)
        return best

    def _next_column(self, room: int, along: int, left: Sequence[int], there: Sequence[_There]) -> int:
        """Return the widest class that a piece is really left of; -1: none."""
        top = along // self._unit
        for at, width, least, *_ in there:
            if width <= room and least <= top:
                for step, way in self._here.get(at, ()):
                    if step <= top and left[way.shape]:
                        return at
        return -1

    def _stack(self, at: int, along: int, left: list[int], taken: list[int]) -> list[Block]:
        """Take pieces for a column of class *at* that fill *along* as far as sums of their lengths can.

        The widest first, and no narrower ones once the column can be full.
        """
        top = along // self._unit
        full, within = 1 << top, (2 << top) - 1
        # Bit n of a whole number stands for the sum n, so that adding a piece is a shift.
        sums = 1
        steps: list[tuple[int, Block, int, int]] = []
        for other in self._classes[at].band:
            for step, way in self._here.get(other, ()):
                count = left[way.shape]
                if count and step <= top:
                    for n in _BATCHES[min(count, top // step, _MOST_OF_ONE)]:
                        steps.append((sums, way, n, n * step))
                        sums |= (sums << (n * step)) & within
                    if sums & full:
                        break
            if sums & full:
                break
        self.work += len(steps)
        room = sums.bit_length() - 1
        stack: list[Block] = []
        for before, way, n, shift in reversed(steps):
            if not before >> room & 1:
                room -= shift
                n = min(n, left[way.shape])
                left[way.shape] -= n
                stack += [way] * n
                taken += [way.shape] * n
        return stack


def goes_on(way: Block, cloth: Cloth) -> bool:
    return way.across <= cloth.width and way.along <= cloth.longest

"""Cutting pieces from a given set of rolls, a face at a time laid another way.

Sections are made anew (:mod:`.remake`) at the prices of the set's own programme (:mod:`.fullness`), and what
does not fit on its rolls counts as a cost; so the search needs no guess which rolls the cheapest plan takes:
sets are tried one after the other (:mod:`.sets`), the cheapest first.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from .blocks import Block
from .effort import Effort
from .fill import Cloth, Section
from .fullness import Fullness, Taken
from .remake import Made, Remaker
from .sets import Candidate, CheapSets
from .sizes import Shape
from .slices import Size

# What a section costs that goes on no roll, in what its length would cost on one.
_OVER = 2.0
_NEVER = 1e6
# What sections may cost more for a while, as a part of all.
_HEAT = 3e-4
# The least rate, in that by area: where one width is not needed to the full, its length is worth little.
_LEAST = 0.05
# How often sections are made at other rates than the programme's, and how far rates then differ.
_TILTED = 0.7
_TILT = 0.03
_NOISE = 0.02
# Steps of a set that is first tried, of one that goes on, and how these grow from turn to turn.
_FIRST = 12
_NEXT = 60
_GROWTH = 1.6
# By how much of its share a dearer set is to be roomier.
_ROOMIER = 0.001
_HAIR = 0.001
# Jobs of more pieces are large: sets of which they take a greater share are not worth a try.
_MANY = 100
_FULLEST = 0.993
# What is done, in the pairs of blocks that effort counts: a set's programme and a set made ready (for each
# width of pieces), a step, a column or pile tried.
_WORK_PER_SET = 5_000
_WORK_PER_ENTRANT = 10_000
WORK_PER_STEP = 4_000
WORK_PER_LOOK = 12


@dataclass(frozen=True)
class Fit:
    """Rolls with their sections, and the way of each row; a leaf's *shape* is the number of its size."""

    cents: int
    choice: tuple[int, ...]
    sizes: tuple[Size, ...]
    loads: tuple[tuple[int, tuple[Block, ...]], ...]


class _Fitter(Remaker):
    """Makes sections for rolls of given lengths: *rolls* for each cloth."""

    def __init__(
        self,
        shapes: Sequence[Shape],
        cloths: Sequence[Cloth],
        prices: Mapping[int, float],
        rows: Sequence[Sequence[Mapping[int, int]]],
        fixed: Mapping[int, int],
        choice: Sequence[int],
        rolls: Sequence[Sequence[int]],
    ) -> None:
        self._rolls = [sorted(lengths) for lengths in rolls]
        self._room = [sum(lengths) for lengths in rolls]
        area = sum(cloth.width * room for cloth, room in zip(cloths, self._room, strict=True))
        self._over = [_OVER * max(cloth.rate, cloth.width / area) for cloth in cloths]
        super().__init__(shapes, cloths, prices, rows, fixed, choice)

    def keep_fitting(self) -> None:
        """From now on, let nothing outweigh a section that goes on no roll."""
        self._over = [_NEVER * over for over in self._over]

    def _fill(self, order: Sequence[int], left: list[int]) -> list[Section]:
        """Fill sections, now and then with rates that keep them off the rolls that are too full."""
        chance, filler = self._chance, self._filler
        if len(self.cloths) == 1 or chance.random() >= _TILTED:
            return filler.plan(order, left)
        used = self._used(self._made)
        filler.cloths = [
            Cloth(
                cloth.width,
                cloth.rate * (1 + _TILT * (length > room)) * (1 + _NOISE * chance.random()),
                cloth.longest,
            )
            for cloth, length, room in zip(self.cloths, used, self._room, strict=True)
        ]
        try:
            return filler.plan(order, left)
        finally:
            filler.cloths = self.cloths

    def _used(self, made: Sequence[Made]) -> list[int]:
        used = [0] * len(self.cloths)
        for one in made:
            used[one.section.cloth] += one.section.block.along
        return used

    def _excess_of(self, made: Sequence[Made]) -> float:
        """Return the cost of what goes on no roll, the longest first, each where it fits best."""
        along: list[list[int]] = [[] for _ in self.cloths]
        for one in made:
            along[one.section.cloth].append(one.section.block.along)
        excess = 0.0
        for cloth, lengths in enumerate(along):
            lengths.sort(reverse=True)
            rooms = self._rolls[cloth].copy()
            left = 0
            for length in lengths:
                at = bisect_left(rooms, length)
                if at == len(rooms):
                    left += length
                elif room := rooms.pop(at) - length:
                    insort(rooms, room)
            if left:
                excess += self._over[cloth] * left
        return excess

    def loads(self, kinds: Sequence[Sequence[tuple[int, int]]]) -> list[tuple[int, tuple[Block, ...]]]:
        """Return the best sections on rolls; *kinds*: for each cloth the length and kind of every roll."""
        blocks: list[list[Block]] = [[] for _ in self.cloths]
        for one in self.best:
            blocks[one.section.cloth].append(one.section.block)
        loads = []
        for rolls, sections in zip(kinds, blocks, strict=True):
            rooms = [(length, number) for number, (length, _) in enumerate(rolls)]
            rooms.sort()
            held: list[list[Block]] = [[] for _ in rolls]
            for section in sorted(sections, key=lambda block: -block.along):
                room, number = rooms.pop(bisect_left(rooms, (section.along, -1)))
                held[number].append(section)
                insort(rooms, (room - section.along, number))
            loads += [(kind, tuple(some)) for (_, kind), some in zip(rolls, held, strict=True) if some]
        return loads


class Entrant:
    """A set of rolls that pieces are tried on.

    Attributes:
        cents: what the rolls cost.
        taken: how many of each stock.
        is_possible: whether every piece goes on one of the rolls some way.
    """

    def __init__(self, full: Fullness, candidate: Candidate) -> None:
        """*full*: solved for the set. Where some piece goes on none of the rolls, *is_possible* is false."""
        self.cents, self.taken = candidate.cents, candidate.taken
        self._to_spare = 1 - candidate.share
        taken = candidate.taken
        self._rolls = _rolls(full, taken)
        widths = [full.stocks[rolls[0][1]].width for rolls in self._rolls]
        rooms = [sum(length for length, _ in rolls) for rolls in self._rolls]
        area = sum(width * room for width, room in zip(widths, rooms, strict=True))
        scale = sum(full.rates[width] * room for width, room in zip(widths, rooms, strict=True)) or 1.0
        cloths = [
            Cloth(width, max(full.rates[width] / scale, _LEAST * width / area), rolls[-1][0])
            for width, rolls in zip(widths, self._rolls, strict=True)
        ]
        self._sizes = tuple(
            size
            for size in sorted(full.most, reverse=True)
            if any(a <= cloth.width and b <= cloth.longest for a, b in full.lies(size) for cloth in cloths)
        )
        at = {size: number for number, size in enumerate(self._sizes)}
        self._ways = [
            [number for number, way in enumerate(row) if all(size in at for size in way)] for row in full.rows
        ]
        self.is_possible = all(self._ways) and all(size in at for size in full.fixed)
        if not self.is_possible:
            return
        self._search = _Fitter(
            [Shape(a, b, full.most[a, b, turns], turns) for a, b, turns in self._sizes],
            cloths,
            {width: value / scale for width, value in full.values.items()},
            [
                [{at[size]: count for size, count in row[number].items()} for number in numbers]
                for row, numbers in zip(full.rows, self._ways, strict=True)
            ],
            {at[size]: count for size, count in full.fixed.items()},
            [
                _foremost([shares[number] for number in numbers])
                for shares, numbers in zip(full.shares, self._ways, strict=True)
            ],
            [[length for length, _ in rolls] for rolls in self._rolls],
        )

    def difficulty(self) -> float:
        """Return what does not go on the rolls, compared with what the programme leaves of them."""
        return self._search.best_excess / (self._to_spare + _HAIR)

    def run(self, steps: int, effort: Effort) -> bool:
        """Make sections anew so often; return whether all go on the rolls."""
        search = self._search
        for step in range(steps):
            if not search.best_excess or effort.is_over:
                break
            before = search.work
            search.step(_HEAT * (1 - step / steps))
            effort.spend(WORK_PER_STEP + WORK_PER_LOOK * (search.work - before))
        return not search.best_excess

    def tidy(self, worth: float, steps: int) -> None:
        """Use less of the rolls, where one piece fewer is worth a length of *worth* (units)."""
        self._search.keep_fitting()
        self._search.value_pieces(worth * min(cloth.rate for cloth in self._search.cloths))
        for _ in range(steps):
            self._search.step(0.0)

    def fit(self) -> Fit:
        """Return what was found."""
        choice = tuple(numbers[i] for numbers, i in zip(self._ways, self._search.best_choice, strict=True))
        return Fit(self.cents, choice, self._sizes, tuple(self._search.loads(self._rolls)))


def _foremost(shares: Sequence[float]) -> int:
    """Return where the greatest share is, the first of equals."""
    return max(range(len(shares)), key=lambda at: (shares[at], -at))


def _rolls(full: Fullness, taken: Taken) -> list[list[tuple[int, int]]]:
    """Return length and kind of each roll of a set, by width (the widest first), the longest last."""
    by_width: dict[int, list[tuple[int, int]]] = {}
    for kind, (stock, count) in enumerate(zip(full.stocks, taken, strict=True)):
        if count:
            by_width.setdefault(stock.width, []).extend([(stock.length, kind)] * count)
    return [sorted(by_width[width]) for width in sorted(by_width, reverse=True)]


@dataclass(frozen=True)
class Race:
    """What a race found: the cheapest set that all go on (or None), and proven least cents."""

    best: Entrant | None
    floor: int


def race(full: Fullness, floor: int, limit: int, effort: Effort) -> Race:
    """Look for the cheapest set of rolls that all pieces can be cut from.

    Each set that is not proven too small is tried a little, the cheapest first, until one will do. Then the
    cheaper ones go on, always those that come nearest, until the work is done.

    Args:
        full: the programme of sets.
        floor: cents that are proven already.
        limit: cents of a plan that is known.
    """
    is_large = sum(full.most.values()) > _MANY
    sets = CheapSets(full, floor, limit, _FULLEST if is_large else 1.0)
    best: Entrant | None = None
    entrants: list[Entrant] = []
    least_share = inf
    for one in sets:
        effort.spend(_WORK_PER_SET * len(full.widths))
        # Where each try is long, a dearer set has to be roomier than all cheaper ones.
        if one.share < least_share - _ROOMIER or not is_large:
            least_share = one.share
            entrant = Entrant(full, one)
            effort.spend(_WORK_PER_ENTRANT * len(full.widths))
            if entrant.is_possible:
                if entrant.run(_FIRST, effort):
                    best = entrant
                    break
                entrants.append(entrant)
        if effort.is_over:
            break
    steps = _NEXT
    while entrants and not effort.is_over:
        entrants.sort(key=Entrant.difficulty)
        for entrant in entrants[: (len(entrants) + 1) // 2]:
            if (best is None or entrant.cents < best.cents) and entrant.run(steps, effort):
                best = entrant
        entrants = [entrant for entrant in entrants if best is None or entrant.cents < best.cents]
        steps = int(steps * _GROWTH)
    return Race(best, min(sets.floor, limit))

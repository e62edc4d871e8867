"""Which way every face is laid, chosen together with the rolls that all pieces are cut from.

Each face (and, where rolls of several widths are on offer, each change of plane) may be laid in one of
several ways. One linear programme (:mod:`.cutting.slices`) says what every choice costs at least and which
ways it would mix. From there, for a small job, one face at a time is laid another way and weighed by a quick
plan; for a large one sections are cut and made anew while faces change (:mod:`.cutting.remake`). The best
choices are then planned in full, and the cheapest plan wins. How much is tried is limited by count, so the
same input gives the same choice.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

from .cutting.bounds import least_cost, least_for_sections
from .cutting.effort import Effort
from .cutting.fitting import Entrant, race
from .cutting.fullness import Fullness, fullness
from .cutting.greedy import first_plan, score
from .cutting.remake import Remaker
from .cutting.rolls import Hint, cloths
from .cutting.sets import Candidate, are_sets, cheapest_set
from .cutting.sizes import Job, Shape, Stock
from .cutting.slices import Size, SliceProgramme

Way = tuple[Size, ...]
Choice = tuple[int, ...]
Value = tuple[int, int]  # cents; length used (units), each piece counted with what it is worth

# Pieces looked at by quick plans, in all; measured: under a tenth of a second.
_MOST_PIECES = 9_000
# Jobs of more pieces are planned by sections made anew; below, trying one face at a time finds as good plans.
MANY_PIECES = 80
# Steps of sections made anew: strips not turned, strips turned where that may save, and to the end.
PLAIN_STEPS = 300
MOST_STEPS = 700
_LAST_STEPS = 120
# What sections may cost more for a while, as a part of all.
_HEAT = 1.5e-4

# Work of the race of sets of rolls for each piece, as effort counts it; the clock only ends one gone astray.
_RACE_WORK_PER_PIECE = 200_000
_OUTER_LIMIT_S = 60.0
# Steps for a plan without turned strips on the same rolls, tried where these are no fuller than so.
_PLAIN_TRY = 60
_ROOMY = 0.985
_TIDY_STEPS = 40


@dataclass(frozen=True)
class Bounds:
    """What no choice can go below: *cents*, and on rolls of one width *length* (units; 0 where not known)."""

    cents: int
    length: int


@dataclass(frozen=True)
class Aim:
    """What is cut from which rolls. *worth*: length of roll (units) that one piece fewer is worth."""

    ways: Sequence[Sequence[Way]]
    fixed: Way
    stocks: Sequence[Stock]
    worth: int

    @cached_property
    def programme(self) -> SliceProgramme:
        """The solved linear programme of all choices."""
        counted = [[Counter(way) for way in row] for row in self.ways]
        programme = SliceProgramme(counted, Counter(self.fixed), self.stocks)
        programme.solve()
        return programme

    @cached_property
    def full(self) -> Fullness:
        """The programme of given sets of rolls."""
        return fullness(self.programme)

    def pieces(self, choice: Choice) -> int:
        return len(self.fixed) + sum(len(row[at]) for row, at in zip(self.ways, choice, strict=True))

    def quick(self, choice: Choice) -> Value:
        """Return the value of a quick plan of a choice."""
        counts = Counter(self.fixed)
        for row, at in zip(self.ways, choice, strict=True):
            counts.update(row[at])
        shapes = tuple(
            Shape(across, along, count, turns)
            for (across, along, turns), count in sorted(counts.items(), reverse=True)
        )
        loads = first_plan(Job(shapes, (), tuple(self.stocks), 0))
        if loads is None:
            return (1 << 62, 0)
        cents, length, _ = score(loads, self.stocks)
        return cents, length + self.worth * self.pieces(choice)


def bounds(aim: Aim, limit: int) -> Bounds:
    """Return what every choice costs at least; *limit*: the cost of a choice already found."""
    programme, stocks = aim.programme, aim.stocks
    cents = cheapest_set(aim.full, _floor(aim, limit), limit) if are_sets(stocks) else _floor(aim, limit)
    width = stocks[0].width
    is_plain = all(stock.width == width and not stock.is_stock for stock in stocks)
    whole = programme.slice_worth(width)
    length = max(-(-programme.need() // whole) if whole else 0, -(-_area(aim) // width)) if is_plain else 0
    return Bounds(cents, length)


def _floor(aim: Aim, limit: int) -> int:
    """Return cents that every choice costs at least by area and by the programme's prices."""
    programme, stocks = aim.programme, aim.stocks
    by_area = least_cost(stocks, [s.width * s.length for s in stocks], _area(aim), limit)
    return max(by_area, least_cost(stocks, programme.supply(), programme.need(), limit))


def _area(aim: Aim) -> int:
    return _least(aim, lambda size: size[0] * size[1])


def _least(aim: Aim, weight: Callable[[Size], int]) -> int:
    """Return the least sum of weights that any choice has."""
    return sum(min(sum(map(weight, way)) for way in row) for row in (*aim.ways, (aim.fixed,)))


def likely(aim: Aim) -> Choice:
    """Return for each row the way that the linear programme has most of."""
    return tuple(max(range(len(shares)), key=lambda at: (shares[at], -at)) for shares in aim.programme.shares)


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


@dataclass(frozen=True)
class Remade:
    """A choice with sections for it; *is_enough*: whole rolls as long as these cost the least."""

    choice: Choice
    hint: Hint
    is_enough: bool


@dataclass(frozen=True)
class Raced:
    """A choice with its whole plan (None where no plan was found); *turns*: strips may be turned."""

    choice: Choice
    hint: Hint | None
    turns: bool
    least: Bounds


def raced(plain: Aim, freest: Aim) -> Raced:
    """Return the choice that goes on the cheapest set of rolls found, no strip turned that need not be.

    *plain*: no strip is turned; *freest*: strips may be.
    """
    start = likely(freest)
    limit = freest.quick(start)[0] + 1
    effort = Effort(_OUTER_LIMIT_S, _RACE_WORK_PER_PIECE * freest.pieces(start))
    found = race(freest.full, _floor(freest, limit), limit, effort)
    least = Bounds(found.floor, 0)
    if found.best is None:
        return Raced((), None, False, least)
    best, turns = found.best, freest is not plain
    if turns:
        straight = plain_on(plain, best)
        if straight is not None:
            best, turns = straight, False
    best.tidy(plain.worth, _TIDY_STEPS)
    fit = best.fit()
    return Raced(fit.choice, Hint(fit.sizes, loads=fit.loads, least=found.floor), turns, least)


def plain_on(plain: Aim, best: Entrant) -> Entrant | None:
    """Return the same set of rolls with no strip turned, or None where that is not found."""
    full = Fullness([[Counter(way) for way in row] for row in plain.ways], Counter(plain.fixed), plain.stocks)
    share = full.share(best.taken)
    if share > _ROOMY:
        return None
    one = Entrant(full, Candidate(best.cents, best.taken, share))
    done = one.is_possible and one.run(_PLAIN_TRY, Effort(_OUTER_LIMIT_S, inf))
    return one if done else None


def remade(aim: Aim, start: Choice, target: int, steps: int) -> list[Remade]:
    """Return choices with sections for them, found from *start* by making sections anew; the best first.

    The search goes on until rolls of *target* cents may do or the *steps* are done; then a little further for
    sections that are best where each piece has its worth. None where some piece goes on limited rolls only.
    """
    programme = aim.programme
    stuff = cloths(programme, aim.stocks)
    if stuff is None:
        return []
    sizes = sorted(programme.most, reverse=True)
    at = {size: number for number, size in enumerate(sizes)}
    shapes = [Shape(a, b, programme.most[a, b, turns], turns) for a, b, turns in sizes]
    rows = [[Counter(at[size] for size in way) for way in row] for row in aim.ways]
    fixed = Counter(at[size] for size in aim.fixed)
    search = Remaker(shapes, stuff, programme.values, rows, fixed, start)

    def found() -> Remade:
        lengths: Counter[int] = Counter()
        for made in search.best:
            lengths[stuff[made.section.cloth].width] += made.section.block.along
        is_enough = least_for_sections(aim.stocks, lengths, target) <= target
        sections = tuple((stuff[m.section.cloth].width, m.section.block) for m in search.best)
        return Remade(tuple(search.best_choice), Hint(tuple(sizes), sections), is_enough)

    steps //= len(stuff)  # every section is tried on every width
    heat = _HEAT * search.best_cost
    first = found()
    for step in range(steps):
        if first.is_enough:
            break
        if search.step(heat * (1 - step / steps)):
            first = found()
    search.value_pieces(aim.worth * min(cloth.rate for cloth in stuff))
    for _ in range(_LAST_STEPS // len(stuff)):
        search.step(0.0)
    last = found()
    return [last, first] if last.is_enough or not first.is_enough else [first, last]

"""Values and bounds against published optima and against other solvers.

Published instances: OR-Library (Beasley 1985: ngcut, gcut; Christofides & Whitlock 1977: cgcut; Falkenauer
1996: binpack), as strips after Martello, Monaci & Vigo (2003). The least lengths for guillotine cuts are
not published; those here were found by two exact programmes of dynamic programming and are checked again
below by a third one for the smallest.
"""

from __future__ import annotations

import random
import time
from decimal import Decimal
from functools import cache
from itertools import product

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from estimates.takeoff.cutting import CutSettings, Piece, RollKind, benchmark, effort, plan_cuts, verify
from estimates.takeoff.cutting.benchmark import Instance, solve
from estimates.takeoff.cutting.bounds import strip_bound
from estimates.takeoff.cutting.sizes import Shape

NGCUT04 = ((1, 5), (6, 7), (6, 7), (5, 1), (5, 1), (5, 1), (9, 5))


def strip(width, sides, name="strip"):
    return Instance(name, "2d-strip", width, tuple(sides), False, None, None)


def bins(capacity, lengths):
    return Instance("bins", "1d", capacity, tuple((1, length) for length in lengths), False, None, None)


def least_guillotine_length(width, sides):
    """The textbook recursion over sets of pieces, without any pruning: least length for each width."""
    everything = (1 << len(sides)) - 1

    @cache
    def shapes(which):
        """Every (across, along) a block of these pieces can have and that no other one beats."""
        if which & (which - 1) == 0:
            return (tuple(sides[which.bit_length() - 1]),)
        found = set()
        part = (which - 1) & which
        while part:
            other = which ^ part
            if part < other:
                part = (part - 1) & which
                continue
            for (a, b), (c, d) in product(shapes(part), shapes(other)):
                if a + c <= width:
                    found.add((a + c, max(b, d)))
                found.add((max(a, c), b + d))
            part = (part - 1) & which
        return tuple(s for s in found if not any(t != s and t[0] <= s[0] and t[1] <= s[1] for t in found))

    return min(along for across, along in shapes(everything) if across <= width)


@pytest.mark.parametrize("seed", range(12))
def test_small_strips_are_cut_as_short_as_can_be(seed):
    chance = random.Random(seed)
    width = chance.randint(5, 20)
    sides = [(chance.randint(1, width), chance.randint(1, 20)) for _ in range(chance.randint(3, 8))]

    solved = solve(strip(width, sides))

    assert solved.value == solved.bound == least_guillotine_length(width, sides)


def packed_by_milp(capacity, lengths):
    """Least bins by the assignment model, solved by SciPy's HiGHS: another model than ours."""
    n = len(lengths)
    most = n
    rows, low, high = [], [], []
    for i in range(n):
        row = np.zeros(n * most + most)
        row[i * most : (i + 1) * most] = 1
        rows.append(row)
        low.append(1)
        high.append(1)
    for b in range(most):
        row = np.zeros(n * most + most)
        for i in range(n):
            row[i * most + b] = lengths[i]
        row[n * most + b] = -capacity
        rows.append(row)
        low.append(-np.inf)
        high.append(0)
    cost = np.r_[np.zeros(n * most), np.ones(most)]
    answer = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), low, high),
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
    )
    return round(answer.fun)


@pytest.mark.parametrize("seed", range(6))
def test_lengths_agree_with_another_solver(seed):
    chance = random.Random(seed)
    lengths = [chance.randint(15, 60) for _ in range(9)]

    solved = solve(bins(100, lengths))

    assert solved.value == solved.bound == packed_by_milp(100, lengths)


@pytest.mark.parametrize(
    ("width", "sides", "least"),
    [
        # ngcut04 and ngcut01 by Beasley (1985); least guillotine lengths by dynamic programming.
        pytest.param(10, NGCUT04, None, id="ngcut04-like"),
        pytest.param(20, [(20, 10), (20, 5)], 15, id="full width"),
        # Four pieces round a middle one: the area fits 3 by 3, but no straight cut goes through.
        pytest.param(3, [(2, 1), (1, 2), (2, 1), (1, 2), (1, 1)], 4, id="pinwheel"),
    ],
)
def test_known_strips(width, sides, least):
    solved = solve(strip(width, sides))

    assert solved.value == solved.bound == (least or least_guillotine_length(width, sides))


def test_triplets_are_packed_without_waste():
    """Bins filled exactly by three pieces each, as Falkenauer's t classes are made (rule from memory)."""
    chance = random.Random(60)
    lengths = []
    for _ in range(20):
        first = chance.randint(380, 490)
        second = chance.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]

    solved = solve(bins(1000, lengths))

    assert (solved.value, solved.bound) == (20, 20)
    assert solved.seconds < 2


def test_the_bound_of_a_strip_sees_what_cannot_lie_side_by_side():
    """Three pieces of 40 % and three of 65 % of the width: by area 3.15, side by side at most one of 65 %."""
    shapes = [Shape(65, 10, 3), Shape(40, 10, 3)]

    # One of 65 leaves 35, too narrow for 40; two of 40 lie side by side: 3 + 1.5 rows of 10.
    assert strip_bound(shapes, 100) == 45


def test_prices_decide_between_rolls():
    """By hand: 10 sheets of 60 from rolls of 192 (three each, 99.00) or 400 (six each, 180.00)."""
    pieces = [Piece(str(i), Decimal(39), Decimal(60)) for i in range(10)]
    kinds = [
        RollKind("short", Decimal(39), Decimal(192), 9900),
        RollKind("long", Decimal(39), Decimal(400), 18000),
    ]

    plan = plan_cuts(pieces, kinds)

    # 6 + 3 + 1: one long and two short (378.00); two long hold 12 (360.00); four short cost 396.00.
    assert (plan.cost_cents, plan.bound_cents, plan.proven) == (36000, 36000, True)


@pytest.mark.parametrize("seed", range(4))
def test_a_limited_offer_is_used_up_before_the_dearer_one(seed):
    """Against enumeration of how many rolls of each kind: equal pieces, so that numbers decide."""
    chance = random.Random(seed)
    each = chance.randint(50, 90)
    count = chance.randint(8, 20)
    kinds = [
        RollKind("a", Decimal(10), Decimal(200), chance.randint(80, 120), chance.randint(0, 3)),
        RollKind("b", Decimal(10), Decimal(330), chance.randint(150, 220), chance.randint(1, 4)),
        RollKind("c", Decimal(10), Decimal(510), chance.randint(300, 400)),
    ]
    pieces = [Piece(str(i), Decimal(10), Decimal(each)) for i in range(count)]

    plan = plan_cuts(pieces, kinds)

    holds = [int(kind.length_mm) // each for kind in kinds]
    cheapest = min(
        x * kinds[0].cost_cents + y * kinds[1].cost_cents + z * kinds[2].cost_cents
        for x, y, z in product(range(4), range(5), range(count + 1))
        if x <= kinds[0].available and y <= kinds[1].available
        if x * holds[0] + y * holds[1] + z * holds[2] >= count
    )
    verify(plan, pieces, kinds)
    assert plan.cost_cents == plan.bound_cents == cheapest


def test_the_same_input_gives_the_same_plan():
    chance = random.Random(5)
    pieces = [
        Piece(
            str(i), Decimal(chance.randint(10, 100)), Decimal(chance.randint(10, 100)), chance.random() < 0.3
        )
        for i in range(18)
    ]
    kinds = [RollKind("a", Decimal(100), Decimal(300), 700), RollKind("b", Decimal(100), Decimal(800), 1500)]

    # The work allowed is small, so that the clock does not end the search.
    plans = [plan_cuts(pieces, kinds, CutSettings(time_limit_s=30)) for _ in range(2)]

    assert plans[0] == plans[1]


def cut_up(chance, width, length, count):
    """Take a rectangle apart by straight edge-to-edge cuts: pieces whose least length is known."""
    rectangles = [(width, length)]
    while len(rectangles) < count:
        rectangles.sort(key=lambda sides: -sides[0] * sides[1])
        across, along = rectangles.pop(min(int(chance.expovariate(0.7)), len(rectangles) - 1))
        if chance.random() < across / (across + along) and across > 3:
            at = chance.randint(2, across - 2)
            rectangles += [(at, along), (across - at, along)]
        elif along > 3:
            at = chance.randint(2, along - 2)
            rectangles += [(across, at), (across, along - at)]
        else:
            rectangles.append((across, along))
    return rectangles


@pytest.mark.parametrize("seed", range(6))
def test_a_strip_cut_up_without_waste_is_put_together_again(seed):
    chance = random.Random(seed)
    width, length, count = ((40, 40, 12), (30, 50, 25), (60, 60, 28))[seed % 3]

    solved = solve(strip(width, cut_up(chance, width, length, count)))

    assert solved.value == solved.bound == length


def test_a_benchmark_is_solved_alike_on_a_busy_machine(monkeypatch):
    chance = random.Random(11)
    sides = [(chance.randint(2, 18), chance.randint(2, 18)) for _ in range(24)]
    monkeypatch.setitem(benchmark._WORK, "2d-strip", 3_000_000)
    at_rest = solve(strip(25, sides))

    monkeypatch.setattr(effort, "perf_counter", lambda: time.perf_counter() * 20)

    busy = solve(strip(25, sides))
    assert (busy.value, busy.bound) == (at_rest.value, at_rest.bound)

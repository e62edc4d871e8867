"""Rolls of several widths, each at its own price: cheapest set, bound, and more kinds never a dearer plan."""

from __future__ import annotations

from decimal import Decimal
from itertools import combinations, product
from random import Random

import pytest

from estimates.takeoff.cutting import CutSettings, Piece, RollKind, plan_cuts, verify
from estimates.takeoff.cutting.blocks import leaf
from estimates.takeoff.cutting.effort import Effort
from estimates.takeoff.cutting.fitting import race
from estimates.takeoff.cutting.fullness import fullness
from estimates.takeoff.cutting.rolls import Hint
from estimates.takeoff.cutting.sets import least_of
from estimates.takeoff.cutting.sizes import Shape, Stock
from estimates.takeoff.cutting.slices import job_programme

SETTINGS = CutSettings(time_limit_s=60, work_limit=2_000_000)


def offer(chance, count):
    """Rolls whose wider and longer kinds cost somewhat less by area (common practice, no source)."""
    kinds = []
    for at in range(count):
        width, length = chance.choice((20, 30, 39, 60)), chance.choice((120, 200, 300))
        by_area = (1 - width / 800) * (1 - length / 6000) * chance.uniform(0.97, 1.03)
        kinds.append(RollKind(str(at), Decimal(width), Decimal(length), round(width * length * by_area)))
    return kinds


def sheets(chance, count):
    return [
        Piece(
            str(at), Decimal(chance.randint(4, 20)), Decimal(chance.randint(10, 110)), chance.random() < 0.4
        )
        for at in range(count)
    ]


@pytest.mark.parametrize("seed", range(8))
def test_more_kinds_of_roll_never_make_a_plan_dearer(seed):
    chance = Random(seed)
    kinds, pieces = offer(chance, 3), sheets(chance, chance.randint(8, 30))
    plans = {
        few: plan_cuts(pieces, [kinds[at] for at in few], SETTINGS)
        for count in (1, 2, 3)
        for few in combinations(range(3), count)
    }

    for few, plan in plans.items():
        verify(plan, pieces, [kinds[at] for at in few])
        assert 0 < plan.bound_cents <= plan.cost_cents
        for more, other in plans.items():
            if set(few) < set(more):
                assert other.cost_cents <= plan.cost_cents
                # What many kinds are proven to cost at least, few cost too.
                assert other.bound_cents <= plan.cost_cents


@pytest.mark.parametrize("seed", range(4))
def test_equal_sheets_are_cut_from_the_cheapest_set(seed):
    """Against enumeration: sheets of one size, none turned, go on a roll in rows, so that numbers decide."""
    chance = Random(seed)
    across, along, count = chance.randint(8, 20), chance.randint(30, 90), chance.randint(20, 60)
    kinds = offer(chance, 3)
    pieces = [Piece(str(at), Decimal(across), Decimal(along)) for at in range(count)]

    plan = plan_cuts(pieces, kinds, SETTINGS)

    holds = [int(kind.width_mm) // across * (int(kind.length_mm) // along) for kind in kinds]
    most = [-(-count // n) if n else 0 for n in holds]
    cheapest = min(
        sum(n * kind.cost_cents for n, kind in zip(numbers, kinds, strict=True))
        for numbers in product(*(range(n + 1) for n in most))
        if sum(n * m for n, m in zip(numbers, holds, strict=True)) >= count
    )
    verify(plan, pieces, kinds)
    assert plan.bound_cents <= cheapest == plan.cost_cents


def test_a_set_cheaper_than_by_price_of_length_is_found():
    # By hand: 12 of 30 x 100 and 4 of 20 x 100. Wide rolls (60 x 400, 100) hold eight of 30, narrow ones
    # (20 x 400, 35) four of 20. One wide and a half for the first, one narrow for the second: 235. In two
    # wide rolls, 1 1/2 are taken by the first, and on the half left lie six of 20: 200.
    pieces = [Piece(f"a{at}", Decimal(30), Decimal(100)) for at in range(12)]
    pieces += [Piece(f"b{at}", Decimal(20), Decimal(100)) for at in range(4)]
    kinds = [
        RollKind("wide", Decimal(60), Decimal(400), 100),
        RollKind("narrow", Decimal(20), Decimal(400), 35),
    ]

    plan = plan_cuts(pieces, kinds, SETTINGS)

    assert (plan.cost_cents, plan.bound_cents, plan.proven) == (200, 200, True)


def test_what_is_free_on_the_shelf_is_part_of_every_set():
    # By hand: three of 50 x 100 need the wide roll's 300; the shelf's 20 x 200 takes two of 20 x 100, so that
    # no narrow roll is bought.
    shapes = [Shape(50, 100, 3), Shape(20, 100, 2)]
    stocks = [
        Stock(20, 200, 0, 1, True, 0),
        Stock(50, 300, 90, -1, False, 0),
        Stock(20, 200, 30, -1, False, 0),
    ]
    full = fullness(job_programme(shapes, stocks))

    found = race(full, 0, 1000, Effort(60, 1e9))

    assert found.best is not None
    assert (found.best.cents, found.best.taken, found.floor) == (90, (1, 1, 0), 90)
    fit = found.best.fit()
    assert sorted(kind for kind, _ in fit.loads) == [0, 1]
    assert least_of(full, [2], 1000) == 1000


def test_mixed_widths_are_planned_the_same_twice():
    chance = Random(3)
    kinds, pieces = offer(chance, 3), sheets(chance, 40)

    assert plan_cuts(pieces, kinds, SETTINGS) == plan_cuts(pieces, kinds, SETTINGS)


def test_sections_for_a_width_that_is_not_on_offer_are_no_plan():
    pieces = [Piece("a", Decimal(20), Decimal(50)), Piece("b", Decimal(50), Decimal(50))]
    kinds = [RollKind("wide", Decimal(60), Decimal(300), 500)]
    sizes = ((200_000, 500_000, False), (500_000, 500_000, False))
    hint = Hint(sizes, ((200_000, leaf(0, 200_000, 500_000)), (600_000, leaf(1, 500_000, 500_000))))

    plan = plan_cuts(pieces, kinds, SETTINGS, hint)

    verify(plan, pieces, kinds)

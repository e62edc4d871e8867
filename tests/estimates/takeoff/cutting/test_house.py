"""A ten-room house: floors of sheets as wide as the roll with a rip each, strips, corner patches."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from estimates.takeoff.cutting import CutSettings, Piece, RollKind, plan_cuts, verify

INCH = Decimal("25.4")
WIDTH = 39


def house(seed: int) -> list[Piece]:
    """About 80 pieces and 150 strips; room sizes to 1/16 in (common practice, no source)."""
    chance = random.Random(seed)
    sizes: list[tuple[Decimal, Decimal]] = []
    for _ in range(10):
        length = Decimal(chance.randint(60 * 16, 160 * 16)) / 16
        breadth = Decimal(chance.randint(40 * 16, 120 * 16)) / 16
        while breadth > 0:
            sizes.append((min(Decimal(WIDTH), breadth), length))
            breadth -= WIDTH - 2
        sizes += [(Decimal(6), Decimal(6))] * chance.choice((2, 4, 4, 6))
        sizes.append((Decimal(chance.randint(10, 39)), Decimal(chance.randint(20, 60))))
        sizes += [(Decimal(WIDTH), Decimal(4))] * 15
    return [Piece(f"{i}", across * INCH, along * INCH) for i, (across, along) in enumerate(sizes)]


@pytest.mark.parametrize("seed", [1000, 1001, 1003])
def test_a_house_on_one_kind_of_roll_is_proven_cheapest(seed):
    pieces = house(seed)
    kinds = [RollKind("98 ft", WIDTH * INCH, 98 * 12 * INCH, 52900)]
    settings = CutSettings(kerf_mm=Decimal("0.5"), time_limit_s=20, work_limit=60_000_000)

    plan = plan_cuts(pieces, kinds, settings)

    verify(plan, pieces, kinds, settings)
    assert plan.proven
    assert plan.gap == 0


def test_three_lengths_of_roll_are_mixed_and_proven():
    pieces = house(1000)
    kinds = [
        RollKind("16 ft", WIDTH * INCH, 16 * 12 * INCH, 9900),
        RollKind("33 ft", WIDTH * INCH, 33 * 12 * INCH, 18900),
        RollKind("98 ft", WIDTH * INCH, 98 * 12 * INCH, 52900),
    ]

    plan = plan_cuts(pieces, kinds, CutSettings(time_limit_s=30, work_limit=120_000_000))

    verify(plan, pieces, kinds)
    assert plan.gap <= Decimal("0.01")


def test_with_almost_no_time_there_is_still_a_plan_and_its_bound():
    pieces = house(7)
    kinds = [RollKind("33 ft", WIDTH * INCH, 33 * 12 * INCH, 18900)]

    plan = plan_cuts(pieces, kinds, CutSettings(time_limit_s=0.001))

    verify(plan, pieces, kinds)
    assert 0 < plan.bound_cents <= plan.cost_cents

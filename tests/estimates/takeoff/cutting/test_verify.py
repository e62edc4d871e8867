"""The independent check refuses plans that cannot be cut."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from estimates.takeoff.cutting import CutSettings, Piece, PlanFault, RollKind, plan_cuts, verify
from estimates.takeoff.cutting.model import CutPlan, CutRoll, Placed

KIND = RollKind("roll", Decimal(3), Decimal(3), 100)
SIDES = {"a": (2, 1), "b": (1, 2), "c": (2, 1), "d": (1, 2), "e": (1, 1)}
PIECES = [Piece(key, Decimal(a), Decimal(b)) for key, (a, b) in SIDES.items()]


def plan_of(places):
    placed = tuple(
        Placed(key, 1, Decimal(x), Decimal(y), *(Decimal(side) for side in SIDES[key]), False)
        for key, x, y in places
    )
    roll = CutRoll("roll", 1, Decimal(3), placed, (), ())
    nought = Decimal(0)
    return CutPlan((roll,), 100, 100, nought, True, "by hand", Decimal(1), nought, nought)


def test_pieces_round_a_middle_one_fit_but_cannot_be_parted():
    """The pinwheel: no straight cut goes from edge to edge without cutting a piece."""
    pinwheel = plan_of([("a", 0, 0), ("b", 2, 0), ("c", 1, 2), ("d", 0, 1), ("e", 1, 1)])

    with pytest.raises(PlanFault, match="parted"):
        verify(pinwheel, PIECES, [KIND])


@pytest.mark.parametrize(
    ("places", "fault"),
    [
        ([("a", 0, 0), ("b", 2, 0), ("c", 1, 2), ("d", 0, 1)], "exactly once"),
        ([("a", 0, 0), ("b", 1, 0), ("c", 1, 2), ("d", 0, 1), ("e", 2, 0)], "overlap"),
        ([("a", 2, 0), ("b", 0, 0), ("c", 1, 2), ("d", 0, 1), ("e", 1, 1)], "leaves"),
    ],
)
def test_a_false_place_is_found(places, fault):
    with pytest.raises(PlanFault, match=fault):
        verify(plan_of(places), PIECES, [KIND])


def test_a_false_claim_is_found():
    kind = RollKind("roll", Decimal(5), Decimal(9), 100, available=1)
    settings = CutSettings(kerf_mm=Decimal(1))
    pieces = [Piece(str(i), Decimal(2), Decimal(4)) for i in range(4)]
    plan = plan_cuts(pieces, [kind], settings)
    roll = plan.rolls[0]
    verify(plan, pieces, [kind], settings)

    turned = (replace(roll.placed[0], turned=True), *roll.placed[1:])
    wrong = {
        "cost": replace(plan, cost_cents=90),
        "on offer": replace(plan, rolls=(roll, replace(roll, number=2, placed=()))),
        "turned": replace(plan, rolls=(replace(roll, placed=turned),)),
        "says": replace(plan, rolls=(replace(roll, used_length_mm=Decimal(4)),)),
    }
    for fault, claim in wrong.items():
        with pytest.raises(PlanFault, match=fault):
            verify(claim, pieces, [kind], settings)
    # The same places do not do for a wider kerf.
    with pytest.raises(PlanFault, match="parted"):
        verify(plan, pieces, [kind], CutSettings(kerf_mm=Decimal(2)))

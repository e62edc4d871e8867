"""Plans over real rolls: every one is proved by the independent check."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.takeoff.cutting import CutSettings, Piece, RollKind, plan_cuts, verify
from estimates.takeoff.errors import DomainError

INCH = Decimal("25.4")
SHORT = RollKind("short", 39 * INCH, 16 * 12 * INCH, 9900)
LONG = RollKind("long", 39 * INCH, 98 * 12 * INCH, 45000)
WIDE = RollKind("wide", 60 * INCH, 100 * 12 * INCH, 79000)


def sheets(count: int, across: int, along: int, name: str = "sheet", may_turn: bool = False) -> list[Piece]:
    return [Piece(f"{name} {i + 1}", across * INCH, along * INCH, may_turn) for i in range(count)]


def test_it_cuts_one_sheet_from_one_roll():
    pieces = sheets(1, 39, 60)

    plan = plan_cuts(pieces, [SHORT, LONG])

    verify(plan, pieces, [SHORT, LONG])
    assert (plan.cost_cents, plan.bound_cents, plan.proven) == (9900, 9900, True)
    assert [c.direction for c in plan.rolls[0].cuts] == ["across"]
    assert plan.rolls[0].offcuts[0].along_mm == (192 - 60) * INCH


def test_it_uses_the_shelf_before_it_buys():
    shelf = RollKind("shelf", 39 * INCH, 62 * INCH, 500, is_stock=True)
    pieces = sheets(1, 39, 60)

    plan = plan_cuts(pieces, [SHORT, shelf])

    verify(plan, pieces, [SHORT, shelf])
    assert (plan.cost_cents, plan.rolls[0].kind_key) == (0, "shelf")


def test_the_trim_comes_off_new_rolls_only_and_the_kerf_off_every_cut():
    settings_ = CutSettings(kerf_mm=Decimal(2), trim_mm=Decimal(10))
    kind = RollKind("roll", Decimal(100), Decimal(212), 100)
    pieces = [Piece(str(i), Decimal(49), Decimal(100)) for i in range(4)]

    plan = plan_cuts(pieces, [kind], settings_)

    verify(plan, pieces, [kind], settings_)
    assert len(plan.rolls) == 1
    assert {(p.x_mm, p.y_mm) for p in plan.rolls[0].placed} == {
        (Decimal(x), Decimal(y)) for x in (0, 51) for y in (10, 112)
    }


@pytest.mark.parametrize(
    ("pieces", "kinds", "rule"),
    [
        (sheets(1, 40, 10), [SHORT, LONG], "cutting.piece-too-large"),
        (sheets(1, 39, 10), [], "cutting.no-rolls"),
        (sheets(1, 0, 10), [SHORT], "cutting.piece-size"),
        (sheets(1, 39, 10), [RollKind("bad", Decimal(0), Decimal(1), 1)], "cutting.roll-size"),
        (sheets(1, 39, 10), [RollKind("bad", Decimal(10), Decimal(1), -1)], "cutting.roll-price"),
        (sheets(1, 39, 10) * 2, [SHORT], "cutting.duplicate-key"),
        (sheets(2, 39, 190), [RollKind("one", 39 * INCH, 192 * INCH, 1, 1)], "cutting.too-few-rolls"),
        ([Piece("x", Decimal("NaN"), Decimal(1))], [SHORT], "cutting.piece-size"),
    ],
)
def test_what_cannot_be_cut_is_said_in_a_sentence(pieces, kinds, rule):
    with pytest.raises(DomainError) as caught:
        plan_cuts(pieces, kinds)

    assert caught.value.rule == rule
    assert str(caught.value.reason).endswith(".")


def test_a_piece_that_fits_no_roll_names_itself_and_the_widest_roll():
    with pytest.raises(
        DomainError, match=r"Piece sheet 1, 1651\.0 mm across .* the widest is wide, 1524\.0 mm"
    ):
        plan_cuts(sheets(1, 65, 20), [SHORT, WIDE])


sizes = st.integers(1, 400)
piece_lists = st.lists(
    st.tuples(st.integers(1, 100), sizes, st.booleans(), st.integers(1, 4)), min_size=1, max_size=9
)


@settings(max_examples=60, deadline=None)
@given(piece_lists, st.integers(0, 3), st.integers(0, 5), st.booleans())
def test_any_plan_can_be_cut(rows, kerf, trim, shelf):
    """The independent check accepts the plan, and the bound is not above its cost."""
    pieces = [
        Piece(f"{i}.{n}", Decimal(a), Decimal(b), turn)
        for i, (a, b, turn, count) in enumerate(rows)
        for n in range(count)
    ]
    kinds = [RollKind("a", Decimal(100), Decimal(405), 700), RollKind("b", Decimal(130), Decimal(900), 1900)]
    if shelf:
        kinds.append(RollKind("shelf", Decimal(90), Decimal(300), 0, is_stock=True))
    settings_ = CutSettings(kerf_mm=Decimal(kerf), trim_mm=Decimal(trim), time_limit_s=0.2)

    plan = plan_cuts(pieces, kinds, settings_)

    verify(plan, pieces, kinds, settings_)
    assert 0 <= plan.bound_cents <= plan.cost_cents


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(4, 39), st.integers(4, 90), st.booleans()), min_size=1, max_size=14),
    st.lists(st.tuples(st.integers(5, 39), st.integers(10, 120)), min_size=1, max_size=4),
)
def test_more_on_the_shelf_never_costs_more(sizes, shelf):
    pieces = [Piece(str(i), a * INCH, b * INCH, turns) for i, (a, b, turns) in enumerate(sizes)]
    offcuts = [
        RollKind(f"offcut {i}", a * INCH, b * INCH, 0, is_stock=True) for i, (a, b) in enumerate(shelf)
    ]
    limits = CutSettings(time_limit_s=60, work_limit=300_000)

    bought = plan_cuts(pieces, [SHORT, LONG], limits)
    plan = plan_cuts(pieces, [SHORT, LONG, *offcuts], limits)

    verify(plan, pieces, [SHORT, LONG, *offcuts], limits)
    assert plan.bound_cents <= plan.cost_cents <= bought.cost_cents
    # What the shelf may save is at most every roll: the bound with it is never above a plan's cost without.
    assert plan.bound_cents <= bought.cost_cents

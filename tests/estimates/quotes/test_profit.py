"""Margin, markup and shares against published examples."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimates.quotes.profit import (
    cents,
    margin_for_markup,
    margin_of,
    markup_for_margin,
    markup_of,
    shared,
)
from estimates.takeoff.errors import DomainError


@pytest.mark.parametrize(
    ("cost", "price", "margin", "markup"),
    [
        # contractorcfo.org/articles/markup-vs-margin-explained: cost 80,000, 20 % markup and 20 % margin.
        ("80000", "96000", None, "0.2"),
        ("80000", "100000", "0.2", None),
    ],
)
def test_published_example_of_margin_and_markup(cost, price, margin, markup):
    """The published pair shows the difference: 96,000 against 100,000 for the same 20 %."""
    if margin:
        assert margin_of(Decimal(price), Decimal(cost)) == Decimal(margin)
        assert Decimal(cost) * (1 + markup_for_margin(Decimal(margin))) == Decimal(price)
    if markup:
        assert markup_of(Decimal(price), Decimal(cost)) == Decimal(markup)
        assert Decimal(cost) / (1 - margin_for_markup(Decimal(markup))) == pytest.approx(Decimal(price))


@pytest.mark.parametrize(
    ("margin", "markup_percent"),
    # theprofitconstructors.com/post/markup-vs-margin-the-math-every-contractor-must-know
    [("0.40", "66.7"), ("0.30", "42.9")],
)
def test_published_markup_for_a_margin(margin, markup_percent):
    """40 % margin is 66.7 % markup, 30 % is 42.9 %."""
    assert round(markup_for_margin(Decimal(margin)) * 100, 1) == Decimal(markup_percent)


@pytest.mark.parametrize(
    ("markup", "margin_percent"),
    # By hand: markup / (1 + markup).
    [
        ("0.10", "9.0909"),
        ("0.15", "13.0435"),
        ("0.20", "16.6667"),
        ("0.25", "20.0000"),
        ("0.50", "33.3333"),
        ("1.00", "50.0000"),
    ],
)
def test_margin_table(markup, margin_percent):
    """The usual table of markups and the margins they give."""
    assert round(margin_for_markup(Decimal(markup)) * 100, 4) == Decimal(margin_percent)


@pytest.mark.parametrize("margin", ["1", "1.2"])
def test_margin_of_everything_is_refused(margin):
    """At 100 % there is no price; the sentence says what to do."""
    with pytest.raises(DomainError, match="less than 100 %") as caught:
        markup_for_margin(Decimal(margin))
    assert caught.value.rule == "price.margin-all"


@pytest.mark.parametrize(
    ("amount", "expected"),
    # The first two: totals example below (12.35 x 4.995; 579.66 x 8.25 %). Then half a cent goes up.
    [("61.68825", 6169), ("47.82195", 4782), ("0.005", 1), ("0.0049", 0), ("2.675", 268)],
)
def test_cents_are_half_up(amount, expected):
    """Never half to even, and never through a float (2.675 would come out as 2.67)."""
    assert cents(Decimal(amount)) == expected


@pytest.mark.parametrize(
    ("total", "weights", "expected"),
    [
        (100, ["1", "1", "1"], [34, 33, 33]),
        (10000, ["33.7", "12.1", "0"], [7358, 2642, 0]),  # 7358.078.. and 2641.921..
        (5, ["0", "0"], [5, 0]),
        (0, ["1", "2"], [0, 0]),
    ],
)
def test_shares_by_hand(total, weights, expected):
    """Odd cents go to the largest remainder, the earlier of equals first."""
    assert shared(total, [Decimal(weight) for weight in weights]) == expected


@given(
    st.integers(0, 10**9),
    st.lists(st.decimals(0, 10**6, places=6), min_size=1, max_size=12),
)
def test_shares_sum_to_the_total_and_are_off_by_less_than_a_cent(total, weights):
    """Whatever the weights, nothing is lost and nobody is a whole cent from the exact share."""
    parts = shared(total, weights)

    assert sum(parts) == total
    whole = sum(weights)
    if whole:
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part * whole - total * weight) < whole

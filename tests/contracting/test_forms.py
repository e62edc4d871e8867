"""Money and percentages as people type them."""

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from contracting.forms import MoneyField, PercentField


@pytest.mark.parametrize(
    ("typed", "cents"),
    [
        ("1,234.50", 123450),
        ("$1 234.5", 123450),
        ("12", 1200),
        (".75", 75),
        ("0", 0),
        ("1,234,567.89", 123456789),
    ],
)
def test_it_reads_money_as_written(typed, cents):
    assert MoneyField().clean(typed) == cents


@pytest.mark.parametrize("typed", ["12,34", "1.234", "abc", "NaN", "1e3", "-5", "$", "1O.00", "--3", "."])
def test_it_refuses_what_is_no_amount_and_says_what_was_read(typed):
    with pytest.raises(forms.ValidationError) as refusal:
        MoneyField().clean(typed)

    assert typed in refusal.value.messages[0]


def test_it_reads_a_percentage():
    assert PercentField().clean("8.25 %") == 825


def test_it_refuses_a_percentage_above_its_limit():
    with pytest.raises(forms.ValidationError, match="from 0 to 50"):
        PercentField(most=5000).clean("51")


@given(st.integers(min_value=0, max_value=10**12))
def test_what_is_shown_reads_back_as_itself(cents):
    assert MoneyField().clean(MoneyField().prepare_value(cents)) == cents


@given(st.integers(min_value=0, max_value=10000))
def test_a_shown_percentage_reads_back_as_itself(points):
    assert PercentField().clean(PercentField().prepare_value(points)) == points

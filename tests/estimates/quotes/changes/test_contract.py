"""A change's money by hand, and what properties hold for any payments and any changes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimates.quotes.changes import contract
from estimates.quotes.changes.contract import BALANCE, Stage


@pytest.mark.parametrize(
    ("sign", "quantity_millionths", "each_cents", "expected"),
    [
        # By hand: 2.5 x 19.99 = 49.975, half up 49.98; taken away, the same amount below nothing.
        (1, 2_500_000, 1999, 4998),
        (-1, 2_500_000, 1999, -4998),
        (1, 1_000_000, 35_000, 35_000),
        # By hand: 1/3 of 10.00 = 3.33333, rounded once 3.33.
        (1, 333_333, 1000, 333),
    ],
)
def test_an_amount_is_rounded_once_and_turned_by_its_sign(sign, quantity_millionths, each_cents, expected):
    assert contract.amount_cents(sign, quantity_millionths, each_cents) == expected


@pytest.mark.parametrize(
    ("taxed", "points", "expected"),
    [
        # EN 16931, BR-CO-17: taxable amount times rate, rounded to two decimals. 100.06 x 8.25 % = 8.25495.
        (10_006, 825, 825),
        # By hand: 100.00 x 8.25 % = 8.25; a deduction gives back as much.
        (10_000, 825, 825),
        (-10_000, 825, -825),
        # By hand: 0.06 x 8.25 % = 0.00495, nothing; 0.07 x 8.25 % = 0.005775, a cent.
        (6, 825, 0),
        (7, 825, 1),
    ],
)
def test_tax_is_one_multiplication(taxed, points, expected):
    assert contract.tax_on(taxed, points) == expected


def test_what_is_taxed_follows_the_site():
    assert contract.taxed_part(500, "everything", is_material=False) == 500
    assert contract.taxed_part(500, "materials", is_material=False) == 0
    assert contract.taxed_part(500, "materials", is_material=True) == 500
    assert contract.taxed_part(500, "none", is_material=True) == 0


def test_hours_cost_pay_and_burden():
    # By hand: 1.5 h x 30.00 x 1.3206 = 59.427.
    assert contract.labour_cost_cents(90, {"pay": "30.00", "burden": "0.3206"}) == 5943
    assert contract.labour_cost_cents(90, None) == 0


def stage(key: str, cents: int) -> Stage:
    return Stage(key, {"message": key, "parameters": {}}, cents)


# 10,000.00: a deposit of 30 %, 40 % on the way, the rest.
QUOTED = [stage("stage-1", 300_000), stage("stage-2", 400_000), stage(BALANCE, 300_000)]


def amounts(changes) -> list[tuple[str, int]]:
    return [(one.key, one.cents) for one in contract.schedule(QUOTED, changes)]


def test_an_addition_is_paid_with_the_balance_or_on_its_own():
    assert amounts([("balance", stage("change-1", 50_000))]) == [
        ("stage-1", 300_000),
        ("stage-2", 400_000),
        (BALANCE, 350_000),
    ]
    # On its own it stands before the balance, which stays the last payment.
    assert amounts([("done", stage("change-1", 50_000))]) == [
        ("stage-1", 300_000),
        ("stage-2", 400_000),
        ("change-1", 50_000),
        (BALANCE, 300_000),
    ]


def test_a_deduction_comes_off_the_end():
    assert amounts([("signing", stage("change-1", -100_000))])[-1] == (BALANCE, 200_000)
    # More than the balance: the payment before it pays the rest.
    assert amounts([("balance", stage("change-1", -350_000))]) == [
        ("stage-1", 300_000),
        ("stage-2", 350_000),
        (BALANCE, 0),
    ]


@given(
    st.lists(st.integers(0, 10**7), min_size=1, max_size=5),
    st.lists(st.tuples(st.sampled_from(["balance", "signing", "done"]), st.integers(-(10**6), 10**6))),
)
def test_payments_always_sum_to_the_contract_and_none_is_negative(quoted, changes):
    stages = [stage(f"stage-{at}", cents) for at, cents in enumerate(quoted)]
    stages[-1] = stage(BALANCE, quoted[-1])
    total = sum(quoted) + sum(cents for _when, cents in changes)
    if total < 0:
        return
    found = contract.schedule(
        stages, [(when, stage(f"change-{at}", cents)) for at, (when, cents) in enumerate(changes)]
    )
    assert sum(one.cents for one in found) == total
    assert all(one.cents >= 0 for one in found)
    assert found[-1].key == BALANCE


def test_a_quote_without_a_balance_gets_one_of_nothing():
    paper = {"payments": [{"due": {"message": "On acceptance", "parameters": {}}, "cents": 9_000}]}
    assert [(one.key, one.cents) for one in contract.stages_of(paper)] == [("stage-1", 9_000), (BALANCE, 0)]

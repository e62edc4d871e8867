"""The price of a job against hand-worked totals and what must hold for every job."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.quotes.pricing import (
    Asked,
    Bought,
    Changed,
    Detail,
    HandLine,
    Kind,
    Labour,
    OtherCost,
    ProfitRule,
    Stage,
    TaxBase,
    Terms,
    Worked,
    payments,
    price,
)
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Role
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.working import Figure, Origin, Working

D = Decimal
AT_COST = Terms("USD", Labour(D(30), D("0.3206")), overhead=D(0), profit=D(0))


def figure(value: str, unit: str = "") -> Figure:
    work = Working("x", Phrase("x"))
    work.given("x", Phrase("x"), D(value), unit, Origin.COMPUTED)
    return work.figure()


def bought(key: str, packs: str, pack_price: str | None, *rooms: tuple[str, str], **more) -> Bought:
    return Bought(
        key,
        more.pop("role", Role.TILE),
        key,
        figure(packs),
        "box",
        "each",
        tuple((room, D(quantity)) for room, quantity in rooms),
        None if pack_price is None else D(pack_price),
        **more,
    )


def test_totals_by_hand():
    """12.35 x 4.995 = 61.68825; 3 x 19.99; 7.5 x 62.40; less 25 and plus 15; 8.25 % of 579.66 = 47.82195.

    Rounded as EN 16931 asks (BR-DEC, BR-CO-10, -13, -14, -15, -17): lines first, then sums, tax once.
    The allowance of 25.00 is taken from the third line by a price set by hand, the charge is a line.
    """
    hand = (
        HandLine("1", "", "tile", "trim", D("12.35"), "ft", D("4.995"), D("4.995")),
        HandLine("2", "", "tile", "edge", D(3), "each", D("19.99"), D("19.99")),
        HandLine("3", "", "tile", "hours", D("7.5"), "h", D("62.40"), D("62.40")),
        HandLine("4", "", "travel", "charge", D(1), "", D(15), D(15)),
    )
    terms = replace(AT_COST, tax_base=TaxBase.EVERYTHING, tax_rate=D("0.0825"))
    plain = price(Asked(rooms=(), hand=hand), terms)
    priced = price(Asked(rooms=(), hand=hand, prices={"hand:3": Changed(D("443.00"), "allowance")}), terms)

    assert [line.price_cents for line in plain.lines] == [6169, 5997, 46800, 1500]
    assert plain.price_cents - 1500 == 58966
    assert priced.price_cents == 57966
    assert priced.tax_cents == 4782
    assert priced.total_cents == 62748
    assert priced.lines[2].changed == ("allowance",)


def test_labour_cost_with_burden():
    """30.00 an hour and a burden of 32.06 % is 39.618 an hour; 10 h and 6 h by hand: 396.18 and 237.71.

    The burden is that of the worked example in the trade facts (20,004.60 on 62,400 = 32.06 %, by hand).
    """
    asked = Asked(
        rooms=(("a", "A"), ("b", "B")),
        worked=(
            Worked("a", "tile", Phrase("set"), figure("7", "h")),
            Worked("a", "tile", Phrase("cut"), figure("3", "h")),
            Worked("b", "tile", Phrase("set"), figure("6", "h")),
        ),
    )
    priced = price(asked, AT_COST)

    assert [(line.room, line.quantity, line.cost_cents) for line in priced.lines] == [
        ("a", D(10), 39618),
        ("b", D(6), 23771),  # 237.708
    ]


def test_packs_are_paid_once_and_shared_by_need():
    """4 boxes at 48.50 = 194.00 over 31.5 and 10.5 tiles: three quarters, one quarter."""
    asked = Asked(
        rooms=(("a", "A"), ("b", "B")), bought=(bought("tile", "4", "48.50", ("a", "31.5"), ("b", "10.5")),)
    )
    priced = price(asked, AT_COST)

    assert [line.cost_cents for line in priced.lines] == [14550, 4850]


def test_the_odd_cent_is_named_in_the_working():
    """100.00 over three equal rooms: 33.34, 33.33, 33.33, and the working shows where the cent went."""
    rooms = (("a", "1"), ("b", "1"), ("c", "1"))
    priced = price(
        Asked(rooms=tuple((key, key) for key, _ in rooms), bought=(bought("t", "1", "100", *rooms),)), AT_COST
    )

    assert [line.cost_cents for line in priced.lines] == [3334, 3333, 3333]
    odd = [line.value for line in priced.lines[0].cost_working.lines if line.symbol == "o"]
    assert odd == [D("0.01")]
    assert "largest remainder" in str(
        next(line.source for line in priced.lines[0].cost_working.lines if line.symbol == "o")
    )


@pytest.mark.parametrize(
    ("rule", "profit", "expected"),
    [
        # contractorcfo.org/articles/markup-vs-margin-explained: 80,000 at 20 %.
        (ProfitRule.MARKUP, "0.20", 9_600_000),
        (ProfitRule.MARGIN, "0.20", 10_000_000),
    ],
)
def test_margin_and_markup_published(rule, profit, expected):
    """The same 20 % is 96,000 as a markup and 100,000 as a margin."""
    asked = Asked(rooms=(), other=(OtherCost("x", "demolition", Phrase("x"), D(80000)),))
    priced = price(asked, replace(AT_COST, profit=D(profit), profit_rule=rule))

    assert priced.price_cents == expected


def test_overhead_comes_before_profit():
    """100.00 + 12 % overhead = 112.00; at 30 % margin 160.00, of which 48.00 is profit (by hand)."""
    asked = Asked(rooms=(), other=(OtherCost("x", "travel", Phrase("x"), D(100)),))
    priced = price(asked, replace(AT_COST, overhead=D("0.12"), profit=D("0.30")))

    assert (priced.cost_cents, priced.overhead_cents, priced.price_cents) == (10000, 1200, 16000)
    assert (priced.margin, round(priced.markup, 4)) == (D("0.3"), D("0.4286"))


def test_the_minimum_charge_lifts_the_job_in_a_line_of_its_own():
    """A job of 100.00 with a minimum of 450.00 gets a line of 350.00 that costs nothing."""
    asked = Asked(rooms=(), other=(OtherCost("x", "travel", Phrase("x"), D(100)),))
    lifted = price(asked, replace(AT_COST, minimum_charge=D(450)))
    enough = price(asked, replace(AT_COST, minimum_charge=D(100)))

    assert [(line.kind, line.price_cents) for line in lifted.lines][1:] == [(Kind.MINIMUM, 35000)]
    assert [line.kind for line in enough.lines] == [Kind.OTHER]


@pytest.mark.parametrize(
    ("base", "taxed", "tax"),
    # 8.25 % by hand: of 200.00 (material) 16.50; of 300.00 (everything) 24.75.
    [(TaxBase.NONE, 0, 0), (TaxBase.MATERIALS, 20000, 1650), (TaxBase.EVERYTHING, 30000, 2475)],
)
def test_tax_by_its_own_rule(base, taxed, tax):
    """Materials only, everything, or nothing; the customer's own tile is never taxed."""
    asked = Asked(
        rooms=(("a", "A"),),
        bought=(
            bought("tile", "2", "100", ("a", "5")),
            bought("own", "3", "80", ("a", "5"), customer_supplied=True),
        ),
        other=(OtherCost("x", "travel", Phrase("x"), D(100)),),
    )
    priced = price(asked, replace(AT_COST, tax_base=base, tax_rate=D("0.0825")))

    assert (priced.taxed_cents, priced.tax_cents) == (taxed, tax)
    assert sum(line.tax_cents for line in priced.lines) == tax


def test_what_the_customer_supplies_is_counted_and_not_priced():
    """The line stays with its quantity, at nothing, and no missing price is reported."""
    asked = Asked(
        rooms=(("a", "A"),), bought=(bought("own", "3", None, ("a", "31"), customer_supplied=True),)
    )
    priced = price(asked, AT_COST)

    assert priced.problems == ()
    assert [(line.quantity, line.cost_cents, line.price_cents) for line in priced.lines] == [(D(31), 0, 0)]
    assert str(priced.lines[0].label) == "own (supplied by the customer)"


def test_a_missing_price_or_hour_cost_is_a_problem_and_not_a_zero():
    """The estimate can be looked at, and says what is missing."""
    asked = Asked(
        rooms=(("a", "A"),),
        bought=(bought("tile", "3", None, ("a", "31")),),
        worked=(Worked("a", "tile", Phrase("set"), figure("7", "h")),),
    )
    priced = price(asked, replace(AT_COST, labour=None))

    assert [str(problem.text) for problem in priced.problems] == [
        "tile has no price on that day.",
        "No cost of an hour is known for that day.",
    ]


def test_changes_by_hand_are_marked():
    """Packs and hours set by hand replace the computed ones, with the reason on the line."""
    asked = Asked(
        rooms=(("a", "A"),),
        bought=(bought("tile", "3", "10", ("a", "31")),),
        worked=(Worked("a", "tile", Phrase("set"), figure("7", "h")),),
        quantities={
            "packs:tile": Changed(D(5), "two spare boxes asked for"),
            "hours:a:tile": Changed(D(4), "second helper"),
        },
    )
    priced = price(asked, AT_COST)

    assert [(line.cost_cents, line.changed) for line in priced.lines] == [
        (5000, ("two spare boxes asked for",)),
        (15847, ("second helper",)),  # 4 x 30 x 1.3206 = 158.472
    ]


def test_margin_of_everything_is_refused():
    """Rule price.margin-all, before any line is priced."""
    with pytest.raises(DomainError, match="less than 100 %"):
        price(Asked(rooms=()), replace(AT_COST, profit=D(1)))


def test_the_balance_keeps_the_odd_cent():
    """100.01: a third (33.33 %) 33.33, a third 33.33, and 33.35 on completion."""
    terms = replace(AT_COST, deposit=D("0.3333"), stages=(Stage("when the membrane is in", D("0.3333")),))
    paid = payments(10001, terms)

    assert [(str(part.due), part.cents) for part in paid] == [
        ("On acceptance", 3333),
        ("when the membrane is in", 3333),
        ("On completion", 3335),
    ]


# --- What must hold for every job -------------------------------------------------------------------------

amounts = st.decimals(0, 5000, places=2)
quantities = st.decimals(D("0.000001"), 500, places=6)
room_keys = st.sampled_from(["a", "b", "c"])
steps = st.sampled_from(["tile", "grout", "demolition", "waterproofing"])


@st.composite
def jobs(draw):
    materials = []
    for number in range(draw(st.integers(0, 4))):
        keys = draw(st.lists(room_keys, min_size=1, unique=True))
        materials.append(
            bought(
                f"m{number}",
                str(draw(st.integers(0, 40))),
                str(draw(amounts)),
                *((key, str(draw(quantities))) for key in keys),
                role=draw(st.sampled_from(list(Role))),
                customer_supplied=draw(st.booleans()),
            )
        )
    worked = [
        Worked(
            draw(st.sampled_from(["a", "b", "c", ""])),
            draw(steps),
            Phrase("w"),
            figure(str(draw(quantities)), "h"),
        )
        for _ in range(draw(st.integers(0, 5)))
    ]
    hand = [
        HandLine(
            str(n),
            draw(room_keys),
            draw(steps),
            "t",
            draw(quantities),
            "",
            draw(amounts),
            draw(st.none() | amounts),
            draw(st.booleans()),
        )
        for n in range(draw(st.integers(0, 3)))
    ]
    other = [OtherCost("o", "travel", Phrase("o"), draw(amounts))]
    return Asked(
        (("a", "A"), ("b", "B"), ("c", "C")), tuple(materials), tuple(worked), tuple(other), tuple(hand)
    )


@st.composite
def any_terms(draw):
    rule = draw(st.sampled_from(ProfitRule))
    return Terms(
        "USD",
        Labour(draw(st.decimals(1, 100, places=2)), draw(st.decimals(0, 2, places=4))),
        overhead=draw(st.decimals(0, 1, places=4)),
        profit=draw(st.decimals(0, D("0.9"), places=4)),
        profit_rule=rule,
        minimum_charge=draw(st.just(D(0)) | amounts),
        tax_base=draw(st.sampled_from(TaxBase)),
        tax_rate=draw(st.decimals(0, D("0.5"), places=4)),
        deposit=draw(st.decimals(0, D("0.5"), places=4)),
        stages=(Stage("then", D("0.5")),),
    )


@settings(max_examples=60, deadline=None)
@given(jobs(), any_terms())
def test_every_detail_sums_to_the_same_total(asked, terms):
    """One sum, by room, by step, by line, tax by line and the payments: to the cent."""
    priced = price(asked, terms)

    for detail in Detail:
        assert sum(part.price_cents for part in priced.shown(detail)) == priced.price_cents, detail
    assert sum(line.tax_cents for line in priced.lines) == priced.tax_cents
    assert sum(part.cents for part in priced.payments) == priced.total_cents
    assert all(part.cents >= 0 for part in priced.payments)
    assert priced.price_cents >= terms.minimum_charge * 100 or not priced.lines


@settings(max_examples=60, deadline=None)
@given(jobs(), any_terms())
def test_every_line_earns_its_margin_to_the_cent(asked, terms):
    """Price less cost is the asked share of the price (or of the cost), within half a cent."""
    for line in price(asked, terms).lines:
        if line.kind is Kind.MINIMUM or line.has_fixed_price:
            continue
        if terms.profit_rule is ProfitRule.MARGIN:
            exact = line.full_cost_cents / (1 - terms.profit)
        else:
            exact = line.full_cost_cents * (1 + terms.profit)
        assert abs(line.price_cents - exact) <= D("0.5") + D("1e-15")


@settings(max_examples=60, deadline=None)
@given(jobs(), any_terms())
def test_packs_cost_what_the_shop_asks(asked, terms):
    """Sharing a material among rooms neither makes nor loses money."""
    priced = price(asked, terms)
    for material in asked.bought:
        spent = sum(
            line.cost_cents for line in priced.lines if line.key.startswith(f"material:{material.key}:")
        )
        paid = 0 if material.customer_supplied else material.packs.value * material.pack_price * 100
        assert spent == paid


@settings(max_examples=60, deadline=None)
@given(jobs(), any_terms())
def test_every_working_ends_in_its_amount(asked, terms):
    """What the page prints as working computes again to the very cents on the line."""
    priced = price(asked, terms)
    for line in priced.lines:
        assert line.cost_working.evaluate() * 100 == line.cost_cents
        assert line.price_working.evaluate() * 100 == line.price_cents
    assert priced.tax_working.evaluate() * 100 == priced.tax_cents

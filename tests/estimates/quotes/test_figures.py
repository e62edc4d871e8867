"""Numbers and formulas as people read them."""

from decimal import Decimal

import pytest
from django.utils import translation

from estimates.quotes.templatetags.figures import (
    area,
    formula_text,
    length,
    millionths,
    money,
    percent,
    phrase_from,
    poured,
    quantity,
    say,
    stored_phrase,
    working,
)
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import Measure
from estimates.takeoff.working import Origin, Round, Working


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        # 128 fluid ounces are a gallon and 1000 ml a litre (NIST Handbook 44, appendix C).
        ("0.5486", "gal", "70\u202ffl oz"),
        ("0.75", "gal", "96\u202ffl oz"),
        # By hand: 1.381 x 128 = 176.8, which is 128 + 49; 0.998 x 128 = 127.7.
        ("1.381", "gal", "1\u202fgal 49\u202ffl oz"),
        ("2", "gal", "2\u202fgal"),
        ("0.998", "gal", "1\u202fgal"),
        ("0.9996", "L", "1,000\u202fml"),
        ("0.4148", "L", "415\u202fml"),
        ("2.5", "L", "2.5\u202fL"),
        ("0.5", "lb", "0.5\u202flb"),
    ],
)
def test_what_is_poured_is_said_in_a_unit_that_a_cup_shows(value, unit, expected):
    """Gallons come with whole ounces, a litre's parts are millilitres; other measures stay as they are."""
    assert poured(Measure(Decimal(value), unit)) == expected


@pytest.mark.parametrize(
    ("cents", "currency", "expected"),
    [
        (123450, "USD", "$1,234.50"),
        (5, "USD", "$0.05"),
        (-123450, "USD", "\u2212$1,234.50"),
        (100000000, "GBP", "£1,000,000.00"),
        (100, "CHF", "CHF\u00a01.00"),
        (None, "USD", "–"),
    ],
)
def test_money(cents, currency, expected):
    """Whole cents by the company's currency."""
    assert money(cents, currency) == expected


def test_money_in_spanish():
    """As North America writes Spanish (Unicode CLDR, es_US: decimal point, comma; from memory)."""
    with translation.override("es"):
        assert money(123450, "USD") == "$1,234.50"


@pytest.mark.parametrize(
    ("value", "expected"),
    [(825, "8.25\u202f%"), (3000, "30\u202f%"), (Decimal("0.428571"), "42.86\u202f%"), (None, "–")],
)
def test_percent(value, expected):
    """Basis points or a fraction."""
    assert percent(value) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("33.666", "33.67"),
        ("0.67", "0.67"),
        ("5760", "5,760"),
        ("12345.6", "12,346"),
        ("0.0012345", "0.001235"),
        ("3.000", "3"),
        ("0", "0"),
        ("-2.5", "\u22122.5"),
    ],
)
def test_quantity(value, expected):
    """Four figures or the whole number, whichever is finer."""
    assert quantity(Decimal(value)) == expected


def test_lengths_and_areas_in_the_sites_units():
    """2552.7 mm is 8 ft 4 1/2 in exactly; 3.716 m2 is 40 sq ft (both exact by definition)."""
    assert length(Decimal("2552.7"), "inch") == "8′ 4 1/2″"
    assert area(Decimal("3716121.6"), "inch") == "40.0\u202fsq ft"
    assert area(Decimal("3716121.6"), "metric") == "3.72\u202fsq m"
    assert millionths(1_500_000) == "1.5"
    assert length([1, 2]) == 2


@pytest.mark.parametrize(
    ("formula", "expected"),
    [
        ("A * (1 + w) / C", "A × (1 + w) ÷ C"),
        ("a - (b - c)", "a \u2212 (b \u2212 c)"),
        ("a - b - c", "a \u2212 b \u2212 c"),
        ("a / (b * c)", "a ÷ (b × c)"),
        ("ceil((B - o) / (w - o))", "⌈(B \u2212 o) ÷ (w \u2212 o)⌉"),
        ("pi * d**2 / 4", "π × d² ÷ 4"),
        ("max(a, b)", "max(a; b)"),
        ("(a + b)**2", "(a + b)²"),
    ],
)
def test_formulas_as_written_by_hand(formula, expected):
    """Signs of the trade's arithmetic; brackets only where they are needed."""
    assert formula_text(formula) == expected


def test_working_prints_formula_numbers_and_rounding():
    """The row of a step shows symbols, then the numbers put in, then what was rounded."""
    work = Working("x", Phrase("x"))
    work.given("A", Phrase("Area"), Decimal("33.7"), "sq ft", Origin.MEASURED)
    work.given("C", Phrase("Coverage"), Decimal(55), "sq ft/gal", Origin.DATA_SHEET, Phrase("sheet 7"))
    work.step("P", Phrase("Pails"), "ceil(A / C)", "pail", Round.UP_WHOLE)
    rows = working(work.figure())["rows"]

    assert rows[1]["source"] == "data sheet: sheet 7"
    assert (rows[2]["formula"], rows[2]["numbers"]) == ("⌈A ÷ C⌉", "⌈33.7 ÷ 55⌉")
    assert rows[2]["value"] == "1\u202fpail"
    assert rows[2]["source"] == "rounded up to a whole number"


def test_a_phrase_comes_back_from_storage():
    """A snapshot keeps message and parameters, so its paper can be printed in another language."""
    inner = Phrase("{name}", {"name": "Hall bath"})
    stored = stored_phrase(Phrase("Price of {line}", {"line": inner, "n": 3}))

    assert phrase_from(stored).render(lambda message: message) == "Price of Hall bath"
    assert say(stored) == "Price of Hall bath"

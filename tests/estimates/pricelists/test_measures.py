"""Data-sheet values as a data sheet prints them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimates.pricelists.measures import from_millionths, read_measure, to_millionths, written
from estimates.takeoff.errors import DomainError
from estimates.takeoff.units import Measure


@pytest.mark.parametrize(
    ("text", "unit", "value", "read_unit"),
    [
        ("55 sq ft/gal", "sq ft/gal", "55", "sq ft/gal"),
        ("55 sq. ft. per gallon", "sq ft/gal", "55", "sq ft/gal"),
        ("55", "sq ft/gal", "55", "sq ft/gal"),
        ("5 m²/L", "sq ft/gal", "5", "sq m/L"),
        ("60 sq ft", "sq ft/each", "60", "sq ft/each"),
        ("60 sq ft/bag", "sq ft/each", "60", "sq ft/each"),
        ('23 5/8"', "in", "23.625", "in"),
        ("23-5/8 in", "in", "23.625", "in"),
        ("3/8 in", "in", "0.375", "in"),
        ("600mm", "in", "600", "mm"),
        ("3 ft", "in", "3", "ft"),
        ("15 minutes", "min", "15", "min"),
        ("2 hrs", "h", "2", "h"),
        (".5 cu ft", "cu ft/each", "0.5", "cu ft/each"),
        ("1,000", "each", "1000", "each"),
        ("10.1 fl. oz.", "fl oz", "10.1", "fl oz"),
        ("25 lbs", "lb", "25", "lb"),
        ("1.9 kg/L", "kg/L", "1.9", "kg/L"),
        ("8 tiles", "each", "8", "each"),
    ],
)
def test_read(text, unit, value, read_unit):
    """The unit is kept as printed; without one it is the usual unit."""
    assert read_measure(text, unit) == Measure(Decimal(value), read_unit)


@pytest.mark.parametrize(
    ("text", "unit", "rule", "says"),
    [
        ("about fifty", "in", "measure.unread", "expected a number with its unit, such as 12 in"),
        ("-3 in", "in", "measure.unread", "Read “-3 in”"),
        ("1/0 in", "in", "measure.unread", "Read “1/0 in”"),
        ("NaN", "in", "measure.unread", "Read “NaN”"),
        ("0 in", "in", "measure.not-positive", "more than zero"),
        ("12 furlongs", "in", "measure.unit", "no unit is called “furlongs”"),
        ("12 gal", "in", "units.kind", "Read “12 gal”: expected a figure such as 12 in"),
        ("1O in", "in", "measure.unit", "no unit is called “O in”"),
    ],
)
def test_refused(text, unit, rule, says):
    """Nonsense is told what was read and what was expected."""
    with pytest.raises(DomainError) as caught:
        read_measure(text, unit)
    assert caught.value.rule == rule
    assert says in str(caught.value)


@given(st.integers(1, 10**12), st.sampled_from(["in", "sq ft/gal", "kg/L", "each"]))
def test_what_is_stored_is_written_and_read_back(value, unit):
    """Database, page and form agree to the millionth."""
    measure = from_millionths(value, unit)

    assert to_millionths(measure) == value
    assert read_measure(written(measure), unit) == measure

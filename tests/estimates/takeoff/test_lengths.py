"""Lengths: what people write is read exactly, printed, and read back; nonsense gets a sentence.

Expected millimetres are worked by hand from 1 in = 25.4 mm exactly (NIST SP 811, appendix B):
8 ft 4 1/2 in = 100.5 in = 2552.7 mm; 1/16 in = 1.5875 mm.
"""

from __future__ import annotations

import pickle
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimates.takeoff.lengths import (
    LengthError,
    exact_text,
    format_length,
    from_units,
    parse_length,
    to_units,
)
from estimates.takeoff.units import System

INCH, METRIC = System.INCH, System.METRIC
SIXTEENTH = Decimal("1.5875")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("8' 4 1/2\"", "2552.7"),
        ("8'-4½\"", "2552.7"),
        ("8'-4-1/2\"", "2552.7"),
        ("8' - 4 1/2\"", "2552.7"),
        ("8'4-1/2\"", "2552.7"),
        ("8ft 4.5in", "2552.7"),
        ("8 ft 4 1/2 in", "2552.7"),
        ("8 FEET 4 1/2 INCHES", "2552.7"),
        ("8ft. 4½in.", "2552.7"),
        ("8′ 4 1/2″", "2552.7"),
        ("8’ 4 1/2”", "2552.7"),
        ("8' 4 1/2''", "2552.7"),
        ("8\u00a0ft\u00a04\u00a01/2\u202fin", "2552.7"),
        ("8'4 1⁄2", "2552.7"),
        ("8'4¹⁄₂\"", "2552.7"),
        ("8' 4 8/16\"", "2552.7"),
        ("100 1/2", "2552.7"),
        ('100-1/2"', "2552.7"),
        ("100.5in", "2552.7"),
        ("100,5 in", "2552.7"),
        ("  100.5  ", "2552.7"),
        ("8'", "2438.4"),
        ("8'0", "2438.4"),
        ("8'4", "2540"),
        ("8.5'", "2590.8"),
        ("8 1/2'", "2590.8"),
        ("8' ⅛", "2441.575"),
        ("¹⁄₁₆″", "1.5875"),
        ("1/64", "0.3969"),  # 0.396875 mm, half up on the grid
        ("4.3333 in", "110.0658"),  # 110.06582 mm
        ("2.55 m", "2550"),
        ("2,55 m", "2550"),
        ("0,255 m", "255"),
        ("255 cm", "2550"),
        ("2550 mm", "2550"),
        ("2 550 mm", "2550"),
        ("2\u202f550 mm", "2550"),
        ("2 m 55 cm", "2550"),
        ("2m55cm", "2550"),
        ("2 m 54 cm 9 mm", "2549"),
        ("2 metres 550 millimetres", "2550"),
        ("2.55 Meters", "2550"),
    ],
)
def test_what_people_write(text: str, expected: str) -> None:
    assert parse_length(text, INCH) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "expected"), [("2550", "2550"), ("2550.5", "2550.5"), ('100 1/2"', "2552.7"), ("8'4", "2540")]
)
def test_a_bare_number_is_in_the_sites_unit_and_marks_always_mean_feet_and_inches(
    text: str, expected: str
) -> None:
    assert parse_length(text, METRIC) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "rule", "sentence"),
    [
        ("", "empty", "No length is given; write one such as 8' 4 1/2\"."),
        (" \u00a0 ", "empty", "No length is given; write one such as 8' 4 1/2\"."),
        ("-5", "negative", "“-5” is below zero; a length above zero was expected."),
        ("−3 in", "negative", "“−3in” is below zero; a length above zero was expected."),
        (
            "8' 14\"",
            "inches-overflow",
            "“8' 14\"” has 14 inches after the feet; less than 12 was expected.",
        ),
        ("8' 12", "inches-overflow", "“8' 12” has 12 inches after the feet; less than 12 was expected."),
        ("1/0", "denominator", "“1/0” is a fraction over 0; 2, 4, 8, 16, 32 or 64 was expected."),
        ("8 1/3", "denominator", "“1/3” is a fraction over 3; 2, 4, 8, 16, 32 or 64 was expected."),
        ("⅓", "denominator", "“1/3” is a fraction over 3; 2, 4, 8, 16, 32 or 64 was expected."),
        ("1/128", "denominator", "“1/128” is a fraction over 128; 2, 4, 8, 16, 32 or 64 was expected."),
        ("1/1000000000002", "denominator", None),
        (
            "41/2",
            "fraction",
            "“41/2” is a fraction of one or more; write the whole number and the fraction apart, "
            "such as 4 1/2.",
        ),
        ("4.5 1/2", "fraction", "“4.5 1/2” has a fraction after a decimal number; write one or the other."),
        ("NaN", "not-a-number", "“NaN” is not a number; a length such as 8' 4 1/2\" was expected."),
        ("inf", "not-a-number", "“inf” is not a number; a length such as 8' 4 1/2\" was expected."),
        ("-Infinity", "negative", None),
        ("1.2.3", "not-a-number", "“1.2.3” has more than one decimal mark; one number was expected."),
        ("1O'", "letter", "“1O'”: there is a letter O where a zero may be meant."),
        ("8'o", "letter", "“8'o”: there is a letter o where a zero may be meant."),
        ("l2'", "letter", "“l2'”: there is a letter l where a one may be meant."),
        ("1l", "letter", "“1l”: there is a letter l where a one may be meant."),
        ("8 I/2", "letter", "“I/2”: there is a letter I where a one may be meant."),
        ("8 furlongs", "unknown-unit", None),
        ("wide", "unknown-unit", "“wide” is no length; one such as 8' 4 1/2\" was expected."),
        ("O.9", "letter", "“O.9”: there is a letter O where a zero may be meant."),
        ("8' and 4", "unknown-unit", "“and” is not a unit of length; ft, in, m, cm or mm was expected."),
        ("8 5", "two-numbers", "“8 5” has another number, 5, with no unit that ties it to the first."),
        ("2 m 55", "two-numbers", "“2 m 55” has another number, 55, with no unit that ties it to the first."),
        ("8' 4 1/2 1/4", "two-numbers", None),
        ("8'4'", "two-numbers", None),
        ("1e3", "exponent", "“1e3” is written with an exponent; write the length out, such as 2550."),
        ("1001'", "too-long", "“1001'” is longer than 1000 ft (304.8 m); check the number and its unit."),
        ("9" * 5000, "too-long", None),
        ("1" + "0" * 60, "too-long", None),
        ("0", "zero", "“0” is zero; a length above zero was expected."),
        ("0' 0\"", "zero", "“0' 0\"” is zero; a length above zero was expected."),
        ("1,200", "comma", "“1,200” can be read as 1200 or as 1.200; write one of them without a comma."),
        ("8.5' 3\"", "feet-fraction", None),
        ("2 m 155 cm", "metric-overflow", "“2 m 155 cm” has more cm than one m holds; check the numbers."),
        ("ft", "no-number", None),
        ("8'--4", "unexpected", None),
        ("(5)", "unexpected", "“(” was not expected; a length is written such as 8' 4 1/2\"."),
        ("٨", "unexpected", None),
        ("\x00", "unexpected", None),
    ],
)
def test_nonsense_gets_a_sentence(text: str, rule: str, sentence: str | None) -> None:
    with pytest.raises(LengthError) as caught:
        parse_length(text, INCH)
    assert caught.value.rule == f"length.{rule}"
    if sentence is not None:
        assert str(caught.value) == sentence
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_zero_is_an_offset_where_it_may_be() -> None:
    assert parse_length("0", INCH, allow_zero=True) == 0
    assert parse_length("0 mm", METRIC, allow_zero=True) == 0


@given(st.text(max_size=40) | st.text(alphabet="0123456789 '\"/-.,½¼mcftinRLOl′″\u00a0", max_size=20))
def test_any_text_is_a_length_on_the_grid_or_a_sentence(text: str) -> None:
    for system in System:
        try:
            length = parse_length(text, system)
        except LengthError as error:
            sentence = str(error)
        else:
            sentence = "."
            assert 0 < length <= 304_800
            assert from_units(to_units(length)) == length
        assert sentence.endswith(".")


@given(st.integers(1, 12_000 * 16))
def test_every_sixteenth_reads_back_as_it_was_printed(sixteenths: int) -> None:
    length = sixteenths * SIXTEENTH
    for system in System:  # marks mean inches on a metric site too
        assert parse_length(format_length(length, INCH, style="room"), system) == length
        assert parse_length(format_length(length, INCH, style="piece"), system) == length
        assert parse_length(exact_text(length, INCH), system) == length


@given(st.integers(1, 304_800))
def test_every_millimetre_reads_back_as_it_was_printed(millimetres: int) -> None:
    length = Decimal(millimetres)
    for system in System:
        assert parse_length(format_length(length, METRIC, style="room"), system) == length
        assert parse_length(format_length(length, METRIC, style="piece"), system) == length


@given(st.integers(1, 3_048_000_000))
def test_any_length_on_the_grid_reads_back_from_its_exact_text(units: int) -> None:
    for system in System:
        assert parse_length(exact_text(from_units(units), system), system) == from_units(units)


FEET_MARKS = st.sampled_from(["'", "′", "’", "ft", " ft", "ft.", " feet", "FT", "\u00a0ft "])
INCH_MARKS = st.sampled_from(['"', "″", "”", "''", "in", " in", " inches", "In.", "\u202fin"])
GLYPHS = {
    Fraction(1, 2): "½",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
    Fraction(1, 8): "⅛",
    Fraction(7, 8): "⅞",
}
RAISED, LOWERED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹"), str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


@st.composite
def spellings(draw: st.DrawFn) -> tuple[str, Decimal]:
    """A length of feet, inches and sixteenths, spelt in one of the ways people use."""
    feet, inches, sixteenths = draw(st.integers(0, 400)), draw(st.integers(0, 11)), draw(st.integers(0, 15))
    part = Fraction(sixteenths, 16)
    expected = (feet * 192 + inches * 16 + sixteenths) * SIXTEENTH
    whole = inches
    text = ""
    if draw(st.booleans()):
        text = f"{feet}{draw(FEET_MARKS)}" + draw(st.sampled_from(["", " ", "-", " - ", "\u00a0"]))
    else:
        whole += feet * 12
    ways = ["decimal"]
    if part:
        ways += ["slash", "raised"] + (["glyph"] if part in GLYPHS else [])
        factor = draw(st.sampled_from([1, 2, 4])) if part.denominator <= 16 else 1
        above, below = part.numerator * factor, part.denominator * factor
    match draw(st.sampled_from(ways)):
        case "decimal":
            text += f"{Decimal(whole * 16 + sixteenths) / 16}"
        case "slash":
            text += (
                f"{whole}{draw(st.sampled_from([' ', '-', '  ']))}{above}{draw(st.sampled_from('/⁄'))}{below}"
            )
        case "raised":
            text += f"{whole}{str(above).translate(RAISED)}⁄{str(below).translate(LOWERED)}"
        case "glyph":
            text += f"{whole}{draw(st.sampled_from(['', ' ', '-']))}{GLYPHS[part]}"
    return text + draw(INCH_MARKS | st.just("")), expected


@given(spellings())
def test_all_spellings_of_a_length_agree(spelling: tuple[str, Decimal]) -> None:
    text, expected = spelling
    assert parse_length(text, INCH, allow_zero=True) == expected


@given(st.integers(1, 300_000), st.sampled_from([".", ","]), st.sampled_from(["", " ", "\u00a0", "\u202f"]))
def test_metric_spellings_agree(mm: int, mark: str, space: str) -> None:
    metres, rest = divmod(mm, 1000)
    written = [f"{mm}", f"{mm}{space}mm", f"{mm // 10}{mark}{mm % 10}{space}cm", f"{metres} m {rest} mm"]
    written.append(f"{metres}{mark}{rest:03d}0{space}M")  # a fourth decimal keeps a comma unambiguous
    assert {parse_length(text, METRIC) for text in written} == {Decimal(mm)}


@pytest.mark.parametrize(
    ("mm", "system", "style", "rounding", "expected"),
    [
        ("2552.7", INCH, "room", "nearest", "8′ 4 1/2″"),
        ("2552.7", INCH, "piece", "nearest", "100 1/2″"),
        ("2438.4", INCH, "room", "nearest", "8′ 0″"),
        ("2451.1", INCH, "room", "nearest", "8′ 0 1/2″"),
        ("12.7", INCH, "room", "nearest", "1/2″"),
        ("101.6", INCH, "room", "nearest", "4″"),
        ("0", INCH, "room", "nearest", "0″"),
        ("0.7937", INCH, "piece", "nearest", "0″"),  # 1/32 in is 0.79375 mm
        ("0.7938", INCH, "piece", "nearest", "1/16″"),
        ("26", INCH, "piece", "up", "1 1/16″"),
        ("26", INCH, "piece", "down", "1″"),
        ("3047.9", INCH, "room", "nearest", "10′ 0″"),  # carries into the feet
        ("2550", METRIC, "room", "nearest", "2.550 m"),
        ("2550", METRIC, "piece", "nearest", "2\u202f550 mm"),
        ("999.5", METRIC, "piece", "nearest", "1\u202f000 mm"),
        ("999.9", METRIC, "piece", "down", "999 mm"),
        ("999.1", METRIC, "piece", "up", "1\u202f000 mm"),
        ("-6.35", INCH, "room", "nearest", "−1/4″"),
    ],
)
def test_print(mm: str, system: System, style: str, rounding: str, expected: str) -> None:
    assert format_length(Decimal(mm), system, style=style, rounding=rounding) == expected  # type: ignore[arg-type]


def test_units_are_whole_ten_thousandths() -> None:
    assert to_units(Decimal("2552.7")) == 25_527_000
    assert from_units(15_875) == SIXTEENTH
    with pytest.raises(ValueError):
        to_units(Decimal("0.00001"))

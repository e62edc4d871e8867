"""Numbers for people: money, percentages, lengths, areas, and the working behind a figure.

Every number on a page or on paper goes through one of these, so that thousands, decimals, signs and units
are written one way everywhere, in the reader's language.
"""

from __future__ import annotations

import ast
import datetime
import re
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import template
from django.utils import formats
from django.utils.translation import gettext, gettext_noop

from contracting.money import money_text
from estimates.quotes.pricing import step_label
from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import Measure, System
from estimates.takeoff.units import convert as convert_unit
from estimates.takeoff.working import Figure, Given, Origin, Round, Step

register = template.Library()

NARROW = "\u202f"  # narrow no-break space: a number and its unit stay together
MINUS = "\u2212"
OUNCES_OF_A_GALLON = 128  # US customary


def decimal_text(value: Decimal | int, places: int) -> str:
    """Return *value* rounded half up to *places*, grouped, in the reader's language."""
    rounded = Decimal(value).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    text = formats.number_format(abs(rounded), places, use_l10n=True, force_grouping=True)
    return f"{MINUS}{text}" if rounded < 0 else text


@register.filter
def money(value: int | None, currency: str) -> str:
    """Print whole cents: ``{{ line.price_cents|money:currency }}`` gives ``$1,234.50``."""
    return "–" if value is None else money_text(value, currency)


@register.filter
def percent(value: int | Decimal | None) -> str:
    """Print basis points (an int) or a fraction (a Decimal): 825 and 0.0825 give ``8.25 %``."""
    if value is None:
        return "–"
    hundredths = Decimal(value) if isinstance(value, int) else Decimal(value) * 10000
    return f"{quantity(hundredths.quantize(Decimal(1), rounding=ROUND_HALF_UP).scaleb(-2))}{NARROW}%"


@register.filter
def quantity(value: Decimal | int | str | None) -> str:
    """Print a number to four figures or to the whole, whichever is finer, without idle zeros.

    Money and lengths have filters of their own.
    """
    if value is None:
        return "–"
    number = Decimal(value)
    if not number:
        return "0"
    places = max(0, 3 - number.adjusted()) if number.adjusted() < 3 else 0
    rounded = number.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP).normalize()
    return decimal_text(rounded, max(0, -int(rounded.as_tuple().exponent)))


@register.filter
def millionths(value: int | None) -> str:
    """Print a stored quantity, exactly: 1500000 gives ``1.5``."""
    if value is None:
        return "–"
    number = Decimal(value).scaleb(-6).normalize()
    return decimal_text(number, max(0, -int(number.as_tuple().exponent)))


@register.filter
def length(value: Any, units: str | None = None) -> str | int:
    """Print millimetres in the site's units: ``{{ wall.mm|length:site.units }}`` gives ``8′ 4 1/2″``.

    Without units it is Django's own filter of that name, which this one stands in front of.
    """
    if units is None:
        return len(value) if hasattr(value, "__len__") else 0
    return "–" if value is None else format_length(Decimal(value), System(units))


@register.filter
def piece(value: Decimal | str, units: str) -> str:
    """Print millimetres as a drawing does, without feet or metres: ``30″``, ``760 mm``."""
    return format_length(Decimal(value), System(units), style="piece")


@register.filter
def area(value: Decimal | str | None, units: str) -> str:
    """Print square millimetres in the site's units, to a tenth of a square foot or hundredth of a metre."""
    if value is None:
        return "–"
    unit = System(units).area
    places = 1 if System(units) is System.INCH else 2
    return f"{decimal_text(convert_unit(Decimal(value), 'sq mm', unit), places)}{NARROW}{gettext(unit)}"


@register.filter
def measure(value: Measure | Figure | Given | Step | None) -> str:
    """Print anything with a value and a unit: ``0.67 gal``; money as money, fractions as they are."""
    return "–" if value is None else with_unit(value.value, value.unit)


@register.filter
def poured(value: Measure | Figure) -> str:
    """Print a volume as it is measured out on site: whole gallons and whole ounces, below a litre in ml."""
    small = {"gal": "fl oz", "L": "ml"}.get(value.unit)
    if small is None or (value.unit == "L" and abs(value.value) >= 1):
        return measure(value)
    amount = convert_unit(value.value, value.unit, small).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    if value.unit == "L":
        return with_unit(amount, small)
    gallons, ounces = divmod(amount, OUNCES_OF_A_GALLON)
    return " ".join(with_unit(*one) for one in ((gallons, "gal"), (ounces, small)) if one[0])


@register.filter
def is_entered(figure: Figure) -> bool:
    """Return whether somebody entered a number of this figure instead of what was counted."""
    return any(isinstance(line, Given) and line.origin is Origin.ENTERED for line in figure.lines)


def is_currency(unit: str) -> bool:
    """Whether a working's unit is money: no unit of measure is written in three capitals."""
    return len(unit) == 3 and unit.isupper()


# What "unit_name" may meet: signs such as "sq ft" stand in every language, these words do not.
_WORDS = (
    gettext_noop("each"),
    gettext_noop("pieces"),
    gettext_noop("roll"),
    gettext_noop("pail"),
    gettext_noop("bag"),
    gettext_noop("box"),
    gettext_noop("cartridge"),
    gettext_noop("tube"),
    gettext_noop("pair"),
    gettext_noop("sheet"),
    gettext_noop("piece"),
    gettext_noop("tiles"),
    gettext_noop("sheets"),
    gettext_noop("board"),
)


@register.filter
def looked_up(source: str) -> str:
    """Print a source, or nothing: a clause that was not looked up is not shown as if it were."""
    return "" if "from memory" in source else source


@register.filter
def unit_name(unit: str) -> str:
    """Print a unit or what a pack is called; of ``each/sq ft`` each part for itself.

    What the office called a pack in its own words stays as it is.
    """
    return "/".join(gettext(part) for part in unit.split("/"))


def with_unit(value: Decimal, unit: str) -> str:
    """Return a number with its unit; money with its sign."""
    if is_currency(unit):
        return money(int((value * 100).to_integral_value(ROUND_HALF_UP)), unit)
    return f"{quantity(value)}{NARROW}{unit_name(unit)}" if unit else quantity(value)


@register.filter
def say(value: Any) -> str:
    """Print a core's phrase in the reader's language; also one that was read back from a snapshot."""
    if isinstance(value, Phrase):
        return _with_days(value).render(gettext)
    if isinstance(value, Mapping):
        return _with_days(phrase_from(value)).render(gettext)
    return "" if value is None else str(value)


def _with_days(value: Phrase) -> Phrase:
    """Return a phrase whose ``day`` is written as the reader does; the core knows only ``2026-07-01``."""
    day = value.parameters.get("day")
    filled = {
        name: _with_days(one) if isinstance(one, Phrase) else one for name, one in value.parameters.items()
    }
    if isinstance(day, str) and _DAY.fullmatch(day):
        filled["day"] = formats.date_format(datetime.date.fromisoformat(day), "SHORT_DATE_FORMAT")
    return Phrase(value.message, filled)


_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])-([012]\d|3[01])")


@register.filter
def step_name(step: str) -> str:
    """Print what a trade step is called."""
    return step_label(step).render(gettext)


def phrase_from(stored: Mapping[str, Any]) -> Phrase:
    """Return the phrase that was stored as ``{"message": ..., "parameters": {...}}``."""
    return Phrase(
        stored["message"],
        {
            name: phrase_from(value) if isinstance(value, Mapping) else value
            for name, value in stored.get("parameters", {}).items()
        },
    )


def stored_phrase(value: Phrase) -> dict[str, Any]:
    """Return a phrase as JSON that :func:`phrase_from` reads back, so paper can be in any language."""
    return {
        "message": value.message,
        "parameters": {
            name: stored_phrase(part) if isinstance(part, Phrase) else part
            for name, part in value.parameters.items()
        },
    }


@register.filter
def iso_day(value: str | None) -> datetime.date | None:
    """Read a date that stands as text in a snapshot, for the ``date`` filter."""
    return datetime.date.fromisoformat(value) if value else None


@register.inclusion_tag("quotes/_working.html")
def working(figure: Figure) -> dict[str, Any]:
    """Print the working of a figure, one row a line: what it is, formula, numbers, result and its source."""
    values: dict[str, str] = {}
    rows = []
    for line in figure.lines:
        if isinstance(line, Step):
            rows.append(_step_row(line, values))
        else:
            rows.append(
                {
                    "label": say(line.label),
                    "symbol": line.symbol,
                    "value": _shown(line),
                    "source": _origin(line),
                }
            )
        values[line.symbol] = decimal_text(line.value, 2) if is_currency(line.unit) else quantity(line.value)
    return {"rows": rows, "last": len(rows)}


def _step_row(line: Step, values: Mapping[str, str]) -> dict[str, Any]:
    symbols = formula_text(line.formula)
    return {
        "label": say(line.label),
        "symbol": line.symbol,
        # A bare name is carried on; printing "T = T" would say nothing.
        "formula": "" if line.formula.isidentifier() else symbols,
        "numbers": "" if line.formula.isidentifier() else formula_text(line.formula, values),
        "value": _shown(line),
        "source": "" if line.rounding is Round.EXACT else _rounding(line),
        "is_step": True,
    }


def _shown(line: Given | Step) -> str:
    return with_unit(line.value, line.unit)


def _origin(line: Given) -> str:
    if line.origin is Origin.COMPUTED and not line.source:
        return ""
    origin = gettext(line.origin.value)
    return f"{origin}: {say(line.source)}" if line.source else origin


def _rounding(line: Step) -> str:
    words = gettext("rounded {way}").format(way=gettext(line.rounding.value))
    if line.rounding is Round.HALF_UP:
        words += gettext(" to {n} decimals").format(n=line.places)
    return words


_SIGNS: Mapping[type[ast.operator], tuple[str, int]] = {
    ast.Add: (" + ", 1),
    ast.Sub: (f" {MINUS} ", 1),
    ast.Mult: (" × ", 2),
    ast.Div: (" ÷ ", 2),
    ast.Pow: ("^", 3),
}
_POWERS = {"2": "²", "3": "³"}


@register.filter
def formula_text(formula: str, values: Mapping[str, str] | None = None) -> str:
    """Print a working's formula the way it is written by hand; with *values*, numbers in place of names.

    >>> formula_text("A * (1 + w) / C")
    'A × (1 + w) ÷ C'
    """
    return _written(ast.parse(formula, mode="eval").body, values or {})[0]


def _written(node: ast.expr, values: Mapping[str, str]) -> tuple[str, int]:
    """Return the text of *node* and how tightly it binds (4: as a whole)."""
    match node:
        case ast.Constant(value=value):
            return quantity(Decimal(str(value))), 4
        case ast.Name(id="pi"):
            return "π", 4
        case ast.Name(id=name):
            return values.get(name, name), 4
        case ast.UnaryOp(operand=operand):
            return MINUS + _bracketed(operand, values, 2), 2
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=power)) if str(power) in _POWERS:
            return _bracketed(left, values, 4) + _POWERS[str(power)], 3
        case ast.BinOp(left=left, op=operator, right=right):
            sign, level = _SIGNS[type(operator)]
            # What stands right of a minus or a division keeps its brackets: a - (b - c).
            tight = level + 1 if isinstance(operator, ast.Sub | ast.Div) else level
            return f"{_bracketed(left, values, level)}{sign}{_bracketed(right, values, tight)}", level
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _called(name, [_written(argument, values)[0] for argument in arguments]), 4
    raise SyntaxError(ast.dump(node))


def _bracketed(node: ast.expr, values: Mapping[str, str], level: int) -> str:
    text, tightness = _written(node, values)
    return text if tightness >= level else f"({text})"


def _called(name: str, arguments: list[str]) -> str:
    match name, arguments:
        case "ceil", [only]:
            return f"⌈{only}⌉"
        case "floor", [only]:
            return f"⌊{only}⌋"
        case "sin_deg", [only]:
            return f"sin({only}°)"
        case "sqrt", [only]:
            return f"√({only})"
        case "abs", [only]:
            return f"|{only}|"
    return f"{gettext(name)}({'; '.join(arguments)})"

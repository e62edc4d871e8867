"""Reading and printing data-sheet values the way a data sheet prints them: a number and its unit."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.units import Measure, convert, is_unit

# Other spellings of the units that ``takeoff.units`` knows, in lower case and without full stops.
_SPELLINGS = {
    '"': "in", "″": "in", "”": "in", "''": "in", "inch": "in", "inches": "in",
    "'": "ft", "′": "ft", "’": "ft", "foot": "ft", "feet": "ft", "lin ft": "ft", "lf": "ft",
    "millimetre": "mm", "millimetres": "mm", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "sqft": "sq ft", "ft2": "sq ft", "ft²": "sq ft", "sf": "sq ft", "square feet": "sq ft",
    "m2": "sq m", "m²": "sq m", "sqm": "sq m", "square metres": "sq m", "square meters": "sq m",
    "gallon": "gal", "gallons": "gal", "us gal": "gal", "litre": "L", "litres": "L", "liter": "L",
    "liters": "L", "l": "L", "floz": "fl oz", "oz": "fl oz", "cuft": "cu ft", "ft3": "cu ft",
    "ft³": "cu ft", "pound": "lb", "pounds": "lb", "lbs": "lb", "kilogram": "kg", "kilograms": "kg",
    "minute": "min", "minutes": "min", "mins": "min", "hour": "h", "hours": "h", "hr": "h", "hrs": "h",
    "piece": "each", "pieces": "each", "pc": "each", "pcs": "each", "ea": "each", "bag": "each",
    "bags": "each", "box": "each", "boxes": "each", "tile": "each", "tiles": "each", "sheet": "each",
    "sheets": "each", "board": "each", "boards": "each",
}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<whole>\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+)?"
    r"(?:(?:(?<=\d)[ -]+|(?<!\d))(?P<top>\d+)\s*[/⁄]\s*(?P<below>\d+))?\s*(?P<unit>(?:[^\d/⁄].*)?)"
)
# As whole millionths it still fits the database's integers.
MOST = 10**9
MILLION = 1_000_000


def read_measure(text: str, unit: str, *, zero: bool = False) -> Measure:
    """Read a number with its unit; without one it is in *unit*. The unit is kept as it was written.

    Args:
        text: such as ``55 sq ft/gal``, ``23 5/8"``, ``15 minutes``, ``2 h``.
        unit: the usual unit, which also says of what kind the value has to be.
        zero: whether nothing at all is an answer too.

    Returns:
        A measure above zero (or of zero, where that is allowed), rounded half up to a millionth.

    Raises:
        DomainError: rules ``measure.unread``, ``measure.unit``, ``measure.not-positive``, ``units.kind``.
    """
    match = _NUMBER.fullmatch(text.strip())
    if not match or not (match["whole"] or match["top"]) or (match["top"] and not int(match["below"])):
        raise DomainError(
            phrase(
                gettext_noop("Read “{typed}”: expected a number with its unit, such as 12 {unit}."),
                typed=text.strip(),
                unit=unit,
            ),
            rule="measure.unread",
        )
    value = Fraction((match["whole"] or "0").replace(",", ""))
    if match["top"]:
        value += Fraction(int(match["top"]), int(match["below"]))
    rounded = Decimal((value * MILLION + Fraction(1, 2)).__floor__()).scaleb(-6)
    written = _unit(match["unit"], text, unit)
    if rounded < 0 or (not rounded and not zero):
        raise DomainError(
            phrase(gettext_noop("Read “{typed}”: expected more than zero."), typed=text.strip()),
            rule="measure.not-positive",
        )
    if rounded > MOST:
        raise DomainError(
            phrase(gettext_noop("Read “{typed}”: expected at most a thousand million."), typed=text.strip()),
            rule="measure.too-large",
        )
    try:
        convert(rounded, written, unit)
    except DomainError as error:
        raise DomainError(
            phrase(
                gettext_noop("Read “{typed}”: expected a figure such as 12 {unit}."),
                typed=text.strip(),
                unit=unit,
            ),
            rule="units.kind",
        ) from error
    return Measure(_plain(rounded), written)


def _unit(written: str, text: str, unit: str) -> str:
    if not written.strip():
        return unit
    bare = re.sub(r"\s*(?:/|\bper\b|\ba\b)\s*", "/", written.strip().replace(".", ""))
    parts = [_SPELLINGS.get(part.strip().lower(), part.strip()) for part in bare.split("/")]
    found = "/".join(part if is_unit(part) else part.lower() for part in parts)
    # "sq ft" alone for a coverage is per pack, which is what a bag's sheet prints.
    if "/" in unit and "/" not in found:
        found = f"{found}/{unit.partition('/')[2]}"
    if not is_unit(found):
        raise DomainError(
            phrase(
                gettext_noop("Read “{typed}”: no unit is called “{written}”; expected one such as {unit}."),
                typed=text.strip(),
                written=written.strip(),
                unit=unit,
            ),
            rule="measure.unit",
        )
    return found


def _plain(value: Decimal) -> Decimal:
    return value.to_integral_value() if value == value.to_integral_value() else value.normalize()


def to_millionths(measure: Measure) -> int:
    """Return the value as whole millionths of its unit."""
    return int(measure.value * MILLION)


def from_millionths(value: int, unit: str) -> Measure:
    """Return the measure that was stored."""
    return Measure(_plain(Decimal(value).scaleb(-6)), unit)


def written(measure: Measure) -> str:
    """Return the measure as a text that :func:`read_measure` reads back exactly."""
    return f"{measure.value:f} {measure.unit}".strip()

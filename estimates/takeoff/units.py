"""Units by their exact definitions, and the two systems a site can be measured in.

Source: the international yard and pound (1959: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, both exact) and the
US gallon of 231 cubic inches; NIST Special Publication 811, appendix B, gives the same factors.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from .errors import DomainError
from .phrases import gettext_noop, phrase

MM_PER_INCH = Decimal("25.4")

# Each unit as (kind, size in the kind's base unit): mm, mm2, ml, g, min and pieces.
_UNITS: Mapping[str, tuple[str, Decimal]] = {
    "mm": ("length", Decimal(1)),
    "cm": ("length", Decimal(10)),
    "m": ("length", Decimal(1000)),
    "in": ("length", MM_PER_INCH),
    "ft": ("length", MM_PER_INCH * 12),
    "sq mm": ("area", Decimal(1)),
    "sq m": ("area", Decimal(1_000_000)),
    "sq in": ("area", MM_PER_INCH**2),
    "sq ft": ("area", (MM_PER_INCH * 12) ** 2),
    "ml": ("volume", Decimal(1)),
    "L": ("volume", Decimal(1000)),
    "cu in": ("volume", MM_PER_INCH**3 / 1000),
    "cu ft": ("volume", (MM_PER_INCH * 12) ** 3 / 1000),
    "fl oz": ("volume", MM_PER_INCH**3 / 1000 * 231 / 128),
    "gal": ("volume", MM_PER_INCH**3 / 1000 * 231),
    "g": ("mass", Decimal(1)),
    "kg": ("mass", Decimal(1000)),
    "lb": ("mass", Decimal("453.59237")),
    "min": ("time", Decimal(1)),
    "h": ("time", Decimal(60)),
    "": ("count", Decimal(1)),
    "each": ("count", Decimal(1)),
}


class System(StrEnum):
    """The units a site is measured and quoted in."""

    INCH = "inch"
    METRIC = "metric"

    @property
    def length(self) -> str:
        return "in" if self is System.INCH else "mm"

    @property
    def run(self) -> str:
        """The unit of a long length, such as a bead of sealant."""
        return "ft" if self is System.INCH else "m"

    @property
    def area(self) -> str:
        return "sq ft" if self is System.INCH else "sq m"

    @property
    def volume(self) -> str:
        return "gal" if self is System.INCH else "L"

    @property
    def mass(self) -> str:
        return "lb" if self is System.INCH else "kg"


@dataclass(frozen=True)
class Measure:
    """A number with its unit, kept as it was printed on the data sheet or written down on site."""

    value: Decimal
    unit: str

    def to(self, unit: str) -> Decimal:
        """Return the number in *unit*; the same number when the unit is already that one.

        Raises:
            DomainError: the units are of different kinds (rule ``units.kind``).
        """
        return convert(self.value, self.unit, unit)

    def in_unit(self, unit: str) -> Measure:
        """Return the same measure written in *unit*."""
        return Measure(self.to(unit), unit)


def convert(value: Decimal, unit: str, wanted: str) -> Decimal:
    """Convert *value* from *unit* to *wanted*; compound units are written ``sq ft/gal``.

    >>> convert(Decimal(1), "sq ft", "sq in")
    Decimal('144')
    >>> convert(Decimal(55), "sq ft/gal", "sq ft/gal")
    Decimal('55')
    """
    if unit == wanted:
        return value
    top, _, below = unit.partition("/")
    wanted_top, _, wanted_below = wanted.partition("/")
    over, under = _sizes(top, wanted_top)
    if below or wanted_below:
        over_below, under_below = _sizes(below, wanted_below)
        over, under = over * under_below, under * over_below
    # Multiplied before it is divided, so that 1676.4 mm is 5.5 ft and not 5.4999.
    result = value * over / under
    return result.to_integral_value() if result == result.to_integral_value() else result


def _sizes(unit: str, wanted: str) -> tuple[Decimal, Decimal]:
    kind, size = _UNITS[unit.strip()]
    wanted_kind, wanted_size = _UNITS[wanted.strip()]
    if kind != wanted_kind:
        raise DomainError(
            phrase(
                gettext_noop("A figure in {unit} cannot be turned into {wanted}."), unit=unit, wanted=wanted
            ),
            rule="units.kind",
            unit=unit,
            wanted=wanted,
        )
    return size, wanted_size


def is_unit(text: str) -> bool:
    """Return whether *text* is a unit or a quotient of two that :func:`convert` knows."""
    return all(part.strip() in _UNITS for part in text.split("/")) and text.count("/") <= 1


def mm(value: str | int | Decimal) -> Decimal:
    """Return a length in millimetres as a Decimal (shorthand for literals)."""
    return Decimal(value)


def inches(value: str | int | Decimal) -> Decimal:
    """Return millimetres, exactly, for a length in inches."""
    return Decimal(value) * MM_PER_INCH

"""The limits that checks are held against, and who says so. Pure: no database, no clock.

Lengths are whole ten-thousandths of a millimetre and percentages whole hundredths, as stored.

The standards' own text was not at hand: values come from trade pages that quote it, and where a value is
from memory it is said. The edition adopted locally, a product's data sheet and the local code go before
every figure here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from estimates.takeoff.lengths import on_grid, to_units
from estimates.takeoff.model import BondMethod, Exposure
from estimates.takeoff.sequence import CURES, first_test_wait
from estimates.takeoff.setting.rules import contact_required, flatness_limits
from estimates.takeoff.units import Measure, System, inches


class Quantity(StrEnum):
    LENGTH = "length"
    PERCENT = "percent"


@dataclass(frozen=True)
class Limit:
    """A range whose ends count as good, in the stored whole numbers; None: open on that side."""

    quantity: Quantity
    least: int | None = None
    most: int | None = None

    def admits(self, reading: int) -> bool:
        """Return whether *reading* is within the range.

        >>> Limit(Quantity.LENGTH, most=31750).admits(31750)
        True
        """
        return (self.least is None or reading >= self.least) and (self.most is None or reading <= self.most)


def length_limit(least: Decimal | None = None, most: Decimal | None = None) -> Limit:
    return Limit(
        Quantity.LENGTH,
        None if least is None else to_units(least),
        None if most is None else to_units(most),
    )


def flatness(edge_mm: Decimal, system: System) -> tuple[Limit, Limit]:
    """Return the limits over 10 ft (3 m) and over the short span, for a tile's longest edge.

    Source: ANSI A108.02 4.2.2 (3 mm in 3 m and 2 mm in 610 mm are its own metric figures); small tile's
    1/16 in in 12 in is from memory, and so are its metric figures.
    """
    limits = flatness_limits(Measure(edge_mm, "mm"))
    if system is System.METRIC:
        large = limits.span.to("in") == 24
        return length_limit(most=Decimal(3 if large else 6)), length_limit(most=Decimal(2))
    return length_limit(most=limits.over_10_ft.mm), length_limit(most=limits.over_span.mm)


def contact(exposure: Exposure) -> Limit:
    """Return the share of a lifted tile's back that mortar touches: 80 % dry, 95 % wet (ANSI A108.5)."""
    share = contact_required(wet=exposure is Exposure.WET).value.value
    return Limit(Quantity.PERCENT, least=int(share * 10_000))


def fall(system: System) -> Limit:
    """Return the fall over 12 in (1 m) of a shower floor: 1/4:12 to 1/2:12 (IRC P2709.1)."""
    run = Decimal(1000) if system is System.METRIC else inches(12)
    return length_limit(_part(run, 48), _part(run, 24))


def _part(run: Decimal, parts: int) -> Decimal:
    """Return *run* / *parts* on the grid of lengths."""
    return on_grid(Fraction(run) / parts)


def joint_spacing(exposure: Exposure) -> Limit:
    """Return the widest field between movement joints: 25 ft indoors, 12 ft in sun or moisture (EJ171)."""
    return length_limit(most=inches(12) * (12 if exposure is Exposure.WET else 25))


# --- Flood test -----------------------------------------------------------------------------------------

FLOOD_STANDS = timedelta(hours=24)
"""ASTM D5957: 24 to 72 h."""
FLOOD_LONGEST = timedelta(hours=72)
FLOOD_LEAST_SHOWER = to_units(inches(2))
"""IPC 312.9 as quoted from the 2014 Florida code; IRC P2503.6: at least 2 in at the threshold."""
FLOOD_LEAST_OTHER = to_units(inches(1))
"""ASTM D5957, from memory."""
FLOOD_MOST = to_units(inches(4))
"""ASTM D5957 5.3: a head of 4 in (100 mm) at most unless an engineer approves more."""
FLOOD_RISE = to_units(inches("0.125"))
"""A level that rose by more than a rule's reading says that water was added (our own rule)."""


def flood_limit(*, shower: bool) -> Limit:
    """Return the depth of water at the shallowest edge that a flood test needs."""
    return Limit(Quantity.LENGTH, FLOOD_LEAST_SHOWER if shower else FLOOD_LEAST_OTHER, FLOOD_MOST)


def flood_wait(*, is_cold: bool) -> timedelta:
    """Return how long a membrane stands before it is flooded: 24 h, 48 h when laid below 50 °F.

    Source: ASTM D5957 5.4.
    """
    hours = first_test_wait(Decimal(0) if is_cold else None).hours
    return timedelta(hours=int(hours))


def cure(method: BondMethod) -> timedelta:
    """Return how long a bond cures before tile (common practice; the data sheet goes before)."""
    return timedelta(minutes=int(CURES[method.value].hours * 60))

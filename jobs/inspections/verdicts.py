"""Why a check passes or fails, in sentences. Pure: the database computes pass or fail from the same rules.

Readings are whole ten-thousandths of a millimetre or whole hundredths of a per cent.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

from estimates.takeoff.lengths import format_length, from_units
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.units import MM_PER_INCH, System

from .limits import FLOOD_RISE, Limit, Quantity

_FINEST = 64
_ROOM_SIZED_MM = 914


def shown(value: int, quantity: Quantity, system: System) -> str:
    """Print a reading as it was read, not rounded to what a wall needs: 1/64 in or 0.01 mm.

    >>> shown(15875, Quantity.LENGTH, System.INCH), shown(9500, Quantity.PERCENT, System.INCH)
    ('1/16″', '95 %')
    """
    if quantity is Quantity.PERCENT:
        return f"{_plain(Decimal(value) / 100)} %"
    mm = from_units(value)
    if mm > _ROOM_SIZED_MM:
        return format_length(mm, system)
    if system is System.METRIC:
        return f"{_plain(mm.quantize(Decimal('0.01')))} mm"
    inch = Fraction(mm) / Fraction(MM_PER_INCH)
    # Half a step of the grid: what was typed as 1/64 in is stored as 0.3969 mm.
    close = Fraction(round(inch * _FINEST), _FINEST)
    if abs(close - inch) * Fraction(MM_PER_INCH) > Fraction(1, 20_000):
        return f"{_plain((mm / MM_PER_INCH).quantize(Decimal('0.001')))}″"
    whole, part = divmod(close, 1)
    return f"{whole}″" if not part else f"{whole} {part}″" if whole else f"{part}″"


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def limit_text(limit: Limit, system: System) -> Phrase:
    """Say the range: "at most 1/8″", "at least 2″", "1/4″ to 1/2″"."""
    if limit.least is None:
        return phrase(gettext_noop("at most {most}"), most=shown(limit.most or 0, limit.quantity, system))
    least = shown(limit.least, limit.quantity, system)
    if limit.most is None:
        return phrase(gettext_noop("at least {least}"), least=least)
    return phrase(
        gettext_noop("{least} to {most}"), least=least, most=shown(limit.most, limit.quantity, system)
    )


def reading_faults(limit: Limit, reading: int, system: System) -> tuple[Phrase, ...]:
    """Return why *reading* fails, or nothing when it passes."""
    if limit.admits(reading):
        return ()
    return (
        phrase(
            gettext_noop("{reading} was read; the limit is {limit}."),
            reading=shown(reading, limit.quantity, system),
            limit=limit_text(limit, system),
        ),
    )


@dataclass(frozen=True)
class Flood:
    """A flood test that has ended; levels in ten-thousandths of a millimetre."""

    limit: Limit
    start_level: int
    end_level: int
    stood: timedelta
    stands: timedelta
    waited: timedelta
    wait: timedelta
    leak_seen: bool


def flood_faults(test: Flood, system: System) -> tuple[Phrase, ...]:
    """Return why *test* fails, or nothing when it passes.

    Source: ASTM D5957 as the guide (24 h, not in the first 24 h, 48 h when laid cold, 4 in at most); depth
    at the threshold from IPC 312.9; that any fall fails, and a rise too, is our own rule.
    """
    start, end = (shown(level, Quantity.LENGTH, system) for level in (test.start_level, test.end_level))
    found = []
    if not test.limit.admits(test.start_level):
        found.append(
            phrase(
                gettext_noop("The water stood {level} at the start; it has to stand {limit}."),
                level=start,
                limit=limit_text(test.limit, system),
            )
        )
    if test.waited < test.wait:
        found.append(
            phrase(
                gettext_noop("The membrane had stood {waited}; it has to stand {wait} before it is flooded."),
                waited=span(test.waited),
                wait=span(test.wait),
            )
        )
    if test.stood < test.stands:
        found.append(
            phrase(
                gettext_noop("The test ended after {stood}; the water has to stand {stands}."),
                stood=span(test.stood),
                stands=span(test.stands),
            )
        )
    if test.end_level < test.start_level:
        found.append(phrase(gettext_noop("The level fell from {start} to {end}."), start=start, end=end))
    if test.end_level > test.start_level + FLOOD_RISE:
        found.append(
            phrase(
                gettext_noop("The level rose from {start} to {end}: water was added, so nothing is proven."),
                start=start,
                end=end,
            )
        )
    if test.leak_seen:
        found.append(phrase(gettext_noop("Water was seen where it must not be.")))
    return tuple(found)


def span(length: timedelta) -> str:
    """Print a duration in hours and whole minutes, cut off, so that 23 h 59 min is never called 24 h.

    >>> span(timedelta(hours=23, minutes=59, seconds=59)), span(timedelta(hours=24))
    ('23 h 59 min', '24 h')
    """
    hours, rest = divmod(int(length.total_seconds()), 3600)
    minutes = rest // 60
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"

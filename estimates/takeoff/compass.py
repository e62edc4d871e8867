"""A closed traverse balanced by the compass rule, in a surveyor's terms, whatever was measured.

:mod:`.traverse` walks rooms with it; the published examples of surveying texts test it as it stands.
"""

from __future__ import annotations

import decimal
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate

from .lengths import GRID
from .polygon import distance

_ROUND = Decimal(360)
_QUARTER = Decimal(90)


@dataclass(frozen=True)
class Course:
    """A line of a traverse: its length, in any unit, and its azimuth, degrees clockwise from north."""

    length: Decimal
    azimuth: Decimal


@dataclass(frozen=True)
class Balance:
    """A balanced traverse, course by course, in the courses' unit.

    A latitude is the northing of a course, a departure its easting. Sums are the misclosure; corrections are
    added; balanced values sum to zero exactly. *precision* is n of 1:n, None when the traverse closes.
    """

    latitudes: tuple[Decimal, ...]
    departures: tuple[Decimal, ...]
    latitude_sum: Decimal
    departure_sum: Decimal
    linear: Decimal
    perimeter: Decimal
    precision: int | None
    latitude_corrections: tuple[Decimal, ...]
    departure_corrections: tuple[Decimal, ...]

    @property
    def balanced_latitudes(self) -> tuple[Decimal, ...]:
        """Latitudes with their corrections."""
        return tuple(map(Decimal.__add__, self.latitudes, self.latitude_corrections))

    @property
    def balanced_departures(self) -> tuple[Decimal, ...]:
        """Departures with their corrections."""
        return tuple(map(Decimal.__add__, self.departures, self.departure_corrections))


def balance(courses: Sequence[Course]) -> Balance:
    """Balance a closed traverse by the compass rule.

    Latitude = L cos(azimuth), departure = L sin(azimuth), correction = -sum * L / perimeter; all to four
    decimals. The corrections are rounded as they add up along the traverse, so that their total is exactly
    the misclosure with its sign changed.

    Source: the compass (Bowditch) rule as worked in Purdue University, ASM 215, "Traverse Calculations".

    >>> north_east_back = [Course(Decimal(3), Decimal(0)), Course(Decimal(4), Decimal(90))]
    >>> balance(north_east_back).linear == 5
    True
    """
    directions = [cos_sin(course.azimuth) for course in courses]
    latitudes = tuple(to_grid(c.length * cos) for c, (cos, _) in zip(courses, directions, strict=True))
    departures = tuple(to_grid(c.length * sin) for c, (_, sin) in zip(courses, directions, strict=True))
    latitude_sum, departure_sum = sum(latitudes, Decimal(0)), sum(departures, Decimal(0))
    travelled = list(accumulate(course.length for course in courses))
    linear = distance((Decimal(0), Decimal(0)), (latitude_sum, departure_sum))
    return Balance(
        latitudes=latitudes,
        departures=departures,
        latitude_sum=latitude_sum,
        departure_sum=departure_sum,
        linear=linear,
        perimeter=travelled[-1],
        precision=int(travelled[-1] / linear) if linear else None,
        latitude_corrections=_spread(-latitude_sum, travelled),
        departure_corrections=_spread(-departure_sum, travelled),
    )


def cos_sin(degrees: Decimal) -> tuple[Decimal, Decimal]:
    """Return cosine and sine to 15 decimals; exact at every multiple of 90 degrees.

    >>> cos_sin(Decimal(-90))
    (Decimal('0'), Decimal('-1'))
    """
    quarter, rest = divmod(degrees % _ROUND, _QUARTER)  # the sign of % follows the left operand in Decimal
    if rest < 0:
        quarter, rest = quarter - 1, rest + _QUARTER
    if rest:
        cos, sin = (
            Decimal(part).quantize(Decimal("1e-15"))
            for part in (math.cos(math.radians(rest)), math.sin(math.radians(rest)))
        )
    else:
        cos, sin = Decimal(1), Decimal(0)
    zero = Decimal(0)  # added so that no value is a negative zero
    turned = ((cos, sin), (-sin, cos), (-cos, -sin), (sin, -cos))[int(quarter) % 4]
    return turned[0] + zero, turned[1] + zero


def _spread(total: Decimal, travelled: Sequence[Decimal]) -> tuple[Decimal, ...]:
    if not total:
        return (Decimal(0),) * len(travelled)
    reached = [to_grid(total * so_far / travelled[-1]) for so_far in travelled]
    return tuple(after - before for before, after in zip((Decimal(0), *reached), reached, strict=False))


def to_grid(value: Decimal) -> Decimal:
    """Return *value* to four decimals, half to even."""
    return value.quantize(GRID, rounding=decimal.ROUND_HALF_EVEN)

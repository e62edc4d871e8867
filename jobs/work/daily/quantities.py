"""What a trade step is counted in: square feet of membrane, feet of joint; as the takeoff foresaw it.

A quantity done becomes a share of what was foreseen, and the share is what earned value reads, so that a crew
may say either.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from contracting.money import half_up
from estimates.quotes.changes.selectors import work_in_force

from ..models import Job

THOUSAND = 1000
ALL = 10_000
# The activities whose quantity measures a step, by how their keys begin, and what they are counted in. What
# goes with them (corner pieces, layout, cuts) takes time and is no measure of how far the step is.
_MEASURES: Mapping[str, tuple[str, frozenset[str]]] = {
    "demolition": ("demolish", frozenset({"sq ft", "sq m"})),
    "preparation": ("prepare", frozenset({"sq ft", "sq m"})),
    "backer": ("backer", frozenset({"sq ft", "sq m"})),
    "waterproofing": ("membrane", frozenset({"sq ft", "sq m"})),
    "tile": ("set_", frozenset({"sq ft", "sq m"})),
    "grout": ("grout", frozenset({"sq ft", "sq m"})),
    "joints": ("movement_joints", frozenset({"ft", "m"})),
}


@dataclass(frozen=True)
class Foreseen:
    """How much of a step there is to do: thousandths of *unit*, above 0."""

    thousandths: int
    unit: str

    def share(self, thousandths: int) -> int:
        """Return a quantity done as basis points of this one, to the nearest, at most all of it.

        >>> Foreseen(46_000, "sq ft").share(23_000), Foreseen(3_000, "ft").share(1_000)
        (5000, 3333)
        """
        return min(ALL, (2 * thousandths * ALL + self.thousandths) // (2 * self.thousandths))


def foreseen_of(job: Job) -> dict[str, Foreseen]:
    """Return what the takeoff of *job* foresaw for each step that is counted, its signed changes included."""
    work: Mapping[str, Any] = work_in_force(job.quote)
    sums: dict[str, dict[str, Decimal]] = {}
    for row in (work.get("takeoff") or {}).get("hours", ()):
        begins, units = _MEASURES.get(row["step"], ("", frozenset[str]()))
        given = row["hours"]["lines"][0] if row["hours"]["lines"] else {}
        if begins and row["activity"].startswith(begins) and given.get("unit") in units:
            own = sums.setdefault(row["step"], {})
            own[given["unit"]] = own.get(given["unit"], Decimal(0)) + Decimal(given["value"])
    return {
        step: Foreseen(_thousandths(value), unit)
        for step, own in sums.items()
        # One unit a step: the site's. Two could not be added up.
        for unit, value in list(own.items())[:1]
        if len(own) == 1 and _thousandths(value) > 0
    }


def _thousandths(value: Decimal) -> int:
    return half_up(value * THOUSAND)

"""The terms of a warranty on a day. The company writes its own; these are what it starts from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any

from .models import WarrantyTerms

# Common practice of the trade, no source: the owner reads them and makes them the company's own, with
# whoever advises it on the law of the place.
DEFAULT_YEARS = 2
DEFAULT_TERMS = """\
We warrant our workmanship. The waterproofing named in this record was laid, lapped and sealed as recorded \
here, and the tile was set over it after the checks in this record had passed.
If within the years named above the waterproofing leaks or tile comes loose because of our workmanship, we \
put it right without charge, within a reasonable time after you have told us.
Not covered: movement or failure of the building; plumbing, heating and electrical work of others; openings, \
drillings and alterations made by others after completion; misuse; unsuitable cleaners; ordinary wear; soft \
joints, which are a matter of upkeep; differences of shade within a lot.
The products carry their makers' own warranties besides this one.
This warranty adds to the rights that the law gives you and takes none of them away."""
DEFAULT_CARE = """\
Let the shower dry after use and keep the room aired.
Clean with neutral cleaners; keep acids, bleach and scouring powder off grout and stone.
Look at the soft joints in corners and at fixtures once a year, and have them renewed where they open.
Do not drill, cut or screw through wet walls and floors without asking us: the waterproofing lies right \
under the tile.
Keep the drain clear, and tell us at once when water stands, a tile sounds hollow or a joint opens."""


@dataclass(frozen=True)
class Terms:
    """What the company promises and asks for on a day; *starts_on* is None for the defaults."""

    years: int
    terms: str
    care: str
    starts_on: datetime.date | None = None

    def frozen(self, completed_on: datetime.date) -> dict[str, Any]:
        """Return the terms as a record keeps them, with the days the warranty runs from and to."""
        return {
            "years": self.years,
            "starts_on": completed_on.isoformat(),
            "ends_on": years_later(completed_on, self.years).isoformat(),
            "terms": _lines(self.terms),
            "care": _lines(self.care),
            "terms_of": self.starts_on.isoformat() if self.starts_on else "",
        }


def terms_on(day: datetime.date) -> Terms:
    """Return the terms on *day*: the newest that have started, or the defaults."""
    row = WarrantyTerms.objects.filter(starts_on__lte=day).order_by("-starts_on").first()
    if row is None:
        return Terms(DEFAULT_YEARS, DEFAULT_TERMS, DEFAULT_CARE)
    return Terms(row.years, row.terms, row.care, row.starts_on)


def years_later(day: datetime.date, years: int) -> datetime.date:
    """Return the same day *years* later; of 29 February the 28th where the year has none.

    >>> years_later(datetime.date(2028, 2, 29), 2)
    datetime.date(2030, 2, 28)
    """
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]

"""The terms of a warranty on a day. The company writes its own; these are what it starts from."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from .models import WarrantyTerms

# Common practice of the trade, no source: the owner reads them and makes them the company's own, with
# whoever advises it on the law of the place.
DEFAULT_YEARS = 2
DEFAULT_TERMS = gettext_noop("""\
We warrant our workmanship. The waterproofing named in this record was laid, lapped and sealed as recorded \
here, and the tile was set over it after the checks in this record had passed.
If within the years named above the waterproofing leaks or tile comes loose because of our workmanship, we \
put it right without charge, within a reasonable time after you have told us.
Not covered: movement or failure of the building; plumbing, heating and electrical work of others; openings, \
drillings and alterations made by others after completion; misuse; unsuitable cleaners; ordinary wear; soft \
joints, which are a matter of upkeep; differences of shade within a lot.
The products carry their makers' own warranties besides this one.
This warranty adds to the rights that the law gives you and takes none of them away.""")
DEFAULT_CARE = gettext_noop("""\
Wet room: Let the shower or bath dry after use and keep the room aired.
Clean with neutral cleaners; keep acids, bleach and scouring powder off grout and stone.
Floor: Keep grit off the floor with a mat at the door, and put felt under the feet of furniture.
Counter: Cut on a board, set hot pans on a trivet, and wipe up wine, juice and oil before they stain.
Look at the soft joints in corners and at fixtures once a year, and have them renewed where they open.
Do not drill, cut or screw through the tile without asking us: the waterproofing lies right under it.
Drain: Keep the drain clear, and tell us at once when water stands.
Tell us at once when a tile sounds hollow or a joint opens.""")


class Place(StrEnum):
    """What a line of the care may be about: a line that begins so belongs to jobs that have one."""

    WET = "wet room"
    DRAIN = "drain"
    FLOOR = "floor"
    COUNTER = "counter"

    @property
    def word(self) -> str:
        """The word in the active language, as it is typed before a colon."""
        return {
            Place.WET: _("Wet room"),
            Place.DRAIN: _("Drain"),
            Place.FLOOR: _("Floor"),
            Place.COUNTER: _("Counter"),
        }[self]


@dataclass(frozen=True)
class Terms:
    """What the company promises and asks for on a day; *starts_on* is None for the defaults."""

    years: int
    terms: str
    care: str
    starts_on: datetime.date | None = None

    def frozen(self, completed_on: datetime.date, places: Collection[Place] | None = None) -> dict[str, Any]:
        """Return the terms as a record keeps them, with the days the warranty runs from and to.

        Args:
            places: what the job has; the care keeps the lines about these. None: nobody measured, keep all.
        """
        return {
            "years": self.years,
            "starts_on": completed_on.isoformat(),
            "ends_on": years_later(completed_on, self.years).isoformat(),
            "terms": _lines(self.terms),
            "care": care_of(self.care, places),
            "terms_of": self.starts_on.isoformat() if self.starts_on else "",
        }


def terms_on(day: datetime.date) -> Terms:
    """Return the terms on *day*: the newest that have started, or the defaults in the active language."""
    row = WarrantyTerms.objects.filter(starts_on__lte=day).order_by("-starts_on").first()
    if row is None:
        return Terms(DEFAULT_YEARS, _(DEFAULT_TERMS), _(DEFAULT_CARE))
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


def care_of(text: str, places: Collection[Place] | None) -> list[str]:
    """Return the lines of the care that hold for *places*, without the word that says what they are about.

    >>> care_of("Floor: Use felt.\\nClean with water.\\ndrain : Keep it clear.", {Place.FLOOR})
    ['Use felt.', 'Clean with water.']
    """
    words = _words()
    kept = []
    for line in _lines(text):
        before, colon, rest = line.partition(":")
        place = words.get(before.strip().casefold()) if colon and rest.strip() else None
        if place is None:
            kept.append(line)
        elif places is None or place in places:
            kept.append(rest.strip())
    return kept


@cache
def _words() -> dict[str, Place]:
    """Return the places by their words in every language: a company writes its care in its own."""
    found: dict[str, Place] = {}
    for language, _called in settings.LANGUAGES:
        with translation.override(language):
            found |= {place.word.casefold(): place for place in Place}
    return found


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]

"""What a page says of a move before it is stored: what moves along, and what does not fit then."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError

from contracting.staff.models import User

from .clashes import Clash, clashes, crew_ids
from .drafts import Draft
from .models import DayOff, Visit, Wait
from .selectors import WorkTime, neighbours
from .services import ChangedMeanwhile, visit_try
from .words import when_of


@dataclass
class Look:
    """The consequences of a move. *refused*: why it cannot be; *is_stale*: somebody else was first."""

    visit: Visit
    day: datetime.date
    when: str = ""
    moved: list[str] = field(default_factory=list)
    clashes: list[tuple[Visit | None, Clash]] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    is_stale: bool = False


def look_at(
    *,
    visit: Visit,
    seen: int,
    day: datetime.date,
    clock: datetime.time | None = None,
    people: Collection[User] | None = None,
    loose: bool = False,
    by: User,
) -> Look:
    """Return what a move would do; nothing is stored."""
    found = Look(visit, day)
    try:
        draft, moved = visit_try(
            visit=visit, seen=seen, day=day, clock=clock, people=people, loose=loose, by=by
        )
    except ChangedMeanwhile as error:
        found.refused, found.is_stale = error.messages, True
    except ValidationError as error:
        found.refused = error.messages
    else:
        found.when = when_of(moved)
        found.moved = draft.said(moved)
        found.clashes = _clashes(draft)
    return found


def _clashes(draft: Draft) -> list[tuple[Visit | None, Clash]]:
    """Return what does not fit among the draft's visits and those of other jobs on the same days."""
    persons = frozenset[int]().union(*draft.crews.values())
    others = neighbours(draft.visits, persons)
    crews = {visit.pk: draft.crews[str(visit.uid)] for visit in draft.visits}
    crews |= {visit.pk: crew_ids(visit) for visit in others}
    by_uid = {str(visit.uid): visit for visit in draft.visits}
    waits = [
        Wait(visit=by_uid[gap.after], cure=gap.need.cure, starts_at=gap.start, ends_at=gap.end)
        for gap in draft.gaps
    ]
    days = [visit.day for visit in draft.visits]
    off = DayOff.objects.filter(person__in=persons, first_on__lte=max(days), last_on__gte=min(days))
    time = WorkTime.read()
    own = {visit.pk: visit for visit in draft.visits}
    told = clashes(
        [*draft.visits, *others],
        crews=crews,
        people={person.pk: person for person in User.objects.filter(pk__in=persons)},
        waits=waits,
        days_off=off,
        calendar=time.calendar,
        holidays=time.holidays,
    )
    here = [clash for clash in told if clash.visit in own]
    return [
        (own[clash.visit or 0], clash)
        for clash in sorted(here, key=lambda one: own[one.visit or 0].starts_at)
    ]

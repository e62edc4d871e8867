"""What does not fit on the calendar, in words: somebody twice, a closed day, a cure, too many hours."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from contracting.staff.models import User
from estimates.takeoff.sequence import Calendar

from .blocks import Days
from .models import DayOff, Visit, Wait
from .words import clock_of, day_of, hours_of, moment_of, person_name, wait_name, zone_of

FLOOD_TEST = "flood test"


class Kind(StrEnum):
    """What a clash is about."""

    TWICE = "twice"
    CURE = "cure"
    CLOSED = "closed"
    OFF = "off"
    HOURS = "hours"
    NOBODY = "nobody"
    FLOOD = "flood"


@dataclass(frozen=True)
class Clash:
    """Something that does not fit with one visit, as a sentence."""

    kind: Kind
    visit: int | None
    sentence: str
    against: int | None = None  # the other visit, where two meet


def crew_ids(visit: Visit) -> frozenset[int]:
    """Return who makes a visit, from what was fetched with it."""
    return frozenset(row.person_id for row in visit.people.all() if row.left_at is None)


def clashes(
    visits: Iterable[Visit],
    *,
    crews: Mapping[int, Collection[int]],
    people: Mapping[int, User],
    waits: Iterable[Wait],
    days_off: Iterable[DayOff],
    calendar: Calendar,
    holidays: Mapping[datetime.date, str],
) -> list[Clash]:
    """Return what does not fit among *visits*.

    Args:
        crews: keys of persons by the visit's primary key.
        people: those persons.
        waits: after these visits.
        holidays: names of the company's days without work.
    """
    shown = sorted(visits, key=lambda visit: visit.starts_at)
    found = [
        *(clash for visit in shown for clash in _alone(visit, calendar, holidays)),
        *_flood_tests(waits, calendar),
    ]
    by_person: dict[int, list[Visit]] = defaultdict(list)
    twice: dict[tuple[int, int], list[str]] = defaultdict(list)
    for visit in shown:
        crew = crews.get(visit.pk, ())
        if not crew:
            found.append(Clash(Kind.NOBODY, visit.pk, _("Nobody is down for it yet.")))
        for key in crew:
            by_person[key].append(visit)
    off: dict[int, list[DayOff]] = defaultdict(list)
    for row in days_off:
        off[row.person_id].append(row)
    for key, own in by_person.items():
        name = person_name(people[key]) if key in people else "–"
        for one, other in _meetings(own):
            twice[one.pk, other.pk].append(name)
        found += _of_person(name, own, off[key], calendar)
    named = {visit.pk: visit for visit in shown}
    for (one_pk, other_pk), names in twice.items():
        for visit, against in ((named[one_pk], named[other_pk]), (named[other_pk], named[one_pk])):
            found.append(_twice(visit, against, names))
    return found


def _meetings(own: list[Visit]) -> Iterable[tuple[Visit, Visit]]:
    """Yield which of one person's visits lie at the same time; *own* by their start."""
    for one, other in combinations(own, 2):
        if other.starts_at < one.ends_at:
            yield one, other


def _twice(visit: Visit, against: Visit, names: list[str]) -> Clash:
    said = {
        "names": ", ".join(names),
        "number": against.plan.job.number,
        "hours": hours_of(against),
    }
    sentence = ngettext(
        "%(names)s is on job %(number)s at the same time, %(hours)s.",
        "%(names)s are on job %(number)s at the same time, %(hours)s.",
        len(names),
    )
    return Clash(Kind.TWICE, visit.pk, sentence % said, against.pk)


def _alone(visit: Visit, calendar: Calendar, holidays: Mapping[datetime.date, str]) -> Iterable[Clash]:
    zone = zone_of(visit)
    if visit.waits_until is not None and visit.waits_until > visit.starts_at:
        yield Clash(
            Kind.CURE,
            visit.pk,
            _("%(wait)s runs until %(until)s; this begins before.")
            % {"wait": wait_name(visit.waits_for), "until": moment_of(visit.waits_until, zone)},
        )
    if visit.day in calendar.holidays:
        name = holidays.get(visit.day, "")
        yield Clash(
            Kind.CLOSED,
            visit.pk,
            _("%(day)s is a holiday (%(name)s).") % {"day": day_of(visit.day), "name": name}
            if name
            else _("%(day)s is a holiday.") % {"day": day_of(visit.day)},
        )
    elif not calendar.works_on(visit.day):
        yield Clash(Kind.CLOSED, visit.pk, _("%(day)s is no working day.") % {"day": day_of(visit.day)})
    days = Days(calendar, zone)
    opens = days.at(visit.day, calendar.start_of_day)
    closes = days.at(visit.day, calendar.end_of_day)
    if visit.starts_at < opens or visit.ends_at > closes:
        yield Clash(
            Kind.HOURS,
            visit.pk,
            _("%(hours)s lies outside the working day, %(opens)s–%(closes)s.")
            % {
                "hours": hours_of(visit),
                "opens": formats.time_format(calendar.start_of_day, "TIME_FORMAT"),
                "closes": formats.time_format(calendar.end_of_day, "TIME_FORMAT"),
            },
        )


def _of_person(
    name: str, own: list[Visit], days_off: Iterable[DayOff], calendar: Calendar
) -> Iterable[Clash]:
    """*own* are one person's visits by their start."""
    by_day: dict[datetime.date, list[Visit]] = defaultdict(list)
    for visit in own:
        by_day[visit.day].append(visit)
        if any(row.first_on <= visit.day <= row.last_on for row in days_off):
            said = {"name": name, "day": day_of(visit.day)}
            yield Clash(Kind.OFF, visit.pk, _("%(name)s has %(day)s off.") % said)
    for day, visits in by_day.items():
        # Two visits at the same time are told as that; their hours would only say it again.
        if any(True for _pair in _meetings(visits)):
            continue
        minutes = sum(visit.minutes for visit in visits)
        most = Days(calendar, zone_of(visits[0])).day_minutes
        if minutes > most:
            for visit in visits:
                yield Clash(
                    Kind.HOURS,
                    visit.pk,
                    _("%(name)s has %(planned)s of work on %(day)s; the working day has %(most)s.")
                    % {
                        "name": name,
                        "planned": _length(minutes),
                        "day": day_of(day),
                        "most": _length(most),
                    },
                )


def _length(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02} h"


def _flood_tests(waits: Iterable[Wait], calendar: Calendar) -> Iterable[Clash]:
    """A flood test that is full on a closed day stands unattended, or somebody comes to read it."""
    for wait in waits:
        if wait.cure != FLOOD_TEST:
            continue
        zone = zone_of(wait.visit)
        day = wait.ends_at.astimezone(zone).date()
        if not calendar.works_on(day):
            yield Clash(
                Kind.FLOOD,
                wait.visit_id,
                _(
                    "The flood test is full on %(day)s at %(clock)s, a closed day: "
                    "somebody has to come and read it, or the water stands longer."
                )
                % {"day": day_of(day), "clock": clock_of(wait.ends_at, zone)},
            )

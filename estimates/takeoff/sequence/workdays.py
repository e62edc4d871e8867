"""Working time and clock time, and the way from one to the other.

Working time is a count of whole working minutes since the job's start. Clock time is a ``datetime``. The
arithmetic of aware datetimes is done in UTC, so a wait of 24 h over a clock change is 24 h that really
pass, while the working day still begins at the same local hour.
"""

from __future__ import annotations

import bisect
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise

from ..errors import DomainError
from ..phrases import gettext_noop, phrase

_MINUTE = timedelta(minutes=1)
# A job that finds no working time in this many days has a calendar that is wrong.
_LONGEST_GAP_DAYS = 366


@dataclass(frozen=True)
class Calendar:
    """The hours in which work happens, in the site's local time.

    Attributes:
        start_of_day, end_of_day: first and last moment of a working day, on the same day.
        breaks: (from, to) within the day, rising and apart.
        weekdays: working weekdays, Monday = 0 … Sunday = 6.
        holidays: days without work.

    Raises:
        DomainError: no working weekday, a day that ends before it starts, a break outside the day or over
            all of it (rules ``calendar.weekdays``, ``calendar.day``, ``calendar.break``).
    """

    start_of_day: time = time(8)
    end_of_day: time = time(16, 30)
    breaks: tuple[tuple[time, time], ...] = ((time(12), time(12, 30)),)
    weekdays: frozenset[int] = frozenset(range(5))
    holidays: frozenset[date] = field(default_factory=frozenset)

    def __post_init__(self) -> None:
        if not self.weekdays or not self.weekdays <= frozenset(range(7)):
            raise DomainError(
                phrase(gettext_noop("The calendar needs at least one working day of the week.")),
                rule="calendar.weekdays",
                weekdays=self.weekdays,
            )
        if not self.start_of_day < self.end_of_day:
            raise DomainError(
                phrase(
                    gettext_noop("The working day must end after it starts (got {start} to {end})."),
                    start=f"{self.start_of_day:%H:%M}",
                    end=f"{self.end_of_day:%H:%M}",
                ),
                rule="calendar.day",
                start=self.start_of_day,
                end=self.end_of_day,
            )
        edges = [self.start_of_day, *(edge for pause in self.breaks for edge in pause), self.end_of_day]
        rising = all(first <= second for first, second in pairwise(edges))
        if not rising or not self.shifts():
            raise DomainError(
                phrase(
                    gettext_noop(
                        "The breaks must lie within the working day, one after the other, "
                        "and leave time to work."
                    )
                ),
                rule="calendar.break",
                breaks=self.breaks,
            )

    def shifts(self) -> list[tuple[time, time]]:
        """Return the (from, to) of a day that are worked, in local time."""
        edges = [self.start_of_day, *(edge for pause in self.breaks for edge in pause), self.end_of_day]
        return [(first, last) for first, last in zip(edges[::2], edges[1::2], strict=True) if first < last]

    def works_on(self, day: date) -> bool:
        return day.weekday() in self.weekdays and day not in self.holidays


class Timeline:
    """The calendar unrolled from a start, as far as it is asked for.

    *start* aware: every answer is aware, in the same zone. *start* naive: local time without clock changes.
    A start between two minutes counts from the next minute.
    """

    def __init__(self, calendar: Calendar, start: datetime) -> None:
        self.calendar = calendar
        self._zone: tzinfo | None = start.tzinfo if start.utcoffset() is not None else None
        moment = self._inner(start)
        late = timedelta(seconds=moment.second, microseconds=moment.microsecond)
        self._start = moment + (_MINUTE - late if late else timedelta())
        self._days = self._unroll(self.local(self._start).date())
        self._from: list[datetime] = []  # starts of the worked spells
        self._to: list[datetime] = []
        self._before: list[int] = []  # working minutes before each spell
        self._total = 0
        self._empty_days = 0

    @property
    def start(self) -> datetime:
        """The first moment, to the minute, in the inner time (UTC when aware)."""
        return self._start

    def local(self, moment: datetime) -> datetime:
        """Return an inner moment as people on the site say it."""
        return moment.astimezone(self._zone) if self._zone else moment

    def worked_before(self, moment: datetime) -> int:
        """Return the working minutes that have passed before the inner *moment*."""
        while not self._to or self._to[-1] < moment:
            self._extend()
        spell = bisect.bisect_right(self._from, moment) - 1
        if spell < 0:
            return 0
        within = min(moment, self._to[spell]) - self._from[spell]
        return self._before[spell] + within // _MINUTE

    def begins(self, minute: int) -> datetime:
        """Return when the working minute *minute* begins: after a night, the next morning."""
        while self._total <= minute:
            self._extend()
        spell = bisect.bisect_right(self._before, minute) - 1
        return self._from[spell] + (minute - self._before[spell]) * _MINUTE

    def ends(self, minute: int) -> datetime:
        """Return when *minute* working minutes are done: before a night, the evening."""
        if minute <= 0:
            return self.begins(0)
        while self._total < minute:
            self._extend()
        spell = bisect.bisect_left(self._before, minute) - 1
        return self._from[spell] + (minute - self._before[spell]) * _MINUTE

    def spells(self, first: int, last: int) -> Iterator[tuple[date, int]]:
        """Yield (local date, minutes) of the working minutes from *first* to *last*."""
        minute = first
        while minute < last:
            begin = self.begins(minute)
            spell = bisect.bisect_right(self._before, minute) - 1
            upto = min(last, self._before[spell] + (self._to[spell] - self._from[spell]) // _MINUTE)
            yield self.local(begin).date(), upto - minute
            minute = upto

    def _inner(self, moment: datetime) -> datetime:
        return moment.astimezone(UTC) if self._zone else moment.replace(tzinfo=None)

    def _unroll(self, day: date) -> Iterator[tuple[datetime, datetime] | None]:
        while True:
            if self.calendar.works_on(day):
                for first, last in self.calendar.shifts():
                    begin = self._inner(datetime.combine(day, first, self._zone))
                    end = self._inner(datetime.combine(day, last, self._zone))
                    begin = max(begin, self._start)
                    # A clock change at night can swallow a short spell.
                    if begin < end:
                        yield begin, end
            yield None
            day += timedelta(days=1)

    def _extend(self) -> None:
        for spell in self._days:
            if spell is not None:
                self._empty_days = 0
                self._from.append(spell[0])
                self._to.append(spell[1])
                self._before.append(self._total)
                self._total += (spell[1] - spell[0]) // _MINUTE
                return
            self._empty_days += 1
            if self._empty_days > _LONGEST_GAP_DAYS:
                raise DomainError(
                    phrase(
                        gettext_noop("The calendar has no working time for {days} days in a row."),
                        days=_LONGEST_GAP_DAYS,
                    ),
                    rule="calendar.no-work",
                    days=_LONGEST_GAP_DAYS,
                )

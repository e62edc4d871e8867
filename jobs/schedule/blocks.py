"""When visits are: made of the sequence, and moved so that nothing begins before what it waits for. Pure.

A :class:`Block` is a visit as the arithmetic sees it. Times are aware; a block lies on one day where the
site is and its breaks are not worked. Starts are on the quarter hour.

Own rules (common practice, no source): work that stops for an hour or more is two visits; a visit of less
than an hour joins the next one where no wait lies between and the job does not end later for it; a visit
that has to move goes as a whole to the first day that has room for it. What a visit loses at the end of a
full day because it begins on the quarter hour (less than three quarters of an hour) is not planned again:
the hours of the takeoff are not known that finely.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.sequence import Calendar, Timeline, schedule

from .network import Need, Network, tasks_of

QUARTER_MIN = 15
SHORT_MIN = 60
_LOST_MIN = 45
# Quarter hours of a fortnight's days: whoever finds no start in them finds none.
_MOST_TRIES = 1400
_MINUTE = timedelta(minutes=1)
_LONGEST_GAP_DAYS = 366


@dataclass(frozen=True)
class Part:
    """*minutes* of a task, from minute *at* of the block's working time."""

    task: str
    at: int
    minutes: int

    @property
    def end(self) -> int:
        return self.at + self.minutes


@dataclass(frozen=True)
class Block:
    """A visit: *position* in the sequence, *start*, working *minutes* and their parts.

    One that *stays* is where somebody put it, or is over; it is never moved, only found late. *people* are
    keys of persons; nobody stands for a crew that is not named yet.
    """

    key: str
    position: int
    start: datetime
    minutes: int
    parts: tuple[Part, ...]
    stays: bool = False
    people: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Late:
    """A block that begins before *until*, when what it waits for is over; *need* None: its own first half."""

    until: datetime
    need: Need | None


@dataclass(frozen=True)
class Settled:
    """Where every block lies, by its key, and those that begin too early."""

    starts: Mapping[str, datetime]
    late: Mapping[str, Late]


@dataclass(frozen=True)
class Gap:
    """A wait after block *after* by the clock; *holds*: some block of the job waits for it."""

    after: str
    need: Need
    start: datetime
    end: datetime
    holds: bool


@dataclass(frozen=True)
class Days:
    """The company's working time where a site is."""

    calendar: Calendar
    zone: ZoneInfo

    def at(self, day: date, clock: time) -> datetime:
        return datetime.combine(day, clock, self.zone)

    def opens(self, day: date) -> datetime:
        return self.at(day, self.calendar.start_of_day)

    def after(self, start: datetime, minutes: int) -> datetime:
        """Return when *minutes* from *start* are worked, with the day's breaks left out.

        Work that is put outside the working day goes on through it: only breaks are skipped.
        """
        moment = start.astimezone(self.zone)
        left = timedelta(minutes=minutes)
        for begins, ends in self.calendar.breaks:
            pause, again = self.at(moment.date(), begins), self.at(moment.date(), ends)
            if moment >= again:
                continue
            if moment >= pause:
                moment = again
            elif moment + left > pause:
                left -= pause - moment
                moment = again
        return moment + left

    def minutes_between(self, start: datetime, end: datetime) -> int:
        """Return the minutes worked from *start* to *end* of the same day, breaks left out."""
        first, last = start.astimezone(self.zone), end.astimezone(self.zone)
        away = timedelta()
        for begins, ends in self.calendar.breaks:
            pause, again = self.at(first.date(), begins), self.at(first.date(), ends)
            away += max(min(again, last) - max(pause, first), timedelta())
        return max((last - first - away) // _MINUTE, 0)

    @property
    def day_minutes(self) -> int:
        """Minutes of a working day."""
        spans = ((first, last) for first, last in self.calendar.shifts())
        return sum((_clock(last) - _clock(first)) // _MINUTE for first, last in spans)

    def slot(self, bound: datetime, minutes: int) -> datetime:
        """Return the first start at or after *bound* at which *minutes* fit into a working day.

        Raises:
            DomainError: no working day within a year (``calendar.no-work``).
        """
        moment = _quarter(bound.astimezone(self.zone))
        day = moment.date()
        for _number in range(_LONGEST_GAP_DAYS):
            if self.calendar.works_on(day):
                start = max(moment, self.opens(day))
                start = self.after(start, 0)
                fits = self.after(start, minutes) <= self.at(day, self.calendar.end_of_day)
                if start.date() == day and (fits or start == self.opens(day)):
                    return start
            day += timedelta(days=1)
            moment = self.opens(day)
        raise DomainError(
            phrase(
                gettext_noop("The calendar has no working time for {days} days in a row."),
                days=_LONGEST_GAP_DAYS,
            ),
            rule="calendar.no-work",
            days=_LONGEST_GAP_DAYS,
        )


def _clock(value: time) -> timedelta:
    return timedelta(hours=value.hour, minutes=value.minute)


def _quarter(moment: datetime) -> datetime:
    """Return the quarter hour at or after *moment*."""
    whole = moment.replace(minute=0, second=0, microsecond=0)
    return whole + math.ceil((moment - whole) / (QUARTER_MIN * _MINUTE)) * QUARTER_MIN * _MINUTE


# --- Made of the sequence ---------------------------------------------------------------------------------


def blocks_of(
    network: Network,
    *,
    start: date,
    days: Days,
    people: int,
    done: Mapping[str, int] | None = None,
    first: int = 0,
) -> list[Block]:
    """Return the visits of what is left to do, in order.

    Args:
        start: the first day that may be worked.
        people: size of the crew, 1 or more.
        done: man-minutes that are done already, by task.
        first: position of the first block.

    Raises:
        DomainError: as :func:`estimates.takeoff.sequence.schedule`.
    """
    done = done or {}
    left = {
        key: step.hours - Decimal(done.get(key, 0)) / 60
        for key, step in network.items()
        if key not in done or step.hours * 60 > done[key]
    }
    if not any(left.values()):
        return []
    opens = days.opens(start)
    planned = schedule(tasks_of(network, left), left, start=opens, calendar=days.calendar, people=people)
    timeline = Timeline(days.calendar, opens)
    by_day: dict[date, list[tuple[int, int, str]]] = {}
    for one in planned.tasks:
        minute = one.early_start_min
        for day, minutes in timeline.spells(one.early_start_min, one.early_finish_min):
            by_day.setdefault(day, []).append((minute, minute + minutes, one.task.key))
            minute += minutes
    runs = [run for day in sorted(by_day) for run in _runs(by_day[day])]
    found = [
        Block(str(number), number, timeline.local(timeline.begins(run[0][0])), *_sized(run, days))
        for number, run in enumerate(runs, first)
    ]
    return _joined(network, _placed(network, _on_quarters(network, found, days), days), days)


def _runs(pieces: Iterable[tuple[int, int, str]]) -> list[list[tuple[int, int, str]]]:
    """Part the pieces of a day where nobody works for an hour or more."""
    runs: list[list[tuple[int, int, str]]] = []
    until = 0
    for piece in sorted(pieces):
        if not runs or piece[0] - until >= SHORT_MIN:
            runs.append([])
            until = piece[0]
        runs[-1].append(piece)
        until = max(until, piece[1])
    return runs


def _sized(run: Sequence[tuple[int, int, str]], days: Days) -> tuple[int, tuple[Part, ...]]:
    """Return the minutes of a run, rounded up to the quarter hour within a day, and its parts."""
    begin, end = run[0][0], max(piece[1] for piece in run)
    length = end - begin
    minutes = max(length, min(math.ceil(length / QUARTER_MIN) * QUARTER_MIN, days.day_minutes))
    merged: list[Part] = []
    for first, last, key in run:
        same = next((n for n, part in enumerate(merged) if part.task == key), None)
        if same is None:
            merged.append(Part(key, first - begin, last - first))
        else:  # the two sides of a break
            merged[same] = replace(merged[same], minutes=merged[same].minutes + last - first)
    return max(minutes, 1), tuple(merged)


def _on_quarters(network: Network, blocks: Iterable[Block], days: Days) -> list[Block]:
    """Begin every block on the quarter hour, with the end of a full day cut off."""
    ends: dict[str, datetime] = {}
    found = []
    for block in blocks:
        bounds = _bounds(network, block, ends)
        known = [bound.until - bound.at * _MINUTE for bound in bounds if bound.until is not None]
        start = days.after(_quarter(max([block.start, *known])), 0)
        left = days.minutes_between(start, days.at(_day(block, days), days.calendar.end_of_day))
        minutes = min(block.minutes, left)
        is_whole = all(part.at < minutes for part in block.parts)
        if start.date() == _day(block, days) and block.minutes - left < _LOST_MIN and is_whole:
            parts = (replace(part, minutes=min(part.minutes, minutes - part.at)) for part in block.parts)
            block = replace(block, start=start, minutes=minutes, parts=tuple(parts))
        found.append(block)
        _note_ends(ends, block, days)
    return found


def _placed(network: Network, blocks: Sequence[Block], days: Days) -> list[Block]:
    starts = settle(network, blocks, days).starts
    return [replace(block, start=starts[block.key]) for block in blocks]


def _joined(network: Network, blocks: list[Block], days: Days) -> list[Block]:
    """Spare the short trips: a visit of less than an hour joins the next one where that costs no day."""
    number = 0
    while number + 1 < len(blocks):
        one, after = blocks[number], blocks[number + 1]
        length = max((part.end for part in one.parts), default=0)
        total = math.ceil((length + after.minutes) / QUARTER_MIN) * QUARTER_MIN
        if one.minutes < SHORT_MIN and total <= days.day_minutes and not _waits_between(network, one, after):
            parts = _side_by_side(one.parts, [replace(p, at=p.at + length) for p in after.parts])
            joint = replace(
                after, minutes=total, parts=parts, start=max(one.start, days.opens(_day(after, days)))
            )
            tried = _placed(network, [*blocks[:number], joint, *blocks[number + 2 :]], days)
            if _day(tried[-1], days) <= _day(blocks[-1], days):
                blocks = tried
                continue
        number += 1
    return blocks


def _side_by_side(first: Iterable[Part], second: Iterable[Part]) -> tuple[Part, ...]:
    """Return the parts of both; a task that goes on in the second is one part."""
    merged = {part.task: part for part in first}
    for part in second:
        known = merged.get(part.task)
        merged[part.task] = replace(known, minutes=part.end - known.at) if known else part
    return tuple(sorted(merged.values(), key=lambda part: part.at))


def _waits_between(network: Network, one: Block, after: Block) -> bool:
    tasks = {part.task for part in one.parts}
    return any(
        need.hours and need.after in tasks
        for part in after.parts
        for need in (network[part.task].needs if part.task in network else ())
    )


def _day(block: Block, days: Days) -> date:
    return block.start.astimezone(days.zone).date()


# --- Moved ------------------------------------------------------------------------------------------------


# When a block lies, and who makes it.
_Taken = tuple[datetime, datetime, frozenset[int]]


def _share(some: frozenset[int], others: frozenset[int]) -> bool:
    return not some or not others or bool(some & others)


@dataclass(frozen=True)
class _Bound:
    """Minute *at* of a block comes not before *until*, or (None) the hours of *need* after minute *end*."""

    at: int
    need: Need | None
    until: datetime | None = None
    end: int = 0

    def over(self, start: datetime, days: Days) -> datetime:
        """Return when the wait is over for a block that begins at *start*."""
        if self.until is not None or self.need is None:
            return self.until or start
        return days.after(start, self.end).astimezone(UTC) + _hours(self.need)


def settle(network: Network, blocks: Iterable[Block], days: Days) -> Settled:
    """Move what must move: no block begins before what it waits for, none of two at the same time.

    Blocks are looked at in the order of the sequence. One that stays is left and told late; any other goes
    to the first time at which it may begin, and only if it may not begin where it is.
    """
    starts: dict[str, datetime] = {}
    late: dict[str, Late] = {}
    taken: list[_Taken] = []
    ends: dict[str, datetime] = {}
    for block in _in_order(blocks):
        bounds = _bounds(network, block, ends)
        start = block.start
        broken = _broken(start, bounds, days)
        if block.stays:
            if broken is not None:
                late[block.key] = broken
        else:
            shared = [(first, last) for first, last, people in taken if _share(people, block.people)]
            if broken is not None or _meets(start, block.minutes, shared, days):
                start = _earliest(start, block.minutes, bounds, shared, days)
        starts[block.key] = start
        taken.append((start, days.after(start, block.minutes), block.people))
        _note_ends(ends, replace(block, start=start), days)
    return Settled(starts, late)


def held_back(
    network: Network, blocks: Iterable[Block], key: str, days: Days
) -> tuple[datetime, Late] | None:
    """Return when block *key* may begin at the earliest and what keeps it back, or None: nothing does.

    Other blocks count as they lie.
    """
    ends: dict[str, datetime] = {}
    for block in _in_order(blocks):
        if block.key == key:
            bounds = _bounds(network, block, ends)
            late = _broken(block.start, bounds, days)
            return (_earliest(block.start, block.minutes, bounds, [], days), late) if late else None
        _note_ends(ends, block, days)
    raise KeyError(key)


def _in_order(blocks: Iterable[Block]) -> list[Block]:
    return sorted(blocks, key=lambda one: (one.position, one.start))


def _note_ends(ends: dict[str, datetime], block: Block, days: Days) -> None:
    for part in block.parts:
        ends[part.task] = days.after(block.start, part.end).astimezone(UTC)


def _bounds(network: Network, block: Block, ends: Mapping[str, datetime]) -> list[_Bound]:
    """Return what the parts of a block wait for, in earlier blocks and within it."""
    own = {part.task: part for part in block.parts}
    found = []
    for part in block.parts:
        if part.task in ends:  # begun by an earlier block, whose links it kept
            found.append(_Bound(part.at, None, ends[part.task]))
            continue
        for need in network[part.task].needs if part.task in network else ():
            if need.after in own:
                if need.hours:
                    found.append(_Bound(part.at, need, end=own[need.after].end))
            elif need.after in ends:
                found.append(_Bound(part.at, need, ends[need.after] + _hours(need)))
    return found


def _broken(start: datetime, bounds: Iterable[_Bound], days: Days) -> Late | None:
    """Return the longest wait that is not over for a block that begins at *start*."""
    waits = [Late(bound.over(start, days), bound.need) for bound in bounds if _is_broken(start, bound, days)]
    return max(waits, key=lambda late: late.until, default=None)


def _is_broken(start: datetime, bound: _Bound, days: Days) -> bool:
    return days.after(start, bound.at) < bound.over(start, days)


def _hours(need: Need) -> timedelta:
    return timedelta(minutes=math.ceil(need.hours * 60))


def _meets(start: datetime, minutes: int, taken: Iterable[tuple[datetime, datetime]], days: Days) -> bool:
    end = days.after(start, minutes)
    return any(first < end and start < last for first, last in taken)


def _earliest(
    start: datetime,
    minutes: int,
    bounds: Sequence[_Bound],
    taken: Sequence[tuple[datetime, datetime]],
    days: Days,
) -> datetime:
    """Return the first start from *start* on that breaks nothing.

    Where a wait lies within the visit itself and fits into no day as it was cut, the day's first hour is the
    best there is.
    """
    known = [bound.until - bound.at * _MINUTE for bound in bounds if bound.until is not None]
    moment = days.slot(max([start, *known]), minutes)
    for _number in range(_MOST_TRIES):
        end = days.after(moment, minutes)
        in_the_way = [last for first, last in taken if first < end and moment < last]
        if in_the_way:
            moment = max(in_the_way)
        elif any(_is_broken(moment, bound, days) for bound in bounds):
            moment += QUARTER_MIN * _MINUTE
        else:
            return moment
        moment = days.slot(moment, minutes)
    return days.slot(max([start, *known, *(last for _first, last in taken)]), minutes)


def gaps(network: Network, blocks: Iterable[Block], days: Days) -> list[Gap]:
    """Return the waits by the clock between and after the blocks, one of a kind after each block."""
    waiting: dict[str, list[tuple[Need, bool]]] = {}
    for step in network.values():
        for need in step.needs:
            if need.cure and need.hours:
                waiting.setdefault(need.after, []).append((need, True))
        if step.cure is not None and step.cure.hours:
            waiting.setdefault(step.key, []).append((step.cure, False))
    last: dict[str, tuple[str, datetime]] = {}
    for block in sorted(blocks, key=lambda one: (one.position, one.start)):
        for part in block.parts:
            last[part.task] = (block.key, days.after(block.start, part.end).astimezone(UTC))
    found: dict[tuple[str, str], Gap] = {}
    for task, (key, end) in last.items():
        for need, holds in waiting.get(task, ()):
            known = found.get((key, need.cure))
            gap = Gap(key, need, end, end + _hours(need), holds)
            found[key, need.cure] = (
                replace(
                    known,
                    start=min(known.start, gap.start),
                    end=max(known.end, gap.end),
                    holds=known.holds or gap.holds,
                )
                if known
                else gap
            )
    return sorted(found.values(), key=lambda gap: (gap.start, gap.end))

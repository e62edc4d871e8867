"""A job's schedule: links, waits by the clock, working days and a crew of so many people."""

from __future__ import annotations

import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from ..errors import DomainError
from ..labour.tasks import Cure, Task
from ..phrases import Phrase, gettext_noop, phrase
from ..sums import add_up
from ..working import Figure, Origin, Round, Working, rounded, whole
from .network import ordered
from .workdays import Calendar, Timeline

TILE_ACTIVITIES = frozenset({"set_floor_tile", "set_wall_tile", "set_mosaic"})


@dataclass(frozen=True)
class Planned:
    """When a task is done.

    The ``_min`` numbers count working minutes since the job's start; the datetimes are the same moments by
    the clock, aware when the start was. Late times and floats hold for this crew: to use the float of one
    task moves no other task (free) or not the end of the job (total).

    *driver* is the task whose end, wait or crew this one waits for last; "" for none. *waits_for_crew* says
    that it could begin earlier with more people.
    """

    task: Task
    crew: int
    duration_min: int
    early_start_min: int
    early_finish_min: int
    late_start_min: int
    late_finish_min: int
    total_float_min: int
    free_float_min: int
    start: datetime
    finish: datetime
    late_start: datetime
    late_finish: datetime
    is_critical: bool
    driver: str = ""
    waits_for_crew: bool = False


@dataclass(frozen=True)
class Waiting:
    """A wait by the clock after *task*. *is_idle*: it takes working hours in which nobody has anything to do
    on site."""

    task: str
    cure: Cure
    start: datetime
    finish: datetime
    is_idle: bool


@dataclass(frozen=True)
class Ready:
    """The earliest moment at which what lies under the tile allows *task*: checks passed, tests read, bond
    cured. By the clock, so it may fall at night; layout and the crew's own turn are not counted."""

    room: str
    surface: str
    task: str
    at: datetime


@dataclass(frozen=True)
class Schedule:
    """The whole job. *tasks* in the order they were given; *finish* is the end of the last work,
    *ready_for_use* when its cures are over too."""

    tasks: tuple[Planned, ...]
    waits: tuple[Waiting, ...]
    ready_for_tile: tuple[Ready, ...]
    start: datetime
    finish: datetime
    ready_for_use: datetime
    hours_on_site: Figure
    elapsed_days: Figure
    days_on_site: tuple[date, ...]
    people: int | None

    def by_key(self) -> dict[str, Planned]:
        return {planned.task.key: planned for planned in self.tasks}


def schedule(
    tasks: Sequence[Task],
    hours: Mapping[str, Decimal],
    *,
    start: datetime,
    calendar: Calendar | None = None,
    people: int | None = None,
) -> Schedule:
    """Return the schedule of *tasks* from *start*.

    Args:
        tasks: with their links; a task's crew None counts as 1.
        hours: man-hours by task key; a task with 0 h is a mark in time, takes nobody and may fall at night.
        start: aware (arithmetic in UTC, answers in the same zone) or naive (no clock changes).
        calendar: working hours; None: Monday to Friday, 8:00 to 16:30 with half an hour's break.
        people: workers there at most; None: as many as are asked for. A task asking for more gets these,
            and takes longer.

    A duration is man-hours / crew, rounded up to a whole minute. With fewer people than would be needed,
    tasks take their turn by latest start, then earliest start, then as given (serial list scheduling); each
    takes the first gap that fits. The same input gives the same schedule. That rule is good, not proven
    best, and it has the known anomaly of list scheduling: with a crew that is short, one link more may now
    and then end a job sooner.

    Raises:
        DomainError: see :func:`~.network.ordered`; ``sequence.hours`` for a task without hours,
            ``labour.crew`` for nobody, ``calendar.no-work``.
    """
    if people is not None and people < 1:
        raise DomainError(
            phrase(gettext_noop("A schedule needs at least one worker (got {people})."), people=people),
            rule="labour.crew",
            crew=people,
        )
    network = _Network.build(tasks, hours, people)
    timeline = Timeline(calendar or Calendar(), start)
    free = _passes(network, timeline)
    if people is not None:
        placed = _level(network, timeline, free, people)
        network.crew_links = _hand_over(network, placed, people)
        network.order = ordered((key, network.before(key)) for key in network.order)
        levelled = _passes(network, timeline)
    else:
        levelled = free
    return _report(tasks, network, timeline, free, levelled, people)


@dataclass
class _Network:
    """Durations (working minutes), crews and links with their waits (clock)."""

    minutes: dict[str, int]
    crew: dict[str, int]
    links: dict[str, dict[str, timedelta]]  # task -> predecessor -> wait
    cures: dict[tuple[str, str], Cure]  # (predecessor, task) -> what is waited for
    order: list[str]
    crew_links: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @classmethod
    def build(cls, tasks: Sequence[Task], hours: Mapping[str, Decimal], people: int | None) -> _Network:
        order = ordered((task.key, [*task.after, *(link.after for link in task.links)]) for task in tasks)
        own = {task.key: task.cure for task in tasks}
        network = cls({}, {}, {}, {}, order)
        for task in tasks:
            wanted = task.crew or 1
            network.crew[task.key] = min(wanted, people) if people is not None else wanted
            network.minutes[task.key] = _minutes(task, hours, network.crew[task.key])
            network.links[task.key] = {}
            waits = [(before, own[before]) for before in task.after]
            waits += [(link.after, link.wait) for link in task.links]
            for before, cure in waits:
                wait = _clock(cure)
                if wait >= network.links[task.key].get(before, timedelta()):
                    network.links[task.key][before] = wait
                    if cure is not None and wait:
                        network.cures[before, task.key] = cure
        return network

    def before(self, key: str) -> dict[str, timedelta]:
        """All predecessors with their waits, the crew's hand-overs among them."""
        own = self.links[key]
        return own | {before: timedelta() for before in self.crew_links.get(key, ()) if before not in own}


@dataclass
class _Passes:
    """Result of a forward and a backward pass: clock moments (inner time) by task."""

    ready: dict[str, datetime] = field(default_factory=dict)
    start: dict[str, datetime] = field(default_factory=dict)
    finish: dict[str, datetime] = field(default_factory=dict)
    late_start: dict[str, datetime] = field(default_factory=dict)
    late_finish: dict[str, datetime] = field(default_factory=dict)
    free_until: dict[str, datetime] = field(default_factory=dict)
    driver: dict[str, str] = field(default_factory=dict)


def _minutes(task: Task, hours: Mapping[str, Decimal], crew: int) -> int:
    value = hours.get(task.key)
    if value is None or not value.is_finite() or value < 0:
        raise DomainError(
            phrase(
                gettext_noop("“{task}” needs its man-hours, 0 or more (got {hours})."),
                task=task.label or phrase(task.key),
                hours=str(value) if value is not None else phrase(gettext_noop("nothing")),
            ),
            rule="sequence.hours",
            task=task.key,
            hours=value,
        )
    return whole(rounded(value * 60 / crew, Round.UP_WHOLE))


def _clock(cure: Cure | None) -> timedelta:
    if cure is None:
        return timedelta()
    return timedelta(minutes=whole(rounded(cure.hours * 60, Round.UP_WHOLE)))


def _passes(network: _Network, timeline: Timeline) -> _Passes:
    found = _Passes()
    followers: dict[str, list[tuple[str, timedelta]]] = {key: [] for key in network.order}
    for key in network.order:
        ready = timeline.start
        for before, wait in network.before(key).items():
            followers[before].append((key, wait))
            if found.finish[before] + wait > ready or not found.driver.get(key):
                ready = max(ready, found.finish[before] + wait)
                found.driver[key] = before
        found.ready[key] = ready
        length = network.minutes[key]
        if length:
            first = timeline.worked_before(ready)
            found.start[key], found.finish[key] = timeline.begins(first), timeline.ends(first + length)
        else:
            found.start[key] = found.finish[key] = ready
    end = max(found.finish.values(), default=timeline.start)
    for key in reversed(network.order):
        late = min((found.late_start[after] - wait for after, wait in followers[key]), default=end)
        found.free_until[key] = min(
            (found.start[after] - wait for after, wait in followers[key]), default=end
        )
        length = network.minutes[key]
        if length:
            last = timeline.worked_before(late)
            found.late_start[key], found.late_finish[key] = (
                timeline.begins(last - length),
                timeline.ends(last),
            )
        else:
            found.late_start[key] = found.late_finish[key] = late
    return found


def _level(network: _Network, timeline: Timeline, free: _Passes, people: int) -> dict[str, tuple[int, int]]:
    """Place every task in working minutes so that never more than *people* are at work."""
    given = {key: number for number, key in enumerate(network.minutes)}
    followers: dict[str, list[str]] = {key: [] for key in network.order}
    missing = {key: len(network.links[key]) for key in network.order}
    for key in network.order:
        for before in network.links[key]:
            followers[before].append(key)
    turn = {key: (free.late_start[key], free.start[key], given[key]) for key in network.order}
    open_now = sorted((key for key in network.order if not missing[key]), key=turn.__getitem__)
    placed: dict[str, tuple[int, int]] = {}
    finish: dict[str, datetime] = {}
    load = _Load(people)
    while open_now:
        key = open_now.pop(0)
        ready = max((finish[b] + wait for b, wait in network.links[key].items()), default=timeline.start)
        first = timeline.worked_before(ready)
        length = network.minutes[key]
        if length:
            first = load.take(first, length, network.crew[key])
            finish[key] = timeline.ends(first + length)
        else:
            finish[key] = ready
        placed[key] = (first, first + length)
        for after in followers[key]:
            missing[after] -= 1
            if not missing[after]:
                bisect.insort(open_now, after, key=turn.__getitem__)
    return placed


class _Load:
    """How many people are at work from each working minute on."""

    def __init__(self, people: int) -> None:
        self._people = people
        self._at = [0]
        self._used = [0]

    def take(self, earliest: int, length: int, crew: int) -> int:
        """Reserve *crew* for *length* minutes in the first gap from *earliest*; return its start."""
        first = earliest
        spell = bisect.bisect_right(self._at, first) - 1
        while spell < len(self._at) and self._at[spell] < first + length:
            if self._used[spell] + crew > self._people:
                # The last spell is always free, so there is a next one.
                first = self._at[spell + 1]
            spell += 1
        begin, end = self._cut(first), self._cut(first + length)
        for spell in range(begin, end):
            self._used[spell] += crew
        return first

    def _cut(self, minute: int) -> int:
        spell = bisect.bisect_left(self._at, minute)
        if spell == len(self._at) or self._at[spell] != minute:
            self._at.insert(spell, minute)
            self._used.insert(spell, self._used[spell - 1])
        return spell


def _hand_over(
    network: _Network, placed: Mapping[str, tuple[int, int]], people: int
) -> dict[str, tuple[str, ...]]:
    """Give each task its workers and return, per task, the tasks they come from.

    With these as links, any times that keep the links keep the crew too, so floats mean what they say.
    Workers who come straight from a predecessor are taken first: that adds no new link.
    """
    last: list[tuple[int, str]] = [(0, "")] * people
    links = {}
    rank = {key: number for number, key in enumerate(network.order)}
    for key in sorted(placed, key=lambda key: (placed[key][0], rank[key])):
        if not network.minutes[key]:
            continue
        first, end = placed[key]
        able = [worker for worker in range(people) if last[worker][0] <= first]
        able.sort(key=lambda w: (last[w][1] not in network.links[key], -last[w][0], w))
        chosen = able[: network.crew[key]]
        links[key] = tuple(dict.fromkeys(last[worker][1] for worker in chosen if last[worker][1]))
        for worker in chosen:
            last[worker] = (end, key)
    return links


def _report(
    tasks: Sequence[Task],
    network: _Network,
    timeline: Timeline,
    free: _Passes,
    found: _Passes,
    people: int | None,
) -> Schedule:
    planned = tuple(_planned(task, network, timeline, free, found) for task in tasks)
    worked = _worked(planned, timeline)
    layouts = frozenset(task.key for task in tasks if task.activity == "layout")
    finish = max(found.finish.values(), default=timeline.start)
    cured = max((found.finish[task.key] + _clock(task.cure) for task in tasks), default=finish)
    return Schedule(
        planned,
        _waits(tasks, network, timeline, found),
        tuple(
            Ready(
                task.room,
                task.surface,
                task.key,
                timeline.local(_ready(network, timeline, found, task.key, through=layouts)),
            )
            for task in tasks
            if task.activity in TILE_ACTIVITIES
        ),
        timeline.local(min(found.start.values(), default=timeline.start)),
        timeline.local(finish),
        timeline.local(max(cured, finish)),
        _hours_on_site(worked),
        _elapsed_days(worked),
        tuple(worked),
        people,
    )


def _ready(
    network: _Network,
    timeline: Timeline,
    found: _Passes,
    key: str,
    through: frozenset[str] = frozenset(),
) -> datetime:
    """When the links and waits of *key* are over, without its crew; tasks of *through* are looked through."""
    moments = (
        _ready(network, timeline, found, before, through)
        if before in through
        else found.finish[before] + wait
        for before, wait in network.links[key].items()
    )
    return max(moments, default=timeline.start)


def _planned(task: Task, network: _Network, timeline: Timeline, free: _Passes, found: _Passes) -> Planned:
    key = task.key
    length = network.minutes[key]
    early = timeline.worked_before(found.start[key])
    late_finish = timeline.worked_before(found.late_finish[key])
    late = late_finish - length
    own = _ready(network, timeline, found, key)
    return Planned(
        task=task,
        crew=network.crew[key],
        duration_min=length,
        early_start_min=early,
        early_finish_min=early + length,
        late_start_min=late,
        late_finish_min=late_finish,
        total_float_min=late - early,
        free_float_min=timeline.worked_before(found.free_until[key]) - early - length,
        start=timeline.local(found.start[key]),
        finish=timeline.local(found.finish[key]),
        late_start=timeline.local(found.late_start[key]),
        late_finish=timeline.local(found.late_finish[key]),
        is_critical=late == early,
        driver=found.driver.get(key, ""),
        waits_for_crew=bool(length) and timeline.worked_before(own) < early,
    )


def _worked(planned: Sequence[Planned], timeline: Timeline) -> dict[date, int]:
    """Minutes of each day in which anybody works."""
    spans: list[list[int]] = []
    for item in sorted(planned, key=lambda item: item.early_start_min):
        if not item.duration_min:
            continue
        if spans and item.early_start_min <= spans[-1][1]:
            spans[-1][1] = max(spans[-1][1], item.early_finish_min)
        else:
            spans.append([item.early_start_min, item.early_finish_min])
    worked: dict[date, int] = {}
    for first, last in spans:
        for day, minutes in timeline.spells(first, last):
            worked[day] = worked.get(day, 0) + minutes
    return worked


def _waits(
    tasks: Sequence[Task], network: _Network, timeline: Timeline, found: _Passes
) -> tuple[Waiting, ...]:
    spans = sorted((found.start[key], found.finish[key]) for key in network.order if network.minutes[key])
    waits: dict[tuple[str, str], Waiting] = {}
    named = [(before, cure) for (before, _), cure in network.cures.items()]
    named += [(task.key, task.cure) for task in tasks if task.cure is not None and task.cure.hours]
    for before, cure in named:
        begin = found.finish[before]
        end = begin + _clock(cure)
        lasts = timeline.worked_before(end) > timeline.worked_before(begin)
        idle = lasts and not any(start < end and begin < finish for start, finish in spans)
        local = (timeline.local(begin), timeline.local(end))
        waits.setdefault((before, cure.key), Waiting(before, cure, *local, idle))
    return tuple(sorted(waits.values(), key=lambda wait: (wait.start, wait.finish, wait.task)))


def _hours_on_site(worked: Mapping[date, int]) -> Figure:
    label = phrase(gettext_noop("Hours on site"))
    working = Working("schedule.hours_on_site", label)
    names = []
    for number, (day, minutes) in enumerate(worked.items(), 1):
        name = phrase(gettext_noop("Minutes worked on {day}"), day=day.isoformat())
        working.given(f"d{number}", name, minutes, "min", Origin.COMPUTED)
        names.append(f"d{number}")
    add_up(working, names, "T", phrase(gettext_noop("Minutes on site")), "min")
    working.step("H", label, "T / 60", "h", Round.HALF_UP, 2)
    return working.figure()


def _elapsed_days(worked: Mapping[date, int]) -> Figure:
    label: Phrase = phrase(gettext_noop("Days from the first to the last, both counted"))
    working = Working("schedule.elapsed_days", label)
    span = (max(worked) - min(worked)).days + 1 if worked else 0
    working.given("w", phrase(gettext_noop("Days with work")), len(worked), "", Origin.COMPUTED)
    name = phrase(gettext_noop("Days between without work: waits, weekends, holidays"))
    working.given("b", name, span - len(worked), "", Origin.COMPUTED)
    working.step("D", label, "w + b", "")
    return working.figure()

"""What the calendar's pages, the first page, the feeds and the crew's app read."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import Prefetch, Q, QuerySet

from contracting.staff.models import Role, User
from estimates.practice.models import WorkingTime
from estimates.practice.selectors import calendar_of, working_time
from estimates.takeoff.sequence import Calendar
from jobs.work.models import Job
from jobs.work.selectors import OPEN_STAGES

from .blocks import Days
from .clashes import Clash, clashes, crew_ids
from .models import DayOff, FeedLink, Plan, PlanChange, Visit, VisitPerson, Wait
from .words import day_of, hours_of, person_name, work_of, zone_of

# A wait is drawn on the calendar from so long on; a shorter one is over within the visit's own day.
DRAWN_FROM = datetime.timedelta(hours=8)


def visits() -> QuerySet[Visit]:
    """Return visits that are not cancelled with their job, site and people: 2 queries."""
    people = VisitPerson.objects.filter(left_at=None).select_related("person")
    return (
        Visit.objects.filter(cancelled_at=None)
        .select_related("plan__job__site")
        .defer("plan__network", "plan__job__crew_notes", "plan__job__site__access_notes", "parts")
        .prefetch_related(Prefetch("people", queryset=people))
        .order_by("starts_at", "pk")
    )


def visits_of(person: User, first: datetime.date, last: datetime.date | None = None) -> QuerySet[Visit]:
    """Return what *person* is down for from day *first* to day *last* (None: that one day), by time.

    Days are those of each site. The visits come with job, site and people: 2 queries.
    """
    own = VisitPerson.objects.filter(person=person, left_at=None).values("visit")
    return visits().filter(pk__in=own, day__gte=first, day__lte=last or first)


def visits_between(user: User, first: datetime.date, last: datetime.date) -> QuerySet[Visit]:
    """Return the visits of these days that *user* may see: the office all, an installer their own."""
    if user.sees_money:
        return visits().filter(day__gte=first, day__lte=last)
    return visits_of(user, first, last)


def visit_with_job(pk: int) -> Visit | None:
    """Return a visit that is not cancelled, with its job."""
    return visits().filter(pk=pk).first()


@dataclass(frozen=True)
class WorkTime:
    """The company's calendar with the names of its holidays; 1 to 3 queries."""

    calendar: Calendar
    holidays: dict[datetime.date, str]

    @classmethod
    def read(cls) -> WorkTime:
        row: WorkingTime | None = working_time()
        if row is None:
            return cls(Calendar(), {})
        return cls(calendar_of(row), {one.day: one.name for one in row.holidays.all()})


@dataclass
class Day:
    """A day of the calendar; *closed*: why nobody works then, "" for a working day ("-": a weekend)."""

    day: datetime.date
    closed: str
    is_today: bool

    @cached_property
    def iso(self) -> str:
        return self.day.isoformat()

    @cached_property
    def name(self) -> str:
        return day_of(self.day)

    @cached_property
    def marks(self) -> str:
        """The classes of its column."""
        named = {"closed": self.closed, "today": self.is_today, "monday": not self.day.weekday()}
        return " ".join(name for name, is_so in named.items() if is_so)


@dataclass
class Shown:
    """A visit as it is drawn: from quarter *at* of the working day over *long* quarters, with its clashes."""

    visit: Visit
    at: int
    long: int
    clashes: list[Clash] = field(default_factory=list)

    # A calendar says each of these up to four times.
    @cached_property
    def work(self) -> str:
        return work_of(self.visit)

    @cached_property
    def hours(self) -> str:
        return hours_of(self.visit)

    @cached_property
    def names(self) -> str:
        return ", ".join(person_name(row.person) for row in self.visit.people.all())

    @cached_property
    def job(self) -> str:
        return str(self.visit.plan.job)


@dataclass(frozen=True)
class Drawn:
    """The piece of a wait that lies on one day; *is_named*: its name stands here."""

    wait: Wait
    at: int
    long: int
    is_named: bool


@dataclass
class Cell:
    """What one row shows on one day."""

    day: Day
    visits: list[Shown] = field(default_factory=list)
    waits: list[Drawn] = field(default_factory=list)
    is_off: bool = False


@dataclass
class Row:
    """A person (None: nobody yet) or a job, with a cell a day."""

    cells: list[Cell]
    person: User | None = None
    job: Job | None = None


@dataclass
class Board:
    """The calendar as a page shows it."""

    days: list[Day]
    rows: list[Row]
    by_day: list[Cell]
    clashes: list[tuple[Visit | None, Clash]]


def board(user: User, *, first: datetime.date, count: int, by: str, today: datetime.date) -> Board:
    """Return *count* days from *first*, a row for each person or for each job (*by* ``jobs``)."""
    time = WorkTime.read()
    days = [_day(first + datetime.timedelta(days=n), time, today) for n in range(count)]
    last = days[-1].day
    found = list(visits_between(user, first, last))
    waits = _waits(found, first, last)
    off = list(
        DayOff.objects.filter(first_on__lte=last, last_on__gte=first).select_related("person")
        if user.sees_money
        else DayOff.objects.filter(first_on__lte=last, last_on__gte=first, person=user)
    )
    crew = list(people_of_calendar()) if user.sees_money else [user]
    told = clashes_among(found, waits, off, time, own=None if user.sees_money else user)
    by_visit: dict[int | None, list[Clash]] = defaultdict(list)
    for clash in told:
        by_visit[clash.visit].append(clash)
    shown = {visit.pk: _shown(visit, time.calendar, by_visit[visit.pk]) for visit in found}
    rows = (
        _rows_by_job(found, shown, waits, days, time.calendar)
        if by == "jobs"
        else _rows_by_person(crew, found, shown, off, days)
    )
    named = {visit.pk: visit for visit in found}
    order = {visit.pk: number for number, visit in enumerate(found)}
    # What is over can no longer be mended.
    ahead = [clash for clash in told if clash.visit not in named or named[clash.visit].day >= today]
    # Two that meet are told once, at the first of them; their blocks both say it.
    pairs = {(clash.visit, clash.against) for clash in ahead}
    ahead = [
        clash
        for clash in ahead
        if (clash.against, clash.visit) not in pairs or order[clash.visit or 0] < order[clash.against or 0]
    ]
    ordered = sorted(ahead, key=lambda clash: order.get(clash.visit or 0, len(order)))
    return Board(
        days,
        rows,
        _by_day(found, shown, days),
        [(named.get(clash.visit or 0), clash) for clash in ordered],
    )


def people_of_calendar() -> QuerySet[User]:
    """Return who has a row on the calendar: the installers who work here."""
    return User.objects.filter(is_active=True, role=Role.INSTALLER).order_by("first_name", "username")


def clashes_among(
    found: Sequence[Visit],
    waits: Iterable[Wait],
    off: Iterable[DayOff],
    time: WorkTime,
    *,
    own: User | None = None,
) -> list[Clash]:
    """Return what does not fit among visits fetched with their people; *own*: what concerns that person."""
    crews = {visit.pk: crew_ids(visit) for visit in found}
    people = {row.person_id: row.person for visit in found for row in visit.people.all()}
    if own is not None:
        crews = {pk: crew & {own.pk} for pk, crew in crews.items()}
    return clashes(
        found,
        crews=crews,
        people=people,
        waits=waits,
        days_off=off,
        calendar=time.calendar,
        holidays=time.holidays,
    )


def _waits(found: Sequence[Visit], first: datetime.date, last: datetime.date) -> list[Wait]:
    """Return the waits that lie on these days, of the jobs of the visits found and of those just before."""
    named = {visit.pk: visit for visit in found}
    plans = {visit.plan_id for visit in found}
    days = datetime.timedelta(days=1)
    lower = datetime.datetime.combine(first - days, datetime.time(), datetime.UTC)
    upper = datetime.datetime.combine(last + 2 * days, datetime.time(), datetime.UTC)
    rows = (
        Wait.objects.filter(visit__plan__in=plans, ends_at__gte=lower, starts_at__lte=upper)
        .select_related("visit__plan__job__site")
        .defer("visit__plan__network", "visit__parts")
    )
    waits = list(rows)
    for wait in waits:
        wait.visit = named.get(wait.visit_id, wait.visit)
    return waits


def _day(day: datetime.date, time: WorkTime, today: datetime.date) -> Day:
    closed = ""
    if day in time.calendar.holidays:
        closed = time.holidays.get(day) or "-"
    elif not time.calendar.works_on(day):
        closed = "-"
    return Day(day, closed, day == today)


def _shown(visit: Visit, calendar: Calendar, told: list[Clash]) -> Shown:
    days = Days(calendar, zone_of(visit))
    # A shorter block would not hold the number of its job.
    return Shown(visit, *_quarters(visit.starts_at, visit.ends_at, visit.day, days, least=2), told)


def _quarters(
    start: datetime.datetime, end: datetime.datetime, day: datetime.date, days: Days, least: int = 1
) -> tuple[int, int]:
    """Return where a time lies on its day, in quarters of the working day, at least *least* long."""
    opens = days.at(day, days.calendar.start_of_day)
    whole = days.at(day, days.calendar.end_of_day) - opens
    first = min(max(round((start - opens) / whole * 4), 0), 4 - least)
    last = min(max(round((end - opens) / whole * 4), first + least), 4)
    return first, last - first


def _rows_by_person(
    crew: Iterable[User],
    found: Iterable[Visit],
    shown: dict[int, Shown],
    off: Iterable[DayOff],
    days: Sequence[Day],
) -> list[Row]:
    rows = {person.pk: Row([Cell(day) for day in days], person=person) for person in crew}
    nobody = Row([Cell(day) for day in days])
    at = {day.day: number for number, day in enumerate(days)}
    for visit in found:
        members = [row.person for row in visit.people.all()]
        for person in members:
            row = rows.get(person.pk)
            if row is None:
                continue
            row.cells[at[visit.day]].visits.append(shown[visit.pk])
        if not members:
            nobody.cells[at[visit.day]].visits.append(shown[visit.pk])
    for one in off:
        if one.person_id in rows:
            for cell in rows[one.person_id].cells:
                cell.is_off = cell.is_off or one.first_on <= cell.day.day <= one.last_on
    has_some = any(cell.visits for cell in nobody.cells)
    return [*rows.values(), *([nobody] if has_some else [])]


def _rows_by_job(
    found: Iterable[Visit],
    shown: dict[int, Shown],
    waits: Iterable[Wait],
    days: Sequence[Day],
    calendar: Calendar,
) -> list[Row]:
    rows: dict[int, Row] = {}
    at = {day.day: number for number, day in enumerate(days)}
    for visit in found:
        job = visit.plan.job
        row = rows.setdefault(job.pk, Row([Cell(day) for day in days], job=job))
        row.cells[at[visit.day]].visits.append(shown[visit.pk])
    for wait in _one_of_a_kind(waits):
        row_of = rows.get(wait.visit.plan.job_id)
        if row_of is not None and wait.ends_at - wait.starts_at >= DRAWN_FROM:
            for number, piece in _pieces(wait, calendar, at):
                row_of.cells[number].waits.append(piece)
    return list(rows.values())


def _one_of_a_kind(waits: Iterable[Wait]) -> list[Wait]:
    """Join waits of a kind that lie over each other in one job, as mortar of two days does."""
    joined: dict[tuple[int, str], list[Wait]] = defaultdict(list)
    for wait in waits:
        known = joined[wait.visit.plan_id, wait.cure]
        if known and wait.starts_at <= known[-1].ends_at:
            known[-1].ends_at = max(known[-1].ends_at, wait.ends_at)
        else:
            known.append(wait)
    return sorted((wait for rows in joined.values() for wait in rows), key=lambda wait: wait.starts_at)


def _pieces(wait: Wait, calendar: Calendar, at: dict[datetime.date, int]) -> Iterable[tuple[int, Drawn]]:
    """Yield the pieces of a wait by the column of their day; the widest, or the first of those, is named."""
    days = Days(calendar, zone_of(wait.visit))
    day = wait.starts_at.astimezone(days.zone).date()
    last = wait.ends_at.astimezone(days.zone).date()
    found: list[tuple[int, tuple[int, int]]] = []
    while day <= last:
        opens, closes = days.at(day, calendar.start_of_day), days.at(day, calendar.end_of_day)
        if day in at and wait.ends_at > opens and wait.starts_at < closes:
            begin, end = max(wait.starts_at, opens), min(wait.ends_at, closes)
            found.append((at[day], _quarters(begin, end, day, days)))
        day += datetime.timedelta(days=1)
    widest = max(found, key=lambda piece: piece[1][1], default=None)
    for piece in found:
        yield piece[0], Drawn(wait, *piece[1], is_named=piece is widest)


def _by_day(found: Iterable[Visit], shown: dict[int, Shown], days: Sequence[Day]) -> list[Cell]:
    cells = {day.day: Cell(day) for day in days}
    for visit in found:
        cells[visit.day].visits.append(shown[visit.pk])
    return list(cells.values())


def jobs_to_plan(limit: int = 12) -> list[Job]:
    """Return open jobs that have no visit on the calendar, the oldest first."""
    return list(
        Job.objects.filter(stage__in=OPEN_STAGES)
        .exclude(plan__visits__cancelled_at=None, plan__visits__isnull=False)
        .defer("crew_notes")
        .order_by("number")[:limit]
    )


def newest_change(user: User, *, since: datetime.datetime) -> PlanChange | None:
    """Return the newest act of *user* on the calendar that can still be undone."""
    change = (
        PlanChange.objects.filter(by=user, at__gte=since)
        .select_related("plan__job")
        .defer("plan__network")
        .order_by("-pk")
        .first()
    )
    if change is None or change.revision != change.plan.revision or not change.before:
        return None
    return change


def changes_of(plan: Plan, limit: int = 12) -> QuerySet[PlanChange]:
    """Return a plan's newest changes."""
    return plan.changes.select_related("by").defer("before")[:limit]


def days_off_from(day: datetime.date) -> QuerySet[DayOff]:
    """Return days off that are not over on *day*, of people who work here."""
    return (
        DayOff.objects.filter(last_on__gte=day, person__is_active=True)
        .select_related("person")
        .order_by("first_on", "pk")
    )


def feed_links() -> QuerySet[FeedLink]:
    """Return the private links that are open."""
    return FeedLink.objects.filter(revoked_at=None).select_related("person", "made_by")


def waits_of(plan: Plan) -> QuerySet[Wait]:
    """Return the waits of a plan by time."""
    return Wait.objects.filter(visit__plan=plan).select_related("visit").defer("visit__parts")


def neighbours(draft_visits: Sequence[Visit], people: Iterable[int]) -> list[Visit]:
    """Return the visits of other jobs on these days by these people."""
    days = {visit.day for visit in draft_visits}
    own = {visit.plan_id for visit in draft_visits}
    if not days:
        return []
    persons = VisitPerson.objects.filter(person__in=set(people), left_at=None).values("visit")
    found = visits().filter(Q(pk__in=persons), day__gte=min(days), day__lte=max(days)).exclude(plan__in=own)
    return [visit for visit in found if visit.day in days]

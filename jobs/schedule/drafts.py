"""A plan as it would be after an act: visits are moved in memory, looked at, and then stored or left."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db.models import Prefetch
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.practice.selectors import calendar_of, working_time
from estimates.takeoff.sequence import Calendar
from jobs.work.models import Job

from .blocks import Block, Days, Gap, Part, blocks_of, gaps, held_back, settle
from .models import Plan, Visit, VisitPerson
from .network import Network, network_of
from .words import moment_of, wait_name, when_of, work_of


@dataclass
class Draft:
    """The visits of a plan that are not cancelled; *crews* are keys of persons by the visit's uid."""

    plan: Plan
    days: Days
    visits: list[Visit]
    crews: dict[str, frozenset[int]]
    gaps: list[Gap] = field(default_factory=list)
    cancelled: list[Visit] = field(default_factory=list)
    before: dict[str, tuple[datetime.datetime, str]] = field(default_factory=dict)

    @property
    def network(self) -> Network:
        return network_of(self.plan.network)

    def said(self, but: Visit | None = None) -> list[str]:
        """Return which visits have moved, as sentences; *but* one that somebody moved by hand."""
        rows = []
        for visit in sorted(self.visits, key=lambda one: one.starts_at):
            known = self.before.get(str(visit.uid))
            if (but is None or visit.uid != but.uid) and known is not None and known[0] != visit.starts_at:
                rows.append(
                    _("%(work)s: from %(old)s to %(new)s")
                    % {"work": work_of(visit), "old": known[1], "new": when_of(visit)}
                )
        return rows

    def blocks(self, now: datetime.datetime, *, but: Visit | None = None, loose: bool = False) -> list[Block]:
        """Return the visits as blocks; those set by hand stay unless *loose*, and *but* stays anyhow."""
        return [
            Block(
                str(visit.uid),
                visit.position,
                visit.starts_at.astimezone(self.days.zone),
                visit.minutes,
                tuple(Part(part["task"], part["at"], part["minutes"]) for part in visit.parts),
                stays=visit is but
                or visit.ends_at <= now
                or not visit.parts
                or (visit.set_by_id is not None and not loose),
                people=self.crews[str(visit.uid)],
            )
            for visit in self.visits
        ]

    def put(self, visit: Visit, start: datetime.datetime) -> None:
        """Let *visit* begin at *start*, with its day and its end."""
        visit.starts_at = start
        visit.ends_at = self.days.after(start, visit.minutes)
        visit.day = start.astimezone(self.days.zone).date()

    def settle(self, now: datetime.datetime, *, but: Visit | None = None, loose: bool = False) -> None:
        """Move along what must, and note the waits and which visits begin too early."""
        network, blocks = self.network, self.blocks(now, but=but, loose=loose)
        found = settle(network, blocks, self.days)
        for visit in self.visits:
            key = str(visit.uid)
            if found.starts[key] != visit.starts_at:
                self.put(visit, found.starts[key])
            late = found.late.get(key)
            visit.waits_until = late.until if late else None
            label = late.need.label if late and late.need else None
            visit.waits_for = dict(label) if label else None
        moved = [replace(block, start=found.starts[block.key]) for block in blocks]
        self.gaps = gaps(network, moved, self.days)

    def move(
        self, visit: Visit, start: datetime.datetime, now: datetime.datetime, *, loose: bool = False
    ) -> None:
        """Put *visit* at *start* and move along what must.

        Raises:
            ValidationError: what the visit waits for is not over then.
        """
        self.put(visit, self.days.after(start, 0))
        found = held_back(self.network, self.blocks(now), str(visit.uid), self.days)
        if found is not None:
            first, late = found
            raise ValidationError(
                _(
                    "%(work)s cannot begin on %(wanted)s: %(wait)s, until %(until)s. "
                    "It can begin on %(first)s."
                )
                % {
                    "work": work_of(visit),
                    "wanted": moment_of(visit.starts_at, self.days.zone),
                    "wait": wait_name(late.need.label if late.need else None),
                    "until": moment_of(late.until, self.days.zone),
                    "first": moment_of(first, self.days.zone),
                }
            )
        self.settle(now, but=visit, loose=loose)


def company_calendar() -> Calendar:
    """Return the company's working time, or the usual one where none is set; 1 to 3 queries."""
    row = working_time()
    return calendar_of(row) if row else Calendar()


def draft_of(plan: Plan, calendar: Calendar | None = None) -> Draft:
    """Return a plan's visits as they are stored."""
    people = VisitPerson.objects.filter(left_at=None)
    visits = list(
        plan.visits.filter(cancelled_at=None)
        .prefetch_related(Prefetch("people", queryset=people))
        .order_by("position", "pk")
    )
    for visit in visits:
        visit.plan = plan
    days = Days(calendar or company_calendar(), ZoneInfo(plan.job.site.time_zone))
    crews = {str(visit.uid): frozenset(row.person_id for row in visit.people.all()) for visit in visits}
    draft = Draft(plan, days, visits, crews)
    draft.before = {str(visit.uid): (visit.starts_at, when_of(visit)) for visit in visits}
    return draft


def planned_anew(
    draft: Draft,
    *,
    crew: Collection[User],
    start: datetime.date,
    kept: Iterable[Visit],
    loose: bool,
    now: datetime.datetime,
) -> None:
    """Replace the visits that are not *kept* by those of the sequence from *start*, for so many people.

    A visit that was there already stays the same one, wherever it goes, as far as its tasks tell.
    """
    kept = list(kept)
    others = [visit for visit in draft.visits if visit not in kept]
    by_hand = [visit for visit in others if visit.title]
    spare = [visit for visit in others if not visit.title]
    blocks = _anew(draft, kept, start, max(1, len(crew)))
    ids = frozenset(person.pk for person in crew)
    made = []
    for block in blocks:
        visit = _same(block, spare) or Visit(plan=draft.plan, made_at=now, changed_at=now)
        if visit in spare:
            spare.remove(visit)
        _fill(visit, block, draft.network)
        if loose:
            visit.set_by = visit.set_at = None
        if visit.set_by_id is None:
            draft.put(visit, block.start)
        else:  # where it was put, as long as it takes now
            draft.put(visit, visit.starts_at)
        draft.crews[str(visit.uid)] = ids
        made.append(visit)
    draft.cancelled = spare
    for visit in by_hand:
        draft.crews[str(visit.uid)] &= ids
    draft.visits = [*kept, *made, *by_hand]
    for position, visit in enumerate(draft.visits):
        visit.position = position
    draft.settle(now)


def _anew(draft: Draft, kept: Sequence[Visit], start: datetime.date, people: int) -> list[Block]:
    network = draft.network
    if not network:
        if any(not visit.title for visit in kept):
            return []
        # Lines written by hand have no sequence: a whole day stands for them until somebody says more.
        first = draft.days.slot(draft.days.opens(start), 1)
        return [Block("0", 0, first, draft.days.day_minutes, ())]
    done: dict[str, int] = {}
    for visit in kept:
        for part in visit.parts:
            crew = min(network[part["task"]].crew, people) if part["task"] in network else 1
            done[part["task"]] = done.get(part["task"], 0) + part["minutes"] * crew
    return blocks_of(network, start=start, days=draft.days, people=people, done=done, first=len(kept))


def _same(block: Block, spare: Sequence[Visit]) -> Visit | None:
    """Return the visit that shares most minutes with the block; without tasks, any that has none either."""
    if not block.parts:
        return next((visit for visit in spare if not visit.parts), None)
    tasks = {part.task: part.minutes for part in block.parts}

    def shared(visit: Visit) -> int:
        return sum(min(part["minutes"], tasks.get(part["task"], 0)) for part in visit.parts)

    best = max(spare, key=shared, default=None)
    return best if best is not None and shared(best) else None


def _fill(visit: Visit, block: Block, network: Network) -> None:
    """Let *visit* hold the work of *block*."""
    visit.minutes = block.minutes
    visit.parts = [{"task": part.task, "at": part.at, "minutes": part.minutes} for part in block.parts]
    by_step: dict[str, int] = {}
    rooms: dict[str, int] = {}
    for part in block.parts:
        step = network[part.task]
        if step.step:
            by_step[step.step] = by_step.get(step.step, 0) + part.minutes
        if step.room:
            rooms[step.room] = rooms.get(step.room, 0) + part.minutes
    visit.steps = sorted(by_step, key=lambda name: -by_step[name])
    visit.rooms = sorted(rooms, key=lambda name: -rooms[name])


def crew_of(job: Job) -> list[User]:
    """Return who is on a job's crew, in the order they were put there."""
    return [member.person for member in job.crew_members.select_related("person").order_by("pk")]

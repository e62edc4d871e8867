"""What screens, papers and other services read about inspections: the state of every check of a job."""

from __future__ import annotations

import datetime
import zoneinfo
from dataclasses import dataclass, field

from django.db.models import Prefetch, QuerySet
from django.urls import reverse
from django.utils import formats, timezone
from django.utils.functional import cached_property
from django.utils.translation import gettext as _

from contracting.staff.home import Item, Section
from contracting.staff.models import User
from estimates.takeoff.sequence import HoldPoint
from estimates.takeoff.units import System
from jobs.work.models import Job, Stage
from jobs.work.selectors import OPEN_STAGES, jobs_of

from . import checklist, limits, verdicts
from .models import (
    CheckRecord,
    CorrectiveAction,
    FloodStart,
    Hold,
    HoldPointOverride,
    InspectionPlan,
    NonConformance,
    PlannedCheck,
    Step,
    WaivedCheck,
)

# Which work a stage of the job is. Other stages, and steps back, are not held up.
STEP_OF_STAGE = {
    Stage.MEMBRANE: checklist.Step.MEMBRANE,
    Stage.TILE: checklist.Step.TILE,
    Stage.PUNCH: checklist.Step.PUNCH,
    Stage.COMPLETE: checklist.Step.HAND_OVER,
}
HOLD_ORDER = {hold.value: place for place, hold in enumerate(HoldPoint)}
_STEP_ORDER = {step.value: place for place, step in enumerate(checklist.Step)}
_SIGNS = {"passed": "ok", "failed": "stop", "running": "live", "open": "wait"}
STAGE_ORDER = {stage: place for place, stage in enumerate(Stage)}


@dataclass(frozen=True)
class Finding:
    """A record in words: what was found, and why it fails."""

    record: CheckRecord
    text: str
    faults: list[str]
    is_superseded: bool


@dataclass
class CheckState:
    """A planned check with all that was recorded about it, oldest first."""

    planned: PlannedCheck
    system: System
    records: list[CheckRecord] = field(default_factory=list)
    starts: list[FloodStart] = field(default_factory=list)
    non_conformances: list[NonConformance] = field(default_factory=list)
    waived: list[WaivedCheck] = field(default_factory=list)

    @property
    def current(self) -> CheckRecord | None:
        """The newest record: only the newest can be superseded, so it is the one that stands."""
        return self.records[-1] if self.records else None

    @property
    def open(self) -> NonConformance | None:
        """The non-conformance that stands, if any; a check has at most one."""
        last = self.non_conformances[-1] if self.non_conformances else None
        return None if last is None or hasattr(last, "closure") else last

    @property
    def passed(self) -> bool:
        return self.current is not None and bool(self.current.passed) and self.open is None

    @property
    def running(self) -> FloodStart | None:
        """The flood test that still stands, if any."""
        last = self.starts[-1] if self.starts else None
        ended = {record.flood_start_id for record in self.records}
        return None if last is None or last.pk in ended else last

    @property
    def needs_action(self) -> bool:
        """Whether something must be done, and said, before the check is looked at again."""
        if self.open is None or self.current is None:
            return False
        failed = [record for record in self.records if not record.passed]
        return not any(action.after_id == failed[-1].pk for action in self.open.actions.all())

    @property
    def cured_at(self) -> datetime.datetime | None:
        """When the cure that runs from this check is over."""
        if self.current is None or self.current.laid_at is None:
            return None
        return self.current.laid_at + datetime.timedelta(seconds=self.planned.wait_seconds)

    @property
    def superseded_pks(self) -> set[int]:
        return {record.supersedes_id for record in self.records if record.supersedes_id}

    @property
    def history(self) -> list[Finding]:
        """Every record in words, the newest first."""
        return [
            Finding(
                record,
                finding_of(record, self.planned, self.system),
                faults_of(record, self.planned, self.system),
                record.pk in self.superseded_pks,
            )
            for record in reversed(self.records)
        ]

    @property
    def latest(self) -> str:
        """What the standing record found, or ""."""
        return finding_of(self.current, self.planned, self.system) if self.current else ""

    @property
    def last_failure(self) -> Finding | None:
        return next((one for one in self.history if not one.record.passed), None)

    @property
    def last_action(self) -> str:
        """What was done last about the non-conformance that stands."""
        actions = list(self.open.actions.all()) if self.open else []
        return actions[-1].text if actions else ""

    @property
    def start_level(self) -> str:
        """The level that the flood test which stands was started with."""
        if self.running is None:
            return ""
        return verdicts.shown(self.running.level, limits.Quantity.LENGTH, self.system)

    @property
    def flood_ends_at(self) -> datetime.datetime | None:
        return flood_ends_at(self.running) if self.running else None

    @property
    def mark(self) -> str:
        """``passed``, ``failed``, ``running`` or ``open``."""
        if self.passed:
            return "passed"
        if self.running is not None:
            return "running"
        return "failed" if self.open is not None else "open"

    @property
    def limit_text(self) -> str:
        limit = self.planned.limit
        return verdicts.limit_text(limit, self.system).render(_) if limit else ""

    @property
    def sign(self) -> str:
        """The class of its mark on screen."""
        return _SIGNS[self.mark]

    @property
    def sign_text(self) -> str:
        """What the mark says to who cannot see it."""
        return {
            "passed": _("passed"),
            "failed": _("failed"),
            "running": _("running"),
            "open": _("to do"),
        }[self.mark]

    def is_waived(self, step: checklist.Step) -> bool:
        """Whether an override let this very state pass, for *step* or one before it."""
        now = self.current.pk if self.current else None
        return any(
            row.last_record_id == now and _STEP_ORDER[row.override.step] <= _STEP_ORDER[step]
            for row in self.waived
        )


@dataclass
class JobChecks:
    """All checks of a job as they stand at *now*, in the order of the plan."""

    job: Job
    now: datetime.datetime
    plan: InspectionPlan | None
    states: list[CheckState]
    overrides: list[HoldPointOverride]

    @cached_property
    def by_pk(self) -> dict[int, CheckState]:
        return {state.planned.pk: state for state in self.states}

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.job.site.time_zone)

    @property
    def passed_count(self) -> int:
        return sum(state.passed for state in self.states)

    @property
    def open_non_conformances(self) -> list[CheckState]:
        return [state for state in self.states if state.open is not None]

    @property
    def non_conformances(self) -> list[tuple[CheckState, NonConformance]]:
        """Every non-conformance of the job with its check, the newest first."""
        pairs = [(state, found) for state in self.states for found in state.non_conformances]
        return sorted(pairs, key=lambda pair: -pair[1].pk)

    @property
    def next(self) -> CheckState | None:
        """The check to do now: the first hold point that is not through, in the plan's order.

        A flood test that still stands is not to be done, only waited for.
        """
        waiting = [
            state
            for state in self.states
            if not state.passed
            and not (state.running and flood_ends_at(state.running) > self.now)
            and not any(state.is_waived(step) for step in checklist.Step)
        ]
        return min(waiting, key=lambda s: (HOLD_ORDER[s.planned.hold], s.planned.position), default=None)

    @property
    def next_step(self) -> checklist.Step | None:
        """The work that comes after the job's stage, if hold points stand before any."""
        at = STAGE_ORDER[Stage(self.job.stage)]
        if self.job.stage == Stage.CANCELLED:
            return None
        later = (step for stage, step in STEP_OF_STAGE.items() if STAGE_ORDER[stage] > at)
        return next(later, None)

    @property
    def next_step_label(self) -> str:
        return str(Step(self.next_step.value).label) if self.next_step else ""

    @property
    def running(self) -> list[tuple[CheckState, FloodStart, str, bool]]:
        """Flood tests that stand: check, start, when to read it, and whether that has come."""
        found = []
        for state in self.states:
            if state.running is not None:
                end = flood_ends_at(state.running)
                found.append((state, state.running, self.clock(end), end <= self.now))
        return found

    @property
    def by_room(self) -> list[tuple[str, list[tuple[str, list[CheckState]]]]]:
        """Rooms with their hold points and the checks at each, in the plan's order."""
        rooms: dict[str, dict[str, list[CheckState]]] = {}
        names: dict[str, str] = {}
        for state in self.states:
            names.setdefault(state.planned.room_key, state.planned.room_name)
            holds = rooms.setdefault(state.planned.room_key, {})
            holds.setdefault(state.planned.hold, []).append(state)
        return [
            (names[key], [(str(Hold(hold).label), states) for hold, states in holds.items()])
            for key, holds in rooms.items()
        ]

    def clock(self, moment: datetime.datetime) -> str:
        """Say a moment in the site's time: the time today, else with its day."""
        local = moment.astimezone(self.zone)
        text = formats.date_format(local, "TIME_FORMAT")
        if local.date() == self.now.astimezone(self.zone).date():
            return text
        return _("%(time)s on %(day)s") % {"time": text, "day": formats.date_format(local, "WEEKDAY_FORMAT")}

    def in_scope(self, room: str, surface: str) -> list[CheckState]:
        """Return the checks that concern a room or a surface ("" for all of them)."""
        return [
            state
            for state in self.states
            if (not room or state.planned.room_key in {"", room})
            and (not surface or state.planned.surface_key in {"", surface})
        ]


def flood_ends_at(start: FloodStart) -> datetime.datetime:
    return start.started_at + datetime.timedelta(seconds=start.stands_seconds)


def checks_of(job: Job, *, now: datetime.datetime | None = None) -> JobChecks:
    """Return the state of every check of *job*, in a fixed number of queries."""
    plan = InspectionPlan.objects.select_related("made_by").filter(job=job).first()
    states = _states(PlannedCheck.objects.filter(plan=plan), plan, System(job.site.units)) if plan else []
    overrides = HoldPointOverride.objects.filter(job=job).select_related("by")
    overrides = overrides.prefetch_related("waived__planned")
    return JobChecks(job, now or timezone.now(), plan, states, list(overrides))


def check_state(planned: PlannedCheck) -> CheckState:
    """Return the state of one check, as it stands in the database now."""
    plan = InspectionPlan.objects.select_related("job__site").get(pk=planned.plan_id)
    [state] = _states(PlannedCheck.objects.filter(pk=planned.pk), plan, System(plan.job.site.units))
    return state


def _states(rows: QuerySet[PlannedCheck], plan: InspectionPlan, system: System) -> list[CheckState]:
    actions = Prefetch("actions", CorrectiveAction.objects.select_related("by"))
    failures = NonConformance.objects.select_related("closure__record", "opened_by")
    loaded = rows.prefetch_related(
        Prefetch("records", CheckRecord.objects.select_related("by", "supersedes")),
        Prefetch("flood_starts", FloodStart.objects.select_related("by")),
        Prefetch("non_conformances", failures.prefetch_related(actions)),
        Prefetch("waived", WaivedCheck.objects.select_related("override")),
    )
    states = []
    for planned in loaded.order_by("position"):
        # Spares the address of each check a query.
        planned.plan = plan
        states.append(
            CheckState(
                planned,
                system,
                list(planned.records.all()),
                list(planned.flood_starts.all()),
                list(planned.non_conformances.all()),
                list(planned.waived.all()),
            )
        )
    return states


def finding_of(record: CheckRecord, planned: PlannedCheck, system: System) -> str:
    """Say what a record found: the reading, the answer, the moment, or the course of the flood test."""
    if record.kind == checklist.Kind.ANSWER:
        return _("yes") if record.answer else _("no")
    if record.laid_at is not None:
        moment = formats.date_format(timezone.localtime(record.laid_at), "SHORT_DATETIME_FORMAT")
        return _("%(moment)s, below 50 °F (10 °C)") % {"moment": moment} if record.is_cold else moment
    reading = verdicts.shown(record.reading or 0, limits.Quantity(planned.quantity), system)
    if record.kind == checklist.Kind.READING:
        return reading
    return _("%(start)s, after %(hours)s %(end)s") % {
        "start": verdicts.shown(record.start_level or 0, limits.Quantity.LENGTH, system),
        "hours": verdicts.span(datetime.timedelta(seconds=record.stood_seconds or 0)),
        "end": reading,
    }


def faults_of(record: CheckRecord, planned: PlannedCheck, system: System) -> list[str]:
    """Return why a record fails, in sentences; empty when it passes."""
    limit = planned.limit
    if record.passed:
        return []
    if limit is None or record.reading is None:
        return [_("The answer was no.")]
    limit = limits.Limit(limit.quantity, record.least, record.most)
    if record.kind == checklist.Kind.READING:
        found = verdicts.reading_faults(limit, record.reading, system)
    else:
        found = verdicts.flood_faults(flood_of(record, limit), system)
    return [one.render(_) for one in found]


def flood_of(record: CheckRecord, limit: limits.Limit) -> verdicts.Flood:
    """Return a flood test's record as the core judges it."""

    def seconds(value: int | None) -> datetime.timedelta:
        return datetime.timedelta(seconds=value or 0)

    return verdicts.Flood(
        limit,
        record.start_level or 0,
        record.reading or 0,
        seconds(record.stood_seconds),
        seconds(record.stands_seconds),
        seconds(record.waited_seconds),
        seconds(record.wait_seconds),
        bool(record.leak_seen),
    )


def waiting_section(user: User) -> Section | None:
    """Return what inspections wait for *user* over all jobs: levels to read, failures to put right."""
    now = timezone.now()
    jobs = jobs_of(user).filter(stage__in=OPEN_STAGES)
    floods = (
        FloodStart.objects.filter(planned__plan__job__in=jobs, result=None)
        .select_related("planned__plan__job__site")
        .order_by("started_at")[:8]
    )
    failed = (
        NonConformance.objects.filter(planned__plan__job__in=jobs, closure=None)
        .select_related("planned__plan__job")
        .order_by("pk")[:8]
    )
    items = [_flood_item(start, now) for start in floods]
    items += [
        Item(
            _("%(check)s failed") % {"check": _(found.planned.label)},
            reverse("inspections:non-conformance", args=[found.planned.plan.job_id, found.pk]),
            f"{found.planned.plan.job}, {found.planned.place}",
        )
        for found in failed
    ]
    return Section(_("Inspections waiting"), items=items[:8]) if items else None


def _flood_item(start: FloodStart, now: datetime.datetime) -> Item:
    job = start.planned.plan.job
    clock = JobChecks(job, now, None, [], []).clock(flood_ends_at(start))
    return Item(
        _("Read the flood test"), start.planned.get_absolute_url(), f"{job}, {start.planned.place}", clock
    )

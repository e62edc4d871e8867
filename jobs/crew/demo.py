"""What the demonstration's crews did: worked, ticked, checked and logged by the frozen sequence. Made up.

A job stands where its stage says. Whatever of the sequence lies before that was done when it was planned,
so that ticks, checks, photos and hours tell one story.
"""

from __future__ import annotations

import datetime
import uuid
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from contracting.staff.models import User
from estimates.pricelists.models import Price
from jobs.inspections import services as inspections
from jobs.inspections.models import Hold, Kind, PlannedCheck, Quantity
from jobs.photos.demo import photo_of_check
from jobs.work.daily import services as daily
from jobs.work.models import Job, Stage
from jobs.work.services import job_move

from .models import Mark, MarkState, PhoneAct, Subject
from .selectors import BY_RECORD, piece_keys

LADDER = (Stage.SUBSTRATE, Stage.MEMBRANE, Stage.TILE, Stage.PUNCH, Stage.COMPLETE)
# The stage in which a task of the sequence is done, by its trade step; a check belongs to what it accepts.
STAGE_OF = {
    **dict.fromkeys(("protection", "demolition", "preparation", "backer"), Stage.SUBSTRATE),
    "waterproofing": Stage.MEMBRANE,
    **dict.fromkeys(("tile", "grout", "joints"), Stage.TILE),
    "clean_up": Stage.PUNCH,
}
STAGE_OF_CHECK = {
    "accept_substrate": Stage.SUBSTRATE,
    "accept_membrane": Stage.MEMBRANE,
    "check_coverage": Stage.TILE,
    "final": Stage.PUNCH,
}
# After which task each hold point is looked at, by the first word of the task's key.
TASK_OF = {
    Hold.SUBSTRATE: "accept_substrate",
    Hold.MEMBRANE: "accept_membrane",
    Hold.COVERAGE: "check_coverage",
    Hold.JOINTS: "joints",
    Hold.FINAL: "final",
}
# What must have been looked at before a job goes on to a stage.
CHECKED_BEFORE = {
    Stage.MEMBRANE: (Hold.SUBSTRATE,),
    Stage.TILE: (Hold.MEMBRANE, Hold.FLOOD_TEST),
    Stage.PUNCH: (Hold.COVERAGE, Hold.JOINTS),
    Stage.COMPLETE: (Hold.FINAL,),
}
# Of which checks there is a photo, and what it says.
PHOTOGRAPHED = {Kind.LAID: "Last sheet embedded", Kind.FLOOD: "Level at the mark"}
# Whoever starts the demonstration looks at it a moment after the crew has put the phone away.
JUST_NOW = datetime.timedelta(minutes=30)


@dataclass(frozen=True)
class Task:
    """A task of the frozen sequence: what, where, when, and how many minutes of one person."""

    key: str
    activity: str
    step: str
    stage: Stage
    room: str
    surface: str
    start: datetime.datetime
    finish: datetime.datetime
    minutes: int


@dataclass(frozen=True)
class Worked:
    """A job as it is built: its tasks by time, who builds it, and the moment after which nothing was done."""

    job: Job
    tasks: Sequence[Task]
    crew: Sequence[User]
    office: User
    until: datetime.datetime

    def done(self, stage: Stage) -> list[Task]:
        """Return what is done in *stage*: all of the stages before, and of its own what had the time."""
        reached = LADDER.index(stage)
        return [
            task
            for task in self.tasks
            if LADDER.index(task.stage) < reached
            or (task.stage == stage and task.finish <= self.until and task.activity not in BY_RECORD)
        ]

    def finished(self, word: str, room: str = "", surface: str = "") -> datetime.datetime:
        """Return when the last task was finished whose key begins with *word*, or of that activity."""
        found = [
            task.finish
            for task in self.tasks
            if (task.key.startswith(word) or task.activity.startswith(word))
            and (not room or task.room in {"", room})
            and (not surface or task.surface == surface)
        ]
        return min(max(found, default=self.until), self.until)


def work_as_planned(
    *, job: Job, stage: Stage, told: Mapping[str, Any], office: User, crew: Sequence[User]
) -> None:
    """Do a scheduled job's work as far as *stage*: deliveries, checks with photos, ticks and hours.

    Args:
        told: ``pace``, the time it took in per cent of the time foreseen; ``invoiced``, whether the
            suppliers' invoices have come.
    """
    worked = Worked(job, tasks_of(job), crew, office, timezone.now() - JUST_NOW)
    if not worked.tasks:
        return
    _deliver(worked, is_invoiced=bool(told.get("invoiced")))
    moment = worked.tasks[0].start
    for place in LADDER[: LADDER.index(stage) + 1]:
        for hold in CHECKED_BEFORE.get(place, ()):
            moment = max([moment, *_pass_checks(worked, hold)])
        job_move(job=job, stage=place, by=office, at=min(moment, worked.until))
    done = worked.done(stage)
    _tick(worked, done)
    _log(worked, done, told.get("pace", 100))


def tasks_of(job: Job) -> list[Task]:
    """Return the tasks of the job's frozen sequence by time; travel is none."""
    takeoff = (job.quote.snapshot.get("work") or {}).get("takeoff") or {}
    hours = {row["key"]: row for row in takeoff.get("hours", ())}
    found = []
    for planned in takeoff.get("schedule", {}).get("tasks", ()):
        task = planned["task"]
        row = hours.get(task["key"])
        step = row["step"] if row else "testing"
        found.append(
            Task(
                task["key"],
                task["activity"],
                step,
                _stage_of(task["key"], task["activity"], step),
                task["room"],
                task["surface"],
                datetime.datetime.fromisoformat(planned["start"]),
                datetime.datetime.fromisoformat(planned["finish"]),
                round(float(row["hours"]["value"]) * 60) if row else 0,
            )
        )
    return sorted(found, key=lambda task: (task.start, task.finish))


def _stage_of(key: str, activity: str, step: str) -> Stage:
    if activity.startswith("flood"):
        return Stage.MEMBRANE
    return STAGE_OF_CHECK.get(key.split(".")[0]) or STAGE_OF.get(step, Stage.TILE)


# --- Deliveries ---------------------------------------------------------------------------------------------


def _deliver(worked: Worked, *, is_invoiced: bool) -> None:
    """Log what came on the first day, each material with a lot of its own."""
    day = _day(worked.job, worked.tasks[0].start)
    for number, one in enumerate(worked.job.quote.snapshot["work"]["materials"], 1):
        if one["customer_supplied"] or one["packs"] == "0":
            continue
        made_on = day - datetime.timedelta(days=20 + 7 * number)
        daily.delivery_log(
            act=daily.Act(uuid.uuid4(), worked.job, day, worked.office),
            material_key=one["key"],
            packs_millionths=int(one["packs"]) * 1_000_000,
            lot_numbers=f"L{made_on:%y%j}-{number:02d}",
            cost_cents=_invoiced(one, day) if is_invoiced else None,
        )


def _invoiced(material: Mapping[str, Any], day: datetime.date) -> int:
    """Return what the packs cost on the invoice: a little over the list price of the day."""
    price = Price.objects.filter(material=material["material_id"], starts_on__lte=day).latest("starts_on")
    return int(material["packs"]) * price.cents * 103 // 100


# --- Checks -------------------------------------------------------------------------------------------------


def _pass_checks(worked: Worked, hold: Hold) -> list[datetime.datetime]:
    """Pass every check of a hold point when its turn was; return when."""
    planned = PlannedCheck.objects.filter(plan__job=worked.job, hold=hold).order_by("position")
    return [
        _flood(worked, one) if one.kind == Kind.FLOOD else _pass(worked, one, TASK_OF[hold])
        for one in planned
    ]


def _pass(worked: Worked, planned: PlannedCheck, task: str) -> datetime.datetime:
    by, at = worked.crew[0], worked.finished(task, planned.room_key)
    found: dict[str, Any] = {"note": "As it should be." if planned.needs_note else ""}
    if planned.kind == Kind.READING:
        found |= {"reading": _within(planned), "instrument": planned.instrument or "straightedge"}
    elif planned.kind == Kind.ANSWER:
        found["answer"] = True
    elif planned.kind == Kind.LAID:
        laid = worked.finished("membrane_", planned.room_key, planned.surface_key)
        found |= {"laid_at": laid, "is_cold": False}
        _photograph(worked, planned, laid)
    inspections.check_record(planned=planned, by=by, key=uuid.uuid4(), observed_at=at, **found)
    return at


def _flood(worked: Worked, planned: PlannedCheck) -> datetime.datetime:
    by, level = worked.crew[0], _within(planned)
    filled = worked.finished("flood_test_fill", planned.room_key)
    read = worked.finished("flood_test_read", planned.room_key)
    _photograph(worked, planned, filled)
    told: dict[str, Any] = {"level": level, "level_typed": "", "instrument": "steel rule"}
    start = inspections.flood_test_start(planned=planned, by=by, key=uuid.uuid4(), started_at=filled, **told)
    inspections.flood_test_end(start=start, by=by, key=uuid.uuid4(), ended_at=read, leak_seen=False, **told)
    return read


def _photograph(worked: Worked, planned: PlannedCheck, at: datetime.datetime) -> None:
    caption = PHOTOGRAPHED[Kind(planned.kind)]
    photo_of_check(
        job=worked.job, check=planned.pk, key=planned.key, caption=caption, by=worked.crew[0], at=at
    )


def _within(planned: PlannedCheck) -> int:
    """Return a reading that passes, in the check's whole units."""
    if planned.least is not None and planned.most is not None:
        return (planned.least + planned.most) // 2
    if planned.least is not None:
        # An eighth of an inch, or a per cent, more than asked.
        return planned.least + (31_750 if planned.quantity == Quantity.LENGTH else 100)
    assert planned.most is not None
    return planned.most // 2


# --- Ticks --------------------------------------------------------------------------------------------------


def _tick(worked: Worked, done: Sequence[Task]) -> None:
    """Tick the steps that are done, and cut and embed what belongs to them.

    The rows are those that ``act_take`` leaves for each tap, but all of a job at once: a demonstration
    should start soon.
    """
    takeoff = worked.job.quote.snapshot["work"]["takeoff"]
    laid = {(task.room, task.surface): task for task in done if task.activity.startswith("membrane_")}
    acts: list[PhoneAct] = []
    marks: list[Mark] = []

    def add(subject: Subject, ref: str, state: MarkState, at: datetime.datetime) -> None:
        by = worked.crew[len(acts) % len(worked.crew)]
        act = PhoneAct(
            key=uuid.uuid4(),
            person=by,
            job=worked.job,
            kind=subject,
            fields={"ref": ref, "state": state},
            made_at=at,
            at=at,
            recorded_at=at,
            outcome=PhoneAct.Outcome.DONE,
        )
        acts.append(act)
        marks.append(Mark(act=act, job=worked.job, subject=subject, ref=ref, state=state, by=by, at=at))

    for task in done:
        if task.activity not in BY_RECORD:
            add(Subject.STEP, task.key, MarkState.DONE, min(task.finish, worked.until))
    faces = {face["key"]: face for room in takeoff["rooms"] for face in room["faces"]}
    cut: dict[str, datetime.datetime] = {}
    for batch in takeoff.get("batches", ()):
        sheets = laid.get((batch["room"], faces[batch["face"]]["surface"]))
        if sheets is not None:
            add(Subject.BATCH, str(batch["number"]), MarkState.EMBEDDED, min(sheets.finish, worked.until))
            cut |= dict.fromkeys(batch["sheets"], sheets.start)
    for piece in piece_keys(worked.job) & set(cut):
        add(Subject.CUT, piece, MarkState.DONE, min(cut[piece], worked.until))
    PhoneAct.objects.bulk_create(acts)
    Mark.objects.bulk_create(marks)


# --- Hours --------------------------------------------------------------------------------------------------


def _log(worked: Worked, done: Sequence[Task], pace: int) -> None:
    """Log the hours of what is done: each task to whoever has worked less that day, and the way there."""
    minutes: dict[tuple[datetime.date, User, str], int] = defaultdict(int)
    load: dict[tuple[datetime.date, User], int] = defaultdict(int)
    for number, task in enumerate(done):
        day = _day(worked.job, task.finish)
        person = min(worked.crew, key=lambda one: load[day, one])
        took = round(task.minutes * (pace - 10 + 5 * (number % 5)) / 100)
        minutes[day, person, task.step] += took
        load[day, person] += took
    days = sorted({_day(worked.job, task.finish) for task in worked.tasks})
    travel = _travel_minutes(worked.job) // (len(days) * len(worked.crew))
    for day in {day for day, _person in load}:
        for person in worked.crew:
            minutes[day, person, "travel"] += travel
    # As the day went: the way there first, then the trade's own order.
    order = ["travel", *STAGE_OF, "testing"]
    rows = sorted(minutes.items(), key=lambda row: (row[0][0], row[0][1].pk, order.index(row[0][2])))
    for (day, person, step), took in rows:
        if took > 0:
            daily.hours_log(
                act=daily.Act(uuid.uuid4(), worked.job, day, worked.office),
                person=person,
                step=step,
                minutes=took,
            )


def _travel_minutes(job: Job) -> int:
    rows = job.quote.snapshot["work"]["takeoff"]["hours"]
    return sum(round(float(row["hours"]["value"]) * 60) for row in rows if row["step"] == "travel")


def _day(job: Job, moment: datetime.datetime) -> datetime.date:
    return moment.astimezone(ZoneInfo(job.site.time_zone)).date()

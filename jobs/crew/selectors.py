"""What the crew's pages read: today's jobs, the frozen work with its ticks and clocks, what to look at."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils.dateparse import parse_datetime

from contracting.staff.models import User
from estimates.quotes.changes.selectors import work_in_force, works_of
from estimates.quotes.templatetags.figures import phrase_from, say
from jobs.inspections.checklist import Step
from jobs.inspections.models import Hold
from jobs.schedule.models import Visit
from jobs.schedule.selectors import visits_of
from jobs.work import papers
from jobs.work.models import CrewMember, Job
from jobs.work.selectors import OPEN_STAGES, jobs_of

from .models import LookAt, Mark, MarkState, Subject

MOST_JOBS = 60
AHEAD = datetime.timedelta(days=13)
# Work that a hold point stands before, by activity of the takeoff. Cutting tile may go on while a bond cures.
STEP_OF_ACTIVITY = {
    **dict.fromkeys(
        (
            "membrane_corners",
            "membrane_strips",
            "membrane_floor",
            "membrane_wall",
            "membrane_penetrations",
            "membrane_sealant",
        ),
        Step.MEMBRANE,
    ),
    **dict.fromkeys(("set_floor_tile", "set_wall_tile", "set_mosaic", "trim"), Step.TILE),
    "grout": Step.GROUT,
}
# Which hold point a check of the sequence is, by the first word of its key.
HOLD_OF_CHECK = {
    "accept_substrate": Hold.SUBSTRATE,
    "accept_membrane": Hold.MEMBRANE,
    "fill_test": Hold.FLOOD_TEST,
    "read_test": Hold.FLOOD_TEST,
    "check_coverage": Hold.COVERAGE,
    "final": Hold.FINAL,
}
# What is shown as done by the inspection record, and not ticked.
BY_RECORD = frozenset({"check", "flood_test_fill", "flood_test_read"})


@dataclass(frozen=True)
class JobCard:
    """A job on the list of today, with the visits that its reader is down for from today on."""

    job: Job
    visits: list[Visit]


@dataclass(frozen=True)
class JobsOfCrew:
    """The open jobs of somebody: on today, later ones, and those without a day."""

    today: list[JobCard]
    coming: list[JobCard]
    undated: list[JobCard]


def jobs_of_crew(user: User, *, today: datetime.date) -> JobsOfCrew:
    """Return the jobs that *user*'s phone shows. Four queries.

    A job is on today when *user* is down for a visit, or when it has started and no visit is planned.
    """
    people = CrewMember.objects.select_related("person")
    found = (
        jobs_of(user)
        .filter(stage__in=OPEN_STAGES)
        .select_related("site")
        .prefetch_related(Prefetch("crew_members", queryset=people))
        .order_by("starts_on", "number")[:MOST_JOBS]
    )
    visits: dict[int, list[Visit]] = defaultdict(list)
    for visit in visits_of(user, today, today + AHEAD):
        visits[visit.plan.job_id].append(visit)
    cards = [JobCard(job, visits[job.pk]) for job in found]
    later = [card for card in cards if not _is_on(card, today)]
    coming = [card for card in later if card.visits or card.job.starts_on]
    return JobsOfCrew(
        sorted((card for card in cards if _is_on(card, today)), key=lambda card: _first(card, today)),
        sorted(coming, key=lambda card: _first(card, today)),
        [card for card in later if not card.visits and not card.job.starts_on],
    )


def _is_on(card: JobCard, today: datetime.date) -> bool:
    if card.visits:
        return card.visits[0].day == today
    return card.job.starts_on is not None and card.job.starts_on <= today


def _first(card: JobCard, today: datetime.date) -> tuple[datetime.date, bool, float]:
    """Return what cards are ordered by: the next visit by its hour, jobs without one after it."""
    if card.visits:
        return card.visits[0].day, False, card.visits[0].starts_at.timestamp()
    return max(card.job.starts_on or today, today), True, card.job.number


# --- Ticks and clocks -------------------------------------------------------------------------------------


def marks_of(job: Job) -> dict[tuple[str, str], Mark]:
    """Return the mark that holds of each thing by (subject, ref); timers are a person's own and left out.

    A piece or a batch that a signed change measured otherwise is another one, and has no mark yet.
    """
    found = Mark.objects.filter(job=job).exclude(subject=Subject.TIMER).select_related("by")
    rows, works = list(found.order_by("at", "pk")), works_of(job.quote)
    if rows and len(works) > 1:
        named = [(since, _named(work)) for since, work in works]
        rows = [mark for mark in rows if _is_same(mark, named)]
    return {(mark.subject, mark.ref): mark for mark in rows}


Named = Mapping[tuple[str, str], Any]


def _named(work: Mapping[str, Any]) -> Named:
    """Return what each piece and each batch of a takeoff is, by (subject, ref): where, and how large."""
    takeoff = work.get("takeoff") or {}
    rooms = takeoff.get("rooms", ())
    where = {one["key"]: (one["room"], one["face"]) for room in rooms for one in room["sheets"]}
    where |= {one["key"]: (one["room"], one["change"]) for room in rooms for one in room["strips"]}
    pieces = [one for roll in (takeoff.get("cut_plan") or {"rolls": []})["rolls"] for one in roll["placed"]]
    return {
        **{
            (str(Subject.CUT), one["piece_key"]): (
                where.get(one["piece_key"]),
                Decimal(one["across_mm"]),
                Decimal(one["along_mm"]),
            )
            for one in pieces
        },
        **{
            (str(Subject.BATCH), str(one["number"])): (one["room"], one["face"], one["sheets"], one["area"])
            for one in takeoff.get("batches", ())
        },
    }


def _is_same(mark: Mark, named: list[tuple[datetime.datetime | None, Named]]) -> bool:
    """Whether what *mark* was put to then is what bears its name now."""
    key = (mark.subject, mark.ref)
    then = [one for since, one in named if since is None or since <= mark.at][-1]
    return bool(then.get(key) == named[-1][1].get(key))


def timer_of(job: Job, user: User) -> Mark | None:
    """Return the timer that *user* has running on *job*."""
    last = Mark.objects.filter(job=job, subject=Subject.TIMER, by=user).order_by("at", "pk").last()
    return last if last is not None and last.state == MarkState.RUNNING else None


# --- The frozen work --------------------------------------------------------------------------------------


def _takeoff(job: Job) -> Mapping[str, Any]:
    return work_in_force(job.quote).get("takeoff") or {}


def piece_keys(job: Job) -> set[str]:
    plan = _takeoff(job).get("cut_plan") or {"rolls": []}
    return {placed["piece_key"] for roll in plan["rolls"] for placed in roll["placed"]}


def places_of_batches(job: Job) -> dict[str, tuple[str, str]]:
    """Return room and surface of each batch by its number."""
    takeoff = _takeoff(job)
    faces = {face["key"]: face for room in takeoff.get("rooms", ()) for face in room["faces"]}
    return {
        str(batch["number"]): (batch["room"], faces[batch["face"]]["surface"])
        for batch in takeoff.get("batches", ())
    }


def task_of(job: Job, key: str) -> Mapping[str, Any] | None:
    """Return a task of the job's sequence; those that the inspection record answers are not among them."""
    for planned in _takeoff(job).get("schedule", {}).get("tasks", ()):
        if planned["task"]["key"] == key and planned["task"]["activity"] not in BY_RECORD:
            task: Mapping[str, Any] = planned["task"]
            return task
    return None


def step_of_task(task: Mapping[str, Any]) -> Step | None:
    """Return the work that hold points stand before, if the task is such work."""
    return STEP_OF_ACTIVITY.get(task["activity"])


def hold_of_task(key: str) -> Hold | None:
    """Return the hold point that a check of the sequence is looked at by; None: it is no check."""
    return HOLD_OF_CHECK.get(key.split(".")[0])


def work_of(job: Job) -> dict[str, Any]:
    """Return the job's frozen work as its pages show it, without money; empty for lines written by hand."""
    if not job.quote.snapshot.get("work"):
        return {"rooms": [], "rolls": [], "batches": [], "sequence": [], "cautions": [], "notices": []}
    return papers.work_context(papers.work_of(job))


def rolls_of(work: Mapping[str, Any], marks: Mapping[tuple[str, str], Mark]) -> list[dict[str, Any]]:
    """Return the rolls with the tick of each piece, and how many are cut."""
    rolls = []
    for roll in work["rolls"]:
        pieces = [{**piece, "mark": marks.get((Subject.CUT, piece["key"]))} for piece in roll["pieces"]]
        done = sum(one["mark"] is not None and one["mark"].state == MarkState.DONE for one in pieces)
        rolls.append({**roll, "pieces": pieces, "done": done})
    return rolls


def batches_of(
    job: Job, work: Mapping[str, Any], marks: Mapping[tuple[str, str], Mark]
) -> list[dict[str, Any]]:
    """Return the batches with their clock: open time, wait and cure in minutes, by the data sheet.

    The cure is the longest that the frozen sequence gives to the bond of the batch's surface.
    """
    takeoff = _takeoff(job)
    cures, places = _cures(takeoff), places_of_batches(job)
    rows = []
    for shown, batch in zip(work["batches"], takeoff.get("batches", ()), strict=True):
        place = places[str(batch["number"])]
        hours, source = cures.get(place, (Decimal(0), ""))
        rows.append(
            {
                **shown,
                "room_key": place[0],
                "surface": place[1],
                "open_minutes": int(Decimal(batch["embed_within_min"])),
                "wait_minutes": int(Decimal(batch["wait_min"])),
                "cure_minutes": int(hours * 60),
                "cure_source": source,
                "mark": marks.get((Subject.BATCH, str(batch["number"]))),
            }
        )
    return rows


def _cures(takeoff: Mapping[str, Any]) -> dict[tuple[str, str], tuple[Decimal, str]]:
    """Return hours and source of the bond's cure by room and surface."""
    if not takeoff:
        return {}
    tasks = {planned["task"]["key"]: planned["task"] for planned in takeoff["schedule"]["tasks"]}
    found: dict[tuple[str, str], tuple[Decimal, str]] = {}
    for wait in takeoff["schedule"]["waits"]:
        task, cure = tasks[wait["task"]], wait["cure"]
        place = (task["room"], task["surface"])
        if cure["key"] == "bond" and Decimal(cure["hours"]) >= found.get(place, (Decimal(0), ""))[0]:
            source = say(phrase_from(cure["source"])) if cure["source"] else ""
            found[place] = (Decimal(cure["hours"]), source)
    return found


def steps_of(job: Job, marks: Mapping[tuple[str, str], Mark]) -> list[dict[str, Any]]:
    """Return the sequence by day of the plan: each task with its tick and its hold point."""
    takeoff = _takeoff(job)
    if not takeoff:
        return []
    names = {room["key"]: room["name"] for room in takeoff["rooms"]}
    days: dict[datetime.date, list[dict[str, Any]]] = {}
    ordered = sorted(takeoff["schedule"]["tasks"], key=lambda one: (one["start"], one["finish"]))
    for planned in ordered:
        task, start = planned["task"], parse_datetime(planned["start"])
        before = step_of_task(task)
        assert start is not None
        days.setdefault(start.date(), []).append(
            {
                "key": task["key"],
                "room": names.get(task["room"], ""),
                "room_key": task["room"],
                "surface": task["surface"],
                "label": task["label"],
                "start": start,
                "hold": before.value if before else "",
                "by_record": task["activity"] in BY_RECORD,
                "mark": marks.get((Subject.STEP, task["key"])),
            }
        )
    return [{"day": day, "tasks": tasks} for day, tasks in days.items()]


# --- What the office looks at -----------------------------------------------------------------------------


def look_ats(*, is_open: bool = True) -> QuerySet[LookAt]:
    """Return what is to be looked at, the newest first."""
    rows = LookAt.objects.select_related("act__person", "job", "other", "seen_by")
    return rows.filter(seen_at=None) if is_open else rows

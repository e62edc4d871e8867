"""What each crew page of a job shows."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.staff.models import User
from estimates.takeoff.lengths import from_units
from estimates.takeoff.units import System
from jobs.inspections import holds
from jobs.inspections.checklist import Step
from jobs.inspections.limits import Quantity
from jobs.inspections.models import Kind, PlannedCheck
from jobs.inspections.selectors import CheckState, JobChecks, checks_of
from jobs.inspections.verdicts import shown
from jobs.photos.models import About
from jobs.photos.subjects import subjects_of
from jobs.work.daily.forms import step_choices
from jobs.work.daily.listeners import purchase_list
from jobs.work.daily.selectors import days_of, received_of, today_at, usual_step
from jobs.work.models import Job, NoteKind
from jobs.work.models.daily import DelayCause

from . import phone, selectors, sentences
from .models import LookAt

# The pages of a job, in the order in which a day needs them.
PARTS = {
    "steps": gettext_lazy("Sequence"),
    "rooms": gettext_lazy("Plans"),
    "cuts": gettext_lazy("Cut list"),
    "batches": gettext_lazy("Bonding agent"),
    "checks": gettext_lazy("Checks"),
    "hours": gettext_lazy("Hours"),
    "materials": gettext_lazy("Materials"),
    "notes": gettext_lazy("Notes"),
    "photos": gettext_lazy("Photos"),
}
QUICK_MINUTES = (30, 60, 120, 240, 360, 480)
WEATHER = (
    gettext_lazy("Dry"),
    gettext_lazy("Rain"),
    gettext_lazy("Damp air"),
    gettext_lazy("Frost"),
    gettext_lazy("Heat"),
    gettext_lazy("Below 50 °F (10 °C) in the room"),
)


def context(name: str, job: Job, user: User) -> dict[str, Any]:
    """Return what the page *name* of a job is given."""
    checks = checks_of(job)
    base: dict[str, Any] = {
        "job": job,
        "part": name,
        "parts": [{"name": key, "label": label} for key, label in PARTS.items()],
        "facts": phone.facts_for(user, job) | {"inspection": phone.checks_for_phone(checks)},
        "checks": checks,
        "key": uuid.uuid4(),
    }
    return base | _CONTEXTS[name](job, user, checks)


def _job(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    work, marks = selectors.work_of(job), selectors.marks_of(job)
    step = checks.next_step
    rolls, days = selectors.rolls_of(work, marks), selectors.steps_of(job, marks)
    tasks = [task for day in days for task in day["tasks"]]
    return {
        "work": work,
        "cautions": work["cautions"],
        "timer": selectors.timer_of(job, user),
        "pieces": sum(len(roll["pieces"]) for roll in rolls),
        "pieces_cut": sum(roll["done"] for roll in rolls),
        "steps_done": sum(task["mark"] is not None and task["mark"].state == "done" for task in tasks),
        "steps_count": sum(not task["by_record"] for task in tasks),
        "obstacles": holds.obstacles(checks, step) if checks.plan and step else [],
        "parts": _parts(work, checks),
    }


def _parts(work: dict[str, Any], checks: JobChecks) -> list[dict[str, Any]]:
    has = {
        "steps": bool(work["sequence"]),
        "rooms": bool(work["rooms"]),
        "cuts": bool(work["rolls"]),
        "batches": bool(work["batches"]),
        "checks": checks.plan is not None,
    }
    return [{"name": key, "label": label} for key, label in PARTS.items() if has.get(key, True)]


def _rooms(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    return selectors.work_of(job)


def _cuts(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    return {"rolls": selectors.rolls_of(selectors.work_of(job), selectors.marks_of(job))}


def _batches(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    work = selectors.work_of(job)
    batches = selectors.batches_of(job, work, selectors.marks_of(job))
    return {"batches": batches, "area_unit": work.get("area_unit", ""), "cautions": work["cautions"]}


def _steps(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    days = selectors.steps_of(job, selectors.marks_of(job))
    for task in (task for day in days for task in day["tasks"] if task["by_record"]):
        states = [
            state
            for state in checks.in_scope(task["room_key"], "")
            if state.planned.hold == selectors.hold_of_task(task["key"])
        ]
        task["passed"] = bool(states) and all(state.passed for state in states)
    return {"days": days}


@dataclass(frozen=True)
class Asked:
    """A check as the phone asks it: its state, and readings that are a tap away."""

    state: CheckState
    taps: list[str]

    @property
    def planned(self) -> PlannedCheck:
        return self.state.planned

    @property
    def label(self) -> str:
        """What the field of the reading is called."""
        if self.planned.kind == Kind.FLOOD:
            return _("Level at the mark")
        if self.planned.quantity == Quantity.PERCENT:
            return _("Reading, %")
        return _("Reading, mm") if self.state.system is System.METRIC else _("Reading, inches")


def _checks(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    return {
        "rooms": [
            (
                room or _("The whole job"),
                [(hold, [Asked(one, taps_of(one)) for one in states]) for hold, states in rows],
            )
            for room, rows in checks.by_room
        ],
        "flood_obstacles": {
            state.planned.pk: holds.obstacles(checks, Step.FLOOD, room=state.planned.room_key)
            for state in checks.states
            if state.planned.kind == Kind.FLOOD and not state.running and not state.passed
        },
    }


def taps_of(state: CheckState) -> list[str]:
    """Return readings that are likely, as they are typed: the limit, and a step or two either side of it."""
    planned = state.planned
    limit = planned.least if planned.least is not None else planned.most
    if planned.kind not in {Kind.READING, Kind.FLOOD} or limit is None:
        return []
    if planned.quantity == Quantity.PERCENT:
        return [str(share) for share in (75, 80, 85, 90, 95, 100) if share * 100 >= limit - 1500]
    mm = float(from_units(limit))
    if mm > 914:
        return []
    if state.system is System.METRIC:
        steps = [limit + step * 10_000 for step in ((-1, 0, 1, 2) if mm < 20 else (-10, 0, 5, 10))]
        return [_typed(one, state.system) for one in steps if one >= 0]
    # A sixteenth either side of a small limit, an eighth or a quarter of a larger one.
    step = 15_875 if mm < 13 else 31_750
    return [
        _typed(limit + step * times, state.system) for times in (-2, -1, 0, 1, 2) if limit + step * times >= 0
    ]


def _typed(units: int, system: System) -> str:
    return shown(units, Quantity.LENGTH, system).replace("″", "").replace(" mm", "")


def _hours(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    days = days_of(job, user)
    today = today_at(job)
    return {
        "steps": step_choices(),
        "usual": usual_step(job, user),
        "timer": selectors.timer_of(job, user),
        "today": today,
        "days": [day for day in days if day.hours][:3],
        "has_earlier": any(day.hours for day in days if day.day < today),
        "breaks": (15, 30, 45, 60),
        "quick": [{"text": f"{one // 60}:{one % 60:02}", "minutes": one} for one in QUICK_MINUTES],
    }


def _materials(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    days = days_of(job, user)
    return {
        "received": received_of(job, days),
        "listed": purchase_list(job),
        "deliveries": [entry for day in days for entry in day.deliveries][:30],
        "steps": step_choices(),
        "today": today_at(job),
    }


def _notes(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    is_metric = System(job.site.units) is System.METRIC
    days = days_of(job, user)
    return {
        "kinds": NoteKind.choices,
        "notes": [entry for day in days for entry in day.notes][:20],
        "today": today_at(job),
        "causes": DelayCause.choices,
        "lost": ("0:30", "1:00", "2:00", "4:00"),
        "weather": WEATHER,
        "degrees": "°C" if is_metric else "°F",
        "temperatures": (0, 10, 15, 20, 30) if is_metric else (32, 40, 50, 60, 80),
        "steps": step_choices(),
        "usual": usual_step(job, user),
        # A template would double the sign.
        "share_label": _("Done by now, %"),
        "shares": (25, 50, 75, 100),
    }


def _photos(job: Job, user: User, checks: JobChecks) -> dict[str, Any]:
    offered = [one for one in subjects_of(job) if one.is_offered]
    kinds = {str(one.kind): [other for other in offered if other.kind == one.kind] for one in offered}
    return {"subjects": [(About(kind).label, found) for kind, found in kinds.items()]}


_CONTEXTS: dict[str, Callable[[Job, User, JobChecks], dict[str, Any]]] = {
    "job": _job,
    "rooms": _rooms,
    "cuts": _cuts,
    "batches": _batches,
    "steps": _steps,
    "checks": _checks,
    "hours": _hours,
    "materials": _materials,
    "notes": _notes,
    "photos": _photos,
}


def look_at_rows() -> list[dict[str, Any]]:
    """Return what the office should look at, in sentences; what was looked at lately follows."""
    open_rows = list(selectors.look_ats())
    seen = selectors.look_ats(is_open=False).filter(seen_at__gte=timezone.now() - datetime.timedelta(days=14))
    return [_look_at_row(row) for row in (*open_rows, *seen[:50])]


def _look_at_row(row: LookAt) -> dict[str, Any]:
    return {
        "row": row,
        "why": sentences.why_sentence(row),
        "what": sentences.act_sentence(row.act),
        "messages": row.act.messages,
    }

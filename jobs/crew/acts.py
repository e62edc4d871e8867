"""What each kind of act does: the fields a form would have, checked by that form, given to that service.

A handler raises ValidationError in sentences, or does its work and returns who else had recorded the same
thing since the phone looked (None: nobody).
"""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.takeoff.labour import TRADE_STEPS
from jobs.inspections import holds
from jobs.inspections import services as inspections
from jobs.inspections.checklist import Step
from jobs.inspections.forms import ActionForm, CheckForm, FloodEndForm, FloodStartForm
from jobs.inspections.models import Kind
from jobs.inspections.selectors import CheckState, checks_of
from jobs.work.daily import services as daily
from jobs.work.daily.forms import DeliveryForm, HoursForm, LogForm, NoteForm, ProgressForm
from jobs.work.models import Job

from .models import STATES_OF, Mark, MarkState, PhoneAct, Subject
from .selectors import piece_keys, places_of_batches, step_of_task, task_of

WORDS = 5_000  # characters of one field: more than any form keeps, less than a joke


@dataclass(frozen=True)
class Doing:
    """An act about to be done: who, on which job, when (corrected), and the fields of its form.

    *seen* is what the phone had seen of the thing: the key of its newest row, "" for none.
    """

    act: PhoneAct
    job: Job
    by: User
    at: datetime.datetime
    fields: Mapping[str, str]
    seen: str

    @property
    def key(self) -> uuid.UUID:
        return self.act.key


Handler = Callable[[Doing], User | None]


# --- Ticks and clocks -------------------------------------------------------------------------------------


def cut(doing: Doing) -> User | None:
    """Tick a piece of the cut list, or take the tick back."""
    if doing.fields.get("ref", "") not in piece_keys(doing.job):
        raise ValidationError(_("The cut list has no such piece; open it again."))
    return _mark(doing, Subject.CUT)


def step(doing: Doing) -> User | None:
    """Tick a step of the sequence; tile waits for its membrane check and its cure."""
    task = task_of(doing.job, doing.fields.get("ref", ""))
    if task is None:
        raise ValidationError(_("The sequence has no such step; open it again."))
    before = step_of_task(task)
    if before is not None and doing.fields.get("state") == MarkState.DONE:
        _check_holds(doing, before, task["room"], task["surface"])
    return _mark(doing, Subject.STEP)


def batch(doing: Doing) -> User | None:
    """Say that the agent of a batch is spread, or its sheets embedded; the substrate is accepted first."""
    place = places_of_batches(doing.job).get(doing.fields.get("ref", ""))
    if place is None:
        raise ValidationError(_("There is no such batch; open the page again."))
    if doing.fields.get("state") == MarkState.SPREAD:
        _check_holds(doing, Step.MEMBRANE, *place)
    return _mark(doing, Subject.BATCH)


def timer(doing: Doing) -> User | None:
    """Start a timer of one's own hours, or stop it without hours."""
    daily_step = doing.fields.get("ref", "")
    if daily_step not in TRADE_STEPS:
        raise ValidationError(_("This page was too old; open it again."))
    if doing.fields.get("state") == MarkState.RUNNING:
        _check_tile_hours(doing, daily_step)
    _mark(doing, Subject.TIMER)
    return None


def timed_hours(doing: Doing) -> User | None:
    """Stop the timer and log what it showed: one act, so neither is there without the other."""
    hours(doing)
    Mark.objects.create(
        act=doing.act,
        job=doing.job,
        subject=Subject.TIMER,
        ref=doing.fields.get("step", "")[:120],
        state=MarkState.STOPPED,
        by=doing.by,
        at=doing.at,
    )
    return None


def _mark(doing: Doing, subject: Subject) -> User | None:
    state = doing.fields.get("state", "")
    if state not in STATES_OF[subject]:
        raise ValidationError(_("This page was too old; open it again."))
    ref = doing.fields["ref"]
    newest = Mark.objects.filter(job=doing.job, subject=subject, ref=ref).order_by("at", "pk").last()
    Mark.objects.create(
        act=doing.act, job=doing.job, subject=subject, ref=ref, state=state, by=doing.by, at=doing.at
    )
    if newest is None or newest.by_id == doing.by.pk or str(newest.pk) == doing.seen:
        return None
    return newest.by


# --- The daily log ----------------------------------------------------------------------------------------


def hours(doing: Doing) -> User | None:
    """Log one's own hours; hours of setting tile wait for the membrane as the work does."""
    form = _checked(HoursForm, doing)
    _check_tile_hours(doing, form.cleaned_data["step"])
    daily.hours_log(act=_log_act(doing, form), **form.own_values)
    return None


def repeat(doing: Doing) -> User | None:
    """Log on a day the hours of the last day before it."""
    day = _checked(DayForm, doing, plain=True).cleaned_data["day"]
    daily.hours_repeat(key=doing.key, job=doing.job, day=day, by=doing.by, at=doing.at)
    return None


def delivery(doing: Doing) -> User | None:
    form = _checked(DeliveryForm, doing)
    daily.delivery_log(act=_log_act(doing, form), **form.own_values)
    return None


def note(doing: Doing) -> User | None:
    form = _checked(NoteForm, doing)
    daily.note_log(act=_log_act(doing, form), **form.own_values)
    return None


def progress(doing: Doing) -> User | None:
    form = _checked(ProgressForm, doing)
    _check_tile_hours(doing, form.cleaned_data["step"])
    daily.progress_log(act=_log_act(doing, form), **form.own_values)
    return None


class DayForm(forms.Form):
    day = forms.DateField()


def _log_act(doing: Doing, form: LogForm) -> daily.Act:
    values = {"note": "", **form.act_values}
    return daily.Act(doing.key, doing.job, values["day"], doing.by, values["note"], doing.at)


# --- Inspections ------------------------------------------------------------------------------------------


def check(doing: Doing) -> User | None:
    """Record what was found at a check, when it was looked at."""
    state = _check_state(doing)
    if state.planned.kind == Kind.FLOOD:
        raise ValidationError(_("A flood test is started and ended, not recorded at once."))
    form = _checked(CheckForm, doing, plain=True, planned=state.planned, system=state.system)
    before = state.current
    inspections.check_record(planned=state.planned, by=doing.by, observed_at=doing.at, **form.evidence())
    return _other(doing, before)


def flood_start(doing: Doing) -> User | None:
    state = _check_state(doing)
    form = _checked(
        FloodStartForm, doing, plain=True, planned=state.planned, system=state.system, office=False
    )
    told = form.evidence() | {"started_at": doing.at}
    inspections.flood_test_start(planned=state.planned, by=doing.by, **told)
    return None


def flood_end(doing: Doing) -> User | None:
    state = _check_state(doing)
    if state.running is None:
        raise ValidationError(_("No flood test runs here; somebody may have ended it."))
    form = _checked(
        FloodEndForm, doing, plain=True, planned=state.planned, start=state.running, system=state.system
    )
    told = form.evidence() | {"ended_at": doing.at}
    inspections.flood_test_end(start=state.running, by=doing.by, **told)
    return None


def action(doing: Doing) -> User | None:
    """Say what was done about a failed check."""
    state = _check_state(doing)
    if state.open is None:
        raise ValidationError(_("This non-conformance is closed."))
    form = _checked(ActionForm, doing, plain=True)
    inspections.corrective_action(non_conformance=state.open, by=doing.by, **form.cleaned_data)
    return None


def _check_state(doing: Doing) -> CheckState:
    checks = checks_of(doing.job, now=doing.at)
    wanted = doing.fields.get("check", "")
    for pk, state in checks.by_pk.items():
        if str(pk) == wanted:
            return state
    raise ValidationError(_("The inspection plan has no such check; open the page again."))


def _other(doing: Doing, before: Any) -> User | None:
    """Return who had recorded the check since the phone looked at it."""
    if before is None or before.by_id == doing.by.pk or str(before.pk) == doing.seen:
        return None
    who: User = before.by
    return who


# --- What stands in the way -------------------------------------------------------------------------------


def _check_holds(doing: Doing, before: Step, room: str, surface: str) -> None:
    stopped = holds.obstacles(checks_of(doing.job, now=doing.at), before, room=room, surface=surface)
    if stopped:
        raise ValidationError([one.sentence for one in stopped])


def _check_tile_hours(doing: Doing, daily_step: str) -> None:
    """Refuse hours of tile while there is no room where tile may be set."""
    if daily_step != holds.TILE_STEP:
        return
    stopped = holds.stops_tile(checks_of(doing.job, now=doing.at))
    if stopped:
        raise ValidationError(stopped)


# --- Forms ------------------------------------------------------------------------------------------------


def _checked(form_class: type[Any], doing: Doing, *, plain: bool = False, **given: Any) -> Any:
    """Return the form filled with the act's fields; what it refuses is raised as sentences by field."""
    if not plain:
        given |= {"job": doing.job, "user": doing.by}
    moment = timezone.localtime(doing.at)
    fields = {
        "day": moment.date().isoformat(),
        **doing.fields,
        "key": str(doing.key),
    }
    for name in ("started_at", "ended_at"):
        fields.setdefault(name, moment.isoformat())
    if fields.get("laid_at") in {None, "", "now"}:
        fields["laid_at"] = moment.isoformat()
    form = form_class(fields, **given)
    if not form.is_valid():
        raise ValidationError(_sentences(form))
    return form


def _sentences(form: forms.Form) -> list[str]:
    """Return the form's refusals, each with the field it is about."""
    found = []
    for name, errors in form.errors.items():
        label = form.fields[name].label if name in form.fields else ""
        found += [f"{label}: {error}" if label else str(error) for error in errors]
    return found


HANDLERS: dict[str, Handler] = {
    "cut": cut,
    "step": step,
    "batch": batch,
    "timer": timer,
    "timed-hours": timed_hours,
    "hours": hours,
    "repeat": repeat,
    "delivery": delivery,
    "note": note,
    "progress": progress,
    "check": check,
    "flood-start": flood_start,
    "flood-end": flood_end,
    "action": action,
}

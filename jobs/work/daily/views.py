"""Pages of the daily log: what was logged, and a page for each thing that can be."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from contracting.forms import kept
from contracting.staff.policies import StaffRequest, crew_allowed, office_required

from .. import policies
from ..models import CostEntry, DayNote, DeliveryEntry, HoursEntry, Job, LogEntry
from . import selectors, services
from .forms import CostForm, DeliveryForm, HoursForm, LogForm, NoteForm, ProgressForm
from .policies import entry_for

DAYS_A_PAGE = 14
form_methods = require_http_methods(["GET", "HEAD", "POST"])
Service = Callable[..., LogEntry]


@require_safe
@crew_allowed
def log(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    days = selectors.days_of(job, request.user)
    shown = {
        "job": job,
        "page": Paginator(days, DAYS_A_PAGE).get_page(request.GET.get("page")),
        "received": selectors.received_of(job, days),
        "today": selectors.today_at(job),
        "repeat_key": uuid.uuid4(),
        "has_hours": any(day.hours for day in days),
    }
    return render(request, "work/log.html", shown)


@form_methods
@crew_allowed
def hours_new(request: StaffRequest, pk: int) -> HttpResponse:
    return _new(request, pk, HoursForm, services.hours_log, _("Log hours"))


@form_methods
@crew_allowed
def hours_correct(request: StaffRequest, pk: int, entry: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    found = entry_for(request.user, job, HoursEntry, entry)
    now = {"person": found.person_id, "step": found.step, "minutes": found.minutes}
    struck = {"person": found.person, "step": found.step, "minutes": 0}
    return _correct(request, job, found, HoursForm, services.hours_log, now, struck)


@require_POST
@crew_allowed
def hours_repeat(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    try:
        key = uuid.UUID(request.POST.get("key", ""))
        made = services.hours_repeat(key=key, job=job, day=selectors.today_at(job), by=request.user)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    except ValueError:
        messages.error(request, _("The page was too old; press the button again."))
    else:
        messages.success(request, _("%(count)d entries are logged for today.") % {"count": len(made)})
    return redirect("work:log", job.pk)


@form_methods
@crew_allowed
def delivery_new(request: StaffRequest, pk: int) -> HttpResponse:
    return _new(request, pk, DeliveryForm, services.delivery_log, _("Log a delivery"))


@form_methods
@crew_allowed
def delivery_correct(request: StaffRequest, pk: int, entry: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    found = entry_for(request.user, job, DeliveryEntry, entry)
    now = {
        "material_key": found.material_key,
        "material_name": found.material_name,
        "step": found.step,
        "packs_millionths": abs(found.packs_millionths),
        "is_return": found.packs_millionths < 0,
        "lot_numbers": found.lot_numbers,
        "cost_cents": abs(found.cost_cents) if found.is_cost_confirmed else None,
    }
    struck = {"material_key": found.material_key, "packs_millionths": 0}
    return _correct(request, job, found, DeliveryForm, services.delivery_log, now, struck)


@form_methods
@office_required
def cost_new(request: StaffRequest, pk: int) -> HttpResponse:
    return _new(request, pk, CostForm, services.cost_log, _("Log another cost"))


@form_methods
@office_required
def cost_correct(request: StaffRequest, pk: int, entry: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    found = entry_for(request.user, job, CostEntry, entry)
    now = {"step": found.step, "what": found.what, "amount_cents": found.amount_cents}
    return _correct(request, job, found, CostForm, services.cost_log, now, now | {"amount_cents": 0})


@form_methods
@crew_allowed
def progress_new(request: StaffRequest, pk: int) -> HttpResponse:
    return _new(request, pk, ProgressForm, services.progress_log, _("Say how much is done"))


@form_methods
@crew_allowed
def note_new(request: StaffRequest, pk: int) -> HttpResponse:
    headings = {"delay": _("Delay"), "visitor": _("Visitor"), "weather": _("Weather")}
    heading = headings.get(request.POST.get("kind") or request.GET.get("kind", ""), _("Note of the day"))
    return _new(request, pk, NoteForm, services.note_log, heading)


@form_methods
@crew_allowed
def note_correct(request: StaffRequest, pk: int, entry: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    found = entry_for(request.user, job, DayNote, entry)
    names = ("kind", "text", "cause", "low_tenths", "high_tenths")
    now = {name: getattr(found, name) for name in names} | {"minutes": found.minutes or None}
    return _correct(request, job, found, NoteForm, services.note_log, now, {"kind": found.kind, "text": ""})


def _new(
    request: StaffRequest, pk: int, form_class: type[LogForm], service: Service, heading: str
) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    names = ("step", "day", "material_key", "kind")
    asked = {name: request.GET[name] for name in names if request.GET.get(name)}
    form = form_class(request.POST or None, job=job, user=request.user, initial=asked)
    if form.is_valid() and _kept(form, service, form.own_values):
        messages.success(request, _("Logged."))
        return redirect("work:log", job.pk)
    return render(request, "work/log_form.html", {"job": job, "form": form, "heading": heading})


def _correct(
    request: StaffRequest,
    job: Job,
    found: LogEntry,
    form_class: type[LogForm],
    service: Service,
    now: Mapping[str, Any],
    struck: Mapping[str, Any],
) -> HttpResponse:
    initial = {"day": found.day, "note": found.note, **now}
    form = form_class(request.POST or None, job=job, user=request.user, initial=initial)
    if "strike" in request.POST and _struck(request, form, found, service, struck):
        return redirect("work:log", job.pk)
    is_correction = "strike" not in request.POST and form.is_valid()
    if is_correction and _kept(form, service, form.own_values | {"supersedes": found}):
        messages.success(request, _("Corrected; what it said before stays on record."))
        return redirect("work:log", job.pk)
    history = selectors.earlier(found)
    shown = {"job": job, "form": form, "heading": _("Correct an entry"), "entry": found, "history": history}
    return render(request, "work/log_form.html", shown)


def _struck(
    request: StaffRequest, form: LogForm, found: LogEntry, service: Service, struck: Mapping[str, Any]
) -> bool:
    """Strike *found* out: a correction to nothing, on its own day, whatever else the form says."""
    try:
        key = uuid.UUID(request.POST.get("key", ""))
        act = services.Act(key, form.job, found.day, request.user, found.note)
        service(act=act, supersedes=found, **struck)
    except (ValueError, ValidationError) as error:
        form.is_valid()
        form.add_error(
            None, error.messages if isinstance(error, ValidationError) else _("Open the page again.")
        )
        return False
    messages.success(request, _("Struck out; what it said stays on record."))
    return True


def _kept(form: LogForm, service: Service, values: Mapping[str, Any]) -> bool:
    act = services.Act(job=form.job, by=form.user, **{"note": "", **form.act_values})
    return bool(kept(form, service, act=act, **values))

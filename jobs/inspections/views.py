"""Pages of a job's inspection: what is next, a check and its history, flood tests, non-conformances."""

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.forms import KeyedForm, kept
from contracting.staff.policies import StaffRequest, crew_allowed, office_required

from . import papers, policies, selectors, services, subjects
from .checklist import Step
from .forms import ActionForm, CheckForm, FloodEndForm, FloodStartForm, OverrideForm
from .holds import obstacles
from .models import Kind
from .models import Step as StepChoices
from .selectors import CheckState, JobChecks

P = ParamSpec("P")
Page = Callable[Concatenate[StaffRequest, JobChecks, P], HttpResponse]


def _of_job(view: Page[P]) -> Callable[Concatenate[StaffRequest, int, P], HttpResponse]:
    """Give *view* the job's checks, fetched by right, and let times be said as on the site."""

    @wraps(view)
    def shown(request: StaffRequest, job_pk: int, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        checks = policies.checks_for(request.user, job_pk)
        with timezone.override(checks.zone):
            return view(request, checks, *args, **kwargs)

    return cast("Callable[Concatenate[StaffRequest, int, P], HttpResponse]", shown)


@crew_allowed
@require_GET
@_of_job
def plan(request: StaffRequest, checks: JobChecks) -> HttpResponse:
    step = checks.next_step
    found = obstacles(checks, step) if checks.plan and step else []
    return render(request, "inspections/plan.html", {"checks": checks, "step": step, "obstacles": found})


@office_required
@require_POST
@_of_job
def plan_make(request: StaffRequest, checks: JobChecks) -> HttpResponse:
    services.plan_from_job(job=checks.job, by=request.user)
    messages.success(request, _("The inspection plan is made."))
    return redirect("inspections:plan", checks.job.pk)


@crew_allowed
@require_http_methods(["GET", "POST"])
@_of_job
def check(request: StaffRequest, checks: JobChecks, pk: int) -> HttpResponse:
    state = policies.check_of(checks, pk)
    if state.planned.kind == Kind.FLOOD:
        return _check_page(request, checks, state, _flood_form(request, state))
    form = CheckForm(request.POST or None, planned=state.planned, system=state.system)
    if request.method == "POST" and form.is_valid():
        record = kept(form, services.check_record, planned=state.planned, by=request.user, **form.evidence())
        if record:
            return _recorded(request, checks, record)
    return _check_page(request, checks, state, form)


@crew_allowed
@require_POST
@_of_job
def flood_start(request: StaffRequest, checks: JobChecks, pk: int) -> HttpResponse:
    state = policies.check_of(checks, pk)
    form = FloodStartForm(
        request.POST, planned=state.planned, system=state.system, office=request.user.sees_money
    )
    if form.is_valid():
        told = form.evidence()
        start = kept(form, services.flood_test_start, planned=state.planned, by=request.user, **told)
        if start:
            until = checks.clock(selectors.flood_ends_at(start))
            messages.success(request, _("The flood test runs; read the level at %(time)s.") % {"time": until})
            return redirect(state.planned)
    return _check_page(request, checks, state, form)


@crew_allowed
@require_POST
@_of_job
def flood_end(request: StaffRequest, checks: JobChecks, pk: int, start_pk: int) -> HttpResponse:
    state = policies.check_of(checks, pk)
    start = policies.flood_start_of(state, start_pk)
    form = FloodEndForm(request.POST, planned=state.planned, start=start, system=state.system)
    if form.is_valid():
        record = kept(form, services.flood_test_end, start=start, by=request.user, **form.evidence())
        if record:
            return _recorded(request, checks, record)
    return _check_page(request, checks, state, form)


@crew_allowed
@require_http_methods(["GET", "POST"])
@_of_job
def correct(request: StaffRequest, checks: JobChecks, pk: int, record_pk: int) -> HttpResponse:
    state = policies.check_of(checks, pk)
    old = policies.record_of(state, record_pk)
    form = CheckForm(request.POST or None, planned=state.planned, system=state.system, correction=True)
    if request.method == "POST" and form.is_valid():
        told = form.evidence()
        record = kept(
            form, services.check_record, planned=state.planned, by=request.user, supersedes=old, **told
        )
        if record:
            return _recorded(request, checks, record)
    old_text = selectors.finding_of(old, state.planned, state.system)
    context = {"checks": checks, "state": state, "old": old, "old_text": old_text, "form": form}
    return render(request, "inspections/correct.html", context)


@crew_allowed
@require_GET
@_of_job
def non_conformances(request: StaffRequest, checks: JobChecks) -> HttpResponse:
    return render(request, "inspections/non_conformances.html", {"checks": checks})


@crew_allowed
@require_http_methods(["GET", "POST"])
@_of_job
def non_conformance(request: StaffRequest, checks: JobChecks, pk: int) -> HttpResponse:
    state, found = policies.non_conformance_of(checks, pk)
    form = ActionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        act = form.cleaned_data
        if kept(form, services.corrective_action, non_conformance=found, by=request.user, **act):
            messages.success(request, _("Recorded. Now look at it again."))
            return redirect(state.planned)
    context = {"checks": checks, "state": state, "found": found, "form": form}
    return render(request, "inspections/non_conformance.html", context)


@office_required
@require_http_methods(["GET", "POST"])
@_of_job
def override(request: StaffRequest, checks: JobChecks, step: str) -> HttpResponse:
    wanted = policies.step_of(step)
    form = OverrideForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        act = form.cleaned_data
        if kept(form, services.hold_override, job=checks.job, step=wanted, by=request.user, **act):
            messages.warning(request, _("Overridden. It stays in the record."))
            return redirect("inspections:plan", checks.job.pk)
    context = {
        "checks": checks,
        "step_label": StepChoices(wanted.value).label,
        "obstacles": obstacles(checks, wanted),
        "form": form,
    }
    return render(request, "inspections/override.html", context)


@office_required
@require_POST
@_of_job
def paper(request: StaffRequest, checks: JobChecks) -> HttpResponse:
    return redirect(papers.record_request(checks=checks, by=request.user))


def _recorded(request: StaffRequest, checks: JobChecks, record: Any) -> HttpResponse:
    """Say what came of it, and go to what is next: the failed check, or the plan."""
    if record.passed:
        messages.success(request, _("“%(check)s” passed.") % {"check": _(record.planned.label)})
        return redirect("inspections:plan", checks.job.pk)
    messages.error(
        request, _("“%(check)s” failed; a non-conformance is open.") % {"check": _(record.planned.label)}
    )
    return redirect("inspections:check", checks.job.pk, record.planned_id)


def _flood_form(request: StaffRequest, state: CheckState) -> KeyedForm:
    if state.running:
        return FloodEndForm(planned=state.planned, start=state.running, system=state.system)
    office = request.user.sees_money
    return FloodStartForm(planned=state.planned, system=state.system, office=office)


def _check_page(request: StaffRequest, checks: JobChecks, state: CheckState, form: KeyedForm) -> HttpResponse:
    in_the_way = []
    if state.planned.kind == Kind.FLOOD and not state.running and not state.passed:
        in_the_way = obstacles(checks, Step.FLOOD, room=state.planned.room_key)
    context = {"checks": checks, "state": state, "form": form, "obstacles": in_the_way}
    context["photos"] = subjects.photos_by_check(checks.job, [state]).get(state.planned.pk, [])
    context |= {"photo_about": subjects.about_of(state), "photo_key": uuid.uuid4()}
    return render(request, "inspections/check.html", context)

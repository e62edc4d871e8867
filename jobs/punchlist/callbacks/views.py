"""Pages of callbacks: all of them by cause, a job's, one and what happened, and logging what it takes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from contracting.forms import KeyedForm, kept
from contracting.staff.policies import StaffRequest, crew_allowed, office_required
from jobs.work.daily.forms import LogForm
from jobs.work.daily.selectors import today_at
from jobs.work.daily.services import Act

from .. import policies
from ..models import Callback, CallbackState, Cause
from ..plans import plans_of
from . import forms, page, selectors, services

PAGE_SIZE = 50
form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@crew_allowed
def callbacks(request: StaffRequest) -> HttpResponse:
    state, cause = request.GET.get("state", "open"), request.GET.get("cause", "")
    found = selectors.callbacks_matching(request.user, state=state, cause=cause)
    shown = page.list_page(request.user, Paginator(found, PAGE_SIZE).get_page(request.GET.get("page")))
    asked = {"state": state, "cause": cause, "states": CallbackState.choices, "causes": Cause.choices}
    return render(request, "punchlist/callbacks.html", shown | asked)


@require_safe
@crew_allowed
def of_job(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk)
    return render(request, "punchlist/callbacks_of_job.html", page.job_page(job, request.user))


@form_methods
@crew_allowed
def report(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk, with_plans=True)
    rooms = [plan.name for plan in plans_of(job)]
    form = forms.ReportForm(request.POST or None, rooms=rooms, today=today_at(job), name=job.customer_name)
    if form.is_valid():
        made = kept(form, services.callback_report, job=job, by=request.user, **form.act())
        if made:
            messages.success(request, _("The callback is noted. Now plan the visit."))
            return redirect(made)
    return render(request, "punchlist/callback_new.html", {"job": job, "form": form})


@require_safe
@crew_allowed
def callback(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    return _page(request, _callback(request, job_pk, number), {})


@require_POST
@office_required
def plan(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _callback(request, job_pk, number)
    form = forms.PlanForm(request.POST, prefix="plan", callback=found)
    return _act(request, found, form, services.callback_plan, _("The visit is planned."))


@require_POST
@crew_allowed
def found(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    own = _callback(request, job_pk, number)
    form = forms.FoundForm(request.POST, prefix="found", callback=own, today=today_at(own.job))
    return _act(request, own, form, services.callback_found, _("Noted what was found."))


@require_POST
@office_required
def decide(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    own = _callback(request, job_pk, number)
    form = forms.DecideForm(request.POST, prefix="decide", suggested=page.suggested(own))
    return _act(request, own, form, services.callback_decide, _("Decided."))


@require_POST
@crew_allowed
def resolve(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    own = _callback(request, job_pk, number)
    form = forms.ResolveForm(request.POST, prefix="resolve", today=today_at(own.job))
    return _act(request, own, form, services.callback_resolve, _("Resolved."))


@require_POST
@crew_allowed
def reopen(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    own = _callback(request, job_pk, number)
    form = forms.ReopenForm(request.POST, prefix="reopen")
    return _act(request, own, form, services.callback_reopen, _("The callback is open again."))


@form_methods
@crew_allowed
def hours(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    heading = _("Hours of the callback")
    return _log(request, job_pk, number, forms.CallbackHoursForm, services.callback_hours_log, heading)


@form_methods
@crew_allowed
def delivery(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    heading = _("Material of the callback")
    return _log(request, job_pk, number, forms.CallbackDeliveryForm, services.callback_delivery_log, heading)


@form_methods
@office_required
def cost(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    heading = _("Another cost of the callback")
    return _log(request, job_pk, number, forms.CallbackCostForm, services.callback_cost_log, heading)


def _callback(request: StaffRequest, job_pk: int, number: int) -> Callback:
    job = policies.job_for(request.user, job_pk)
    return selectors.callback_for(request.user, job, number)


def _act(
    request: StaffRequest, own: Callback, form: KeyedForm, service: Callable[..., Any], said: str
) -> HttpResponse:
    if form.is_valid() and kept(form, service, callback=own, by=request.user, **form.act()):
        messages.success(request, said)
        return redirect(own)
    # What another did meanwhile is shown as it is now.
    return _page(request, selectors.callback_for(request.user, own.job, own.number), {str(form.prefix): form})


def _page(request: StaffRequest, own: Callback, given: dict[str, KeyedForm]) -> HttpResponse:
    return render(request, "punchlist/callback.html", page.callback_page(own, request.user, given))


def _log(
    request: StaffRequest,
    job_pk: int,
    number: int,
    form_class: type[LogForm],
    service: Callable[..., Any],
    heading: str,
) -> HttpResponse:
    own = _callback(request, job_pk, number)
    form = form_class(request.POST or None, job=own.job, user=request.user)
    if form.is_valid() and _logged(own, form, service):
        messages.success(request, _("Logged."))
        return redirect(own)
    context = {"job": own.job, "callback": own, "form": form, "heading": heading}
    return render(request, "punchlist/callback_log.html", context)


def _logged(own: Callback, form: LogForm, service: Callable[..., Any]) -> bool:
    act = Act(job=own.job, by=form.user, **{"note": "", **form.act_values})
    return bool(kept(form, service, callback=own, act=act, **form.own_values))

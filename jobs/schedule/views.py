"""Pages of the calendar: the weeks, one job's visits, one visit, and days off."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, crew_allowed, office_required

from . import policies, selectors, services
from .drafts import Draft
from .forms import AddForm, DayOffForm, MakeForm, MoveForm, SeenForm, TryForm
from .looks import look_at
from .models import Plan, Visit
from .pages import JobPage, Span, job_page
from .words import name_of, when_of, zone_of

UNDO_FOR = datetime.timedelta(hours=1)


@crew_allowed
@require_GET
def calendar(request: StaffRequest) -> HttpResponse:
    today = timezone.localdate()
    span = Span.of(request.GET.get("span", ""), _day(request.GET.get("from", "")), today)
    by = "jobs" if request.GET.get("by") == "jobs" else "people"
    board = selectors.board(request.user, first=span.first, count=span.count, by=by, today=today)
    context: dict[str, Any] = {"board": board, "span": span, "by": by, "here": request.get_full_path()}
    context["back"] = quote(context["here"])
    if request.user.sees_money:
        context["to_plan"] = selectors.jobs_to_plan()
        context["change"] = selectors.newest_change(request.user, since=timezone.now() - UNDO_FOR)
    return render(request, "schedule/calendar.html", context)


@crew_allowed
@require_GET
def job(request: StaffRequest, pk: int) -> HttpResponse:
    return _job(request, job_page(request.user, policies.job_for(request.user, pk)))


@office_required
@require_POST
def make(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    form = MakeForm(request.POST)
    if form.is_valid():
        try:
            plan = services.plan_make(job=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Job %(number)s is planned.") % {"number": found.number})
            return redirect(plan)
    return _job(request, job_page(request.user, found, make_form=form))


@office_required
@require_POST
def add(request: StaffRequest, pk: int) -> HttpResponse:
    plan = policies.plan_for(request.user, pk)
    form = AddForm(request.POST)
    if form.is_valid():
        try:
            services.visit_add(plan=plan, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect(plan)
    return _job(request, job_page(request.user, plan.job, add_form=form))


@office_required
@require_POST
def undo(request: StaffRequest, pk: int) -> HttpResponse:
    plan = policies.plan_for(request.user, pk)
    _act(
        request,
        lambda seen: services.plan_undo(plan=plan, seen=seen, by=request.user),
        _("It is as it was before."),
    )
    return _back(request, plan)


@office_required
@require_http_methods(["GET", "POST"])
def visit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.visit_for(request.user, pk)
    posted = _filled(request.POST, found) if request.method == "POST" else None
    form = MoveForm(posted, initial=_standing(found))
    context: dict[str, Any] = {"visit": found, "form": form, "back": _next(request)}
    if posted is not None and form.is_valid():
        if posted.get("act") == "look":
            context["look"] = look_at(visit=found, by=request.user, **form.cleaned_data)
        else:
            try:
                draft = services.visit_move(visit=found, by=request.user, **form.cleaned_data)
            except ValidationError as error:
                form.add_error(None, error)
                # The next try starts from the plan as it stands now; what was typed stays.
                posted["seen"] = str(_revision(found))
            else:
                done = _("Stored: %(visit)s.") % {"visit": _placed(draft, found)}
                messages.success(request, done + _along(draft.said(found)))
                return _back(request, found.plan)
    return render(request, "schedule/visit.html", context)


@office_required
@require_POST
def look(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.visit_for(request.user, pk)
    form = TryForm(request.POST)
    context: dict[str, Any] = {"visit": found, "back": _next(request), "form": form}
    if form.is_valid():
        context["look"] = look_at(visit=found, by=request.user, **form.cleaned_data)
        context["seen"] = form.cleaned_data["seen"]
    return render(request, "schedule/_look.html", context)


@office_required
@require_POST
def drop(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.visit_for(request.user, pk)
    done = _("%(visit)s is off the calendar.") % {"visit": name_of(found)}
    _act(request, lambda seen: services.visit_drop(visit=found, seen=seen, by=request.user), done)
    return _back(request, found.plan)


@office_required
@require_http_methods(["GET", "POST"])
def days_off(request: StaffRequest) -> HttpResponse:
    form = DayOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        wanted = form.cleaned_data
        try:
            services.day_off_set(**wanted | {"last_on": wanted["last_on"] or wanted["first_on"]})
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Written down."))
            return redirect("schedule:days-off")
    shown = {"form": form, "rows": selectors.days_off_from(timezone.localdate())}
    return render(request, "schedule/days_off.html", shown)


@office_required
@require_POST
def day_off_remove(request: StaffRequest, pk: int) -> HttpResponse:
    services.day_off_remove(day_off=policies.day_off_for(request.user, pk))
    return redirect("schedule:days-off")


def _job(request: StaffRequest, page: JobPage) -> HttpResponse:
    return render(request, "schedule/job.html", {"page": page, "job": page.job})


def _act(request: StaffRequest, act: Callable[[int], object], done: str) -> None:
    """Do *act* with the revision that was seen; say what came of it."""
    form = SeenForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Open the page again and try once more."))
        return
    try:
        act(form.cleaned_data["seen"])
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, sentence)
    else:
        messages.success(request, done)


def _placed(draft: Draft, found: Visit) -> str:
    """Return a visit and where it lies now, for a sentence."""
    moved = next(one for one in draft.visits if one.pk == found.pk)
    return f"{name_of(found)}, {when_of(moved)}"


def _along(moved: list[str]) -> str:
    return " " + _("Moved along: %(moved)s.") % {"moved": "; ".join(moved)} if moved else ""


def _day(text: str) -> datetime.date | None:
    try:
        return parse_date(text)
    except ValueError:
        return None


def _standing(found: Visit) -> dict[str, Any]:
    """Return what the form of a visit holds at first."""
    start = found.starts_at.astimezone(zone_of(found))
    people = [row.person_id for row in found.people.all()]
    return {"day": found.day, "clock": start.time(), "people": people, "seen": found.plan.revision}


def _filled(posted: QueryDict, found: Visit) -> QueryDict:
    """Return what was posted; a block that was dragged says only the day, and the rest stays as it is."""
    filled, standing = posted.copy(), _standing(found)
    if "day" in posted and "clock" not in posted:
        filled["clock"] = f"{standing['clock']:%H:%M}"
        filled.setlist("people", [str(key) for key in standing["people"]])
    return filled


def _revision(found: Visit) -> int:
    return Plan.objects.values_list("revision", flat=True).get(pk=found.plan_id)


def _next(request: HttpRequest) -> str:
    """Return where the page was opened from, when that is one of our own."""
    address = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return address if is_ours and address.startswith("/") else ""


def _back(request: HttpRequest, plan: Plan) -> HttpResponse:
    return HttpResponseRedirect(_next(request) or plan.get_absolute_url())

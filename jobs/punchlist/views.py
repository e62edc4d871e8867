"""Pages of a punch list: the list on its plans, an item and what happened to it, the customer's paper."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from contracting.forms import KeyedForm, kept
from contracting.staff.policies import StaffRequest, crew_allowed, office_required
from jobs.work.daily.selectors import today_at
from jobs.work.models import Job

from . import forms, page, papers, policies, selectors, services
from .models import PunchItem
from .plans import plans_of

PAGE_SIZE = 50
form_methods = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@crew_allowed
def every_list(request: StaffRequest) -> HttpResponse:
    found = selectors.items_to_mend(request.user)
    shown = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "punchlist/every_list.html", {"page": shown, "today": timezone.localdate()})


@require_safe
@crew_allowed
def punch_list(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk, with_plans=True)
    return render(request, "punchlist/list.html", page.list_page(job, today_at(job)))


@form_methods
@crew_allowed
def item_new(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk, with_plans=True)
    plans = plans_of(job)
    asked = {"room": request.GET.get("room", ""), "owner": None if request.user.sees_money else request.user}
    form = forms.ItemForm(request.POST or None, job=job, user=request.user, plans=plans, initial=asked)
    if form.is_valid():
        made = kept(form, services.item_add, job=job, by=request.user, **form.act())
        if made:
            messages.success(request, _("Number %(number)d is on the list.") % {"number": made.number})
            return redirect("punchlist:item-new" if "another" in request.POST else "punchlist:list", job.pk)
    context = {"job": job, "form": form, "plans": [plan for plan in plans if plan.box]}
    return render(request, "punchlist/item_new.html", context)


@require_safe
@crew_allowed
def item(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    return _item_page(request, _item(request, job_pk, number), {})


@require_POST
@crew_allowed
def mend(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _item(request, job_pk, number)
    form = forms.MendForm(request.POST, prefix="mend")
    return _act(request, found, form, services.item_mend, _("Mended. The office looks at it."))


@require_POST
@office_required
def accept(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _item(request, job_pk, number)
    form = forms.AcceptForm(request.POST, prefix="accept")
    return _act(request, found, form, services.item_accept, _("Accepted."))


@require_POST
@office_required
def reject(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _item(request, job_pk, number)
    form = forms.RejectForm(request.POST, prefix="reject")
    return _act(request, found, form, services.item_reject, _("Sent back to be mended again."))


@require_POST
@office_required
def withdraw(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _item(request, job_pk, number)
    form = forms.WithdrawForm(request.POST, prefix="withdraw")
    return _act(request, found, form, services.item_withdraw, _("Taken off the list; it stays on record."))


@require_POST
@office_required
def assign(request: StaffRequest, job_pk: int, number: int) -> HttpResponse:
    found = _item(request, job_pk, number)
    form = forms.AssignForm(request.POST, prefix="assign", item=found, user=request.user)
    return _act(request, found, form, services.item_assign, _("Noted who mends it and by when."))


@require_POST
@office_required
def paper(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk, with_plans=True)
    return redirect(papers.sign_off_request(job=job, by=request.user))


@form_methods
@office_required
def signed(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk)
    form = forms.SignedForm(request.POST or None)
    if form.is_valid():
        done = kept(form, services.list_accept, job=job, by=request.user, **form.act())
        if done:
            messages.success(request, _("%(count)d items are accepted.") % {"count": len(done)})
            return redirect("punchlist:list", job.pk)
    waiting = selectors.listed(selectors.items_of(job)).to_look_at
    return render(request, "punchlist/signed.html", {"job": job, "form": form, "items": waiting})


@form_methods
@office_required
def override(request: StaffRequest, job_pk: int) -> HttpResponse:
    job = policies.job_for(request.user, job_pk)
    form = forms.OverrideForm(request.POST or None)
    if form.is_valid() and kept(form, services.list_override, job=job, by=request.user, **form.act()):
        messages.success(request, _("Recorded. The items stay on the list, and so does the reason."))
        return redirect("punchlist:list", job.pk)
    items = selectors.standing_in_the_way(job)
    return render(request, "punchlist/override.html", {"job": job, "form": form, "items": items})


def _item(request: StaffRequest, job_pk: int, number: int) -> PunchItem:
    job: Job = policies.job_for(request.user, job_pk, with_plans=True)
    return policies.item_for(request.user, job, number)


def _act(
    request: StaffRequest, found: PunchItem, form: KeyedForm, service: Callable[..., Any], said: str
) -> HttpResponse:
    if form.is_valid() and kept(form, service, item=found, by=request.user, **form.act()):
        messages.success(request, said)
        return redirect("punchlist:list", found.job_id)
    # What another did meanwhile is shown as it is now.
    found = policies.item_for(request.user, found.job, found.number)
    return _item_page(request, found, {str(form.prefix): form})


def _item_page(request: StaffRequest, found: PunchItem, given: dict[str, KeyedForm]) -> HttpResponse:
    context = page.item_page(found, request.user, given, today_at(found.job))
    return render(request, "punchlist/item.html", context)

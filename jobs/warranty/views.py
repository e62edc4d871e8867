"""The office's pages of warranty records: a job's record, the list, the owner's terms."""

import re
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, office_required, owner_required
from jobs.work.models import Job

from . import photographs, policies, selectors, services
from .forms import ReplaceForm, TermsForm
from .terms import terms_on

PAGE_SIZE = 50


@office_required
@require_GET
def records(request: StaffRequest) -> HttpResponse:
    text = request.GET.get("q", "").strip()
    page = Paginator(selectors.records_matching(text), PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "warranty/records.html", {"page": page, "text": text})


@office_required
@require_GET
def job(request: StaffRequest, job_pk: int) -> HttpResponse:
    return _job_page(request, job_pk, ReplaceForm())


@office_required
@require_POST
def issue(request: StaffRequest, job_pk: int) -> HttpResponse:
    checks = policies.checks_for_office(request.user, job_pk)
    try:
        record = services.record_issue(
            job=checks.job, by=request.user, at=timezone.now(), address=_public_address(request)
        )
    except ValidationError as error:
        for sentence in error.messages:
            messages.error(request, sentence)
    else:
        messages.success(request, _("Warranty record %(number)s is issued.") % {"number": record.number})
    return redirect("warranty:job", job_pk)


@office_required
@require_POST
def replace(request: StaffRequest, pk: int) -> HttpResponse:
    old = policies.record_for(request.user, pk)
    form = ReplaceForm(request.POST)
    if form.is_valid():
        try:
            record = services.record_replace(
                record=old,
                reason=form.cleaned_data["reason"],
                by=request.user,
                at=timezone.now(),
                address=_public_address(request),
            )
        except ValidationError as error:
            form.add_error(None, error)
        else:
            said = {"number": record.number, "old": old.number}
            messages.success(request, _("Warranty record %(number)s replaces %(old)s.") % said)
            return redirect("warranty:job", old.job_id)
    return _job_page(request, old.job_id, form)


@office_required
@require_http_methods(["GET", "POST"])
def photos(request: StaffRequest, job_pk: int) -> HttpResponse:
    """Choose which photos the job's next record carries."""
    job = policies.job_for_office(request.user, job_pk)
    errors: list[str] = []
    if request.method == "POST":
        numbers = [int(one) for one in request.POST.getlist("photo") if re.fullmatch("[0-9]{1,18}", one)]
        try:
            count = services.photos_choose(job=job, photos=numbers, by=request.user)
        except ValidationError as error:
            errors = error.messages
        else:
            messages.success(request, _("The record will carry %(count)d photos.") % {"count": count})
            return redirect("warranty:job", job.pk)
    with timezone.override(job.site.time_zone):
        candidates = photographs.candidates_of(job)
        if errors:
            candidates = photographs.as_ticked(candidates, numbers)
        return render(request, "warranty/photos.html", _photos_page(job, candidates, errors))


@owner_required
@require_http_methods(["GET", "POST"])
def terms(request: StaffRequest) -> HttpResponse:
    today = timezone.localdate()
    now = terms_on(today)
    told = {"starts_on": today, "years": now.years, "terms": now.terms, "care": now.care}
    form = TermsForm(request.POST or None, initial=told)
    if request.method == "POST" and form.is_valid():
        try:
            services.terms_save(by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("The terms are stored. Records issued before keep theirs."))
            return redirect("warranty:terms")
    context = {"form": form, "now": now, "rows": selectors.terms_rows(), "today": today}
    return render(request, "warranty/terms.html", context)


def _job_page(request: StaffRequest, job_pk: int, form: ReplaceForm) -> HttpResponse:
    checks = policies.checks_for_office(request.user, job_pk)
    with timezone.override(checks.zone):
        context = {
            "checks": checks,
            "job": checks.job,
            "records": selectors.records_of(checks.job),
            "hindrances": selectors.hindrances(checks),
            "photo_count": photographs.count_of(checks.job),
            "form": form,
        }
        return render(request, "warranty/job.html", context)


def _photos_page(job: Job, candidates: list[photographs.Candidate], errors: list[str]) -> dict[str, Any]:
    return {
        "job": job,
        "candidates": candidates,
        "in_count": sum(one.is_in for one in candidates),
        "most": photographs.MOST,
        "errors": errors,
    }


def _public_address(request: StaffRequest) -> str:
    return request.build_absolute_uri(reverse("warranty:verify"))

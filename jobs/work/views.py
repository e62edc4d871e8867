"""Pages of jobs: the list, one job, its plan and stages, its papers."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.staff.policies import StaffRequest, crew_allowed, office_required
from estimates.quotes.changes.selectors import contract_sum, orders_of
from estimates.quotes.policies import quote_for
from estimates.takeoff.errors import DomainError

from . import papers, pictures, policies, selectors, services
from .forms import MoveForm, PlanForm, SignatureForm
from .history import history_of
from .models import Stage

PAGE_SIZE = 50


@crew_allowed
@require_GET
def jobs(request: StaffRequest) -> HttpResponse:
    text, stage = request.GET.get("q", "").strip(), request.GET.get("stage", "open")
    found = selectors.jobs_matching(request.user, text=text, stage=stage)
    page = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    shown = {"page": page, "text": text, "stage": stage, "stages": Stage.choices}
    return render(request, "work/jobs.html", shown)


@crew_allowed
@require_GET
def job(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    work = papers.work_of(found)
    context = {"job": found, "work": work, "papers": papers.papers_of(found)}
    context |= papers.work_context(work) | {"photo_count": pictures.count(found)}
    if request.user.sees_money:
        context["move_form"] = MoveForm(job=found)
        context["history"] = history_of(found)
        context["contract"] = contract_sum(found.quote, orders_of(found.quote))
    return render(request, "work/job.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def plan(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    people = [member.person_id for member in found.crew_members.all()]
    now = {"starts_on": found.starts_on, "crew": people, "crew_notes": found.crew_notes}
    form = PlanForm(request.POST or None, initial=now)
    if request.method == "POST" and form.is_valid():
        try:
            services.job_plan(job=found, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, _("Job %(number)s is planned.") % {"number": found.number})
            return redirect(found)
    return render(request, "work/plan.html", {"job": found, "form": form})


@office_required
@require_POST
def move(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    form = MoveForm(request.POST, job=found)
    if form.is_valid():
        stage, note = Stage(form.cleaned_data["stage"]), form.cleaned_data["note"]
        try:
            services.job_move(job=found, stage=stage, by=request.user, note=note)
        except ValidationError as error:
            for sentence in error.messages:
                messages.error(request, sentence)
    else:
        messages.error(request, _("This job cannot go there; somebody may have moved it."))
    return redirect(found)


@crew_allowed
@require_POST
def crew_sheet(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    return redirect(papers.crew_sheet_request(job=found, by=request.user))


@crew_allowed
@require_POST
def purchase_list(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.job_for(request.user, pk)
    return redirect(papers.purchase_list_request(job=found, by=request.user))


@office_required
@require_http_methods(["GET", "POST"])
def sign(request: StaffRequest, pk: int) -> HttpResponse:
    quote = quote_for(request.user, pk)
    form = SignatureForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = services.quote_sign_on_paper(quote=quote, by=request.user, **form.cleaned_data)
        except (DomainError, ValidationError) as error:
            form.add_error(None, str(error) if isinstance(error, DomainError) else error)
        else:
            messages.success(request, _("Quote %(quote)s is accepted.") % {"quote": quote})
            return redirect(made)
    return render(request, "work/sign.html", {"quote": quote, "form": form})

"""The pages of how the company works; for the office and the owner."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods

from contracting.staff.policies import StaffRequest, office_required
from estimates.takeoff.errors import DomainError

from . import history, services
from .calendar_forms import opened_calendar
from .forms import FactorForm, KeptForm, PracticeForm, RateForm

PAGE_SIZE = 50
AnyForm = TypeVar("AnyForm", bound=KeptForm[Any])


@office_required
@require_http_methods(["GET", "POST"])
def settings(request: StaffRequest) -> HttpResponse:
    return _page(request, PracticeForm, services.values_set)


@office_required
@require_http_methods(["GET", "POST"])
def rates(request: StaffRequest) -> HttpResponse:
    return _page(request, RateForm, services.rates_set)


@office_required
@require_http_methods(["GET", "POST"])
def factors(request: StaffRequest) -> HttpResponse:
    return _page(request, FactorForm, services.factors_set)


def _page(request: StaffRequest, form_class: type[AnyForm], save: Callable[..., int]) -> HttpResponse:
    page = str(request.resolver_match.url_name) if request.resolver_match else ""
    form: KeptForm[Any] = form_class(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            count = save(rows=form.rows(), seen=form.cleaned_data["seen"], by=request.user)
        except services.ChangedMeanwhile as error:
            form = form.over_theirs(error)
        except ValidationError as error:
            form.refuse(error)
        else:
            messages.success(request, _saved(count))
            return redirect(f"practice:{page}")
    return render(request, f"practice/{page}.html", {"form": form, "page": page})


def _saved(count: int) -> str:
    if not count:
        return _("Nothing was changed.")
    return ngettext(
        "%(count)d figure is saved. Estimates use it from now on; issued quotes stay as they are.",
        "%(count)d figures are saved. Estimates use them from now on; issued quotes stay as they are.",
        count,
    ) % {"count": count}


@office_required
@require_http_methods(["GET", "POST"])
def calendar(request: StaffRequest) -> HttpResponse:
    form = opened_calendar(request.POST if request.method == "POST" else None)
    if form.is_valid():
        hours = None if "reset" in request.POST else form.hours()
        try:
            services.calendar_set(
                hours=hours, holidays=form.days_off(), seen=form.cleaned_data["seen"], by=request.user
            )
        except DomainError as error:
            form.refuse(error)
        except ValidationError as error:
            form = form.over_theirs(error)
        else:
            messages.success(request, _("The calendar is saved. Estimates use it from now on."))
            return redirect("practice:calendar")
    return render(request, "practice/calendar.html", {"form": form, "page": "calendar"})


@office_required
@require_GET
def changes(request: StaffRequest) -> HttpResponse:
    page = Paginator(history.changes(), PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "practice/changes.html", {"page": page})

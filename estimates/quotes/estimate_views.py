"""Pages of the living estimate; for the office and the owner only."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.customers.policies import site_for
from contracting.staff.policies import StaffRequest, office_required
from estimates.pricelists.selectors import materials_to_choose
from estimates.rooms.policies import room_for

from . import estimate_services as services
from . import forms, policies, selectors
from .by_hand import Target, target_of
from .calculation import Calculation, calculate
from .estimate_services import EditConflictError
from .forms import RevisionForm
from .material_forms import MaterialsForm
from .models import Estimate, PaymentStage
from .pricing import Detail
from .quote_views import issue_now

PAGE_SIZE = 50


@office_required
@require_GET
def estimates(request: StaffRequest) -> HttpResponse:
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "status")}
    found = selectors.estimates_matching(text=asked["q"], status=asked["status"])
    page = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "asked": asked, "statuses": selectors.estimate_standings()}
    return render(request, "quotes/estimates.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_where(request: StaffRequest) -> HttpResponse:
    """Ask at which site: one there is, or a new customer's."""
    form = forms.CustomerAndSiteForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        site = services.customer_with_site_create(**form.cleaned_data)
        return redirect("quotes:estimate-new", site.pk)
    text = request.GET.get("q", "").strip()
    context = {"form": form, "sites": selectors.sites_to_quote(text), "text": text}
    return render(request, "quotes/estimate_where.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_new(request: StaffRequest, site: int) -> HttpResponse:
    where = site_for(request.user, site)
    form = forms.NewEstimateForm(request.POST or None, site=where)
    if request.method == "POST" and form.is_valid():
        made = services.estimate_create(
            site=where,
            title=form.cleaned_data["title"],
            rooms=form.cleaned_data["rooms"],
            by=request.user,
            on=timezone.localdate(),
        )
        return redirect(made)
    return render(request, "quotes/estimate_new.html", {"form": form, "site": where})


@office_required
@require_http_methods(["GET", "POST"])
def estimate(request: StaffRequest, pk: int) -> HttpResponse:
    """The page that prices: what was taken off, what it costs, what the customer sees."""
    found = policies.estimate_for(request.user, pk)
    form: RevisionForm = forms.PriceForm(request.POST or None, estimate=found)
    if request.method == "POST":
        saved, form, conflict = _save(request, found, form)
        if saved and request.POST.get("then") == "issue":
            return issue_now(request, found)
        if saved:
            messages.success(request, _("Saved."))
            return redirect(found)
        # The page shows the estimate as it is stored; what was typed stands in the form.
        found = policies.estimate_for(request.user, pk)
        return _estimate_page(request, found, form, conflict)
    return _estimate_page(request, found, form, None)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_texts(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.estimate_for(request.user, pk)
    form: RevisionForm = forms.TextsForm(request.POST or None, estimate=found)
    conflict = None
    if request.method == "POST":
        saved, form, conflict = _save(request, found, form)
        if saved:
            return redirect(found)
    context = {"estimate": found, "form": form, "conflict": conflict}
    return render(request, "quotes/estimate_texts.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_rooms(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.estimate_for(request.user, pk)
    form = forms.EstimateRoomsForm(request.POST or None, estimate=found)
    conflict = None
    if request.method == "POST" and form.is_valid():
        try:
            services.estimate_rooms_set(
                estimate=found,
                revision=form.cleaned_data["revision"],
                rooms=form.chosen(),
                by=request.user,
                at=timezone.now(),
            )
        except EditConflictError as error:
            conflict = error
            form.data = _over_newest(request, found)
        else:
            return redirect(found)
    context = {"estimate": found, "form": form, "conflict": conflict}
    return render(request, "quotes/estimate_rooms.html", context)


@office_required
@require_POST
def room_in(request: StaffRequest, pk: int, room: int) -> HttpResponse:
    """Put one measured room into the estimate."""
    return _move_room(request, pk, room, services.estimate_room_add, _("“%(name)s” is in the estimate."))


@office_required
@require_POST
def room_out(request: StaffRequest, pk: int, room: int) -> HttpResponse:
    """Take one room out of the estimate; it stays measured."""
    told = _("“%(name)s” is taken out of the estimate; it stays measured.")
    return _move_room(request, pk, room, services.estimate_room_remove, told)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_materials(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.estimate_for(request.user, pk)
    worked = calculate(found)
    form = MaterialsForm(
        request.POST or None,
        estimate=found,
        rooms=worked.rooms,
        slots=selectors.slots_needed(worked),
        materials=materials_to_choose(),
    )
    conflict = None
    if request.method == "POST" and form.is_valid() and _fits(found, form):
        try:
            services.estimate_spec_set(
                estimate=found,
                revision=form.cleaned_data["revision"],
                materials=form.materials(),
                tiles=form.surface_tiles(),
                accents=form.surface_accents(),
                by=request.user,
                at=timezone.now(),
            )
        except EditConflictError as error:
            conflict = error
            form.data = _over_newest(request, found)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            return redirect(found)
    context = {"estimate": found, "form": form, "conflict": conflict}
    return render(request, "quotes/estimate_materials.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def estimate_lines(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.estimate_for(request.user, pk)
    stored = {line.pk: line for line in found.lines.all()}
    rooms = [row.room for row in found.estimate_rooms.select_related("room")]
    lines = forms.LineFormSet(
        request.POST or None,
        initial=forms.line_initial(stored.values()),
        prefix="line",
        form_kwargs={"rooms": rooms},
    )
    stages = forms.StageFormSet(
        request.POST or None, initial=forms.stage_initial(found.payment_stages.all()), prefix="stage"
    )
    context: dict[str, Any] = {
        "estimate": found,
        "lines": lines,
        "stages": stages,
        "revision": found.revision,
    }
    if request.method == "POST":
        # Both are asked, so that all errors show at once.
        if all([lines.is_valid(), stages.is_valid()]):
            try:
                services.estimate_lines_set(
                    estimate=found,
                    revision=_number(request.POST.get("revision")),
                    lines=[form.line(stored) for form in lines if not form.is_empty],
                    stages=[
                        PaymentStage(
                            due=form.cleaned_data["due"], share_basis_points=form.cleaned_data["share"]
                        )
                        for form in stages
                        if form.cleaned_data.get("due")
                    ],
                    by=request.user,
                    at=timezone.now(),
                )
            except EditConflictError as error:
                context |= {"conflict": error, "revision": _current(found).revision}
            except ValidationError as error:
                context["refused"] = error.messages
            else:
                return redirect(found)
        else:
            context["revision"] = request.POST.get("revision", "")
    return render(request, "quotes/estimate_lines.html", context)


@office_required
@require_http_methods(["GET", "POST"])
def by_hand(request: StaffRequest, pk: int) -> HttpResponse:
    """Set one computed figure by hand, or take it back to the computed one."""
    found = policies.estimate_for(request.user, pk)
    target = target_of(calculate(found), request.GET.get("key", ""))
    if target is None:
        raise Http404
    form = forms.ByHandForm(
        request.POST or None, has_quantity=bool(target.quantity_key), initial=target.initial(found)
    )
    conflict = None
    if request.method == "POST":
        try:
            if "undo" in request.POST:
                services.overrides_clear(
                    estimate=found,
                    revision=_number(request.POST.get("revision")),
                    keys=target.keys,
                    by=request.user,
                    at=timezone.now(),
                )
                return redirect(found)
            if form.is_valid():
                _set_by_hand(request, found, target, form)
                return redirect(found)
        except EditConflictError as error:
            conflict = error
            form.data = _over_newest(request, found)
    context = {"estimate": found, "target": target, "form": form, "conflict": conflict}
    return render(request, "quotes/by_hand.html", context)


@office_required
@require_GET
def estimate_changes(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.estimate_for(request.user, pk)
    context = {"estimate": found, "changes": selectors.changes_of(found)}
    return render(request, "quotes/estimate_changes.html", context)


# --- Shared -----------------------------------------------------------------------------------------------


def _estimate_page(
    request: StaffRequest, found: Estimate, form: RevisionForm, conflict: EditConflictError | None
) -> HttpResponse:
    worked = calculate(found)
    return render(request, "quotes/estimate.html", _page_context(worked, form, conflict))


def _page_context(
    worked: Calculation, form: RevisionForm, conflict: EditConflictError | None
) -> dict[str, Any]:
    priced = worked.priced
    return {
        "estimate": worked.estimate,
        "site": worked.estimate.site,
        "found": worked,
        "priced": priced,
        "currency": worked.company.currency,
        "work": selectors.work_by_room(worked),
        "needs": selectors.buying(worked),
        "times": selectors.time_figures(worked),
        "unchosen": selectors.unchosen_rooms(worked),
        "hindrances": selectors.hindrances(worked),
        "site_has_rooms": selectors.site_has_rooms(worked),
        "shown": priced.shown(Detail(worked.estimate.detail)) if priced else (),
        "quotes": selectors.quotes_of(worked.estimate),
        "form": form,
        "conflict": conflict,
    }


def _move_room(
    request: StaffRequest, pk: int, room: int, service: Callable[..., bool], told: str
) -> HttpResponse:
    found, moved = policies.estimate_for(request.user, pk), room_for(request.user, room)
    try:
        service(estimate=found, room=moved, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, told % {"name": moved.name})
    return redirect(found)


def _save(
    request: StaffRequest, found: Estimate, form: RevisionForm
) -> tuple[bool, RevisionForm, EditConflictError | None]:
    """Store what the form holds; on a conflict return the form merged with what the other editor saved."""
    if not form.is_valid():
        return False, form, None
    try:
        services.estimate_save(
            estimate=found,
            revision=form.cleaned_data["revision"],
            values=form.values(),
            by=request.user,
            at=timezone.now(),
        )
    except EditConflictError as error:
        merged = form.merged(_current(found))
        merged.is_valid()
        return False, merged, error
    except ValidationError as error:
        form.add_error(None, error)
        return False, form, None
    return True, form, None


def _fits(found: Estimate, form: MaterialsForm) -> bool:
    """Return whether every border and accent on the form fits its surface; the form tells which does not."""
    chosen = form.chosen()
    if not chosen.accents and not any(row.border_id for row in chosen.tiles):
        return True
    error = calculate(found, chosen).error
    return error is None or not form.refuse(error)


def _set_by_hand(request: StaffRequest, found: Estimate, target: Target, form: forms.ByHandForm) -> None:
    cleaned = form.cleaned_data
    quantity = cleaned.get("quantity")
    services.overrides_set(
        estimate=found,
        revision=cleaned["revision"],
        quantity=None if quantity is None else (target.quantity_key, int(quantity * 1_000_000)),
        price=None if cleaned["price"] is None else (target.key, cleaned["price"]),
        reason=cleaned["reason"],
        by=request.user,
        at=timezone.now(),
    )


def _current(found: Estimate) -> Estimate:
    return Estimate.objects.select_related("site__customer").get(pk=found.pk)


def _over_newest(request: StaffRequest, found: Estimate) -> QueryDict:
    """Return what was typed, to be saved over the newest revision if the editor says so again."""
    typed = request.POST.copy()
    typed["revision"] = str(_current(found).revision)
    return typed


def _number(text: str | None) -> int:
    """Return a revision from a form; what is none counts as an old one, and so meets the conflict's page."""
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0

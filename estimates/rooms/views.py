"""The pages of measured rooms."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from contracting.customers.models import Site
from contracting.staff.policies import StaffRequest, crew_allowed, office_required
from contracting.staff.selectors import company_profile
from estimates.practice.selectors import company_settings
from estimates.takeoff.errors import DomainError

from . import counts, editing, followers, page, policies, selectors, services
from .forms import RoomForms
from .measuring_sheet import measuring_sheet_request
from .models import Room


@crew_allowed
@require_GET
def rooms(request: StaffRequest, pk: int) -> HttpResponse:
    site = policies.measured_site_for(request.user, pk)
    return render(
        request,
        "rooms/rooms.html",
        {"site": site, "rooms": selectors.rooms_of_site(site), **_estimate(request)},
    )


@crew_allowed
@require_GET
def room(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.room_for(request.user, pk)
    shown = page.show_room(selectors.takeoff_room(found), selectors.system_of(found.site), company_settings())
    return render(request, "rooms/room.html", {"room": found, "shown": shown, **_estimate(request)})


@office_required
@require_http_methods(["GET", "POST"])
def room_new(request: StaffRequest, pk: int) -> HttpResponse:
    return _measure(request, policies.measured_site_for(request.user, pk, write=True), None)


@office_required
@require_http_methods(["GET", "POST"])
def room_edit(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.room_for(request.user, pk, write=True)
    return _measure(request, found.site, found)


@office_required
@require_POST
def plan(request: StaffRequest, pk: int) -> HttpResponse:
    """Answer the form as typed with the plan, the rows in step, and what is wrong; nothing is stored."""
    site = policies.measured_site_for(request.user, pk, write=True)
    typed = RoomForms(site, request.POST)
    return render(request, "rooms/_live.html", editing.live(typed, request.POST.get("width", "")))


@office_required
@require_POST
def measuring_sheet(request: StaffRequest, pk: int) -> HttpResponse:
    site = policies.measured_site_for(request.user, pk, write=True)
    document = measuring_sheet_request(site=site, company=company_profile(), by=request.user)
    return redirect(document)


@office_required
@require_http_methods(["GET", "POST"])
def room_counts(request: StaffRequest, pk: int) -> HttpResponse:
    """Show what is counted from the room and what somebody entered instead, or store the latter."""
    found = policies.room_for(request.user, pk, write=True)
    form = counts.CountsForm(request.POST or None, room=found)
    if request.method == "POST" and form.is_valid():
        counts.counts_save(room=found, entered=form.cleaned_data["entered"], by=request.user)
        messages.success(request, _("The counts of “%(name)s” are saved.") % {"name": found.name})
        return redirect(editing.after_save(found, request.GET.get("estimate", "")))
    context = {
        "room": found,
        "form": form,
        "lines": form.lines(counts.counted(found, company_settings())),
        **_estimate(request),
    }
    return render(request, "rooms/counts.html", context)


@office_required
@require_POST
def room_remove(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.room_for(request.user, pk, write=True)
    try:
        services.room_remove(room=found)
    except DomainError as error:
        messages.error(request, error.reason.render(_))
        return redirect(found)
    messages.success(request, _("“%(name)s” is removed.") % {"name": found.name})
    return redirect("rooms:rooms", found.site_id)


@office_required
@require_POST
def room_copy(request: StaffRequest, pk: int) -> HttpResponse:
    found = policies.room_for(request.user, pk, write=True)
    copy = services.room_copy(room=found, by=request.user)
    messages.success(request, _("Copied as “%(name)s”.") % {"name": copy.name})
    _follow(request, copy)
    return redirect(editing.with_estimate("rooms:room-edit", copy, request.GET.get("estimate", "")))


def _measure(request: StaffRequest, site: Site, found: Room | None) -> HttpResponse:
    """Show the room page, or store what was typed on it; what is refused comes back as it was typed."""
    initial = selectors.room_data(found) if found else None
    typed = RoomForms(site, request.POST or None, initial=initial, revision=found.revision if found else 0)
    outcome = editing.act(typed, found, site, request.user, request.POST)
    if outcome.saved:
        messages.success(request, _("“%(name)s” is saved.") % {"name": outcome.saved.name})
        if found is None:
            _follow(request, outcome.saved)
        return redirect(editing.after_save(outcome.saved, request.GET.get("estimate", "")))
    context = {"site": site, "room": found, **outcome.context, **_estimate(request)}
    return render(request, "rooms/measure.html", context)


def _follow(request: StaffRequest, room: Room) -> None:
    """Put a new room into the estimate that it was measured for, and say so."""
    for sentence in followers.follow(room=room, estimate=request.GET.get("estimate", ""), by=request.user):
        messages.info(request, sentence)


def _estimate(request: StaffRequest) -> dict[str, object]:
    number = request.GET.get("estimate", "")
    return {"estimate_pk": int(number) if number.isdecimal() and len(number) < 12 else None}

"""What an estimate says about one room: shown on the room's own page, which knows no prices."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext
from django.views.decorators.http import require_GET

from contracting.staff.policies import StaffRequest, office_required
from estimates.rooms.drawing import MEMBRANE, plan_svg
from estimates.takeoff.result import Hours, RoomTakeoff
from estimates.takeoff.working import Figure

from . import policies
from .calculation import Calculation, calculate
from .selectors import buying


@dataclass(frozen=True)
class RoomPanel:
    """A room's part of a takeoff: its plan with the membrane, figures, materials before packs, hours."""

    plan: SafeString
    taken: RoomTakeoff
    needs: tuple[tuple[str, Figure], ...]
    hours: tuple[Hours, ...]


def room_panel(found: Calculation, room: int) -> RoomPanel | None:
    """Return what *found* says about the room, or None when it is not taken off there."""
    key = str(room)
    if found.takeoff is None or found.given is None:
        return None
    taken = next((one for one in found.takeoff.rooms if one.key == key), None)
    measured = next((one for one in found.given.room_set.rooms if one.key == key), None)
    if taken is None or measured is None:
        return None
    needs = [
        (one.name, figure) for one in buying(found) for where, figure in one.need.by_room if where == key
    ]
    svg = plan_svg(
        measured,
        taken,
        system=found.system,
        translate=gettext,
        layers=MEMBRANE,
        width_mm=74,
        name=f"membrane-{key}",
    )
    return RoomPanel(
        plan=mark_safe(svg),  # noqa: S308 - the drawing escapes every text it writes
        taken=taken,
        needs=tuple(needs),
        hours=tuple(one for one in found.takeoff.hours if one.room == key),
    )


@office_required
@require_GET
def room_takeoff(request: StaffRequest, pk: int, room: int) -> HttpResponse:
    """Answer the room's page with the room's part of an estimate's takeoff."""
    found = calculate(policies.estimate_for(request.user, pk))
    if room not in {one.pk for one in found.rooms}:
        raise Http404
    context = {"panel": room_panel(found, room), "found": found, "estimate": found.estimate}
    return render(request, "quotes/_room_takeoff.html", context)

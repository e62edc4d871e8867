"""What an estimate says about one room: shown on the room's own page, which knows no prices."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from contracting.staff.policies import StaffRequest, office_required
from estimates.rooms.drawing import BATCHED, MEMBRANE, TILED, outline_of
from estimates.rooms.page import Drawings
from estimates.takeoff.result import Hours, RoomTakeoff
from estimates.takeoff.units import Measure
from estimates.takeoff.working import Figure

from . import policies
from .calculation import Calculation, calculate
from .selectors import buying


@dataclass(frozen=True)
class RoomPanel:
    """A room's part of a takeoff: its drawings with the membrane, figures, materials before packs, hours."""

    drawings: Drawings
    taken: RoomTakeoff
    needs: tuple[tuple[str, str, Figure], ...]  # material, unit, quantity before packs
    hours: tuple[Hours, ...]
    room: int

    @property
    def tiled(self) -> Drawings | None:
        """The same room with its tile laid out, where there is any."""
        return replace(self.drawings, layers=TILED, prefix="tiled-") if self.taken.tiled else None

    @property
    def batched(self) -> Drawings | None:
        """The same room with the batches of bonding agent, where anything is bonded."""
        return replace(self.drawings, layers=BATCHED, prefix="batched-") if self.taken.batches else None

    @property
    def man_hours(self) -> Measure:
        """The sum of the activities' man-hours in this room."""
        return Measure(sum((one.hours.value for one in self.hours), Decimal(0)), "h")


def room_panel(found: Calculation, room: int) -> RoomPanel | None:
    """Return what *found* says about the room, or None when it is not taken off there."""
    key = str(room)
    if found.takeoff is None or found.given is None:
        return None
    taken = next((one for one in found.takeoff.rooms if one.key == key), None)
    measured = next((one for one in found.given.room_set.rooms if one.key == key), None)
    if taken is None or measured is None:
        return None
    outline = outline_of(taken.traverse) if taken.traverse else None
    return RoomPanel(
        drawings=Drawings(measured, found.system, outline, taken, MEMBRANE),
        taken=taken,
        needs=tuple(
            (one.name, one.unit, figure)
            for one in buying(found)
            for where, figure in one.need.by_room
            if where == key
        ),
        hours=tuple(one for one in found.takeoff.hours if one.room == key),
        room=room,
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

"""A room that was measured for an estimate goes into it by itself, and the measurer is told."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.rooms import followers
from estimates.rooms.models import Room

from .estimate_services import estimate_room_add
from .models import Estimate


def register() -> None:
    """Follow the rooms that are measured from an estimate's page."""
    followers.when_measured(put_in)


def put_in(*, room: Room, estimate: int, by: User) -> str:
    """Put *room* into the estimate and return what to tell; a refusal leaves the room stored and is told."""
    found = Estimate.objects.filter(pk=estimate).first() if by.sees_money else None
    if found is None:
        return ""
    try:
        estimate_room_add(estimate=found, room=room, by=by, at=timezone.now())
    except ValidationError as error:
        return _("It is not in the estimate: %(why)s") % {"why": error.messages[0]}
    return _("It stands in estimate %(number)s; the estimate’s page can take it out again.") % {
        "number": found.number
    }

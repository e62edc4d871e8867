"""Getting a room is asking for the right to it: everybody who works here may look, the office may change."""

from django.core.exceptions import PermissionDenied
from django.http import Http404

from contracting.customers.models import Site
from contracting.staff.models import User

from .models import Room
from .selectors import room_with_parts


def room_for(user: User, pk: int, *, write: bool = False) -> Room:
    """Return the room with everything measured in it.

    Raises:
        Http404: there is none.
        PermissionDenied: the user may look at rooms but not change them.
    """
    if write and not user.sees_money:
        raise PermissionDenied
    try:
        return room_with_parts(pk)
    except Room.DoesNotExist as error:
        raise Http404 from error


def measured_site_for(user: User, pk: int, *, write: bool = False) -> Site:
    """Return the site whose rooms are looked at; the crew needs them, its customer's data apart."""
    if write and not user.sees_money:
        raise PermissionDenied
    site = Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        raise Http404
    return site

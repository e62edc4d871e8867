"""Getting what a phone left to look at: the office alone does."""

from django.http import Http404

from contracting.staff.models import User

from .models import LookAt


def look_at_for(user: User, pk: int) -> LookAt:
    """Return what is to be looked at; Http404 when there is none, or *user* is not of the office."""
    found = LookAt.objects.filter(pk=pk).first() if user.sees_money else None
    if found is None:
        raise Http404
    return found

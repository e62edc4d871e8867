"""Getting an offcut is asking for the right to it: the office and the owner have it."""

from django.http import Http404

from contracting.staff.models import User

from .models import Offcut


def offcut_for(user: User, pk: int) -> Offcut:
    """Return an offcut that lies on the shelf; Http404 without the right, or when there is none."""
    found = Offcut.objects.select_related("material").filter(pk=pk, taken_at__isnull=True)
    offcut = found.first() if user.sees_money else None
    if offcut is None:
        raise Http404
    return offcut

"""Getting a change order: the office and the owner have the right to it."""

from __future__ import annotations

from django.http import Http404

from contracting.staff.models import User

from .models import ChangeOrder


def order_for(user: User, pk: int) -> ChangeOrder:
    """Return the change order with its quote and document; Http404 without the right."""
    found = ChangeOrder.objects.select_related(
        "quote__site__customer", "quote__estimate", "document", "replaces__quote", "issued_by", "recorded_by"
    ).defer("document__snapshot")
    order = found.filter(pk=pk).first() if user.sees_money else None
    if order is None:
        raise Http404
    return order

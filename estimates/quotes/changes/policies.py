"""Getting a change order or its private link: the office and the owner, or whoever has the token."""

from __future__ import annotations

from django.http import Http404

from contracting.staff.models import User

from ..signing.policies import token_hash
from .models import ChangeLink, ChangeOrder


def order_for(user: User, pk: int) -> ChangeOrder:
    """Return the change order with its quote and document; Http404 without the right."""
    found = ChangeOrder.objects.select_related(
        "quote__site__customer", "quote__estimate", "document", "replaces__quote", "issued_by", "recorded_by"
    ).defer("document__snapshot")
    order = found.filter(pk=pk).first() if user.sees_money else None
    if order is None:
        raise Http404
    return order


def link_for(user: User, order: int, pk: int) -> ChangeLink:
    """Return a link of a change order that *user* may see; Http404 otherwise."""
    link = ChangeLink.objects.select_related("order").filter(pk=pk, order=order_for(user, order)).first()
    if link is None:
        raise Http404
    return link


def link_for_token(token: str) -> ChangeLink | None:
    """Return the link with its change order, or None; the same work whatever the token looks like."""
    found = ChangeLink.objects.select_related("order__document", "order__quote", "made_by")
    return found.defer("order__document__snapshot").filter(token_sha256=token_hash(token)).first()

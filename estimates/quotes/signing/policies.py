"""Getting a private link is having its token, or working in the office."""

from __future__ import annotations

import hashlib

from django.http import Http404

from contracting.staff.models import User

from ..policies import quote_for
from .models import QuoteLink


def token_hash(token: str) -> str:
    """Return what is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def link_for_token(token: str) -> QuoteLink | None:
    """Return the link with its quote, or None.

    Whatever the token looks like, the same work is done: one hash and one look into an index of hashes,
    whose order tells nothing about tokens.
    """
    found = QuoteLink.objects.select_related("quote__document", "quote__estimate", "made_by")
    return found.defer("quote__document__snapshot").filter(token_sha256=token_hash(token)).first()


def link_for(user: User, quote: int, pk: int) -> QuoteLink:
    """Return a link of a quote that *user* may see; Http404 otherwise."""
    link = QuoteLink.objects.select_related("quote").filter(pk=pk, quote=quote_for(user, quote)).first()
    if link is None:
        raise Http404
    return link

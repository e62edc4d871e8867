"""Getting a private link is having its token, or working in the office."""

from __future__ import annotations

import hashlib

from django.http import Http404

from contracting.staff.models import User

from .models import PrivateLink
from .signable import Signable


def token_hash(token: str) -> str:
    """Return what is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def link_for_token(signable: Signable, token: str) -> PrivateLink | None:
    """Return the link with its paper, or None.

    Whatever the token looks like, the same work is done: one hash and one look into an index of hashes,
    whose order tells nothing about tokens.
    """
    document = f"{signable.name}__document"
    found = signable.links.select_related(document, f"{signable.name}__{signable.beside}", "made_by")
    return found.defer(f"{document}__snapshot").filter(token_sha256=token_hash(token)).first()


def link_for(signable: Signable, user: User, paper: int, pk: int) -> PrivateLink:
    """Return a link of a paper that *user* may see; Http404 otherwise."""
    found = signable.links.select_related(signable.name)
    link: PrivateLink | None = found.filter(
        **{"pk": pk, signable.name: signable.paper_for(user, paper)}
    ).first()
    if link is None:
        raise Http404
    return link

"""The signed quote as a document: the quote's pages with the signature where its lines were."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request

from .. import paper
from . import signature
from .models import Acceptance

KIND = "signed-quote"


def signed_quote_request(acceptance: Acceptance) -> DocumentRequest:
    """Ask for the signed PDF, inside the transaction of the signature."""
    link = acceptance.link
    frozen = acceptance.quote.snapshot["paper"]
    signed = {
        "name": acceptance.name,
        "kind": acceptance.kind,
        "drawing": acceptance.drawing,
        "at": acceptance.at.isoformat(),
        "paper_sha256": acceptance.paper_sha256,
        "file_sha256": acceptance.file_sha256,
        "consent_version": acceptance.consent_version,
        "consent": acceptance.consent_text.split("\n"),
        "agent": acceptance.agent,
        "recipient": link.recipient,
    }
    return document_request(
        kind=KIND,
        snapshot={**frozen, "signature": signed},
        subject=_("Quote %(number)s, revision %(revision)d, signed") % frozen,
        audience=Audience.CUSTOMER,
        by=link.made_by,
    )


def context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the signed pages are given: the quote's own context and the signature."""
    signed = snapshot["signature"]
    return {
        **paper.context(snapshot),
        "signature": {**signed, "at": parse_datetime(signed["at"])},
        "field": {"width": signature.WIDTH, "height": signature.HEIGHT},
    }


def filename(snapshot: Mapping[str, Any]) -> str:
    """Return the file's name: number and revision, no money."""
    return f"{snapshot['number']}-r{snapshot['revision']}-signed.pdf"


def register() -> None:
    """Make the kind known to the documents app."""
    registry.register(KIND, template="signing/signed_paper.html", context=context, filename=filename)

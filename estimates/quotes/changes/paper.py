"""The change order as a document, and the same with its signature: from the frozen paper and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request

from ..signing import signature
from .models import ChangeAcceptance
from .services import DOCUMENT_KIND

SIGNED_KIND = "signed-change-order"


def context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return the snapshot with its time read."""
    return {**snapshot, "issued_at": parse_datetime(snapshot["issued_at"])}


def filename(snapshot: Mapping[str, Any]) -> str:
    """Return the file's name: its number, no money."""
    return f"{snapshot['number'].replace(' ', '-')}.pdf"


def signed_change_request(acceptance: ChangeAcceptance) -> DocumentRequest:
    """Ask for the signed PDF, inside the transaction of the signature."""
    frozen = acceptance.order.snapshot["paper"]
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
        "recipient": acceptance.link.recipient,
    }
    return document_request(
        kind=SIGNED_KIND,
        snapshot={**frozen, "signature": signed},
        subject=_("Change order %(number)s, signed") % frozen,
        audience=Audience.CUSTOMER,
        by=acceptance.link.made_by,
    )


def signed_context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the signed pages are given: the change order's own context and the signature."""
    signed = snapshot["signature"]
    return {
        **context(snapshot),
        "signature": {**signed, "at": parse_datetime(signed["at"])},
        "field": {"width": signature.WIDTH, "height": signature.HEIGHT},
    }


def signed_filename(snapshot: Mapping[str, Any]) -> str:
    return f"{snapshot['number'].replace(' ', '-')}-signed.pdf"


def register() -> None:
    """Make both kinds known to the documents app."""
    registry.register(DOCUMENT_KIND, template="changes/order_paper.html", context=context, filename=filename)
    registry.register(
        SIGNED_KIND,
        template="changes/signed_paper.html",
        context=signed_context,
        filename=signed_filename,
    )

"""A signed paper as a document: its own pages with the signature where the lines for it were."""

from __future__ import annotations

from typing import Any

from django.utils.dateparse import parse_datetime

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request

from . import signature
from .models import Signature
from .signable import Frozen, Signable


def signed_request(signable: Signable, acceptance: Signature) -> DocumentRequest:
    """Ask for the signed PDF, inside the transaction of the signature."""
    link = acceptance.link
    frozen = link.paper.snapshot["paper"]
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
        kind=signable.signed_kind,
        snapshot={**frozen, "signature": signed},
        subject=signable.say("printed_subject", frozen),
        audience=Audience.CUSTOMER,
        by=link.made_by,
    )


def register(signable: Signable) -> None:
    """Make the signed paper known to the documents app."""

    def context(snapshot: Frozen) -> dict[str, Any]:
        signed = snapshot["signature"]
        return {
            **signable.context(snapshot),
            "signature": {**signed, "at": parse_datetime(signed["at"])},
            "field": {"width": signature.WIDTH, "height": signature.HEIGHT},
            "words": signable.said(snapshot),
            "printed": signable.printed,
        }

    def filename(snapshot: Frozen) -> str:
        return signable.filename(snapshot).removesuffix(".pdf") + "-signed.pdf"

    registry.register(
        signable.signed_kind, template="signing/signed_paper.html", context=context, filename=filename
    )

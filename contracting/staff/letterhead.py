"""The company's paper as a document of its own: what a quote's head, colours and terms will look like."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request

from .models import CompanyProfile, User

KIND = "letterhead"
# What papers print of the company. Shared by every kind of document, so that heads look alike.
PRINTED = ("name", "tagline", "address", "phone", "email", "licence", "ink_colour")


def register() -> None:
    """Make the kind known to the documents; called once when Django starts."""
    registry.register(
        KIND,
        template="staff/letterhead_paper.html",
        context=_context,
        filename=lambda snapshot: "letterhead.pdf",
    )


def company_snapshot(company: CompanyProfile) -> dict[str, str]:
    """Return what papers print of the company, to be frozen into a document's snapshot as ``company``."""
    return {name: getattr(company, name) for name in PRINTED}


@transaction.atomic
def letterhead_request(*, company: CompanyProfile, by: User) -> DocumentRequest:
    """Ask for a sheet of the company's paper with its standing texts."""
    snapshot = {
        "language": get_language(),
        "company": company_snapshot(company),
        "texts": {name: getattr(company, name) for name in ("inclusions", "exclusions", "terms")},
    }
    return document_request(
        kind=KIND, snapshot=snapshot, subject=_("The company's paper"), audience=Audience.OFFICE, by=by
    )


def _context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    return dict(snapshot)

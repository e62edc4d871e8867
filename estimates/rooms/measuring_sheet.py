"""The blank measuring sheet: what the room page asks, in the same order, on paper to take to the site."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from contracting.customers.models import Site
from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request
from contracting.staff.letterhead import company_snapshot
from contracting.staff.models import CompanyProfile, User
from estimates.takeoff.units import System

from . import choices
from .drawing import grid_svg

KIND = "measuring-sheet"


def register() -> None:
    """Make the kind known to the documents; called once when Django starts."""
    registry.register(
        KIND,
        template="rooms/measuring_sheet_paper.html",
        context=_context,
        filename=lambda snapshot: "measuring-sheet.pdf",
    )


@transaction.atomic
def measuring_sheet_request(*, site: Site, company: CompanyProfile, by: User) -> DocumentRequest:
    """Ask for a blank measuring sheet for *site*; asking again gives the one there is."""
    snapshot = {
        "language": get_language(),
        "company": company_snapshot(company),
        "site": {
            "customer": site.customer.name,
            "name": site.name,
            "address": ", ".join(part for part in (site.street, site.city, site.region) if part),
            "access": site.access_notes,
            "units": site.units,
        },
    }
    return document_request(
        kind=KIND,
        snapshot=snapshot,
        subject=_("Measuring sheet, %(site)s") % {"site": site.name},
        audience=Audience.CREW,
        by=by,
    )


def _context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    system = System(snapshot["site"]["units"])
    return {
        **snapshot,
        "paper": "letter" if system is System.INCH else "A4",
        "grid": grid_svg(system=system, width_mm=178, height_mm=90),
        "is_inch": system is System.INCH,
        "surface_kinds": list(choices.SurfaceKind.labels),
        "substrates": list(choices.Substrate.labels),
        "conditions": list(choices.Condition.labels),
        "coverings": list(choices.Covering.labels),
        "fixture_kinds": list(choices.FixtureKind.labels),
        "walls": range(1, 13),
        "openings": range(1, 5),
        "surfaces": range(1, 8),
        "fixtures": range(1, 9),
    }

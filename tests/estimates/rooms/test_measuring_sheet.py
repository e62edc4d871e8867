"""The blank sheet asks for what the room page asks for, in the same order."""

import pytest

from contracting.documents.rendering import render, render_html
from contracting.staff.models import CompanyProfile, User
from estimates.rooms import choices
from estimates.rooms.measuring_sheet import measuring_sheet_request
from tests.contracting.factories import SiteFactory

pytestmark = pytest.mark.django_db


def test_it_asks_in_the_order_of_the_room_page(office_manager: User) -> None:
    company = CompanyProfile(pk=1, name="Saltgrass Tile")
    document = measuring_sheet_request(site=SiteFactory(), company=company, by=office_manager)

    page = render_html(document.kind, document.snapshot)

    asked = [
        "Room",
        "Ceiling height",
        "Walk the walls",
        "Openings",
        "Surfaces",
        "Fixtures and penetrations",
        "Notes",
    ]
    places = [page.index(f">{one}<") for one in asked]
    assert places == sorted(places)
    for kinds in (choices.SurfaceKind, choices.Substrate, choices.FixtureKind, choices.Covering):
        assert all(str(label) in page for label in kinds.labels)
    assert document.audience == "crew"


def test_it_is_two_pages_in_either_unit(office_manager: User, pango: None) -> None:
    company = CompanyProfile(pk=1, name="Saltgrass Tile", address="12 Harbor Way\nGalveston")
    for units in ("inch", "metric"):
        document = measuring_sheet_request(site=SiteFactory(units=units), company=company, by=office_manager)

        assert render(document.kind, document.snapshot).page_count == 2

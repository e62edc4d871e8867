"""A company, a measured bath and an estimate of it, made through the same services as on the screen."""

import datetime
from decimal import Decimal
from typing import Any

from contracting.customers.models import Site
from contracting.staff.models import CompanyProfile, LabourCost, User
from estimates.quotes import estimate_services, services
from estimates.quotes.models import Estimate, EstimateLine, Quote
from estimates.rooms.fields import Length
from estimates.rooms.measured import FixtureData, OpeningData, RoomData, SurfaceData, WallData
from estimates.rooms.models import Room
from estimates.rooms.services import room_save
from tests.contracting.factories import SiteFactory, UserFactory
from tests.estimates.pricelists.factories import usual_price_list

DAY = datetime.date(2026, 6, 1)
AT = datetime.datetime(2026, 6, 1, 15, tzinfo=datetime.UTC)


def inch(value: str | int) -> Length:
    return Length(f'{value}"', Decimal(value) * Decimal("25.4"))


def company(**values: object) -> CompanyProfile:
    """The company with everything a quote prints."""
    filled: dict[str, object] = {
        "name": "Quarry Lane Tile",
        "tagline": "Tile and waterproofing",
        "address": "1 Kiln Road\nExampleton",
        "phone": "555 0100",
        "email": "office@example.com",
        "licence": "Licence 0000",
        "ink_colour": "#123456",
        "inclusions": "All work as drawn\nClean-up every day",
        "exclusions": "Painting",
        "terms": "Changes are agreed in writing.",
    }
    profile = CompanyProfile(pk=1, **filled | values)
    profile.save()
    LabourCost.objects.get_or_create(
        starts_on=datetime.date(2026, 1, 1),
        defaults={"pay_cents_per_hour": 3000, "burden_basis_points": 3206},
    )
    return profile


def bath(site: Site, name: str = "Hall bath", by: User | None = None) -> Room:
    """A 5 ft by 8 ft bath: floor with a tub, a flange and a door."""
    walls = tuple(WallData(inch(length)) for length in (96, 60, 96, 60))
    data = RoomData(
        name=name,
        height=inch(96),
        outline_text="8' 5' 8' 5'",
        walls=walls,
        openings=(OpeningData("door", 3, width=inch(30), height=inch(80), along=inch(50)),),
        surfaces=(SurfaceData("floor", "Floor", "plywood", exposure="wet"),),
        fixtures=(
            FixtureData("tub", wall=2, length=inch(60), depth=inch(30)),
            FixtureData("flange", wall=1, along=inch(20), away=inch(12), diameter=inch(4)),
        ),
    )
    return room_save(room=None, site=site, data=data, by=by)


def estimate_of(
    rooms: int = 1, *, by: User | None = None, site: Site | None = None, **values: object
) -> Estimate:
    """An estimate of *rooms* like baths with the usual materials; *values* are set on it."""
    by = by or UserFactory.create()
    site = site or SiteFactory.create(city="Exampleton", tax_base="materials", tax_basis_points=825)
    made = [bath(site, f"Bath {number}", by) for number in range(1, rooms + 1)]
    estimate = estimate_services.estimate_create(site=site, title="Bath floors", rooms=made, by=by, on=DAY)
    Estimate.objects.filter(pk=estimate.pk).update(**values)
    estimate.refresh_from_db()
    return estimate


def ready(**values: Any) -> Estimate:
    """The same with company and price list: it can be issued."""
    company()
    usual_price_list()
    return estimate_of(**values)


def repair_quote(*, at: datetime.datetime = AT) -> Quote:
    """An issued quote of one hand-written line: made in a moment, since nothing is taken off."""
    company()
    estimate = estimate_of(0)
    EstimateLine.objects.create(estimate=estimate, step="tile", text="Reset three tiles", cost_cents=20_000)
    return services.quote_issue(estimate=estimate, by=estimate.created_by, at=at)

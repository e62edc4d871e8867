"""What others read, and in how many queries."""

from decimal import Decimal

import pytest
from django.test.utils import CaptureQueriesContext

from estimates.rooms import selectors
from estimates.rooms.models import Room
from estimates.takeoff.assembly import assemble
from estimates.takeoff.practice import Practice
from estimates.takeoff.units import System
from tests.contracting.factories import SiteFactory

from .factories import room

pytestmark = pytest.mark.django_db


def test_a_room_is_handed_to_the_takeoff_as_measured() -> None:
    stored = room()

    found = selectors.takeoff_room(stored)

    assert (found.key, found.name, found.height_mm) == (str(stored.pk), "Hall bath", Decimal("2438.4"))
    assert [str(leg.length_mm.normalize()) for leg in found.legs] == ["2438.4", "1524", "2438.4", "1524"]
    assert [(one.key, one.wall) for one in found.openings] == [("door", 4)]
    assert found.surfaces[1].walls == (2,)
    assert found.fixtures[0].length_mm == Decimal("1524")


def test_the_areas_are_those_worked_out_by_hand() -> None:
    found = assemble(selectors.takeoff_room(room()), Practice(), System.INCH)

    areas = {face.surface: face.area.value for face in found.faces if face.area}
    # Floor: 96 x 60 in less the tub's 60 x 30 in = 5760 - 1800 = 3960 sq in = 27.5 sq ft.
    # Back wall: 60 in long, 57 in high = 3420 sq in = 23.75 sq ft.
    assert areas == {"floor": Decimal("27.5"), "wall": Decimal("23.75")}


@pytest.mark.parametrize("read", ["list", "takeoff"])
def test_queries_do_not_grow_with_the_rooms(connection_queries: CaptureQueriesContext, read: str) -> None:
    site = SiteFactory()
    counted = []
    for total in (2, 20):
        for number in range(Room.objects.count(), total):
            room(site, name=f"Room {number}")
        with connection_queries as queries:
            if read == "list":
                assert len([list(one.walls.all()) for one in selectors.rooms_of_site(site)]) == total
            else:
                assert len(selectors.takeoff_rooms(Room.objects.filter(site=site))) == total
        counted.append((len(queries), [query["sql"] for query in queries]))

    assert counted[0][0] == counted[1][0], counted[1][1]
    assert counted[0][0] == {"list": 2, "takeoff": 6}[read]


@pytest.fixture
def connection_queries() -> CaptureQueriesContext:
    from django.db import connection

    return CaptureQueriesContext(connection)

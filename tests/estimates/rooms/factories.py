"""Measured rooms for the tests: a 5 ft by 8 ft bath, an L-shaped one, a counter; typed as on site."""

from dataclasses import replace

from contracting.customers.models import Site
from estimates.rooms import services
from estimates.rooms.fields import Length
from estimates.rooms.measured import FixtureData, OpeningData, RoomData, SurfaceData, walls_from_outline
from estimates.rooms.models import Room
from estimates.takeoff.units import System
from tests.contracting.factories import SiteFactory


def feet(text: str, *, zero: bool = False) -> Length:
    return Length.read(text, System.INCH, allow_zero=zero)


def bath(name: str = "Hall bath") -> RoomData:
    """An 8' x 5' bath: tub along wall 2, flange by wall 3, a door in wall 4, floor and back wall covered."""
    return RoomData(
        name=name,
        height=feet("8'"),
        outline_text="8' x 5'",
        walls=walls_from_outline("8' x 5'", System.INCH),
        openings=(
            OpeningData(
                kind="door", wall=4, along=feet("15"), width=feet("30"), height=feet("80"), key="door"
            ),
        ),
        surfaces=(
            SurfaceData(kind="floor", name="Floor", substrate="plywood", exposure="wet", key="floor"),
            SurfaceData(
                kind="wall",
                name="Back wall",
                substrate="cement board",
                exposure="wet",
                walls=(2,),
                base=feet("15"),
                height=feet("57"),
                key="wall",
            ),
        ),
        fixtures=(
            FixtureData(kind="tub", wall=2, length=feet("60"), depth=feet("30"), key="tub"),
            FixtureData(
                kind="flange", wall=3, along=feet("63"), away=feet("12"), diameter=feet("4"), key="flange"
            ),
        ),
    )


def room(site: Site | None = None, data: RoomData | None = None, **changes: object) -> Room:
    """Store a room."""
    made = replace(data or bath(), **changes)  # type: ignore[arg-type]
    return services.room_save(room=None, site=site or SiteFactory(), data=made, by=None)


def typed(**changes: str) -> dict[str, str]:
    """Return what a browser posts for an empty room page, with *changes* (``__`` stands for ``-``)."""
    fields = {"name": "Hall bath", "height": "8'", "outline_text": "", "line_read": "", "revision": "0"}
    for rows in ("walls", "openings", "surfaces", "fixtures"):
        fields[f"{rows}-TOTAL_FORMS"] = "0"
        fields[f"{rows}-INITIAL_FORMS"] = "0"
    return {**fields, **{name.replace("__", "-"): value for name, value in changes.items()}}


FLOOR = {
    "surfaces__TOTAL_FORMS": "1",
    "surfaces__0__kind": "floor",
    "surfaces__0__name": "Floor",
    "surfaces__0__substrate": "plywood",
    "surfaces__0__condition": "smooth",
    "surfaces__0__exposure": "wet",
    "surfaces__0__membrane": "on",
    "surfaces__0__remove": "nothing",
    "surfaces__0__method": "acrylic bonding agent",
}

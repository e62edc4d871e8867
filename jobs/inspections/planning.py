"""From an accepted quote to what its inspection plan needs to know."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from estimates.quotes.calculation import calculate
from estimates.takeoff import model
from estimates.takeoff.units import System
from jobs.work.models import Job

from .checklist import JobFacts, RoomFacts, SurfaceFacts

_THROUGH = frozenset(model.FixtureKind) - {model.FixtureKind.TUB, model.FixtureKind.CABINET}


def facts_of(job: Job) -> JobFacts:
    """Return the surfaces that *job* builds, as its quote was worked out.

    Which rooms were sold and where their sheets lap stands in the quote's frozen takeoff; substrate, use,
    bond and tile of a surface come from the estimate it was issued from.
    """
    given = calculate(job.quote.estimate).given
    frozen = sold_rooms(job.quote.snapshot.get("work") or {})
    if given is None:
        return JobFacts(System(job.site.units), ())
    tiles = {material.key: material for material in given.materials}
    rooms = [
        room_facts(room, tiles, frozen.get(room.key))
        for room in given.room_set.rooms
        if not frozen or room.key in frozen
    ]
    return JobFacts(given.room_set.system, tuple(rooms), given.room_set.flood_test_asked)


def sold_rooms(work: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """Return the rooms of a frozen takeoff by key; none where it was sold without measured rooms."""
    document = work.get("takeoff") or {}
    return {room["key"]: room for room in document.get("rooms", [])}


def room_facts(
    room: model.Room, tiles: Mapping[str, model.Material], frozen: Mapping[str, Any] | None = None
) -> RoomFacts:
    """Return what is inspected in a room; without a frozen takeoff its laps are asked for in any case."""
    laps = None if frozen is None else frozen.get("laps")
    return RoomFacts(
        room.key,
        room.name,
        tuple(_surface_facts(surface, tiles) for surface in room.surfaces),
        has_penetrations=any(fixture.kind in _THROUGH for fixture in room.fixtures),
        side_laps=laps is None or any(lap["side"] for lap in laps),
        # Strips meet end to end too, so a room with strips has end laps without a lap between sheets.
        butt_laps=laps is None or any(not lap["side"] for lap in laps) or bool((frozen or {}).get("strips")),
    )


def _surface_facts(surface: model.Surface, tiles: Mapping[str, model.Material]) -> SurfaceFacts:
    return SurfaceFacts(
        surface.key,
        surface.name,
        surface.kind,
        # New board is what the membrane is bonded to, whatever it is fixed over.
        model.Substrate.CEMENT_BOARD if surface.new_board else surface.substrate,
        surface.exposure,
        surface.membrane,
        surface.method,
        _longest_edge(surface.tile, tiles),
    )


def _longest_edge(choice: model.TileChoice | None, tiles: Mapping[str, model.Material]) -> Decimal | None:
    if choice is None:
        return None
    facts = tiles[choice.material].facts
    return max(facts["width"].to("mm"), facts["height"].to("mm"))

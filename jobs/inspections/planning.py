"""From an accepted quote to what its inspection plan needs to know."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from estimates.takeoff import model
from estimates.takeoff.units import Measure, System
from jobs.work.models import Job

from .checklist import JobFacts, RoomFacts, SurfaceFacts

_THROUGH = frozenset(model.FixtureKind) - {model.FixtureKind.TUB, model.FixtureKind.CABINET}


def facts_of(job: Job) -> JobFacts:
    """Return the surfaces that *job* builds, as they stand in its quote's frozen work."""
    work = job.quote.snapshot.get("work") or {}
    sold = work.get("room_set")
    if sold is None:
        return JobFacts(System(job.site.units), ())
    frozen = sold_rooms(work)
    rooms = [room_facts(room, work["tiles"], frozen.get(room["key"])) for room in sold["rooms"]]
    return JobFacts(System(sold["system"]), tuple(rooms), sold["flood_test_asked"])


def sold_rooms(work: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """Return the rooms of a frozen takeoff by key; none where it was sold without measured rooms."""
    document = work.get("takeoff") or {}
    return {room["key"]: room for room in document.get("rooms", [])}


def room_facts(
    room: Mapping[str, Any], tiles: Mapping[str, Any], frozen: Mapping[str, Any] | None = None
) -> RoomFacts:
    """Return what is inspected in a room; without a frozen takeoff its laps are asked for in any case.

    Args:
        room: a :class:`~estimates.takeoff.model.Room` as the snapshot keeps it.
        tiles: the data-sheet values of each tile by its key, likewise.
        frozen: the room's takeoff, likewise.
    """
    laps = None if frozen is None else frozen.get("laps")
    return RoomFacts(
        room["key"],
        room["name"],
        tuple(_surface_facts(surface, tiles) for surface in room["surfaces"]),
        has_penetrations=any(fixture["kind"] in _THROUGH for fixture in room["fixtures"]),
        side_laps=laps is None or any(lap["side"] for lap in laps),
        # Strips meet end to end too, so a room with strips has end laps without a lap between sheets.
        butt_laps=laps is None or any(not lap["side"] for lap in laps) or bool((frozen or {}).get("strips")),
    )


def _surface_facts(surface: Mapping[str, Any], tiles: Mapping[str, Any]) -> SurfaceFacts:
    return SurfaceFacts(
        surface["key"],
        surface["name"],
        model.SurfaceKind(surface["kind"]),
        # New board is what the membrane is bonded to, whatever it is fixed over.
        model.Substrate.CEMENT_BOARD if surface["new_board"] else model.Substrate(surface["substrate"]),
        model.Exposure(surface["exposure"]),
        surface["membrane"],
        model.BondMethod(surface["method"]),
        _longest_edge(surface["tile"], tiles),
    )


def _longest_edge(choice: Mapping[str, Any] | None, tiles: Mapping[str, Any]) -> Decimal | None:
    if choice is None:
        return None
    edges = (tiles[choice["material"]][name] for name in ("width", "height"))
    return max(Measure(Decimal(edge["value"]), edge["unit"]).to("mm") for edge in edges)

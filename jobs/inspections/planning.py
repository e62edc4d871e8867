"""From an accepted quote to what its inspection plan needs to know."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from estimates.quotes.changes.selectors import work_in_force
from estimates.takeoff import model
from estimates.takeoff.units import Measure, System
from jobs.work.models import Job

from .checklist import JobFacts, RoomFacts, SurfaceFacts

_THROUGH = frozenset(model.FixtureKind) - {model.FixtureKind.TUB, model.FixtureKind.CABINET}


def facts_of(job: Job) -> JobFacts:
    """Return the surfaces that *job* builds: as its quote froze them, or as a signed change measured them."""
    work = work_in_force(job.quote)
    sold = work.get("room_set")
    if sold is None:
        return JobFacts(System(job.site.units), ())
    frozen = sold_rooms(work)
    cures = cures_sold(work)
    rooms = [room_facts(room, work["tiles"], frozen.get(room["key"]), cures) for room in sold["rooms"]]
    return JobFacts(System(sold["system"]), tuple(rooms), sold["flood_test_asked"])


def sold_rooms(work: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    """Return the rooms of a frozen takeoff by key; none where it was sold without measured rooms."""
    document = work.get("takeoff") or {}
    return {room["key"]: room for room in document.get("rooms", [])}


def cures_sold(work: Mapping[str, Any]) -> dict[tuple[str, str], timedelta]:
    """Return the longest cure of the bond by room and surface, as the agents' data sheets gave it.

    A job that was sold without measured rooms has none.
    """
    frozen = (work.get("takeoff") or {}).get("schedule") or {}
    tasks = [planned["task"] for planned in frozen.get("tasks", [])]
    place = {task["key"]: (task["room"], task["surface"]) for task in tasks}
    found: dict[tuple[str, str], timedelta] = {}
    for wait in frozen.get("waits", []):
        if wait["cure"]["key"] == "bond" and wait["task"] in place:
            cure = timedelta(minutes=int(Decimal(wait["cure"]["hours"]) * 60))
            found[place[wait["task"]]] = max(cure, found.get(place[wait["task"]], cure))
    return found


def room_facts(
    room: Mapping[str, Any],
    tiles: Mapping[str, Any],
    frozen: Mapping[str, Any] | None = None,
    cures: Mapping[tuple[str, str], timedelta] | None = None,
) -> RoomFacts:
    """Return what is inspected in a room; without a frozen takeoff its laps are asked for in any case.

    Args:
        room: a :class:`~estimates.takeoff.model.Room` as the snapshot keeps it.
        tiles: the data-sheet values of each tile by its key, likewise.
        frozen: the room's takeoff, likewise.
        cures: of the bond, by room and surface; see :func:`cures_sold`.
    """
    laps = None if frozen is None else frozen.get("laps")
    return RoomFacts(
        room["key"],
        room["name"],
        tuple(
            _surface_facts(surface, tiles, (cures or {}).get((room["key"], surface["key"])))
            for surface in room["surfaces"]
        ),
        has_penetrations=any(fixture["kind"] in _THROUGH for fixture in room["fixtures"]),
        side_laps=laps is None or any(lap["side"] for lap in laps),
        # Strips meet end to end too, so a room with strips has end laps without a lap between sheets.
        butt_laps=laps is None or any(not lap["side"] for lap in laps) or bool((frozen or {}).get("strips")),
    )


def _surface_facts(
    surface: Mapping[str, Any], tiles: Mapping[str, Any], cure: timedelta | None
) -> SurfaceFacts:
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
        cure,
    )


def _longest_edge(choice: Mapping[str, Any] | None, tiles: Mapping[str, Any]) -> Decimal | None:
    if choice is None:
        return None
    edges = (tiles[choice["material"]][name] for name in ("width", "height"))
    return max(Measure(Decimal(edge["value"]), edge["unit"]).to("mm") for edge in edges)

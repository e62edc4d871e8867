"""The work of a job: tasks by room and surface, their hours, and the schedule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from .assembly import Assembly
from .bonding import is_porous
from .faces import Placed
from .labour import Cure, JobRange, Link, Task, TaskHours, difficulty, job_range, labour_hours
from .model import Condition, Counted, Covering, Exposure, Material, RoomSet, Surface, SurfaceKind
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice
from .result import Hours, Lie
from .rolls import RoomCover
from .sealant import Beads, Penetration
from .sequence import CURES, STEPS, Schedule, first_test_wait, schedule
from .sequence.order import Place, order_links
from .sequence.plan import TILE_ACTIVITIES
from .sums import total
from .tilework import Laid, RoomTile
from .tiling.spec import Bond
from .units import Measure, System
from .weather import held
from .working import Figure, Origin, Working

_DEMOLITION = {
    Covering.TILE: "demolish_tile",
    Covering.RESILIENT: "demolish_resilient",
    Covering.CARPET: "demolish_carpet",
    Covering.WOOD: "demolish_wood",
    Covering.BOARD: "demolish_board",
}
_CUTTING = frozenset({"cut_tile", "cut_holes"})
_BEFORE = {
    **dict.fromkeys(TILE_ACTIVITIES, _CUTTING),
    "trim": TILE_ACTIVITIES,
}
# What must cure by the clock before the room is used.
_CURES_AFTER = {"grout": "grout", "movement_joints": "sealant"}


@dataclass(frozen=True)
class RoomWork:
    """What the takeoff found in one room that asks for labour."""

    assembly: Assembly
    cover: RoomCover | None
    penetrations: tuple[Penetration, ...]
    beads: Beads | None
    tile: RoomTile
    agents: Mapping[str, Material]  # by surface
    mortar: Material | None


@dataclass(frozen=True)
class WorkPlan:
    """*range*: how far the man-hours (without travel) may move; *finish_range*: when the work ends if every
    task takes the same part less or more, as the low and the high of that range."""

    hours: tuple[Hours, ...]
    schedule: Schedule
    range: JobRange
    finish_range: tuple[datetime, datetime]


@dataclass(frozen=True)
class _Item:
    """One activity of a step at a place, with its quantity."""

    place: Place
    activity: str
    quantity: Measure
    label: Phrase
    surface: Surface | None = None


def plan_work(room_set: RoomSet, rooms: Sequence[RoomWork], practice: Practice, start: datetime) -> WorkPlan:
    """Return hours and schedule of a job that may begin at *start*."""
    system = room_set.system
    items = [*_job_items(rooms, system), *(item for room in rooms for item in _room_items(room_set, room))]
    tasks = _tasks(room_set, items, rooms, practice)
    rows = labour_hours(tasks, practice.rates, system, practice.labour)
    found = job_range(rows)
    times = _schedule(rows, Decimal(1), practice, start)
    hours = [_hours(row) for row in rows]
    if room_set.travel_h:
        hours.append(_travel(room_set, times, practice))
    expected = found.expected.value
    early, late = (
        _schedule(rows, bound.value / expected if expected else Decimal(1), practice, start).finish
        for bound in (found.low, found.high)
    )
    return WorkPlan(tuple(hours), times, found, (min(early, times.finish), max(late, times.finish)))


def _schedule(rows: Sequence[TaskHours], pace: Decimal, practice: Practice, start: datetime) -> Schedule:
    """Return the schedule when every task takes *pace* times its hours."""
    return schedule(
        [row.task for row in rows],
        {row.task.key: row.hours.value * pace for row in rows},
        start=start,
        calendar=practice.calendar,
        people=max(int(practice.crew_size.number), 1),
    )


def _hours(row: TaskHours) -> Hours:
    return Hours(
        row.task.key,
        row.task.activity,
        row.task.room,
        row.label,
        row.rate.step,
        row.hours,
        row.task.crew or row.rate.crew,
    )


def _travel(room_set: RoomSet, times: Schedule, practice: Practice) -> Hours:
    """Return the way there and back on every day on site; it lies outside the working day."""
    rate = practice.rates["travel"]
    work = Working("labour.travel", rate.label)
    work.given(
        "t", phrase(gettext_noop("One way, for the whole crew")), room_set.travel_h, "h", Origin.ENTERED
    )
    work.given("d", phrase(gettext_noop("Days on site")), len(times.days_on_site), "each", Origin.COMPUTED)
    work.step("H", phrase(gettext_noop("Man-hours")), "2 * t * d", "h")
    return Hours("travel", "travel", "", rate.label, rate.step, work.figure(), int(practice.crew_size.number))


# --- What there is to do ----------------------------------------------------------------------------------


def _area_of(label: Phrase, placed: Sequence[Placed], system: System) -> Measure:
    parts = [(one.label, one.face.area) for one in placed if one.face.area is not None]
    figure = total("area", label, parts, system.area)
    return Measure(figure.value, system.area)


def _plan_area(assembly: Assembly, system: System) -> Measure:
    """Return the room's plan area, or what is covered where there is no plan."""
    if assembly.traverse is not None:
        return Measure(Measure(assembly.traverse.area_mm2, "sq mm").to(system.area), system.area)
    return _area_of(phrase(gettext_noop("Area")), assembly.placed, system)


def _job_items(rooms: Sequence[RoomWork], system: System) -> Iterator[_Item]:
    floor = sum((_plan_area(room.assembly, system).value for room in rooms), Decimal(0))
    for step, activity in (("protect", "protect"), ("clean_up", "clean_up")):
        yield _Item(Place(step), activity, Measure(floor, system.area), STEPS[step].label)
    yield _Item(Place("final"), "check", Measure(Decimal(1), "each"), STEPS["final"].label)


def _room_items(room_set: RoomSet, work: RoomWork) -> Iterator[_Item]:
    system = room_set.system
    room = work.assembly.room
    for surface in room.surfaces:
        placed = [one for one in work.assembly.placed if one.surface is surface]
        if placed:
            yield from _surface_items(room.key, surface, placed, work, system)
    one = Measure(Decimal(1), "each")
    yield _at(room.key, "accept_substrate", "check", one)
    if work.cover is not None and work.cover.plans:
        yield from _membrane_items(room_set, work)
    if work.tile.laid:
        yield _at(room.key, "check_coverage", "check", one)
        area = sum((laid.area.value for laid in work.tile.laid), Decimal(0))
        yield _at(room.key, "grout", "grout", Measure(area, system.area))
        if work.tile.joints is not None and work.tile.joints.value:
            joints = Measure(work.tile.joints.value, work.tile.joints.unit)
            yield _at(room.key, "joints", "movement_joints", joints)


def _at(room: str, step: str, activity: str, quantity: Measure) -> _Item:
    label = STEPS[step].label
    return _Item(Place(step, room), activity, quantity, label)


def _on(
    room: str, surface: Surface, step: str, activity: str, quantity: Measure, label: Phrase | None = None
) -> _Item:
    named = phrase(
        gettext_noop("{activity}: {surface}"), activity=label or STEPS[step].label, surface=surface.name
    )
    return _Item(Place(step, room, surface.key), activity, quantity, named, surface)


def _surface_items(
    room: str, surface: Surface, placed: Sequence[Placed], work: RoomWork, system: System
) -> Iterator[_Item]:
    area = _area_of(phrase(gettext_noop("Area")), placed, system)
    if surface.remove is not Covering.NONE:
        yield _on(room, surface, "demolish", _DEMOLITION[surface.remove], area)
    if not surface.new_board:
        sealed = surface.condition is Condition.SEALED
        yield _on(room, surface, "prepare", "prepare_sealed" if sealed else "prepare", area)
    if surface.levelling_mm:
        yield _on(room, surface, "level", "level", area)
    if surface.new_board:
        yield _on(room, surface, "board", "backer_board", area)
    if surface.membrane and work.cover is not None:
        for lie, step, activity in (
            (Lie.LEVEL, "floor_sheets", "membrane_floor"),
            (Lie.UPRIGHT, "wall_sheets", "membrane_wall"),
        ):
            faces = [one for one in placed if one.face.lie is lie]
            if faces:
                yield _on(room, surface, step, activity, _area_of(phrase(""), faces, system))
    laid = [one for one in work.tile.laid if one.placed.surface is surface]
    if laid:
        yield from _tile_items(room, surface, laid, work, system)


def _tile_items(
    room: str, surface: Surface, laid: Sequence[Laid], work: RoomWork, system: System
) -> Iterator[_Item]:
    # A face with a border or an accent is laid in parts.
    faced = list({one.placed.face.key: one.placed for one in laid}.values())
    area = _area_of(phrase(""), faced, system)
    yield _on(room, surface, "layout", "layout", area)
    is_small = surface.kind is SurfaceKind.SHOWER_FLOOR or any(
        one.layout.spec.pattern is Bond.MOSAIC for one in laid
    )
    for lie, activity in ((Lie.LEVEL, "set_floor_tile"), (Lie.UPRIGHT, "set_wall_tile")):
        faces = [one for one in faced if one.face.lie is lie]
        if faces:
            yield _on(
                room,
                surface,
                "tile",
                "set_mosaic" if is_small else activity,
                _area_of(phrase(""), faces, system),
            )
    cuts = sum((one.layout.cut.value for one in laid), Decimal(0))
    if cuts:
        label = phrase(gettext_noop("Cut tile"))
        yield _on(room, surface, "tile", "cut_tile", Measure(cuts, "each"), label)
    keys = {one.placed.face.key for one in laid}
    holes = sum(1 for one in work.penetrations if one.placed.face.key in keys)
    if holes:
        label = phrase(gettext_noop("Cut holes in tile"))
        yield _on(room, surface, "tile", "cut_holes", Measure(Decimal(holes), "each"), label)
    edges = sum(
        (
            change.length_mm
            for change in work.assembly.changes
            if not change.inside and change.faces[0] in keys
        ),
        Decimal(0),
    )
    if edges:
        label = phrase(gettext_noop("Edge profiles"))
        run = Measure(Measure(edges, "mm").to(system.run), system.run)
        yield _on(room, surface, "tile", "trim", run, label)


def _membrane_items(room_set: RoomSet, work: RoomWork) -> Iterator[_Item]:
    assert work.cover is not None
    system = room_set.system
    room = work.assembly.room.key
    one = Measure(Decimal(1), "each")
    corners = sum((_corner_count(work, inside) for inside in (True, False)), Decimal(0))
    if corners:
        yield _at(room, "corners", "membrane_corners", Measure(corners, "each"))
    strip_mm = sum((change.length_mm for change in work.assembly.changes if change.has_strip), Decimal(0))
    entered = work.assembly.room.overrides.get(Counted.STRIPS)
    if entered is not None:
        strip_mm = Measure(entered.quantity.value, entered.quantity.unit or system.run).to("mm")
    if strip_mm:
        run = Measure(Measure(strip_mm, "mm").to(system.run), system.run)
        yield _at(room, "strips", "membrane_strips", run)
    through = sum(1 for hole in work.penetrations if hole.placed.surface.membrane)
    if through:
        yield _Item(
            Place("penetrations", room),
            "membrane_penetrations",
            Measure(Decimal(through), "each"),
            phrase(gettext_noop("Membrane: penetrations, cut and sealed")),
        )
    if work.beads is not None and work.beads.length.value:
        bead = Measure(work.beads.length.value, work.beads.length.unit)
        yield _Item(
            Place("penetrations", room),
            "membrane_sealant",
            bead,
            phrase(gettext_noop("Membrane: beads of sealant")),
        )
    yield _at(room, "accept_membrane", "check", one)
    if needs_flood_test(room_set, work.assembly):
        yield _at(room, "fill_test", "flood_test_fill", one)
        yield _at(room, "read_test", "flood_test_read", one)


def _corner_count(work: RoomWork, inside: bool) -> Decimal:
    """Return how many corner pieces are set, as counted or as entered."""
    assert work.cover is not None
    entered = work.assembly.room.overrides.get(Counted.INSIDE if inside else Counted.OUTSIDE)
    if entered is not None:
        return entered.quantity.value
    return Decimal(sum(piece.inside is inside for piece in work.cover.corner_pieces))


def needs_flood_test(room_set: RoomSet, assembly: Assembly) -> bool:
    """Whether a room is flood tested: a shower floor, or a membrane floor where the owner asks."""
    floors = [one.surface for one in assembly.placed if one.surface.membrane]
    if any(surface.kind is SurfaceKind.SHOWER_FLOOR for surface in floors):
        return True
    return room_set.flood_test_asked and any(surface.kind is SurfaceKind.FLOOR for surface in floors)


# --- Tasks ------------------------------------------------------------------------------------------------


def _tasks(
    room_set: RoomSet, items: Sequence[_Item], rooms: Sequence[RoomWork], practice: Practice
) -> list[Task]:
    order = {step: at for at, step in enumerate(STEPS)}
    items = sorted(items, key=lambda item: order[item.place.step])
    by_place: dict[Place, list[str]] = {}
    keys = []
    for item in items:
        parts = (item.place.step, item.activity, item.place.room, item.place.surface)
        key = ".".join(part for part in dict.fromkeys(parts) if part)
        keys.append(key)
        by_place.setdefault(item.place, []).append(key)
    links = order_links(by_place)
    activity_of = {key: item.activity for key, item in zip(keys, items, strict=True)}
    by_room = {work.assembly.room.key: work for work in rooms}
    alike = _alike(rooms)
    tasks = []
    for key, item in zip(keys, items, strict=True):
        work = by_room.get(item.place.room)
        rate = practice.rates[item.activity]
        hold = STEPS[item.place.step].hold_point
        tasks.append(
            Task(
                key=key,
                activity=item.activity,
                room=item.place.room,
                quantity=item.quantity,
                difficulty=difficulty(
                    rate,
                    floor=_plan_area(work.assembly, room_set.system)
                    if work is not None and work.assembly.traverse is not None
                    else None,
                    high=item.surface is not None and _is_high(item.surface, work, practice),
                    occupied=room_set.occupied,
                    factors=practice.factors,
                    small=practice.small_room.value,
                ),
                cure=CURES.get(_CURES_AFTER.get(item.activity, "")),
                links=(
                    *(
                        Link(
                            other,
                            None
                            if wait == "mortar" and activity_of[other] in _CUTTING
                            else _wait(wait, place, by_room, practice) or _tacky(item, work, practice),
                        )
                        for place, wait in links[item.place]
                        for other in by_place[place]
                    ),
                    *(Link(other) for other in _within(item, by_place, activity_of)),
                ),
                surface=item.place.surface,
                like=alike.get(item.place.room, ""),
                label=item.label,
                hold_point=hold.value if hold is not None else "",
            )
        )
    return tasks


def _within(item: _Item, by_place: Mapping[Place, list[str]], activity_of: Mapping[str, str]) -> list[str]:
    """Return what an activity waits for at its own place: tile is cut, then set, then trimmed."""
    before = _BEFORE.get(item.activity, frozenset())
    return [key for key in by_place[item.place] if activity_of[key] in before]


def _alike(rooms: Sequence[RoomWork]) -> dict[str, str]:
    """Return, for rooms measured and covered exactly like an earlier one, one word for all of them."""
    words: dict[str, str] = {}
    for work in rooms:
        room = work.assembly.room
        for other in rooms:
            twin = other.assembly.room
            if twin is not room and (twin.legs, twin.surfaces, twin.fixtures, twin.openings) == (
                room.legs,
                room.surfaces,
                room.fixtures,
                room.openings,
            ):
                words.setdefault(room.key, words.get(twin.key, twin.key))
    return words


def _is_high(surface: Surface, work: RoomWork | None, practice: Practice) -> bool:
    if work is None:
        return False
    tops = [
        max(y for _, y in one.face.outline)
        for one in work.assembly.placed
        if one.surface is surface and one.face.lie is Lie.UPRIGHT
    ]
    return bool(tops) and max(tops) > practice.reach.mm


def _wait(wait: str, place: Place, by_room: Mapping[str, RoomWork], practice: Practice) -> Cure | None:
    """Return the wait of that name after *place*; a data sheet or a setting goes before the default."""
    if not wait:
        return None
    work = by_room.get(place.room)
    if wait == "bond" and work is not None:
        agent = work.agents[place.surface]
        return Cure(
            "bond",
            phrase(gettext_noop("Bond cures before tile")),
            held(agent, "cure", practice).value.to("h"),
            Origin.DATA_SHEET,
            phrase(gettext_noop("data sheet of {material}"), material=agent.name),
        )
    if wait == "mortar" and work is not None and work.mortar is not None and "cure" in work.mortar.facts:
        return Cure(
            "mortar",
            CURES["mortar"].label,
            held(work.mortar, "cure", practice).value.to("h"),
            Origin.DATA_SHEET,
            phrase(gettext_noop("data sheet of {material}"), material=work.mortar.name),
        )
    if wait == "before test":
        return first_test_wait(Decimal(0) if practice.laid_cold.number else None)
    if wait == "flood test":
        test = practice.flood_test
        return Cure(wait, CURES[wait].label, test.to("h"), test.origin, test.source)
    return CURES[wait]


def _tacky(item: _Item, work: RoomWork | None, practice: Practice) -> Cure | None:
    """Return the wait before sheets on a substrate that does not drink: the agent first turns tacky."""
    surface = item.surface
    if item.place.step not in ("floor_sheets", "wall_sheets") or surface is None or work is None:
        return None
    if is_porous(surface):
        return None
    agent = work.agents[surface.key]
    wait = held(agent, "wait non-porous", practice).value.to("h")
    source = phrase(gettext_noop("data sheet of {material}"), material=agent.name)
    return Cure("tacky", CURES["tacky"].label, wait, Origin.DATA_SHEET, source) if wait else None


def is_wet(surface: Surface) -> bool:
    """Whether the surface stands in water: marked wet, or part of a shower by its kind."""
    return surface.exposure is Exposure.WET or surface.kind in (
        SurfaceKind.SHOWER_FLOOR,
        SurfaceKind.BENCH,
        SurfaceKind.CURB,
        SurfaceKind.NICHE,
    )


def job_hours(hours: Sequence[Hours]) -> Figure:
    """Return all man-hours of a job."""
    return total(
        "hours",
        phrase(gettext_noop("Man-hours in the whole job")),
        [(row.label, row.hours) for row in hours],
        "h",
    )

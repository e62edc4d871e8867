"""The takeoff: one pure call from measured rooms to everything that is needed for the job."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from .assembly import Assembly, assemble
from .batching import batches
from .board_plan import plan_boards
from .boards import board_count, fastener_count, leveller_bags
from .bonding import BondedFace, Spread, batch_area, bonded_area, room_quantity
from .cautions import Work, cautions
from .errors import DomainError
from .membrane import FacePlan
from .model import Counted, Material, Role, RoomSet, Surface, SurfaceKind
from .needs import RoomFigure, board_need, membrane_needs, need
from .overrides import check_overrides, corrected
from .phrases import gettext_noop, phrase
from .practice import Practice
from .result import Batch, BoardPlan, Need, Notice, Patch, Pierced, RoomTakeoff, Strip, Takeoff, TilePart
from .rolls import Cover, RoomCover, cover
from .sealant import Beads, beads, cartridge_unit, penetrations, refuse_lost
from .shelf import Shelf
from .space import area_mm2, holes, on_grid, parts, polygon, shape_of
from .strip_legs import strip_legs
from .sums import count_of, sum_of, total
from .tilework import RoomTile, tile_room
from .units import System, convert
from .working import Figure
from .workplan import RoomWork, is_wet, plan_work


def run(
    room_set: RoomSet, materials: Iterable[Material], practice: Practice | None = None, *, start: datetime
) -> Takeoff:
    """Take off a job.

    Args:
        room_set: the measured rooms, in the site's units.
        materials: the material list with data-sheet values; the first of a role is the one used, tile is
            named by each surface, and all membranes are offered to the cut plan.
        practice: the contractor's settings; None: the defaults.
        start: when work may begin, for the schedule (the core reads no clock).

    Returns:
        Everything found; the same input gives the same answer.

    Raises:
        DomainError: impossible input; *place* is a path such as ``rooms[0].surfaces[2].length``.
    """
    practice = practice or Practice()
    shelf = Shelf(materials)
    _check_set(room_set)
    assemblies = []
    for at, room in enumerate(room_set.rooms):
        try:
            check_overrides(room, room_set.system)
            assemblies.append(assemble(room, practice, room_set.system))
            refuse_lost(assemblies[-1])
        except DomainError as error:
            raise error.at(f"rooms[{at}]") from error
    return _Run(room_set, shelf, practice, assemblies).takeoff(start)


def _check_set(room_set: RoomSet) -> None:
    keys = [room.key for room in room_set.rooms]
    for at, key in enumerate(keys):
        if key in keys[:at]:
            raise DomainError(
                phrase(gettext_noop("The room key {key} is given twice; each needs its own."), key=key),
                rule="room.key-twice",
                place=f"rooms[{at}].key",
            )
    if not keys:
        raise DomainError(
            phrase(gettext_noop("There is no room to take off; measure at least one.")),
            rule="room.none",
            place="rooms",
        )


@dataclass
class _Room:
    """One room on its way through the takeoff."""

    assembly: Assembly
    cover: RoomCover | None
    bonded: tuple[BondedFace, ...]
    work: RoomWork
    beads: Beads | None
    figures: list[Figure]

    @property
    def key(self) -> str:
        return self.assembly.room.key

    @property
    def name(self) -> str:
        return self.assembly.room.name


class _Run:
    """Carries the job's givens through the steps."""

    def __init__(
        self, room_set: RoomSet, shelf: Shelf, practice: Practice, assemblies: Sequence[Assembly]
    ) -> None:
        self.room_set = room_set
        self.system: System = room_set.system
        self.shelf = shelf
        self.practice = practice
        self.cover: Cover | None = cover(assemblies, shelf, practice, self.system, room_set.stock)
        self.quantities: dict[str, list[RoomFigure]] = {}
        boarded = [one for assembly in assemblies for one in assembly.placed if one.surface.new_board]
        self.boards: BoardPlan | None = None
        if boarded:
            board = shelf.need(Role.BACKER_BOARD, assemblies[0].room.name)
            self.boards = plan_boards(boarded, board, practice)
        self.rooms = [
            self.room(at, assembly, self.cover.rooms[at] if self.cover is not None else None)
            for at, assembly in enumerate(assemblies)
        ]

    def takeoff(self, start: datetime) -> Takeoff:
        bonded = [row for room in self.rooms for row in room.bonded]
        plan = plan_work(self.room_set, [room.work for room in self.rooms], self.practice, start)
        spread = batches(bonded, self.practice, self.system)
        needs = tuple(self.needs())  # adds the membrane cut for each room to the room's figures
        return Takeoff(
            rooms=tuple(self.result(room, spread) for room in self.rooms),
            needs=needs,
            cut_plan=self.cover.plan if self.cover is not None else None,
            batches=spread,
            hours=plan.hours,
            schedule=plan.schedule,
            cautions=cautions(self.room_set, self.hazards()),
            notices=tuple(notice for room in self.rooms for notice in self.notices(room)),
            layings=self.cover.choice if self.cover is not None else None,
            stock_used=self.stock_used(),
            board_plan=self.boards,
            hours_range=plan.range,
            finish_range=plan.finish_range,
        )

    # --- One room -----------------------------------------------------------------------------------------

    def room(self, at: int, assembly: Assembly, covered: RoomCover | None) -> _Room:
        room = assembly.room
        if covered is not None and not covered.plans:
            covered = None
        try:
            tile = tile_room(assembly, self.shelf, self.practice, self.system)
        except DomainError as error:
            if error.rule == "material.role-missing":
                raise  # lies in the material list, not in the room
            raise error.at(f"rooms[{at}]") from error
        holes = penetrations(assembly)
        bead = beads(assembly, holes, self.practice, self.system) if covered is not None else None
        bonded = tuple(self.bonded(assembly, covered)) if covered is not None else ()
        work = RoomWork(
            assembly,
            covered,
            holes,
            bead,
            tile,
            {row.surface.key: row.agent for row in bonded},
            self.shelf.need(Role.MORTAR, room.name) if tile.laid else None,
        )
        done = _Room(assembly, covered, bonded, work, bead, [])
        self.measure_membrane(done)
        self.measure_tile(done, tile)
        self.measure_ground(done)
        return done

    def record(self, room: _Room, material: Material, figure: Figure) -> None:
        """Keep a material's quantity in a room, for the room and for the job's need."""
        room.figures.append(figure)
        self.quantities.setdefault(material.key, []).append((room.key, room.name, figure))

    def bonded(self, assembly: Assembly, covered: RoomCover) -> Iterator[BondedFace]:
        """Yield the room's faces with what is bonded on them; a strip counts with its first bonded face."""
        plans = {plan.face.key: plan for plan in covered.plans}
        strips: dict[str, list[Strip]] = {}
        changes = {change.key: change for change in assembly.changes}
        shapes = {key: shape_of(plan.face.outline, plan.face.holes) for key, plan in plans.items()}
        for change in assembly.changes:
            home = next((key for key in change.faces if key in plans), None)
            if home is not None:
                strips.setdefault(home, []).extend(
                    strip for strip in covered.strips if strip.change == change.key
                )
        for placed in assembly.placed:
            plan = plans.get(placed.face.key)
            if plan is None:
                continue
            sheets = _sheet_areas(plan)
            own = [
                Spread(
                    strip.key,
                    (strip.end_mm - strip.start_mm) * strip.width_mm,
                    tuple(
                        Patch(key, strip.key, leg, is_strip=True)
                        for key, leg in strip_legs(strip, changes[strip.change], shapes)
                    ),
                )
                for strip in strips.get(placed.face.key, ())
            ]
            net = area_mm2(plan.face.outline) - sum((area_mm2(hole) for hole in plan.face.holes), Decimal(0))
            laps = max(sum((spread.area_mm2 for spread in sheets), Decimal(0)) - net, Decimal(0))
            assert placed.face.area is not None
            area = bonded_area(
                placed.face,
                placed.face.area,
                laps,
                sum((spread.area_mm2 for spread in own), Decimal(0)),
                self.system,
            )
            agent = self.shelf.agent(placed.surface.method, assembly.room.name)
            yield BondedFace(placed.face, placed.surface, agent, (*own, *sheets), area)

    def measure_membrane(self, room: _Room) -> None:
        if room.cover is None:
            return
        covered = room.cover
        room.figures += [plan.runs for plan in covered.plans]
        room.figures += covered.strip_figures
        room.figures += [row.area for row in room.bonded]
        by_agent: dict[str, list[BondedFace]] = {}
        for row in room.bonded:
            by_agent.setdefault(row.agent.key, []).append(row)
        for rows in by_agent.values():
            agent = rows[0].agent
            self.record(room, agent, room_quantity(room.key, agent, rows, self.system))
            most = batch_area(agent, self.practice, self.system)
            room.figures.append(replace(most, key=f"{room.key}.{most.key}"))
        lengths = [(change.label, change.length_mm) for change in room.assembly.changes if change.has_strip]
        strips = sum_of(
            f"{room.key}.strip length",
            phrase(gettext_noop("Changes of plane under strips")),
            [(label, convert(size, "mm", self.system.run)) for label, size in lengths],
            self.system.run,
        )
        room.figures.append(corrected(room.assembly.room, Counted.STRIPS, strips))
        if room.beads is not None:
            room.figures.append(room.beads.length)
            if room.beads.length.value:
                self.record(room, self.shelf.need(Role.SEALANT, room.name), room.beads.volume)
        self.measure_corners(room)

    def measure_corners(self, room: _Room) -> None:
        assert room.cover is not None
        for inside, role, what, label in (
            (True, Role.INSIDE_CORNER, Counted.INSIDE, phrase(gettext_noop("Inside corner pieces"))),
            (False, Role.OUTSIDE_CORNER, Counted.OUTSIDE, phrase(gettext_noop("Outside corner pieces"))),
        ):
            pieces = [piece for piece in room.cover.corner_pieces if piece.inside is inside]
            if not pieces and what not in room.assembly.room.overrides:
                continue
            counted = count_of(f"{room.key}.{role.value}", label, len(pieces))
            figure = corrected(room.assembly.room, what, counted)
            if pieces and pieces[0].from_roll:
                room.figures.append(figure)
            else:
                self.record(room, self.shelf.need(role, room.name), figure)

    def measure_tile(self, room: _Room, tile: RoomTile) -> None:
        for material, count in tile.counts:
            self.record(room, material, count)
        if tile.mortar is not None:
            self.record(room, self.shelf.need(Role.MORTAR, room.name), tile.mortar)
        if tile.grout is not None:
            self.record(room, self.shelf.need(Role.GROUT, room.name), tile.grout)
        room.figures += [bed.figure for bed in tile.beds]
        if tile.trim is not None and tile.trim.value:
            room.figures.append(tile.trim)
        if tile.joints is not None and tile.joint_sealant is not None:
            room.figures.append(tile.joints)
            if tile.joints.value:
                self.record(room, self.shelf.need(Role.JOINT_SEALANT, room.name), tile.joint_sealant)

    def measure_ground(self, room: _Room) -> None:
        """Boards, fasteners, levelling compound, and what is taken out."""
        placed = room.assembly.placed
        boarded = [one for one in placed if one.surface.new_board]
        if boarded:
            board = self.shelf.need(Role.BACKER_BOARD, room.name)
            self.record(room, board, board_count(room.key, board, boarded, self.system))
            self.record(
                room,
                self.shelf.need(Role.FASTENER, room.name),
                fastener_count(room.key, board, boarded, self.boards, self.practice, self.system),
            )
        levelled = [(one, one.surface.levelling_mm) for one in placed if one.surface.levelling_mm]
        if levelled:
            leveller = self.shelf.need(Role.LEVELLER, room.name)
            self.record(room, leveller, leveller_bags(room.key, leveller, levelled, self.system))
        for surface in room.assembly.room.surfaces:
            if surface.remove.value != "nothing":
                faces = [
                    (one.label, one.face.area)
                    for one in placed
                    if one.surface is surface and one.face.area is not None
                ]
                label = phrase(
                    gettext_noop("Removed from {surface}: {covering}"),
                    surface=surface.name,
                    covering=phrase(surface.remove.value),
                )
                room.figures.append(
                    total(f"{room.key}.{surface.key}.removed", label, faces, self.system.area)
                )

    # --- The whole job ------------------------------------------------------------------------------------

    def needs(self) -> Iterator[Need]:
        if self.cover is not None:
            yield from membrane_needs(
                self.shelf.all(Role.MEMBRANE), self.cover.plan, self.membrane_by_room(), self.system.area
            )
        for material in self.shelf.materials:
            if self.boards is not None and material.key == self.boards.material:
                yield board_need(material, self.boards.plan, self.quantities[material.key])
                continue
            found = need(
                material,
                self.quantities.get(material.key, ()),
                _UNITS[material.role](self.system),
                self.practice,
            )
            if found is not None:
                yield found

    def stock_used(self) -> tuple[str, ...]:
        """Return the keys of the offcuts from the shelf that the plan cuts up."""
        if self.cover is None:
            return ()
        return tuple(
            roll.kind_key for roll in self.cover.plan.rolls if roll.kind_key in self.cover.stock_material
        )

    def membrane_by_room(self) -> dict[str, list[RoomFigure]]:
        """Return, for each membrane, the area of the pieces cut from it for each room."""
        assert self.cover is not None
        pieces = {piece.key: piece for piece in self.cover.pieces}
        taken: dict[str, dict[str, list[str]]] = {}
        for roll in self.cover.plan.rolls:
            for placed in roll.placed:
                home = self.cover.room_of[placed.piece_key]
                kind = self.cover.stock_material.get(roll.kind_key, roll.kind_key)
                taken.setdefault(kind, {}).setdefault(home, []).append(placed.piece_key)
        names = {room.key: room.name for room in self.rooms}
        order = {key: at for at, key in enumerate(pieces)}
        rows: dict[str, list[RoomFigure]] = {}
        for kind, by_room in taken.items():
            for room in self.rooms:
                keys = sorted(by_room.get(room.key, ()), key=order.__getitem__)
                if not keys:
                    continue
                figure = sum_of(
                    f"{room.key}.{kind}",
                    phrase(gettext_noop("Membrane cut for this room")),
                    [
                        (
                            phrase(gettext_noop("Piece {mark}"), mark=key),
                            convert(pieces[key].across_mm * pieces[key].along_mm, "sq mm", self.system.area),
                        )
                        for key in keys
                    ],
                    self.system.area,
                )
                room.figures.append(figure)
                rows.setdefault(kind, []).append((room.key, names[room.key], figure))
        return rows

    def hazards(self) -> Work:
        tiled = any(room.work.tile.laid for room in self.rooms)
        boarded = any(one.surface.new_board for room in self.rooms for one in room.assembly.placed)
        return Work(cuts=tiled or boarded, wet_products=tiled or self.cover is not None)

    def notices(self, room: _Room) -> Iterator[Notice]:
        for one in room.work.tile.laid:
            if one.part is TilePart.BORDER:
                continue  # a border is cut at its mitres in any case
            for number, text in enumerate(one.layout.warnings, 1):
                key = f"{one.placed.face.key}.layout.{number}"
                if one.part is not TilePart.FIELD:
                    key = f"{key}.{one.part.value}"
                yield Notice(key, room.key, text)
        for bed in room.work.tile.beds:
            for text in bed.warnings:
                yield Notice(
                    f"{room.key}.{bed.tile.key}.bed",
                    room.key,
                    phrase(
                        gettext_noop("{room}, {tile}: {what}"), room=room.name, tile=bed.tile.name, what=text
                    ),
                )
        for tile in {one.tile.key: one for one in room.work.tile.laid if one.trowel.back_butter}.values():
            yield Notice(
                f"{room.key}.{tile.tile.key}.back",
                room.key,
                phrase(
                    gettext_noop(
                        "{room}: {tile} has an edge of 15 in or more; coat its back as well and take mortar "
                        "made for large tile (common practice; lift a tile to check the contact, ANSI "
                        "A108.5 2.2.3)."
                    ),
                    room=room.name,
                    tile=tile.tile.name,
                ),
            )
        for plan in room.cover.plans if room.cover is not None else ():
            if not plan.clear:
                yield Notice(
                    f"{plan.face.key}.drain",
                    room.key,
                    phrase(
                        gettext_noop(
                            "{room}: a seam of {face} lies nearer to the drain than the setting asks; no run "
                            "of this roll width keeps away."
                        ),
                        room=room.name,
                        face=plan.face.label,
                    ),
                )
        for surface in room.assembly.room.surfaces:
            if self.is_low(room, surface):
                yield Notice(
                    f"{room.key}.{surface.key}.height",
                    room.key,
                    phrase(
                        gettext_noop(
                            "{room}: {surface} ends below {height} in; shower walls are waterproofed at "
                            "least that high (IRC R307.2; the local code decides)."
                        ),
                        room=room.name,
                        surface=surface.name,
                        height=str(self.practice.wet_wall_height.to("in")),
                    ),
                )

    def is_low(self, room: _Room, surface: Surface) -> bool:
        if surface.kind is not SurfaceKind.WALL or not is_wet(surface) or not surface.membrane:
            return False
        tops = [max(y for _, y in one.face.outline) for one in room.assembly.placed if one.surface is surface]
        return bool(tops) and max(tops) < self.practice.wet_wall_height.mm

    def result(self, room: _Room, spread: Sequence[Batch]) -> RoomTakeoff:
        covered = room.cover
        assembly = room.assembly
        return RoomTakeoff(
            key=room.key,
            name=room.name,
            traverse=assembly.traverse,
            faces=assembly.faces,
            changes=assembly.changes,
            corners=assembly.corners,
            sheets=covered.sheets if covered is not None else (),
            laps=covered.laps if covered is not None else (),
            strips=covered.strips if covered is not None else (),
            corner_pieces=covered.corner_pieces if covered is not None else (),
            tiled=room.work.tile.tiled,
            figures=tuple(room.figures),
            pierced=tuple(
                Pierced(
                    one.fixture.key,
                    one.fixture.kind,
                    one.placed.face.key,
                    (on_grid(one.x), on_grid(one.y)),
                    one.fixture.diameter_mm,
                )
                for one in room.work.penetrations
            ),
            batches=tuple(batch for batch in spread if batch.room == room.key),
        )


def _sheet_areas(plan: FacePlan) -> list[Spread]:
    """Return what each sheet bonds: its outline less what is cut out of the face."""
    face = plan.face
    if not face.holes:
        return [
            Spread(
                sheet.key,
                area_mm2(sheet.outline),
                (Patch(face.key, sheet.key, sheet.outline),),
                sheet.along_x,
            )
            for sheet in plan.sheets
        ]
    shape = shape_of(face.outline, face.holes)
    found = []
    for sheet in plan.sheets:
        bonded = shape_of(sheet.outline).intersection(shape)
        patches = tuple(Patch(face.key, sheet.key, polygon(part), holes(part)) for part in parts(bonded))
        found.append(Spread(sheet.key, Decimal(str(round(bonded.area, 4))), patches, sheet.along_x))
    return found


_UNITS: Mapping[Role, Callable[[System], str]] = {
    Role.MEMBRANE: lambda system: system.area,
    Role.INSIDE_CORNER: lambda system: "each",
    Role.OUTSIDE_CORNER: lambda system: "each",
    Role.BONDING_AGENT: lambda system: system.volume,
    Role.SEALANT: cartridge_unit,
    Role.JOINT_SEALANT: cartridge_unit,
    Role.TILE: lambda system: "each",
    Role.MORTAR: lambda system: "each",
    Role.GROUT: lambda system: system.mass,
    Role.BACKER_BOARD: lambda system: "each",
    Role.FASTENER: lambda system: "each",
    Role.LEVELLER: lambda system: "each",
}

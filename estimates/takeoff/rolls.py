"""The membrane of a whole job: which way sheets run, the pieces, and the rolls they are cut from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from .assembly import Assembly
from .cutting import CutPlan, CutSettings, Piece, RollKind, plan_cuts
from .errors import DomainError
from .faces import Placed
from .membrane import (
    DrainSpot,
    FacePlan,
    Roll,
    best_plan,
    check_roll,
    corner_pieces,
    lay_strips,
    letters,
    strips_figure,
)
from .model import FixtureKind, Material, Role
from .practice import Practice
from .result import CornerPiece, Lap, Lie, Sheet, Strip
from .sealant import penetrations
from .shelf import Shelf
from .units import System
from .working import Figure

_SQ_MM_PER_SQ_CM = 100
# Work of the cut plan's search: about half a second on a modest machine. The clock only ends a search that
# has gone astray, so that a busy machine answers later, not otherwise.
_WORK = 12_000_000
_OUTER_LIMIT_S = 60.0


@dataclass(frozen=True)
class RoomCover:
    """The membrane of one room. *strip_figures* say how many strips each change of plane takes."""

    plans: tuple[FacePlan, ...]
    strips: tuple[Strip, ...]
    corner_pieces: tuple[CornerPiece, ...]
    strip_figures: tuple[Figure, ...]

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        return tuple(sheet for plan in self.plans for sheet in plan.sheets)

    @property
    def laps(self) -> tuple[Lap, ...]:
        return tuple(lap for plan in self.plans for lap in plan.laps)


@dataclass(frozen=True)
class Cover:
    """The membrane of a job: by room (in the rooms' order), every piece to be cut, and the plan."""

    rooms: tuple[RoomCover, ...]
    pieces: tuple[Piece, ...]
    room_of: dict[str, str]
    plan: CutPlan


def cover(assemblies: Sequence[Assembly], shelf: Shelf, practice: Practice, system: System) -> Cover | None:
    """Plan the membrane of a job; None where no surface has any.

    Sheets are planned for each roll width on the list, and the width whose cut plan is cheapest is kept.

    Raises:
        DomainError: no membrane on the list, a roll narrower than its lap, or what :func:`plan_cuts` refuses.
    """
    wanted = next(
        (
            (assembly, placed)
            for assembly in assemblies
            for placed in assembly.placed
            if placed.surface.membrane
        ),
        None,
    )
    if wanted is None:
        return None
    membranes = shelf.all(Role.MEMBRANE)
    if not membranes:
        raise shelf.missing(Role.MEMBRANE, wanted[0].room.name)
    kinds = _kinds(membranes)
    best: Cover | None = None
    for material in _one_of_each_width(membranes):
        roll = _roll(material)
        try:
            check_roll(roll, practice)
        except DomainError as error:
            raise error.at(f"materials[{shelf.materials.index(material)}]") from error
        found = _cover(assemblies, roll, kinds, shelf, practice, system)
        if best is None or _price(found) < _price(best):
            best = found
    return best


def _price(found: Cover) -> tuple[int, Decimal]:
    return (found.plan.cost_cents, found.plan.length_used_mm)


def _roll(material: Material) -> Roll:
    return Roll(material.key, material.facts["roll width"].to("mm"), material.facts["roll length"].to("mm"))


def _one_of_each_width(membranes: Sequence[Material]) -> Iterator[Material]:
    """Yield the longest roll of each width."""
    longest: dict[Decimal, Material] = {}
    for material in membranes:
        width = material.facts["roll width"].to("mm")
        if width not in longest or _roll(material).length_mm > _roll(longest[width]).length_mm:
            longest[width] = material
    yield from longest.values()


def _kinds(membranes: Sequence[Material]) -> list[RollKind]:
    """Return the rolls for the planner; without a price on every one, a roll costs its area."""
    by_price = all(material.cost_cents is not None for material in membranes)
    kinds = []
    for material in membranes:
        roll = _roll(material)
        area = int(roll.width_mm * roll.length_mm / _SQ_MM_PER_SQ_CM)
        cost = material.cost_cents if by_price and material.cost_cents is not None else area
        kinds.append(RollKind(material.key, _fine(roll.width_mm), _fine(roll.length_mm), cost))
    return kinds


def _fine(mm: Decimal) -> Decimal:
    return mm.quantize(Decimal("0.0001"))


def _cover(
    assemblies: Sequence[Assembly],
    roll: Roll,
    kinds: Sequence[RollKind],
    shelf: Shelf,
    practice: Practice,
    system: System,
) -> Cover:
    rooms = []
    pieces: list[Piece] = []
    room_of: dict[str, str] = {}
    sheets = strips = 0
    for assembly in assemblies:
        plans = []
        for placed in assembly.placed:
            if not placed.surface.membrane:
                continue
            plan, _ = best_plan(placed.face, roll, practice, system, _drains(assembly, placed))
            plan = _mark(plan, sheets)
            sheets += len(plan.sheets)
            plans.append(plan)
            pieces += [
                _piece(sheet.key, sheet.across_mm, sheet.along_mm, roll, practice) for sheet in plan.sheets
            ]
        laid: list[Strip] = []
        figures = []
        for change in assembly.changes:
            if not change.has_strip:
                continue
            for strip in lay_strips(change, roll, practice):
                strips += 1
                laid.append(replace(strip, key=f"S{strips}"))
                size = strip.end_mm - strip.start_mm
                pieces.append(_piece(f"S{strips}", size, strip.width_mm, roll, practice))
            figures.append(strips_figure(change, roll, practice, system))
        corners = corner_pieces(assembly.corners, _cut_from_roll(shelf, practice))
        side = practice.corner_piece.mm
        pieces += [
            _piece(corner.corner, side, side, roll, practice) for corner in corners if corner.from_roll
        ]
        room_of |= {piece.key: assembly.room.key for piece in pieces if piece.key not in room_of}
        rooms.append(RoomCover(tuple(plans), tuple(laid), corners, tuple(figures)))
    settings = CutSettings(
        kerf_mm=_fine(practice.kerf.mm),
        trim_mm=_fine(practice.roll_end.mm),
        keep_across_mm=_fine(practice.offcut_width.mm),
        keep_along_mm=_fine(practice.offcut_length.mm),
        time_limit_s=_OUTER_LIMIT_S,
        work_limit=_WORK,
    )
    return Cover(tuple(rooms), tuple(pieces), room_of, plan_cuts(pieces, kinds, settings))


def _cut_from_roll(shelf: Shelf, practice: Practice) -> dict[bool, bool]:
    """Return, for inside (True) and outside corners, whether their pieces are cut from the roll.

    They are where the practice says so, and where the list has no made piece to buy.
    """
    always = practice.corners_from_roll.number > 0
    return {
        True: always or not shelf.all(Role.INSIDE_CORNER),
        False: always or not shelf.all(Role.OUTSIDE_CORNER),
    }


def _drains(assembly: Assembly, placed: Placed) -> list[DrainSpot]:
    if placed.face.lie is not Lie.LEVEL:
        return []
    return [
        DrainSpot(one.x, one.y, float(one.fixture.diameter_mm or 0) / 2)
        for one in penetrations(assembly)
        if one.fixture.kind is FixtureKind.DRAIN and one.placed is placed
    ]


def _mark(plan: FacePlan, before: int) -> FacePlan:
    """Give the sheets of a face their letters within the job."""
    marks = {sheet.key: letters(before + at) for at, sheet in enumerate(plan.sheets, 1)}
    return replace(
        plan,
        sheets=tuple(
            replace(sheet, key=marks[sheet.key], order=before + at) for at, sheet in enumerate(plan.sheets, 1)
        ),
        laps=tuple(replace(lap, over=marks[lap.over], under=marks[lap.under]) for lap in plan.laps),
    )


def _piece(key: str, across: Decimal, along: Decimal, roll: Roll, practice: Practice) -> Piece:
    """Return a piece with its trimming allowance; a piece of the roll's full width has none across."""
    trim = practice.trim.mm
    wide = min(across + trim, roll.width_mm)
    return Piece(key, _fine(wide), _fine(min(along + trim, roll.length_mm)))

"""The membrane of a whole job: which way sheets run, the pieces, and the rolls they are cut from."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from .assembly import Assembly
from .choosing import (
    MANY_PIECES,
    MOST_STEPS,
    PLAIN_STEPS,
    Aim,
    Bounds,
    Choice,
    Raced,
    bounds,
    choices,
    likely,
    raced,
    remade,
)
from .cutting import CutPlan, CutSettings, Piece, RollKind, plan_cuts
from .cutting.plan import cheaper
from .cutting.rolls import Hint
from .cutting.sets import are_sets, least_of
from .cutting.sizes import as_mm, ceil_units, read_job
from .errors import DomainError
from .faces import Placed
from .layings import DrainSpot, Laying, Roll, ways
from .membrane import FacePlan, check_roll, corner_pieces, laid, lay_strips, letters, strips_figure
from .model import FixtureKind, Material, Role, StockPiece
from .phrases import gettext_noop, phrase
from .practice import Practice
from .result import ChangeOfPlane, CornerPiece, Lap, LayingChoice, Lie, Sheet, Strip
from .sealant import penetrations
from .shelf import Shelf
from .units import System
from .working import Figure

_SQ_MM_PER_SQ_CM = 100
# Work of the search for a cut plan: about an eighth of a second on a modest machine. The clock only ends a
# search that has gone astray, so that a busy machine answers later, not otherwise.
_WORK = 2_500_000
_OUTER_LIMIT_S = 60.0
# Of a small job with more kinds of roll than this, not all choices among them are tried.
_MOST_KINDS = 4
# Choices of fewer kinds of roll that a large job is planned with again.
_MOST_AGAIN = 2


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
    choice: LayingChoice | None = None
    stock_material: Mapping[str, str] = field(default_factory=dict)  # offcut from the shelf -> its membrane


def cover(
    assemblies: Sequence[Assembly],
    shelf: Shelf,
    practice: Practice,
    system: System,
    stock: Sequence[StockPiece] = (),
) -> Cover | None:
    """Plan the membrane of a job; None where no surface has any.

    Every face may be laid in several ways, from every roll width on the list; which, is chosen with the cut
    plan (:mod:`.choosing`).

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
    for material in _one_of_each_width(membranes):
        try:
            check_roll(_roll(material), practice, material.name, system)
        except DomainError as error:
            raise error.at(f"materials[{shelf.materials.index(material)}]") from error
    homes: dict[str, str] = {}
    for at, piece in enumerate(stock):
        if piece.key in homes:
            raise DomainError(
                phrase(gettext_noop("The offcut {key} is listed twice; each needs a key."), key=piece.key),
                rule="stock.key",
                place=f"stock[{at}].key",
            )
        homes[piece.key] = _home(at, piece, membranes)
    on_shelf, kinds = _on_shelf(stock), _kinds(membranes)

    def planned(numbers: Sequence[int]) -> tuple[_Planner, Cover]:
        rolls = [_roll(material) for material in _one_of_each_width([membranes[at] for at in numbers])]
        planner = _Planner(assemblies, rolls, shelf, practice, system)
        return planner, planner.cover([*on_shelf, *(kinds[at] for at in numbers)])

    planner, found = planned(range(len(membranes)))
    for numbers in planner.fewer_kinds(found):
        if planner.least_of(numbers, found) < found.plan.cost_cents:
            found = planner.cheaper_of(found, planned(numbers)[1])
    return replace(found, stock_material=homes)


def _on_shelf(stock: Sequence[StockPiece]) -> list[RollKind]:
    return [
        RollKind(piece.key, _fine(piece.width_mm), _fine(piece.length_mm), 0, is_stock=True)
        for piece in stock
    ]


def _home(at: int, piece: StockPiece, membranes: Sequence[Material]) -> str:
    """Return the key of the membrane that an offcut is of.

    Raises:
        DomainError: no such membrane, or a key that a membrane has (rules ``stock.material``, ``stock.key``).
    """
    keys = [material.key for material in membranes]
    if piece.key in keys:
        raise DomainError(
            phrase(
                gettext_noop("The offcut {key} has the key of a membrane; give it its own."), key=piece.key
            ),
            rule="stock.key",
            place=f"stock[{at}].key",
        )
    if piece.material is not None and piece.material not in keys:
        raise DomainError(
            phrase(
                gettext_noop("The offcut {key} is of “{material}”, which is no membrane on the list."),
                key=piece.key,
                material=piece.material,
            ),
            rule="stock.material",
            place=f"stock[{at}].material",
        )
    return piece.material or keys[0]


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


# A way for every face, sections found for its pieces, and whether strips may be turned.
_Candidate = tuple[Choice, Hint | None, bool]


@dataclass(frozen=True)
class _Fold:
    """One way to lay the strips over a change of plane."""

    change: ChangeOfPlane
    roll: Roll
    strips: tuple[Strip, ...]


class _Planner:
    """Chooses how every face and every change of plane is laid, and cuts the pieces from rolls."""

    def __init__(
        self,
        assemblies: Sequence[Assembly],
        rolls: Sequence[Roll],
        shelf: Shelf,
        practice: Practice,
        system: System,
    ) -> None:
        self.assemblies = assemblies
        self.practice = practice
        self.system = system
        self.rolls = rolls
        self.faces = [self.face_ways(assembly) for assembly in assemblies]
        self.folds = [
            [
                [_Fold(change, roll, lay_strips(change, roll, practice)) for roll in rolls]
                for change in assembly.changes
                if change.has_strip
            ]
            for assembly in assemblies
        ]
        from_roll = _cut_from_roll(shelf, practice)
        self.corners = [corner_pieces(assembly.corners, from_roll) for assembly in assemblies]
        self.settings = CutSettings(
            kerf_mm=_fine(practice.kerf.mm),
            trim_mm=_fine(practice.roll_end.mm),
            keep_across_mm=_fine(practice.offcut_width.mm),
            keep_along_mm=_fine(practice.offcut_length.mm),
            time_limit_s=_OUTER_LIMIT_S,
            work_limit=_WORK,
        )

    def face_ways(self, assembly: Assembly) -> list[list[Laying]]:
        return [
            [
                way
                for roll in self.rolls
                for way in ways(placed.face, roll, self.practice, _drains(assembly, placed))
            ]
            for placed in assembly.placed
            if placed.surface.membrane
        ]

    @property
    def open(self) -> list[Sequence[Laying | _Fold]]:
        """Everything that may be laid in one of several ways, in the order of the rooms."""
        rows: list[Sequence[Laying | _Fold]] = [row for room in self.faces for row in room]
        rows += [row for room in self.folds for row in room]
        return rows

    def sizes(self, way: Laying | _Fold) -> list[tuple[Decimal, Decimal]]:
        """Return the pieces of a way, across and along, with their trimming allowance."""
        if isinstance(way, Laying):
            return [self.trimmed(across, along, way.roll) for _, _, across, along in way.pieces]
        return [self.trimmed(strip.end_mm - strip.start_mm, strip.width_mm, way.roll) for strip in way.strips]

    def trimmed(self, across: Decimal, along: Decimal, roll: Roll) -> tuple[Decimal, Decimal]:
        """Return a piece's size with its trimming allowance; as wide as the roll it has none across."""
        trim = self.practice.trim.mm
        return _fine(min(across + trim, roll.width_mm)), _fine(min(along + trim, roll.length_mm))

    def cover(self, kinds: Sequence[RollKind]) -> Cover:
        rows = self.open
        sizes = [[self.sizes(way) for way in row] for row in rows]
        corner = self.trimmed(self.practice.corner_piece.mm, self.practice.corner_piece.mm, self.rolls[0])
        fixed = [corner for room in self.corners for piece in room if piece.from_roll]
        every = dict.fromkeys([*fixed, *(size for row in sizes for way in row for size in way)])
        job = read_job([], kinds, self.settings)
        units = {size: (ceil_units(size[0]) + job.kerf, ceil_units(size[1]) + job.kerf) for size in every}
        worth = ceil_units(self.practice.sheet_worth.mm)
        fixed_small = tuple((*units[size], False) for size in fixed)

        def aim(turns: bool) -> Aim:
            return Aim(
                [
                    [
                        tuple(
                            (*units[size], turns and isinstance(way, _Fold) and size[0] != size[1])
                            for size in found
                        )
                        for way, found in zip(row, sizes_of_row, strict=True)
                    ]
                    for row, sizes_of_row in zip(rows, sizes, strict=True)
                ],
                fixed_small,
                job.stocks,
                worth,
            )

        plain = aim(False)
        freest = aim(True) if self.practice.turn_strips.number > 0 else plain
        raced_for = None
        if are_sets(job.stocks):
            raced_for = raced(plain, freest)
            least = raced_for.least
        else:
            least = bounds(freest, plain.quick(likely(plain))[0])
        best: tuple[tuple[int, int, int], Cover] | None = None
        for stage in self.stages(plain, freest, least, rows, raced_for):
            for choice, hint, turns in stage:
                if best is not None and _is_least(best[1].plan, least, hint is not None):
                    break
                if best is not None and hint is None and plain.quick(choice) >= best[0][::2]:
                    break
                chosen = [row[at] for row, at in zip(rows, choice, strict=True)]
                tried = self.written(chosen, kinds, turns, hint)
                length = ceil_units(tried.plan.length_used_mm) + worth * len(tried.pieces)
                value = (tried.plan.cost_cents, int(turns), length)
                if best is None or value < best[0]:
                    best = (value, tried)
            if best is not None and best[0][0] <= least.cents:
                break
        assert best is not None
        cover = best[1]
        bought = [kind for kind in kinds if not kind.is_stock]
        if best[0][0] > least.cents and len(bought) < len(kinds):
            # The shelf may lead the search astray; having it never makes the plan dearer.
            bare = self.cover(bought)
            if bare.plan.cost_cents < cover.plan.cost_cents:
                cover = replace(bare, plan=cheaper(cover.plan, bare.plan))
        self.aim, self.least = freest, least
        return self.told(cover)

    def told(self, cover: Cover) -> Cover:
        """Return the cover with how its ways were chosen."""
        rows = self.open
        return replace(
            cover, choice=_choice(cover.plan, self.least, len(rows), sum(len(row) for row in rows))
        )

    def fewer_kinds(self, found: Cover) -> list[tuple[int, ...]]:
        """Return the fewer kinds of roll bought to plan again with, by number on the list.

        More kinds on offer must never make a plan dearer, but a search among many may pass by what one among
        few finds. Of a small job every choice of kinds is tried; of a large one those of one width and those
        that leave one kind out, as many as there is time for, the most hopeful first.
        """
        bought = [stock for stock in self.aim.stocks if not stock.is_stock]
        numbers = range(len(bought))
        if len(found.pieces) <= MANY_PIECES and len(bought) <= _MOST_KINDS:
            return [some for count in numbers[1:] for some in itertools.combinations(numbers, count)]
        widths = {stock.width for stock in bought}
        few = {tuple(at for at in numbers if bought[at].width == width) for width in widths}
        few |= {tuple(at for at in numbers if at != out) for out in numbers}
        least = {some: self.least_of(some, found) for some in few if 0 < len(some) < len(bought)}
        return sorted(least, key=lambda some: (least[some], some))[:_MOST_AGAIN]

    def least_of(self, numbers: Sequence[int], found: Cover) -> int:
        """Return cents that rolls of these kinds cost at least, and no more than a cover found."""
        cents = found.plan.cost_cents
        if cents <= self.least.cents:
            return cents
        before = sum(stock.is_stock for stock in self.aim.stocks)
        return least_of(self.aim.full, [before + at for at in numbers], cents)

    def cheaper_of(self, found: Cover, other: Cover) -> Cover:
        """Return *found*, or *other* (of fewer kinds) where it costs less."""
        if other.plan.cost_cents >= found.plan.cost_cents:
            return found
        return self.told(replace(other, plan=cheaper(found.plan, other.plan)))

    def stages(
        self,
        plain: Aim,
        freest: Aim,
        least: Bounds,
        rows: Sequence[Sequence[Laying | _Fold]],
        found: Raced | None,
    ) -> Iterator[list[_Candidate]]:
        """Yield choices to be planned in full, until one is proven cheapest.

        Strips are turned only to save cents, since across the roll's end is how they are cut (common
        practice): so plans without come first, but for a large job where they are unlikely to be cheapest.
        """
        if found is not None and found.hint is not None:
            yield [(found.choice, found.hint, found.turns)]
            if plain.pieces(found.choice) > MANY_PIECES:
                return
        start = likely(plain)
        is_large = plain.pieces(start) > MANY_PIECES
        made = remade(plain, start, least.cents, PLAIN_STEPS) if is_large else []
        if not is_large:
            yield [(choice, None, False) for choice, _ in choices(plain, self.starts(rows))]
        elif made and made[0].is_enough:
            yield [(one.choice, one.hint, False) for one in made]
        if freest is not plain:
            turned = remade(freest, likely(freest), least.cents, MOST_STEPS)
            yield [(one.choice, one.hint, True) for one in turned[:1]]
        yield [(one.choice, one.hint, False) for one in made[:1]]
        if is_large and not made:
            yield [(choice, None, False) for choice, _ in choices(plain, [*self.starts(rows), start])]

    def starts(self, rows: Sequence[Sequence[Laying | _Fold]]) -> list[tuple[int, ...]]:
        """Return, for each roll width, the choice of each row's first way from that roll."""
        return list(
            dict.fromkeys(
                tuple(next(at for at, way in enumerate(row) if way.roll is roll) for row in rows)
                for roll in self.rolls
            )
        )

    def written(
        self,
        chosen: Sequence[Laying | _Fold],
        kinds: Sequence[RollKind],
        turns: bool,
        hint: Hint | None,
    ) -> Cover:
        """Return the cover of one choice, its pieces marked within the job and cut from rolls."""
        rest = iter(chosen)
        layings = [[next(rest) for _ in room] for room in self.faces]
        folds = [[next(rest) for _ in room] for room in self.folds]
        rooms = []
        pieces: list[Piece] = []
        room_of: dict[str, str] = {}
        sheets = strips = 0
        for at, assembly in enumerate(self.assemblies):
            plans = []
            for way in layings[at]:
                assert isinstance(way, Laying)
                plan = _mark(laid(way, self.practice, self.system), sheets)
                sheets += len(plan.sheets)
                plans.append(plan)
                pieces += [
                    Piece(sheet.key, *size) for sheet, size in zip(plan.sheets, self.sizes(way), strict=True)
                ]
            marked: list[Strip] = []
            figures = []
            for fold in folds[at]:
                assert isinstance(fold, _Fold)
                for strip, size in zip(fold.strips, self.sizes(fold), strict=True):
                    strips += 1
                    marked.append(replace(strip, key=f"S{strips}"))
                    pieces.append(Piece(f"S{strips}", *size, may_turn=turns))
                figures.append(strips_figure(fold.change, fold.roll, self.practice, self.system))
            side = self.practice.corner_piece.mm
            pieces += [
                Piece(corner.corner, *self.trimmed(side, side, self.rolls[0]))
                for corner in self.corners[at]
                if corner.from_roll
            ]
            room_of |= {piece.key: assembly.room.key for piece in pieces if piece.key not in room_of}
            rooms.append(RoomCover(tuple(plans), tuple(marked), self.corners[at], tuple(figures)))
        return Cover(tuple(rooms), tuple(pieces), room_of, plan_cuts(pieces, kinds, self.settings, hint))


def _is_least(plan: CutPlan, least: Bounds, only_cents: bool) -> bool:
    """Whether no other way of laying can cost less, nor (where known, and wanted) use less of the rolls."""
    if plan.cost_cents > least.cents:
        return False
    return only_cents or plan.length_used_mm <= as_mm(least.length)


def _choice(plan: CutPlan, least: Bounds, surfaces: int, ways_tried: int) -> LayingChoice:
    bound = min(least.cents, plan.cost_cents)
    gap = Decimal(plan.cost_cents - bound) / plan.cost_cents if plan.cost_cents else Decimal(0)
    return LayingChoice(
        surfaces=surfaces,
        ways=ways_tried,
        proven=bound == plan.cost_cents,
        gap=gap.quantize(Decimal("0.0001")),
        length_bound_mm=min(as_mm(least.length), plan.length_used_mm),
    )


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

"""Membrane on faces: sheets with their laps, strips over changes of plane, corner pieces.

Sheets run the full width or length of a face. Neighbouring runs lap at their sides, lengths of one run end
to end. On walls the lowest course is laid first, and each upper one laps over it like a shingle (common
practice, no source). Every piece is cut from its bounding rectangle.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely.geometry import Polygon as Shape

from .errors import DomainError
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice
from .result import ChangeOfPlane, Corner, CornerPiece, Face, Lap, Sheet, Strip
from .space import Interval, on_grid, parts, polygon, rectangle, shape_of, tidy
from .units import System, convert
from .working import Figure, Origin, Round, Working, whole

MOST_RUNS = 400


@dataclass(frozen=True)
class Roll:
    """The roll that a plan is made for, in mm."""

    material: str
    width_mm: Decimal
    length_mm: Decimal


@dataclass(frozen=True)
class FacePlan:
    """Sheets and laps of one face, keyed from 1; *clear*: no seam is nearer to a drain than it may be."""

    face: Face
    sheets: tuple[Sheet, ...]
    laps: tuple[Lap, ...]
    runs: Figure
    along_x: bool
    clear: bool

    @property
    def rolled_mm2(self) -> Decimal:
        """The roll's area that the pieces take as rectangles."""
        return sum((sheet.across_mm * sheet.along_mm for sheet in self.sheets), Decimal(0))


@dataclass(frozen=True)
class DrainSpot:
    """A drain on a level face: its centre and radius (mm)."""

    x: float
    y: float
    radius: float


def check_roll(roll: Roll, practice: Practice) -> None:
    """Refuse a roll that its laps and trimming leave nothing of.

    Raises:
        DomainError: rule ``membrane.roll-narrower-than-lap``; *place* is the fact's path in the material.
    """
    for size, name, place in (
        (roll.width_mm - practice.trim.mm, "side_lap", "facts.roll width"),
        (roll.width_mm - practice.trim.mm, "butt_lap", "facts.roll width"),
        (roll.length_mm - practice.trim.mm, "butt_lap", "facts.roll length"),
    ):
        lap = practice.named(name)
        if size <= lap.mm:
            raise DomainError(
                phrase(
                    gettext_noop(
                        "The roll of {material} leaves {size} mm to lay, no more than the lap of {lap} mm; "
                        "it would cover nothing."
                    ),
                    material=roll.material,
                    size=str(size),
                    lap=str(lap.mm),
                ),
                rule="membrane.roll-narrower-than-lap",
                place=place,
                material=roll.material,
            )


def _check_runs(label: Phrase, extent: float, roll: Roll, lap: float) -> None:
    """Refuse what would take more runs or strips than anybody lays: a size was mistyped."""
    runs = extent / (float(roll.width_mm) - lap)
    if runs > MOST_RUNS:
        raise DomainError(
            phrase(
                gettext_noop(
                    "{face} would take {runs} widths of {material}; more than {most} is most likely a "
                    "mistyped roll width, lap or room."
                ),
                face=label,
                runs=round(runs),
                material=roll.material,
                most=MOST_RUNS,
            ),
            rule="membrane.too-many-runs",
            place="materials",
            material=roll.material,
        )


def lay_sheets(
    face: Face, roll: Roll, practice: Practice, system: System, along_x: bool, drains: Sequence[DrainSpot]
) -> FacePlan:
    """Cover a face with runs of membrane in one direction.

    The number of runs is the least n with n*w - (n-1)*o >= B: n = ceil((B - o) / (w - o)); one more where a
    seam would otherwise lie too near a drain.
    """
    shape = shape_of(face.outline, face.holes)
    x0, y0, x1, y1 = shape.bounds
    low, high = (y0, y1) if along_x else (x0, x1)
    lap = float(practice.side_lap.mm)
    _check_runs(face.label, high - low, roll, lap)
    spots = [_span(drain, along_x, float(practice.drain_clearance.mm)) for drain in drains]
    runs, clear = _runs(
        low, high, float(roll.width_mm), lap, min(float(practice.least_rip.mm), float(roll.width_mm)), spots
    )
    sheets: list[Sheet] = []
    courses: list[tuple[Sheet, Shape]] = []
    for course, (start, end) in enumerate(runs, 1):
        band = rectangle(x0, start, x1, end) if along_x else rectangle(start, y0, end, y1)
        before = runs[course - 2][1] if course > 1 else None
        for piece in parts(shape.intersection(band)):
            top = piece.bounds[3] if along_x else piece.bounds[2]
            if before is not None and top <= before + 0.01:
                continue  # lies wholly under the lap of the run before, which covers it
            for part in _lengths(piece, along_x, roll, practice):
                sheet = _sheet(face, part, along_x, course, len(sheets) + 1)
                sheets.append(sheet)
                courses.append((sheet, part))
    return FacePlan(
        face,
        tuple(sheets),
        tuple(_laps(courses, along_x)),
        _runs_figure(face, on_grid(high - low), roll, practice, system, len(runs)),
        along_x,
        clear,
    )


def _span(drain: DrainSpot, along_x: bool, clearance: float) -> Interval:
    centre = drain.y if along_x else drain.x
    return (centre - drain.radius - clearance, centre + drain.radius + clearance)


def _runs(
    low: float, high: float, width: float, lap: float, least: float, drains: Sequence[Interval]
) -> tuple[list[Interval], bool]:
    """Return the runs across [low, high], each (start, end), and whether their seams keep off the drains."""
    first_try = _at(low, high, width, lap, least, width)
    if _clear(first_try, drains):
        return first_try, True
    shifts = set()
    for _, end in first_try[:-1]:
        for start_drain, _ in drains:
            # The seam ends where the drain's clearance begins.
            shift = end - start_drain
            if 0 < shift <= width - least:
                shifts.add(shift)
    for shift in sorted(shifts):
        runs = _at(low, high, width, lap, least, width - shift)
        if _clear(runs, drains):
            return runs, True
    return first_try, False


def _at(low: float, high: float, width: float, lap: float, least: float, first: float) -> list[Interval]:
    """Return the runs when the first is *first* wide and all others *width*, the last as narrow as fits."""
    runs = [(low, min(low + first, high))]
    while runs[-1][1] < high - 0.01:
        start = runs[-1][1] - lap
        end = min(start + width, high)
        if end >= high - 0.01 and end - start < least:
            start = max(end - least, end - width)
        runs.append((start, end))
    return runs


def _clear(runs: Sequence[Interval], drains: Sequence[Interval]) -> bool:
    seams = [(after[0], before[1]) for before, after in itertools.pairwise(runs)]
    return all(end <= low + 0.01 or start >= high - 0.01 for start, end in seams for low, high in drains)


def _lengths(piece: Shape, along_x: bool, roll: Roll, practice: Practice) -> Iterator[Shape]:
    """Yield a piece in lengths that a roll yields, lapped end to end."""
    x0, y0, x1, y1 = piece.bounds
    low, high = (x0, x1) if along_x else (y0, y1)
    longest = float(roll.length_mm - practice.trim.mm)
    if high - low <= longest + 0.001:
        yield piece
        return
    for start, end in _at(
        low, high, longest, float(practice.butt_lap.mm), float(practice.least_rip.mm), longest
    ):
        band = rectangle(start, y0, end, y1) if along_x else rectangle(x0, start, x1, end)
        yield from parts(piece.intersection(band))


def _sheet(face: Face, part: Shape, along_x: bool, course: int, order: int) -> Sheet:
    x0, y0, x1, y1 = part.bounds
    width, height = on_grid(x1 - x0), on_grid(y1 - y0)
    return Sheet(
        key=str(order),
        room=face.room,
        face=face.key,
        outline=polygon(Shape(part.exterior)),
        across_mm=height if along_x else width,
        along_mm=width if along_x else height,
        along_x=along_x,
        course=course,
        order=order,
    )


def _laps(laid: Sequence[tuple[Sheet, Shape]], along_x: bool) -> Iterator[Lap]:
    for at, (over, upper) in enumerate(laid):
        for under, lower in laid[:at]:
            if over.course - under.course > 1:
                continue
            for shared in parts(upper.intersection(lower)):
                side = over.course != under.course
                # Across the roll for neighbours, down its length for lengths end to end.
                axis = 1 if side is along_x else 0
                low = max(upper.bounds[axis], lower.bounds[axis])
                high = min(upper.bounds[axis + 2], lower.bounds[axis + 2])
                yield Lap(
                    over.key, under.key, side, on_grid(high - low), polygon(tidy(Shape(shared.exterior)))
                )


def _runs_figure(
    face: Face, breadth: Decimal, roll: Roll, practice: Practice, system: System, runs: int
) -> Figure:
    unit = system.length
    work = Working(
        f"{face.key}.runs", phrase(gettext_noop("Runs of membrane across {face}"), face=face.label)
    )
    work.given("B", phrase(gettext_noop("Breadth to cover")), _to(breadth, unit), unit, Origin.MEASURED)
    work.given("w", phrase(gettext_noop("Roll width")), _to(roll.width_mm, unit), unit, Origin.DATA_SHEET)
    practice.put(work, "o", "side_lap", unit)
    least = work.step(
        "n", phrase(gettext_noop("Runs")), "max(ceil((B - o) / (w - o)), 1)", "each", Round.UP_WHOLE
    )
    if runs > whole(least):
        work.given(
            "e",
            phrase(gettext_noop("Runs more, to keep seams away from the drain")),
            runs - whole(least),
            "each",
            Origin.GEOMETRY,
        )
        work.step("N", phrase(gettext_noop("Runs laid")), "n + e", "each")
    return work.figure()


def _to(mm: Decimal, unit: str) -> Decimal:
    return convert(mm, "mm", unit)


def best_plan(
    face: Face, roll: Roll, practice: Practice, system: System, drains: Sequence[DrainSpot]
) -> tuple[FacePlan, FacePlan]:
    """Return the plans in both directions, the one that takes less of the roll first.

    Seams away from the drain go before thrift, fewer pieces break a tie.
    """
    plans = [lay_sheets(face, roll, practice, system, along_x, drains) for along_x in (True, False)]
    plans.sort(key=lambda plan: (not plan.clear, plan.rolled_mm2, len(plan.sheets), not plan.along_x))
    return plans[0], plans[1]


# --- Strips and corners -----------------------------------------------------------------------------------


def lay_strips(change: ChangeOfPlane, roll: Roll, practice: Practice) -> tuple[Strip, ...]:
    """Cover a change of plane with strips cut across the roll's end, lapped end to end.

    Their number is the least n with n*w - (n-1)*e >= P: n = ceil((P - e) / (w - e)). The last is as short as
    it may be.
    """
    longest, lap = roll.width_mm - practice.trim.mm, practice.butt_lap.mm
    _check_runs(change.label, float(change.length_mm), roll, float(lap + practice.trim.mm))
    strips: list[Strip] = []
    start, end = Decimal(0), Decimal(0)
    while end < change.length_mm:
        start = max(end - lap, Decimal(0))
        end = min(start + longest, change.length_mm)
        strips.append(
            Strip(str(len(strips) + 1), change.room, change.key, start, end, practice.strip_width.mm)
        )
    return tuple(strips)


def strips_figure(change: ChangeOfPlane, roll: Roll, practice: Practice, system: System) -> Figure:
    """Return how many strips a change of plane takes, with the working."""
    unit = system.length
    work = Working(f"{change.key}.strips", phrase(gettext_noop("Strips over {change}"), change=change.label))
    work.given(
        "P", phrase(gettext_noop("Length to cover")), _to(change.length_mm, unit), unit, Origin.GEOMETRY
    )
    work.given(
        "w",
        phrase(gettext_noop("Strip length: roll width")),
        _to(roll.width_mm, unit),
        unit,
        Origin.DATA_SHEET,
    )
    practice.put(work, "e", "butt_lap", unit)
    work.step("n", phrase(gettext_noop("Strips")), "max(ceil((P - e) / (w - e)), 1)", "each")
    return work.figure()


def corner_pieces(corners: Sequence[Corner], from_roll: Mapping[bool, bool]) -> tuple[CornerPiece, ...]:
    """Return a piece for every corner that takes one; at a tub a bead of sealant stands for it.

    *from_roll* says for inside (True) and outside (False) corners whether their pieces come off the roll.
    """
    return tuple(
        CornerPiece(corner.key, corner.room, corner.inside, from_roll[corner.inside])
        for corner in corners
        if not corner.by_sealant
    )


def letters(number: int) -> str:
    """Return the mark of piece *number* from 1: A … Z, AA, AB …

    >>> letters(1), letters(26), letters(27), letters(703)
    ('A', 'Z', 'AA', 'AAA')
    """
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text

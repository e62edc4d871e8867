"""Membrane on faces: sheets with their laps, strips over changes of plane, corner pieces.

Sheets run the full width or length of a face. Neighbouring runs lap at their sides, lengths of one run end
to end. On walls the lowest course is laid first, and each upper one laps over it like a shingle (common
practice, no source). Every piece is cut from its bounding rectangle.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely.geometry import Polygon as Shape

from .errors import DomainError
from .layings import DrainSpot, Laying, Roll, check_runs, first_way
from .lengths import format_length
from .phrases import gettext_noop, phrase
from .practice import Practice
from .result import ChangeOfPlane, Corner, CornerPiece, Face, Lap, Sheet, Strip
from .space import on_grid, parts, polygon, tidy
from .units import System, convert
from .working import Figure, Origin, Round, Working, whole


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


def check_roll(roll: Roll, practice: Practice, name: str | None = None, system: System = System.INCH) -> None:
    """Refuse a roll that its laps and trimming leave nothing of; *name*: of its material.

    Raises:
        DomainError: rule ``membrane.roll-narrower-than-lap``; *place* is the fact's path in the material.
    """
    for size, setting, place in (
        (roll.width_mm - practice.trim.mm, "side_lap", "facts.roll width"),
        (roll.width_mm - practice.trim.mm, "butt_lap", "facts.roll width"),
        (roll.length_mm - practice.trim.mm, "butt_lap", "facts.roll length"),
    ):
        lap = practice.named(setting)
        if size <= lap.mm:
            raise DomainError(
                phrase(
                    gettext_noop(
                        "The roll of {material} leaves {size} to lay, no more than the lap of {lap} "
                        "(setting “{setting}”); it would cover nothing."
                    ),
                    material=name or roll.material,
                    setting=lap.label,
                    size=format_length(max(size, Decimal(0)), system),
                    lap=format_length(lap.mm, system),
                ),
                rule="membrane.roll-narrower-than-lap",
                place=place,
                material=roll.material,
            )


def lay_sheets(
    face: Face, roll: Roll, practice: Practice, system: System, along_x: bool, drains: Sequence[DrainSpot]
) -> FacePlan:
    """Cover a face with runs of membrane in one direction, full widths first.

    The number of runs is the least n with n*w - (n-1)*o >= B: n = ceil((B - o) / (w - o)); one more where a
    seam would otherwise lie too near a drain.
    """
    return laid(first_way(face, roll, practice, along_x, drains), practice, system)


def laid(way: Laying, practice: Practice, system: System) -> FacePlan:
    """Return the sheets and laps of a way to lay a face."""
    face = way.face
    along_x = way.along_x
    rows = [
        (
            Sheet(
                key=str(order),
                room=face.room,
                face=face.key,
                outline=polygon(Shape(part.exterior)),
                across_mm=across,
                along_mm=along,
                along_x=along_x,
                course=course,
                order=order,
            ),
            part,
        )
        for order, (course, part, across, along) in enumerate(way.pieces, 1)
    ]
    axis = 1 if along_x else 0
    along_axis = [point[axis] for point in face.outline]
    return FacePlan(
        face,
        tuple(sheet for sheet, _ in rows),
        tuple(_laps(rows, along_x)),
        _runs_figure(face, max(along_axis) - min(along_axis), way.roll, practice, system, way.courses),
        along_x,
        way.clear,
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
            phrase(gettext_noop("Runs more, for the seams' place: off a drain, or at a corner of the face")),
            runs - whole(least),
            "each",
            Origin.GEOMETRY,
        )
        work.step("N", phrase(gettext_noop("Runs laid")), "n + e", "each")
    return work.figure()


def _to(mm: Decimal, unit: str) -> Decimal:
    return convert(mm, "mm", unit)


# --- Strips and corners -----------------------------------------------------------------------------------


def lay_strips(change: ChangeOfPlane, roll: Roll, practice: Practice) -> tuple[Strip, ...]:
    """Cover a change of plane with strips cut across the roll's end, lapped end to end.

    Their number is the least n with n*w - (n-1)*e >= P: n = ceil((P - e) / (w - e)). The last is as short as
    it may be.
    """
    longest, lap = roll.width_mm - practice.trim.mm, practice.butt_lap.mm
    check_runs(change.label, float(change.length_mm), roll, float(lap + practice.trim.mm))
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

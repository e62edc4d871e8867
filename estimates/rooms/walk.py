"""The line "Walk the walls" and the rows of walls under it: whichever was edited last leads the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.http import QueryDict

from estimates.takeoff.errors import DomainError
from estimates.takeoff.lengths import parse_length
from estimates.takeoff.outline import Outline, WalkLeg, parse_outline, parse_turn, turn_text, walk_text
from estimates.takeoff.traverse import Leg
from estimates.takeoff.units import System

MOST_WALLS = 200


@dataclass(frozen=True)
class Walk:
    """What came of it: *error* when the line could not be read, *led*: ``line``, ``rows`` or neither."""

    led: str
    error: DomainError | None = None


def degrees(millidegrees: int) -> Decimal:
    """Return a turn in degrees without trailing zeros.

    >>> degrees(90_000), degrees(-30_500)
    (Decimal('90'), Decimal('-30.5'))
    """
    value = Decimal(millidegrees) / 1000
    return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()


def keep_in_step(fields: QueryDict, system: System) -> Walk:
    """Make line and rows say the same in *fields*, in place.

    The line leads when it is not what it was when the rows were last made from it; else the rows lead and
    the line is written anew from them, unless it already says the same in its own way (``8' x 5'``).
    """
    line = (fields.get("outline_text") or "").strip()
    rows = _rows(fields)
    if line != (fields.get("line_read") or "").strip():
        if not line:
            _put_rows(fields, (), {})
            fields["line_read"] = ""
            return Walk("line")
        try:
            outline = parse_outline(line, system)
        except DomainError as error:
            return Walk("line", error)
        heights = {at: row[2] for at, row in enumerate(rows) if row[2]}
        _put_rows(fields, outline.walls, heights)
        fields["line_read"] = line
        return Walk("line")
    read = _read(rows, system)
    if read is None:
        return Walk("none")
    if not _says(line, read, system):
        fields["outline_text"] = fields["line_read"] = walk_text(read, system) if read else ""
        return Walk("rows")
    return Walk("none")


def _rows(fields: QueryDict) -> list[tuple[str, str, str]]:
    total = fields.get("walls-TOTAL_FORMS") or "0"
    count = min(int(total), MOST_WALLS) if total.isdecimal() else 0
    return [
        (
            (fields.get(f"walls-{at}-length") or "").strip(),
            (fields.get(f"walls-{at}-turn") or "").strip(),
            (fields.get(f"walls-{at}-height") or "").strip(),
        )
        for at in range(count)
    ]


def _put_rows(fields: QueryDict, walls: Sequence[WalkLeg], heights: dict[int, str]) -> None:
    fields["walls-TOTAL_FORMS"] = str(len(walls))
    fields.setdefault("walls-INITIAL_FORMS", "0")
    for at, wall in enumerate(walls):
        fields[f"walls-{at}-length"] = wall.typed
        fields[f"walls-{at}-turn"] = turn_text(wall.leg.turn_degrees)
        fields[f"walls-{at}-height"] = heights.get(at, "")


def _read(rows: Sequence[tuple[str, str, str]], system: System) -> list[WalkLeg] | None:
    """Return the rows that are filled in as walls, or None while one of them cannot be read."""
    walls = []
    try:
        for length, turn, _height in rows:
            if length:
                walls.append(WalkLeg(length, Leg(parse_length(length, system), parse_turn(turn))))
    except DomainError:
        return None
    return walls


def _says(line: str, walls: Sequence[WalkLeg], system: System) -> bool:
    """Whether *line* already reads as *walls*."""
    if not line:
        return not walls
    try:
        outline: Outline = parse_outline(line, system)
    except DomainError:
        return False
    return outline.legs == tuple(wall.leg for wall in walls)

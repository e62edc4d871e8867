"""Walking the walls: a closed traverse, balanced by the compass rule.

A measurer walks round a room and writes down every wall's length and the turn at its end, as surveyors write
a deflection angle: how far the new wall swings from the old one carried on, right positive, left negative.
The first wall runs along +x, ``y`` is up; a walk with the room at the right hand goes clockwise.

The walk seldom ends where it began. Within a tolerance that misclosure is spread over the walls by the
compass rule (N. Bowditch, 1808; any surveying text): each wall's latitude and departure is corrected in
proportion to the wall's length. Beyond the tolerance somebody misread a tape, and the walk is refused with
the wall most likely wrong.

Everything lies on the 0.0001 mm grid, corrections too, so a balanced plan closes exactly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import accumulate, pairwise

from .compass import Balance, Course, balance, cos_sin, to_grid
from .errors import DomainError
from .lengths import format_length
from .phrases import Phrase, gettext_noop, phrase
from .polygon import Point, distance, first_crossing, signed_area
from .units import System

MOST_WALLS = 100
"""More walls than any room has; it keeps the searches for crossings and mistakes short (our own limit)."""

RIGHT = Decimal(90)
LEFT = Decimal(-90)
_ROUND = Decimal(360)
_HALF = Decimal(180)
_ANGLE_GRID = Decimal("0.000001")


class TraverseError(DomainError):
    """The walls make no room. Rules: ``walk.too-few``, ``walk.too-many``, ``walk.length``,
    ``walk.doubling-back``, ``walk.turns``, ``walk.vanished``, ``walk.no-area``."""


class MisclosureError(TraverseError):
    """The walk ends too far from its start (rule ``walk.misclosure``).

    Facts: ``misclosure_mm``, ``limit_mm``, ``perimeter_mm``; ``suggestions``, the changes of one wall that
    close it (else the one that comes nearest, if no turn closes it);
    ``turn_wall``, the wall after which the other hand would close it, or None.
    """


class CrossingError(TraverseError):
    """Two walls cross or touch (rule ``walk.crossing``). Fact: ``walls``, their two numbers from 1."""


@dataclass(frozen=True)
class Leg:
    """One wall: its length in millimetres (> 0) and the turn at its end in degrees (right > 0)."""

    length_mm: Decimal
    turn_degrees: Decimal = RIGHT


@dataclass(frozen=True)
class Tolerance:
    """How far a walk may miss its start and still be balanced: the larger of the two.

    The defaults, 1/2 in and 1 in 100 of the perimeter, are a practice setting (common practice, no source).
    """

    absolute_mm: Decimal = Decimal("12.7")
    ratio: Decimal = Decimal("0.01")

    def limit(self, perimeter_mm: Decimal) -> Decimal:
        """Return the largest misclosure, in millimetres, that is balanced."""
        return max(self.absolute_mm, self.ratio * perimeter_mm)


DEFAULT_TOLERANCE = Tolerance()


class CornerKind(StrEnum):
    """What the walls do at a corner, seen from inside the room."""

    INSIDE = "inside"  # interior angle below 180 degrees: the corner one stands in
    OUTSIDE = "outside"  # above 180 degrees: the corner that juts into the room
    STRAIGHT = "straight"  # a wall measured in two parts


@dataclass(frozen=True)
class Traverse:
    """A closed, balanced room plan. Wall *i* (from 0) runs from vertex *i* to the next.

    Attributes:
        legs: as measured.
        vertices: (x, y) in mm on the 0.0001 mm grid; the first is (0, 0).
        misclosure: (x, y) in mm, where the walk as measured ended.
        misclosure_mm: its length.
        limit_mm: the largest misclosure that would have been balanced.
        precision: n of 1:n, the perimeter over the misclosure; None when the walk closes exactly.
        perimeter_mm: sum of the lengths as measured.
        corrections: (x, y) in mm, added to each wall.
        balanced: the walls after balancing, lengths to 0.0001 mm, turns to a millionth of a degree.
        area_mm2: exact for the vertices, > 0.
        is_right_handed: whether the room is at the walker's right hand (the vertices run clockwise).
        corners: what stands at each vertex, by the turn as measured.
        interior_degrees: the room's angle at each vertex, after balancing; they sum to (n - 2) * 180.
    """

    legs: tuple[Leg, ...]
    vertices: tuple[Point, ...]
    misclosure: Point
    misclosure_mm: Decimal
    limit_mm: Decimal
    precision: int | None
    perimeter_mm: Decimal
    corrections: tuple[Point, ...]
    balanced: tuple[Leg, ...]
    area_mm2: Decimal
    is_right_handed: bool
    corners: tuple[CornerKind, ...]
    interior_degrees: tuple[Decimal, ...]

    @property
    def is_balanced(self) -> bool:
        """Whether anything had to be corrected."""
        return self.misclosure_mm != 0

    def wall(self, index: int) -> tuple[Point, Point]:
        """Return the two ends of wall *index*, counted from 0."""
        return self.vertices[index], self.vertices[(index + 1) % len(self.vertices)]


@dataclass(frozen=True)
class Suggestion:
    """One wall changed so that the walk closes best. *wall* counts from 1; lengths in mm."""

    wall: int
    length_mm: Decimal
    wanted_mm: Decimal
    remaining_mm: Decimal


def close_traverse(
    legs: Iterable[Leg], *, tolerance: Tolerance = DEFAULT_TOLERANCE, system: System = System.INCH
) -> Traverse:
    """Close and balance a walk round a room.

    Args:
        legs: at least three walls in the order walked; the turns must sum to 360 or -360 degrees
            (:func:`closing_turn` gives the last one).
        tolerance: how large a misclosure is balanced.
        system: the units in which an error speaks.

    Raises:
        TraverseError: the walls make no room; rule and sentence say why.
        MisclosureError: the walk ends too far from its start.
        CrossingError: two walls cross or touch.

    >>> bath = close_traverse([Leg(Decimal(2400)), Leg(Decimal(1500))] * 2)
    >>> bath.area_mm2 == 2400 * 1500, bath.is_right_handed, bath.corners[0].value
    (True, True, 'inside')
    """
    legs = tuple(legs)
    _check_walls(legs)
    found = balance(_courses(legs))
    limit = tolerance.limit(found.perimeter)
    steps = [(x, -y) for x, y in zip(found.balanced_latitudes, found.balanced_departures, strict=True)]
    vertices = _walk(steps)[:-1]
    if found.linear <= limit:
        # A figure of eight closes, but its turns do not: the two walls that cross say more than their sum.
        _check_crossing(vertices)
    _check_turns(legs)
    if found.linear > limit:
        raise _misclosure(legs, found, limit, tolerance, system)
    _check_plan(vertices)
    turned_right = sum(leg.turn_degrees for leg in legs) > 0
    balanced = legs if not found.linear else _measure(vertices, turned_right)
    hand = 1 if turned_right else -1
    arrivals = [legs[index - 1] for index in range(len(legs))]  # the wall that ends at each vertex
    return Traverse(
        legs=legs,
        vertices=vertices,
        misclosure=(found.latitude_sum, _negative(found.departure_sum)),
        misclosure_mm=found.linear,
        limit_mm=limit,
        precision=found.precision,
        perimeter_mm=found.perimeter,
        corrections=tuple(
            (x, _negative(y))
            for x, y in zip(found.latitude_corrections, found.departure_corrections, strict=True)
        ),
        balanced=balanced,
        area_mm2=abs(signed_area(vertices)),
        is_right_handed=turned_right,
        corners=tuple(_corner(leg.turn_degrees * hand) for leg in arrivals),
        interior_degrees=tuple(
            _HALF - balanced[index - 1].turn_degrees * hand for index in range(len(balanced))
        ),
    )


def trace(legs: Iterable[Leg]) -> tuple[Point, ...]:
    """Return the corners of an unfinished walk, its start and the end of every wall; judges nothing.

    >>> trace([Leg(Decimal(2000)), Leg(Decimal(1000))])[-1] == (2000, -1000)
    True
    """
    legs = tuple(legs)
    if not legs:
        return ((Decimal(0), Decimal(0)),)
    found = balance(_courses(legs)) if sum(leg.length_mm for leg in legs) else None
    if found is None:
        return ((Decimal(0), Decimal(0)),) * (len(legs) + 1)
    return _walk([(x, -y) for x, y in zip(found.latitudes, found.departures, strict=True)])


def closing_turn(turns: Iterable[Decimal]) -> Decimal:
    """Return the last wall's turn, given all the others: what is left to a full round either way.

    90 degrees right when no turn below 180 degrees would complete a round (the sum is then refused later).

    >>> closing_turn([RIGHT, RIGHT, RIGHT]), closing_turn([LEFT, LEFT, LEFT])
    (Decimal('90'), Decimal('-90'))
    """
    total = sum(turns, Decimal(0))
    missing = _ROUND - total if total > 0 else -_ROUND - total
    return missing if abs(missing) < _HALF else RIGHT


def _courses(legs: Sequence[Leg]) -> list[Course]:
    headings = accumulate((leg.turn_degrees for leg in legs[:-1]), initial=Decimal(0))
    return [Course(leg.length_mm, heading) for leg, heading in zip(legs, headings, strict=True)]


def _walk(steps: Iterable[tuple[Decimal, Decimal]]) -> tuple[Point, ...]:
    x = y = Decimal(0)
    points = [(x, y)]
    for dx, dy in steps:
        x, y = x + dx, y + dy
        points.append((x, y))
    return tuple(points)


def _negative(value: Decimal) -> Decimal:
    return Decimal(0) - value  # unlike -value, keeps zero free of a sign


def _corner(turn_to_the_room: Decimal) -> CornerKind:
    if turn_to_the_room == 0:
        return CornerKind.STRAIGHT
    return CornerKind.INSIDE if turn_to_the_room > 0 else CornerKind.OUTSIDE


def _measure(vertices: Sequence[Point], turned_right: bool) -> tuple[Leg, ...]:
    """Measure the balanced plan: every wall's length and turn, the turns summing to a full round exactly."""
    ends = (*vertices, vertices[0])
    sides = list(zip(vertices, ends[1:], strict=True))
    headings = [math.degrees(math.atan2(y0 - y1, x1 - x0)) for (x0, y0), (x1, y1) in sides]
    turns: list[Decimal] = []
    for before, after in pairwise(headings):
        swing = (after - before + 180) % 360 - 180
        turns.append(Decimal(swing).quantize(_ANGLE_GRID))
    turns.append((_ROUND if turned_right else -_ROUND) - sum(turns, Decimal(0)))
    return tuple(
        Leg(to_grid(distance(start, end)), turn) for (start, end), turn in zip(sides, turns, strict=True)
    )


# --- What is refused --------------------------------------------------------------------------------------


def _check_walls(legs: Sequence[Leg]) -> None:
    if len(legs) < 3:
        raise TraverseError(
            phrase(gettext_noop("The walk has {count} walls; a room has three or more."), count=len(legs)),
            rule="walk.too-few",
            count=len(legs),
        )
    if len(legs) > MOST_WALLS:
        raise TraverseError(
            phrase(
                gettext_noop("The walk has {count} walls; at most {most} are read as one room."),
                count=len(legs),
                most=MOST_WALLS,
            ),
            rule="walk.too-many",
            count=len(legs),
        )
    for number, leg in enumerate(legs, 1):
        if leg.length_mm <= 0:
            raise TraverseError(
                phrase(gettext_noop("Wall {wall}: a length above zero was expected."), wall=number),
                rule="walk.length",
                place=f"walls[{number - 1}].length",
                wall=number,
            )
        if abs(leg.turn_degrees) >= _HALF:
            raise TraverseError(
                phrase(
                    gettext_noop(
                        "Wall {wall}: a turn of {turn}° doubles back along the wall; "
                        "less than 180° was expected."
                    ),
                    wall=number,
                    turn=_degrees(leg.turn_degrees),
                ),
                rule="walk.doubling-back",
                place=f"walls[{number - 1}].turn",
                wall=number,
                turn_degrees=leg.turn_degrees,
            )


def _check_turns(legs: Sequence[Leg]) -> None:
    total = sum((leg.turn_degrees for leg in legs), Decimal(0))
    if abs(total) == _ROUND:
        return
    # Turns to the left count below zero, as they do in the sum.
    said = phrase(
        gettext_noop(
            "The turns add up to {total}°; once round a room they add up to 360° to the right "
            "or 360° to the left."
        ),
        total=_degrees(total),
    )
    flipped = [
        (balance(_courses(walk)).linear, number)
        for number, walk in _flips(legs, keep_last=True)
        if abs(sum(leg.turn_degrees for leg in walk)) == _ROUND
    ]
    last = closing_turn(leg.turn_degrees for leg in legs[:-1])
    turn_wall = min(flipped)[1] if flipped else None
    if turn_wall:
        advice: Phrase | None = phrase(
            gettext_noop("They do if the turn after wall {wall} is to the left, not to the right.")
            if legs[turn_wall - 1].turn_degrees > 0
            else gettext_noop("They do if the turn after wall {wall} is to the right, not to the left."),
            wall=turn_wall,
        )
    elif abs(total - legs[-1].turn_degrees + last) == _ROUND:
        advice = phrase(
            gettext_noop("The turn after wall {wall} would have to be {turn}°."),
            wall=len(legs),
            turn=_degrees(last),
        )
    else:
        advice = None
    raise TraverseError(_sentences(said, advice), rule="walk.turns", total_degrees=total, turn_wall=turn_wall)


def _check_plan(vertices: Sequence[Point]) -> None:
    for index, start in enumerate(vertices):
        if start == vertices[(index + 1) % len(vertices)]:
            raise TraverseError(
                phrase(
                    gettext_noop("Wall {wall} is so short that balancing the walk leaves nothing of it."),
                    wall=index + 1,
                ),
                rule="walk.vanished",
                wall=index + 1,
            )
    _check_crossing(vertices)
    if signed_area(vertices) == 0:
        raise TraverseError(phrase(gettext_noop("The walls enclose no area.")), rule="walk.no-area")


def _check_crossing(vertices: Sequence[Point]) -> None:
    crossing = first_crossing(vertices)
    if crossing is not None:
        first, second = crossing[0] + 1, crossing[1] + 1
        raise CrossingError(
            phrase(
                gettext_noop("Wall {first} and wall {second} cross or touch; check their lengths and turns."),
                first=first,
                second=second,
            ),
            rule="walk.crossing",
            walls=(first, second),
        )


def _misclosure(
    legs: Sequence[Leg], found: Balance, limit: Decimal, tolerance: Tolerance, system: System
) -> MisclosureError:
    """Build the refusal: how far the walk misses, and which wall or turn would close it."""
    suggestions = suggest(legs)
    closing = [one for one in suggestions if one.remaining_mm <= limit]
    turn_wall = _mistaken_turn(legs, tolerance)
    if turn_wall and not closing:
        suggestions = []  # a length that only comes nearer would lead away from the turn that closes it
    said = phrase(
        gettext_noop("The walk ends {gap} from where it began; up to {limit} is balanced."),
        gap=format_length(found.linear, system, rounding="up"),
        limit=format_length(limit, system, rounding="down"),
    )
    return MisclosureError(
        _sentences(
            said,
            _length_advice(suggestions[:2], closing[:2], system),
            _turn_advice(legs, turn_wall) if turn_wall else None,
        ),
        rule="walk.misclosure",
        place=(
            f"walls[{closing[0].wall - 1}].length"
            if closing
            else f"walls[{turn_wall - 1}].turn"
            if turn_wall
            else ""
        ),
        misclosure_mm=found.linear,
        perimeter_mm=found.perimeter,
        limit_mm=limit,
        suggestions=tuple(closing or suggestions[:1]),
        turn_wall=turn_wall,
    )


def advise(legs: Sequence[Leg], *, within_mm: Decimal, system: System = System.INCH) -> Phrase | None:
    """Return which wall to measure again, in words: the one whose length would close the walk to *within_mm*.

    None when no single wall does.
    """
    closing = [one for one in suggest(legs) if one.remaining_mm <= within_mm]
    return _length_advice((), closing[:2], system)


def suggest(legs: Sequence[Leg]) -> list[Suggestion]:
    """Return, best first, what one wall's length would have to be for the walk to close.

    A wall changed by d along its own direction u moves the end by d*u; d = -m.u leaves the least of the
    misclosure m. Of walls that do equally well (opposite walls of a rectangle) the later comes first.
    """
    found = balance(_courses(legs))
    suggestions = []
    for number, (leg, course) in enumerate(zip(legs, _courses(legs), strict=True), 1):
        north, east = cos_sin(course.azimuth)
        change = -(found.latitude_sum * north + found.departure_sum * east)
        remaining = abs(found.latitude_sum * east - found.departure_sum * north)
        wanted = to_grid(leg.length_mm + change)
        if wanted > 0:
            suggestions.append(Suggestion(number, leg.length_mm, wanted, to_grid(remaining)))
    return sorted(suggestions, key=lambda one: (one.remaining_mm, -one.wall))


def _flips(legs: Sequence[Leg], *, keep_last: bool) -> Iterable[tuple[int, tuple[Leg, ...]]]:
    """Yield (wall number, the walk with that wall's turn to the other hand).

    Unless *keep_last*, the last turn follows from the others, since it may have been worked out from them.
    """
    for index, leg in enumerate(legs if keep_last else legs[:-1]):
        if not leg.turn_degrees:
            continue
        walk = [*legs]
        walk[index] = Leg(leg.length_mm, -leg.turn_degrees)
        if not keep_last:
            walk[-1] = Leg(legs[-1].length_mm, closing_turn(one.turn_degrees for one in walk[:-1]))
        yield index + 1, tuple(walk)


def _mistaken_turn(legs: Sequence[Leg], tolerance: Tolerance) -> int | None:
    """Return the wall after which the other hand makes a room that closes within the tolerance, if any."""
    candidates = []
    for number, walk in _flips(legs, keep_last=False):
        found = balance(_courses(walk))
        if abs(sum(leg.turn_degrees for leg in walk)) == _ROUND and found.linear <= tolerance.limit(
            found.perimeter
        ):
            steps = [
                (x, -y) for x, y in zip(found.balanced_latitudes, found.balanced_departures, strict=True)
            ]
            if first_crossing(_walk(steps)[:-1]) is None:
                candidates.append((found.linear, number))
    return min(candidates)[1] if candidates else None


def _length_advice(
    best: Sequence[Suggestion], closing: Sequence[Suggestion], system: System
) -> Phrase | None:
    def shown(length: Decimal) -> str:
        return format_length(length, system)

    if closing:
        advice = phrase(
            gettext_noop("Wall {wall} would close it at {wanted} instead of {length}."),
            wall=closing[0].wall,
            wanted=shown(closing[0].wanted_mm),
            length=shown(closing[0].length_mm),
        )
        if len(closing) == 1 or closing[1].remaining_mm != closing[0].remaining_mm:
            return advice
        return _sentences(
            advice,
            phrase(
                gettext_noop("So would wall {wall} at {wanted} instead of {length}."),
                wall=closing[1].wall,
                wanted=shown(closing[1].wanted_mm),
                length=shown(closing[1].length_mm),
            ),
        )
    if best:
        return phrase(
            gettext_noop(
                "No single wall closes it; wall {wall} at {wanted} instead of {length} comes nearest, "
                "within {remaining}."
            ),
            wall=best[0].wall,
            wanted=shown(best[0].wanted_mm),
            length=shown(best[0].length_mm),
            remaining=shown(best[0].remaining_mm),
        )
    return None


def _turn_advice(legs: Sequence[Leg], wall: int) -> Phrase:
    return phrase(
        gettext_noop("It closes if the turn after wall {wall} is to the left, not to the right.")
        if legs[wall - 1].turn_degrees > 0
        else gettext_noop("It closes if the turn after wall {wall} is to the right, not to the left."),
        wall=wall,
    )


def _sentences(first: Phrase, *others: Phrase | None) -> Phrase:
    for other in others:
        if other is not None:
            first = phrase(gettext_noop("{first} {second}"), first=first, second=other)
    return first


def _degrees(value: Decimal) -> str:
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", "−")

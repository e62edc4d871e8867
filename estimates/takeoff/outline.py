"""A room's outline in one line of text: a walk round the walls, a rectangle or an L-shape.

Every way ends in the same walls (:class:`WalkLeg`), so one code path follows.

**A walk** lists the walls in the order walked, each a length and, unless it is 90 degrees to the right, the
turn at its end: ``8'0 5'0 8'0 1/4 5'0`` or ``12' L 4' L 12' L 4'``. How a line is read:

* Spaces, commas, semicolons and line breaks part the walls. A comma between two digits could also be a
  decimal mark: it is one before ``m`` or ``cm`` (``2,55 m``) and is refused anywhere else.
* After a feet mark the next number is that wall's inches, unless it has a unit other than inches or a
  separator other than a space stands between: ``8' 5'`` is two walls, ``8' 5`` one. A fraction belongs to
  the whole number before it: ``100 1/2 50`` is two walls. Any other number starts a wall, so thousands
  are not parted by a space in a walk.
* After ``m`` or ``cm``, a number belongs to the same wall only with a smaller metric unit: ``2 m 55 cm``.
* A turn is ``R`` or ``L`` (``right``, ``left``) for 90 degrees. Degrees written against the letter
  (``R45``) or with a degree sign (``R 45°``) are always the turn's. Degrees after a space (``R 45``) are the
  turn's when a length follows them; before another turn or at the end the number is a wall (``100 R 50 R``).
  A number with a length unit is always a wall (``12'L4'``).
* The last wall's turn may be left out; it follows from the others. Minutes of arc are not read, since their
  mark is the mark of feet.

**A rectangle** is two lengths with ``x``, ``×`` or ``by`` between: the first wall, then the one to its right.

**An L-shape** is a rectangle, ``less``, and the rectangle that is missing: ``10' x 8' less 4' x 3'``, the 4'
along the first wall. It is cut out at the far right corner, seen from the start along the first wall;
``at 1`` to ``at 4`` name another: 1 the start, 2 the end of the first wall, 3 the far right, 4 the last.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from .errors import DomainError
from .lengths import LengthError, exact_text, parse_length, read_length
from .phrases import Phrase, gettext_noop, phrase
from .spelling import Sign, Token, refuse_token, scan, shown
from .traverse import LEFT, MOST_WALLS, RIGHT, Leg, closing_turn
from .units import System

_HALF = Decimal(180)
_FAR_RIGHT = 3
_SEPARATORS = (",", ";", "\n", "\r")
_BY = re.compile(r"[x×✕✖*]|(?<![^\W\d_])by(?![^\W\d_])", re.IGNORECASE)
_LESS = re.compile(r"\b(?:less|minus|without)\b", re.IGNORECASE)
_AT = re.compile(r"\bat\b(?:\s+corner\b)?([^@]*)$", re.IGNORECASE)
_TURN = re.compile(r"([a-z]*|[-+])([0-9]{1,3}(?:\.[0-9]{1,6})?|)(?:°|deg\.?|degrees)?")
_TURNS = {"r": RIGHT, "right": RIGHT, "l": LEFT, "left": LEFT}


class WalkError(DomainError):
    """An outline could not be read. Rules: ``walk.empty``, ``walk.too-many``, ``walk.turn-first``,
    ``walk.two-turns``, ``walk.degrees``, ``outline.sides``, ``outline.corner``, ``outline.cut-too-large``
    and those of :class:`.LengthError`. *place* names the wall, such as ``walls[2].length``.
    """


class Shape(StrEnum):
    """How an outline was given."""

    WALK = "walk"
    RECTANGLE = "rectangle"
    L_SHAPE = "L-shape"


@dataclass(frozen=True)
class WalkLeg:
    """A wall as it was typed (its length alone, as written) and what was read."""

    typed: str
    leg: Leg


@dataclass(frozen=True)
class Outline:
    """A room's walls in the order walked, and the way in which they were given."""

    shape: Shape
    walls: tuple[WalkLeg, ...]

    @property
    def legs(self) -> tuple[Leg, ...]:
        """The walls' lengths and turns, for :func:`.close_traverse`."""
        return tuple(wall.leg for wall in self.walls)


def parse_outline(text: str, system: System) -> Outline:
    """Read a walk, a rectangle or an L-shape; the grammar stands at the top of this module.

    Raises:
        WalkError: nothing of the kind could be read; the sentence names the wall or side.

    >>> [wall.typed for wall in parse_outline("8' x 5'", System.INCH).walls]
    ["8'", "5'", "8'", "5'"]
    """
    if not _BY.search(text):
        return Outline(Shape.WALK, parse_walk(text, system))
    whole, *cut = (part.strip(" ,;") for part in _LESS.split(" ".join(text.split())))
    if not cut:
        return Outline(Shape.RECTANGLE, _rectangle(*_sides(whole, system)))
    if len(cut) > 1:
        raise WalkError(
            phrase(
                gettext_noop("“{typed}” cuts out more than one corner; walk the walls instead."),
                typed=shown(text),
            ),
            rule="outline.sides",
            typed=text,
        )
    return Outline(Shape.L_SHAPE, _l_shape(whole, cut[0], system))


# --- The walk ---------------------------------------------------------------------------------------------


def parse_walk(text: str, system: System) -> tuple[WalkLeg, ...]:
    """Read the walls of a walk; the grammar stands at the top of this module.

    Returns:
        The walls as typed and read. A last turn left out is the one that completes the round. Whether they
        make a room is for :func:`.close_traverse` to say; a walk may still be unfinished.

    Raises:
        WalkError: the sentence names the wall.

    >>> [(wall.typed, int(wall.leg.turn_degrees)) for wall in parse_walk("12' L 4' R45 3'6", System.INCH)]
    [("12'", -90), ("4'", 45), ("3'6", 90)]
    """
    walls: list[WalkLeg] = []
    is_turn_said = True  # of the last wall read
    try:
        for stretch, start in _stretches(text):
            tokens = tuple(replace(t, start=t.start + start, end=t.end + start) for t in scan(stretch))
            at = 0
            while at < len(tokens):
                turn, after = _turn(tokens, at)
                if turn is None:
                    _check_count(walls)
                    length, after = read_length(tokens, at, system, spaced=True)
                    typed = " ".join(text[tokens[at].start : tokens[after - 1].end].split())
                    walls.append(WalkLeg(typed, Leg(length, RIGHT)))
                    is_turn_said = False
                else:
                    _check_turn(turn, tokens[at], len(walls), is_turn_said)
                    walls[-1] = replace(walls[-1], leg=replace(walls[-1].leg, turn_degrees=turn))
                    is_turn_said = True
                at = after
    except LengthError as error:
        raise _at_wall(error, len(walls) + 1) from error
    if not walls:
        raise WalkError(
            phrase(gettext_noop("No wall is given; write the lengths as walked, such as {example}."),
                   example="8' 5' 8' 5'" if system is System.INCH else "2.4 m, 1.5 m, 2.4 m, 1.5 m"),
            rule="walk.empty",
        )  # fmt: skip
    if not is_turn_said:
        last = closing_turn(wall.leg.turn_degrees for wall in walls[:-1])
        walls[-1] = replace(walls[-1], leg=replace(walls[-1].leg, turn_degrees=last))
    return tuple(walls)


def walk_text(walls: Iterable[WalkLeg | Leg], system: System) -> str:
    """Print walls as a walk that :func:`parse_walk` reads back as the same lengths and turns.

    What was typed is kept for a :class:`WalkLeg` as long as it reads as the same length.

    >>> walk_text(parse_walk("8'0, 5'0; 8'0 1/4 L30.5 5'", System.INCH), System.INCH)
    "8'0, 5'0, 8'0 1/4 L30.5, 5'"
    """
    legs = [wall.leg if isinstance(wall, WalkLeg) else wall for wall in walls]
    typed = [wall.typed if isinstance(wall, WalkLeg) else "" for wall in walls]
    pieces = []
    for index, (leg, text) in enumerate(zip(legs, typed, strict=True)):
        usual = closing_turn(one.turn_degrees for one in legs[:-1]) if index == len(legs) - 1 else RIGHT
        length = text if _reads_as(text, leg.length_mm, system) else exact_text(leg.length_mm, system)
        pieces.append(length + ("" if leg.turn_degrees == usual else f" {turn_text(leg.turn_degrees)}"))
    return ", ".join(pieces)


def turn_text(turn_degrees: Decimal) -> str:
    """Write a turn as a walk reads it.

    >>> turn_text(Decimal(-90)), turn_text(Decimal("30.50"))
    ('L', 'R30.5')
    """
    hand = "L" if turn_degrees < 0 else "R"
    angle = f"{abs(turn_degrees):f}"
    angle = angle.rstrip("0").rstrip(".") if "." in angle else angle
    return hand if abs(turn_degrees) == RIGHT else hand + (angle or "0")


def parse_turn(text: str) -> Decimal:
    """Read one turn on its own, such as a form's cell: ``R``, ``L``, ``right``, ``L 30.5``, ``R45°``,
    or degrees alone, ``45`` and ``-45``, right above zero.

    Returns:
        Degrees, right > 0. An empty text is 90 degrees right.

    Raises:
        WalkError: rule ``walk.degrees``.

    >>> parse_turn("l 30.5°"), parse_turn("")
    (Decimal('-30.5'), Decimal('90'))
    """
    plain = "".join(text.split()).casefold().replace("−", "-").replace(",", ".")
    if not plain:
        return RIGHT
    found = _TURN.fullmatch(plain)
    word, angle = found.groups() if found else ("?", "")
    hand = _TURNS.get({"": "r", "+": "r", "-": "l"}.get(word, word))
    if hand is None or (not angle and word in ("", "+", "-")):
        raise WalkError(
            phrase(
                gettext_noop("“{typed}” is not a turn; R or L was expected, or R45 for 45°."),
                typed=shown(text),
            ),
            rule="walk.degrees",
            typed=text,
        )
    turn = Decimal(angle).copy_sign(hand) if angle else hand
    if abs(turn) >= _HALF:
        raise WalkError(_turn_too_large(turn), rule="walk.degrees", typed=text)
    return turn


def _stretches(text: str) -> Iterable[tuple[str, int]]:
    """Yield the parts of a walk between sure separators, with where each starts.

    A comma parts walls unless digits stand on both sides; such a comma is left for the length to judge.
    """
    start = 0
    for index, sign in enumerate(text):
        between_digits = text[index - 1 : index].isdecimal() and text[index + 1 : index + 2].isdecimal()
        if sign in _SEPARATORS and not (sign == "," and between_digits):
            yield text[start:index], start
            start = index + 1
    yield text[start:], start


def _turn(tokens: Sequence[Token], at: int) -> tuple[Decimal | None, int]:
    """Read the turn at ``tokens[at]``; None when a length starts there instead."""
    word = tokens[at]
    hand = _TURNS.get(word.text.casefold().rstrip(".")) if word.sign is Sign.WORD else None
    if hand is None or _is_letter_for_one(tokens, at):
        return None, at
    if not _is_angle(tokens, at + 1):
        return hand, at + 1
    number = tokens[at + 1]
    after = at + 2
    if after < len(tokens) and _is_degree_sign(tokens[after]):
        after += 1
    angle = number.text.replace("\u202f", "").replace(",", ".")
    if angle.count(".") > 1:
        refuse_token(number, System.INCH)
    return Decimal(angle).copy_sign(hand), after


def _is_angle(tokens: Sequence[Token], at: int) -> bool:
    """Whether the number at ``tokens[at]``, after a turn's letter, is its angle and not the next wall."""
    if at >= len(tokens) or tokens[at].sign is not Sign.NUMBER:
        return False
    after = tokens[at + 1] if at + 1 < len(tokens) else None
    if after is not None and _is_degree_sign(after):
        return True
    if after is not None and after.sign in (Sign.UNIT, Sign.FRACTION, Sign.HYPHEN):
        # "R 8'" and "R 4 1/2" are walls; "R45 1/2" is an angle, then a wall of half an inch.
        return after.sign is Sign.FRACTION and tokens[at - 1].end == tokens[at].start
    if tokens[at - 1].end == tokens[at].start:
        return True
    return after is not None and after.sign is Sign.NUMBER


def _is_degree_sign(token: Token) -> bool:
    return token.text in ("°", "º", "˚") or token.text.casefold() in ("deg", "deg.", "degree", "degrees")


def _is_letter_for_one(tokens: Sequence[Token], at: int) -> bool:
    """Whether a small l is written against a number that is a length: ``l2'`` for ``12'``."""
    following = tokens[at + 1 : at + 3]
    return (
        tokens[at].text == "l"
        and len(following) == 2
        and following[0].start == tokens[at].end
        and following[1].sign is Sign.UNIT
    )


def _check_count(walls: Sequence[WalkLeg]) -> None:
    if len(walls) >= MOST_WALLS:
        raise WalkError(
            phrase(
                gettext_noop("The walk goes on after {most} walls; no more are read as one room."),
                most=MOST_WALLS,
            ),
            rule="walk.too-many",
        )


def _check_turn(turn: Decimal, token: Token, walls: int, is_turn_said: bool) -> None:
    if not walls:
        raise WalkError(
            phrase(
                gettext_noop("“{typed}” turns before the first wall; a length was expected."),
                typed=token.text,
            ),
            rule="walk.turn-first",
        )
    if is_turn_said:
        raise WalkError(
            phrase(
                gettext_noop("Wall {wall}: “{typed}” is a second turn; a length was expected."),
                wall=walls,
                typed=token.text,
            ),
            rule="walk.two-turns",
            place=f"walls[{walls - 1}].turn",
            wall=walls,
        )
    if abs(turn) >= _HALF:
        raise WalkError(
            _at_wall_phrase(walls, _turn_too_large(turn)),
            rule="walk.degrees",
            place=f"walls[{walls - 1}].turn",
            wall=walls,
            turn_degrees=turn,
        )


def _turn_too_large(turn: Decimal) -> Phrase:
    return phrase(gettext_noop("{turn}° is no turn; less than 180° was expected."), turn=f"{abs(turn):f}")


def _at_wall_phrase(wall: int, reason: Phrase) -> Phrase:
    return phrase(gettext_noop("Wall {wall}: {reason}"), wall=wall, reason=reason)


def _at_wall(error: LengthError, wall: int) -> WalkError:
    return WalkError(
        _at_wall_phrase(wall, error.reason),
        rule=error.rule,
        place=f"walls[{wall - 1}].length",
        **{**error.facts, "wall": wall},
    )


def _reads_as(text: str, length_mm: Decimal, system: System) -> bool:
    """Whether *text* can stand in a walk for this length, whatever comes after the comma."""
    try:
        (wall,) = parse_walk(text, system)
    except (DomainError, ValueError):
        return False
    return wall.leg.length_mm == length_mm


# --- Shortcuts --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Side:
    typed: str
    length_mm: Decimal


def _sides(text: str, system: System) -> tuple[_Side, _Side]:
    parts = [" ".join(part.split()) for part in _BY.split(text)]
    if len(parts) != 2:
        raise WalkError(
            phrase(gettext_noop("“{typed}” has {count} sides; two were expected, such as {example}."),
                   typed=shown(text), count=len(parts),
                   example="8' x 5'" if system is System.INCH else "2.4 m x 1.5 m"),
            rule="outline.sides",
            typed=text,
        )  # fmt: skip
    sides = []
    for number, part in enumerate(parts, 1):
        try:
            sides.append(_Side(part, parse_length(part, system)))
        except LengthError as error:
            raise WalkError(
                phrase(gettext_noop("Side {side}: {reason}"), side=number, reason=error.reason),
                rule=error.rule,
                place=f"sides[{number - 1}]",
                **{**error.facts, "side": number},
            ) from error
    return sides[0], sides[1]


def _rectangle(first: _Side, second: _Side) -> tuple[WalkLeg, ...]:
    return tuple(WalkLeg(side.typed, Leg(side.length_mm, RIGHT)) for side in (first, second, first, second))


def _l_shape(whole: str, cut: str, system: System) -> tuple[WalkLeg, ...]:
    corner = _FAR_RIGHT
    named = _AT.search(cut)
    if named:
        number = named[1].strip()
        if number not in ("1", "2", "3", "4"):
            raise WalkError(
                phrase(
                    gettext_noop("“{typed}” is not a corner; 1, 2, 3 or 4 was expected."),
                    typed=shown(number),
                ),
                rule="outline.corner",
                typed=number,
            )
        corner, cut = int(number), cut[: named.start()]
    along, across = _sides(whole, system)
    missing_along, missing_across = _sides(cut, system)
    for side, missing in ((along, missing_along), (across, missing_across)):
        if missing.length_mm >= side.length_mm:
            raise WalkError(
                phrase(
                    gettext_noop(
                        "The cut-out of {cut} is as large as the side of {side}; less was expected."
                    ),
                    cut=shown(missing.typed),
                    side=shown(side.typed),
                ),
                rule="outline.cut-too-large",
                cut_mm=missing.length_mm,
                side_mm=side.length_mm,
            )

    def rest(side: _Side, missing: _Side) -> _Side:
        length = side.length_mm - missing.length_mm
        return _Side(exact_text(length, system), length)

    a, b, c, d = along, across, missing_along, missing_across
    short_a, short_b = rest(a, c), rest(b, d)
    walks = {
        1: ((short_a, RIGHT), (b, RIGHT), (a, RIGHT), (short_b, RIGHT), (c, LEFT), (d, RIGHT)),
        2: ((short_a, RIGHT), (d, LEFT), (c, RIGHT), (short_b, RIGHT), (a, RIGHT), (b, RIGHT)),
        3: ((a, RIGHT), (short_b, RIGHT), (c, LEFT), (d, RIGHT), (short_a, RIGHT), (b, RIGHT)),
        4: ((a, RIGHT), (b, RIGHT), (short_a, RIGHT), (d, LEFT), (c, RIGHT), (short_b, RIGHT)),
    }
    return tuple(WalkLeg(side.typed, Leg(side.length_mm, turn)) for side, turn in walks[corner])

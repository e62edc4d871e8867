"""Lengths as people write them, read exactly and printed again.

A length in the core is a ``Decimal`` of millimetres that is a whole number of ten-thousandths:
1/16 in is 1.5875 mm, so sixteenths of an inch and whole millimetres are both exact.

How a text is read (:func:`parse_length`):

* feet, then inches: ``8' 4 1/2"``, ``8'-4½"``, ``8ft 4.5in``, ``8'4``. After feet a number needs no mark; it
  is inches. Inches after feet stay below 12.
* inches alone: ``100 1/2"``, ``100.5in``; on a site measured in inches also ``100 1/2``.
* metric: ``2.55 m``, ``255 cm``, ``2 m 55 cm``, ``2550 mm``; on a metric site also ``2550``.
* a fraction has a denominator of 2, 4, 8, 16, 32 or 64 and is less than one; it may follow a whole number
  after a space, a hyphen or nothing (``4½``).
* a comma is a decimal mark, except before exactly three digits (``1,200``), where it could as well group
  thousands: that is refused rather than guessed. A thin space groups thousands (``2 550 mm``); an ordinary
  space does so only where ``mm`` is written out.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NoReturn, TypeAlias

from .phrases import gettext_noop, phrase
from .spelling import (
    INCH,
    SIZE,
    Sign,
    Token,
    example,
    is_lookalike,
    refuse,
    refuse_letter,
    refuse_token,
    scan,
    shown,
)
from .spelling import LengthError as LengthError
from .units import System

GRID = Decimal("0.0001")
"""The step on which every length lies, in millimetres."""

LONGEST_MM = Decimal(304_800)
"""1000 ft: anything longer is a slip of the keyboard, not a room (our own limit)."""

Style: TypeAlias = Literal["room", "piece"]
Rounding: TypeAlias = Literal["nearest", "up", "down"]

_UNITS_PER_MM = 10_000
_DENOMINATORS = (1, 2, 4, 8, 16, 32, 64)


# --- Reading ----------------------------------------------------------------------------------------------


def parse_length(text: str, system: System, *, allow_zero: bool = False) -> Decimal:
    """Read a length as people write it.

    Args:
        text: what was typed; see the top of this module for the ways of writing.
        system: the site's units, for a number without one (inches or millimetres).
        allow_zero: whether 0 is an answer (an offset) or a slip (a wall).

    Returns:
        Millimetres, >= 0, rounded half up to 0.0001 mm where what was typed is finer.

    Raises:
        LengthError: with a sentence that says what was read and what was expected.

    >>> parse_length("8' 4 1/2\\"", System.METRIC)
    Decimal('2552.7000')
    >>> parse_length("2,55 m", System.METRIC) == parse_length("2550", System.METRIC)
    True
    """
    tokens = scan(_grouped(text))
    if not tokens:
        refuse(
            "empty",
            phrase(gettext_noop("No length is given; write one such as {example}."), example=example(system)),
            typed=text,
        )
    length, after = read_length(tokens, 0, system, allow_zero=allow_zero)
    if after < len(tokens):
        _refuse_rest(tokens, after, text, system)
    return length


def _grouped(text: str) -> str:
    # Only with the unit written out is "2 550" surely one number; the space is made a thin one.
    return re.sub(
        r"(?<![0-9./⁄])([1-9][0-9]{0,2})[ \u00a0]([0-9]{3})(?=\s*mm\b)",
        "\\1\u202f\\2",
        text,
        flags=re.IGNORECASE,
    )


def read_length(
    tokens: tuple[Token, ...], at: int, system: System, *, allow_zero: bool = False, spaced: bool = False
) -> tuple[Decimal, int]:
    """Read one length that starts at ``tokens[at]``, taking every token that can belong to it.

    Args:
        spaced: the text is a list of lengths, so a comma between digits may part two walls; it is taken as
            a decimal mark only before ``m`` or ``cm``.

    Returns:
        The length in millimetres and the index of the first token after it.

    Raises:
        LengthError: the tokens at that place are no length.
    """
    reader = _Reader(tokens, at, system, spaced)
    length = on_grid(reader.length())
    typed = shown(reader.typed())
    if length > LONGEST_MM:
        refuse(
            "too-long",
            phrase(
                gettext_noop("“{typed}” is longer than 1000 ft (304.8 m); check the number and its unit."),
                typed=typed,
            ),
            typed=typed,
            length_mm=length,
        )
    if length == 0 and not allow_zero:
        refuse(
            "zero",
            phrase(gettext_noop("“{typed}” is zero; a length above zero was expected."), typed=typed),
            typed=typed,
        )
    return length, reader.at


class _Reader:
    """Reads one length from tokens; ``at`` is the next token."""

    def __init__(self, tokens: tuple[Token, ...], at: int, system: System, spaced: bool) -> None:
        self.tokens = tokens
        self.begin = self.at = at
        self.system = system
        self.spaced = spaced

    def token(self, ahead: int = 0) -> Token | None:
        at = self.at + ahead
        return self.tokens[at] if at < len(self.tokens) else None

    def sign(self, ahead: int = 0) -> Sign | None:
        token = self.token(ahead)
        return token.sign if token else None

    def typed(self) -> str:
        """Return what has been read so far, its spaces made single."""
        parts: list[str] = []
        for before, token in zip(
            (None, *self.tokens[self.begin :]), self.tokens[self.begin : self.at], strict=False
        ):
            parts.append(" " if before and before.end < token.start else "")
            parts.append(token.text)
        return "".join(parts)

    def length(self) -> Fraction:
        value, whole = self.quantity()
        unit = self.take_unit()
        if unit == "ft":
            return value * SIZE["ft"] + self.inches_after_feet(whole)
        if unit in ("m", "cm"):
            return value * SIZE[unit] + self.metric_after(unit)
        return value * SIZE[unit or self.system.length]

    def take_unit(self) -> str:
        token = self.token()
        if token is not None and token.sign is Sign.UNIT:
            self.at += 1
            return token.unit
        return ""

    def quantity(self) -> tuple[Fraction, bool]:
        """Read ``4``, ``4.5``, ``1/2``, ``4 1/2`` or ``4-1/2``; say also whether it is a whole number."""
        token = self.token()
        if token is None or token.sign not in (Sign.NUMBER, Sign.FRACTION):
            self.refuse_start(token)
        self.refuse_lookalikes()
        self.at += 1
        if token.sign is Sign.FRACTION:
            return self.fraction(token), False
        value = self.number(token)
        ahead = 1 if self.sign() is Sign.HYPHEN else 0
        after = self.token(ahead)
        if after is None or after.sign is not Sign.FRACTION:
            return value, value.denominator == 1
        self.at += ahead + 1
        if not token.text.isdigit():
            refuse(
                "fraction",
                phrase(
                    gettext_noop("“{typed}” has a fraction after a decimal number; write one or the other."),
                    typed=shown(self.typed()),
                ),
                typed=self.typed(),
            )
        self.refuse_lookalikes(back=1)
        return value + self.fraction(after), False

    def number(self, token: Token) -> Fraction:
        text = re.sub(r"[\u2009\u202f]", "", token.text)
        if "," in text:
            self.refuse_comma(token, text)
        if text.count(".") + text.count(",") > 1:
            refuse(
                "not-a-number",
                phrase(
                    gettext_noop("“{typed}” has more than one decimal mark; one number was expected."),
                    typed=shown(token.text),
                ),
                typed=token.text,
            )
        # Beyond these sizes the answer is "too long" either way; the cut keeps the arithmetic small.
        whole, _, decimals = text.replace(",", ".").partition(".")
        return Fraction(f"{whole.lstrip('0')[:40] or '0'}.{decimals[:40] or '0'}")

    def refuse_comma(self, token: Token, text: str) -> None:
        if re.fullmatch(r"[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]*)?", text):
            meanings = phrase(
                gettext_noop(
                    "“{typed}” can be read as {first} or as {second}; write one of them without a comma."
                ),
                typed=shown(token.text),
                first=shown(text.replace(",", "")),
                second=shown(text.replace(",", ".", 1)),
            )
            refuse("comma", meanings, typed=token.text)
        unit = self.token()
        if self.spaced and not (unit and unit.sign is Sign.UNIT and unit.unit in ("m", "cm")):
            refuse(
                "comma",
                phrase(
                    gettext_noop(
                        "“{typed}” can be one number or two; put a space after a comma between walls."
                    ),
                    typed=shown(token.text),
                ),
                typed=token.text,
            )

    def fraction(self, token: Token) -> Fraction:
        plain = unicodedata.normalize("NFKC", token.text).replace("⁄", "/").replace("∕", "/")
        above, below = (part.strip()[:12] for part in plain.split("/"))
        facts = {"typed": token.text, "numerator": int(above), "denominator": int(below)}
        if int(below) not in _DENOMINATORS:
            refuse(
                "denominator",
                phrase(
                    gettext_noop("“{typed}” is a fraction over {below}; 2, 4, 8, 16, 32 or 64 was expected."),
                    typed=shown(plain),
                    below=below,
                ),
                **facts,
            )
        if int(above) >= int(below):
            refuse(
                "fraction",
                phrase(
                    gettext_noop(
                        "“{typed}” is a fraction of one or more; write the whole number and the fraction "
                        "apart, such as 4 1/2."
                    ),
                    typed=shown(plain),
                ),
                **facts,
            )
        return Fraction(int(above), int(below))

    def inches_after_feet(self, whole_feet: bool) -> Fraction:
        """Read the inches that follow feet, or nothing where the next number is a length of its own."""
        ahead = 1 if self.sign() is Sign.HYPHEN else 0
        if self.sign(ahead) not in (Sign.NUMBER, Sign.FRACTION):
            return Fraction(0)
        look = _Reader(self.tokens, self.at + ahead, self.system, self.spaced)
        inches, _ = look.quantity()
        if look.take_unit() not in ("", "in"):
            return Fraction(0)
        self.at = look.at
        if not whole_feet:
            refuse(
                "feet-fraction",
                phrase(
                    gettext_noop(
                        "“{typed}” has inches after a part of a foot; write whole feet, then inches."
                    ),
                    typed=shown(self.typed()),
                ),
                typed=self.typed(),
            )
        if inches >= 12:
            refuse(
                "inches-overflow",
                phrase(
                    gettext_noop(
                        "“{typed}” has {inches} inches after the feet; less than 12 was expected. "
                        "Two lengths are parted by a comma."
                    )
                    if self.spaced
                    else gettext_noop(
                        "“{typed}” has {inches} inches after the feet; less than 12 was expected."
                    ),
                    typed=shown(self.typed()),
                    inches=_mixed(inches),
                ),
                typed=self.typed(),
                inches=inches,
            )
        return inches * INCH

    def metric_after(self, unit: str) -> Fraction:
        """Read ``55 cm`` after ``2 m``: a smaller metric unit that is written out."""
        if self.sign() not in (Sign.NUMBER, Sign.FRACTION):
            return Fraction(0)
        look = _Reader(self.tokens, self.at, self.system, self.spaced)
        if self.spaced and look.sign() is Sign.NUMBER and look.sign(1) is not Sign.UNIT:
            return Fraction(0)
        value, _ = look.quantity()
        smaller = look.take_unit()
        if smaller not in {"m": ("cm", "mm"), "cm": ("mm",)}[unit]:
            return Fraction(0)
        self.at = look.at
        if value * SIZE[smaller] >= SIZE[unit]:
            refuse(
                "metric-overflow",
                phrase(
                    gettext_noop("“{typed}” has more {smaller} than one {unit} holds; check the numbers."),
                    typed=shown(self.typed()),
                    smaller=smaller,
                    unit=unit,
                ),
                typed=self.typed(),
            )
        return value * SIZE[smaller] + (self.metric_after(smaller) if smaller == "cm" else 0)

    def refuse_lookalikes(self, back: int = 0) -> None:
        """Refuse ``1O`` and ``l2``: a letter beside a number. In a list of walls, only if they touch."""
        number, after = self.token(-back), self.token(1 - back)
        if number and after and is_lookalike(after) and (number.end == after.start or not self.spaced):
            refuse_letter(after, self.tokens)

    def refuse_start(self, token: Token | None) -> NoReturn:
        """Say why no length starts here."""
        if token is not None and is_lookalike(token):
            refuse_letter(token, self.tokens)
        if token is None or token.sign is Sign.UNIT:
            typed = " ".join(piece.text for piece in self.tokens)
            refuse(
                "no-number",
                phrase(
                    gettext_noop(
                        "“{typed}” has no number before “{mark}”; a length such as {example} was expected."
                    ),
                    typed=shown(typed),
                    mark=shown(token.text if token else ""),
                    example=example(self.system),
                ),
                typed=typed,
            )
        if token.sign is Sign.HYPHEN:
            typed = "".join(piece.text for piece in self.tokens[self.at : self.at + 3])
            refuse(
                "negative",
                phrase(
                    gettext_noop("“{typed}” is below zero; a length above zero was expected."),
                    typed=shown(typed),
                ),
                typed=typed,
            )
        refuse_token(token, self.system)


def _refuse_rest(tokens: tuple[Token, ...], at: int, text: str, system: System) -> NoReturn:
    token = tokens[at]
    if is_lookalike(token):
        refuse_letter(token, tokens)
    if token.sign in (Sign.NUMBER, Sign.FRACTION):
        refuse(
            "two-numbers",
            phrase(
                gettext_noop(
                    "“{typed}” has another number, {number}, with no unit that ties it to the first."
                ),
                typed=shown(text),
                number=shown(token.text),
            ),
            typed=text,
        )
    if token.sign is Sign.HYPHEN:
        after = tokens[at + 1].text if at + 1 < len(tokens) else ""
        refuse(
            "unexpected",
            phrase(
                gettext_noop("“{typed}”: “{rest}” was not expected after the length."),
                typed=shown(text),
                rest=shown(token.text + after),
            ),
            typed=text,
        )
    if token.sign is Sign.UNIT:
        refuse(
            "no-number",
            phrase(
                gettext_noop("“{typed}” has a unit, {mark}, with no number before it."),
                typed=shown(text),
                mark=shown(token.text),
            ),
            typed=text,
        )
    refuse_token(token, system)


# --- Whole ten-thousandths --------------------------------------------------------------------------------


def on_grid(value: Fraction) -> Decimal:
    """Return a length in millimetres rounded half up to 0.0001 mm.

    >>> on_grid(Fraction(254, 10) / 64)
    Decimal('0.3969')
    """
    return from_units((value * _UNITS_PER_MM + Fraction(1, 2)).__floor__())


def to_units(mm: Decimal) -> int:
    """Return a length as whole ten-thousandths of a millimetre, for the database.

    Raises:
        ValueError: the length is not on the grid (a mistake of ours, since every length read is).

    >>> to_units(Decimal("1.5875"))
    15875
    """
    units = mm * _UNITS_PER_MM
    if units != units.to_integral_value():
        raise ValueError(mm)
    return int(units)


def from_units(units: int) -> Decimal:
    """Return millimetres for whole ten-thousandths.

    >>> from_units(15875)
    Decimal('1.5875')
    """
    return Decimal(units).scaleb(-4)


# --- Printing ---------------------------------------------------------------------------------------------


def format_length(
    mm: Decimal, system: System, *, style: Style = "room", rounding: Rounding = "nearest"
) -> str:
    """Print a length for people, to 1/16 in or 1 mm.

    Args:
        mm: millimetres.
        style: ``room`` prints feet and inches or metres; ``piece`` prints inches or millimetres, the way a
            cut is marked. Thousands are parted by a narrow no-break space.
        rounding: ``nearest`` (half up), ``up`` (what must fit around) or ``down`` (what must fit inside).

    >>> format_length(Decimal("2552.7"), System.INCH)
    '8′ 4 1/2″'
    >>> format_length(Decimal("2552.7"), System.INCH, style="piece")
    '100 1/2″'
    >>> format_length(Decimal(2550), System.METRIC)
    '2.550 m'
    """
    step = INCH / 16 if system is System.INCH else Fraction(1)
    steps = _rounded(Fraction(mm) / step, rounding)
    sign, steps = ("−", -steps) if steps < 0 else ("", steps)
    if system is System.METRIC:
        if style == "room":
            return f"{sign}{steps // 1000}.{steps % 1000:03d} m"
        return f"{sign}{steps:,} mm".replace(",", "\u202f")
    feet, rest = divmod(steps, 16 * 12)
    if style == "piece" or not feet:
        return f"{sign}{_mixed(Fraction(steps, 16))}″"
    inches = _mixed(Fraction(rest, 16))
    return f"{sign}{feet}′ {'0 ' if 0 < rest < 16 else ''}{inches}″"


def exact_text(mm: Decimal, system: System) -> str:
    """Return a text that :func:`parse_length` reads back as exactly *mm*, in the site's way if it can.

    >>> exact_text(Decimal("2552.7"), System.INCH), exact_text(Decimal("2552.71"), System.INCH)
    ('8\\' 4 1/2"', '2552.71 mm')
    """
    if system is System.INCH and Fraction(mm) % (INCH / 16) == 0:
        return format_length(mm, system).replace("′", "'").replace("″", '"')
    plain = f"{mm:f}"
    plain = plain.rstrip("0").rstrip(".") if "." in plain else plain
    return plain if system is System.METRIC else f"{plain} mm"


def _rounded(value: Fraction, rounding: Rounding) -> int:
    if rounding == "up":
        return value.__ceil__()
    return (value if rounding == "down" else value + Fraction(1, 2)).__floor__()


def _mixed(value: Fraction) -> str:
    """Write a number of inches with its fraction, as ``4 1/2``; other decimals as they are."""
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    if part.denominator not in _DENOMINATORS:
        return f"{float(value):.4g}"
    return f"{whole} {part}" if whole else str(part)

"""The pieces a written length is made of, and the sentences that refuse one.

:mod:`.lengths` and :mod:`.outline` read the same tokens, so a wall in a walk is spelt as any other length.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum, auto
from fractions import Fraction
from typing import Any, NoReturn

from .errors import DomainError
from .phrases import Phrase, gettext_noop, phrase
from .units import System

INCH = Fraction(254, 10)
"""An inch in millimetres, exactly."""

_SHOWN = 60


class LengthError(DomainError):
    """A length could not be read. Rules:

    ``length.empty``, ``length.not-a-number``, ``length.negative``, ``length.zero``, ``length.too-long``,
    ``length.letter``, ``length.exponent``, ``length.unknown-unit``, ``length.unexpected``,
    ``length.two-numbers``, ``length.no-number``, ``length.comma``, ``length.denominator``,
    ``length.fraction``, ``length.inches-overflow``, ``length.feet-fraction``, ``length.metric-overflow``.
    """


def refuse(rule: str, reason: Phrase, **facts: Any) -> NoReturn:
    """Raise a :class:`LengthError`."""
    raise LengthError(reason, rule=f"length.{rule}", **facts)


# --- Signs ------------------------------------------------------------------------------------------------


class Sign(Enum):
    """What a piece of the text is."""

    NUMBER = auto()
    FRACTION = auto()
    UNIT = auto()
    HYPHEN = auto()
    WORD = auto()
    OTHER = auto()


@dataclass(frozen=True)
class Token:
    """A piece of the text: what it is, as typed, where it stands, and its unit (``ft``, ``in``, ...)."""

    sign: Sign
    text: str
    start: int
    end: int
    unit: str = ""


_FEET_MARKS = "'′’‘‛ʹʼ´`＇"
_INCH_MARKS = '"″”“‟„〃ʺ＂'
_TOKEN = re.compile(
    rf"""
      (?P<space>[\s\u200b\ufeff]+)
    | (?P<fraction>[0-9]+\s*[/⁄∕]\s*[0-9₀-₉]+ | [⁰¹²³⁴-⁹]+\s*[/⁄∕]\s*[0-9₀-₉]+ | [¼-¾⅐-⅞↉])
    | (?P<exponent>[0-9]+(?:[.,][0-9]+)?[eE][-+−]?[0-9]+)
    | (?P<number>[0-9]{{1,3}}(?:[\u2009\u202f][0-9]{{3}})+(?:[.,][0-9]+)*(?![0-9])
        | [0-9]+(?:[.,][0-9]+)* | [.,][0-9]+)
    | (?P<inch>[{_INCH_MARKS}]|[{_FEET_MARKS}]{{2}})
    | (?P<foot>[{_FEET_MARKS}])
    | (?P<hyphen>[-−–—‐‑])
    | (?P<word>[^\W\d_]+\.?)
    | (?P<other>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_WORDS = {
    word: unit
    for unit, words in {
        "ft": "ft foot feet",
        "in": "in ins inch inches",
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "m": "m metre metres meter meters",
    }.items()
    for word in words.split()
}
SIZE = {"ft": INCH * 12, "in": INCH, "m": Fraction(1000), "cm": Fraction(10), "mm": Fraction(1)}
_LOOKALIKES = {"O": "0", "o": "0", "l": "1", "I": "1"}


def scan(text: str) -> tuple[Token, ...]:
    """Split *text* into tokens; spaces separate and are dropped.

    Raises:
        LengthError: a number is written with an exponent (rule ``length.exponent``).
    """
    return tuple(_token(match) for match in _TOKEN.finditer(text) if match.lastgroup != "space")


def _token(match: re.Match[str]) -> Token:
    typed, start, end = match.group(), match.start(), match.end()
    match match.lastgroup:
        case "number":
            return Token(Sign.NUMBER, typed, start, end)
        case "fraction":
            return Token(Sign.FRACTION, typed, start, end)
        case "foot" | "inch":
            return Token(Sign.UNIT, typed, start, end, "ft" if match.lastgroup == "foot" else "in")
        case "hyphen":
            return Token(Sign.HYPHEN, typed, start, end)
        case "word":
            unit = _WORDS.get(typed.rstrip(".").casefold(), "")
            return Token(Sign.UNIT if unit else Sign.WORD, typed, start, end, unit)
        case "exponent":
            refuse(
                "exponent",
                phrase(
                    gettext_noop(
                        "“{typed}” is written with an exponent; write the length out, such as 2550."
                    ),
                    typed=shown(typed),
                ),
                typed=typed,
            )
    return Token(Sign.OTHER, typed, start, end)


def shown(text: str) -> str:
    """Return *text* as a message may show it: no line breaks, and cut after 60 characters."""
    flat = " ".join(text.split())
    return flat if len(flat) <= _SHOWN else flat[:_SHOWN] + "…"


def refuse_token(token: Token, system: System) -> NoReturn:
    """Refuse a word or a sign that belongs to no length."""
    word = token.text.rstrip(".").casefold()
    if word in ("nan", "inf", "infinity", "∞"):
        refuse(
            "not-a-number",
            phrase(
                gettext_noop("“{typed}” is not a number; a length such as {example} was expected."),
                typed=token.text,
                example=example(system),
            ),
            typed=token.text,
        )
    if token.sign is Sign.WORD and not token.start:
        # A word where the number would stand, such as "wide": no unit was meant.
        refuse(
            "unknown-unit",
            phrase(
                gettext_noop("“{typed}” is no length; one such as {example} was expected."),
                typed=shown(token.text),
                example=example(system),
            ),
            typed=token.text,
        )
    if token.sign is Sign.WORD:
        refuse(
            "unknown-unit",
            phrase(
                gettext_noop("“{typed}” is not a unit of length; ft, in, m, cm or mm was expected."),
                typed=shown(token.text),
            ),
            typed=token.text,
        )
    refuse(
        "unexpected",
        phrase(
            gettext_noop("“{typed}” was not expected; a length is written such as {example}."),
            typed=shown(token.text),
            example=example(system),
        ),
        typed=token.text,
    )


def refuse_letter(token: Token, tokens: tuple[Token, ...]) -> NoReturn:
    """Refuse a letter O, l or I that stands where a digit may be meant."""
    letter = next(sign for sign in token.text if sign in _LOOKALIKES)
    messages = {
        "O": gettext_noop("“{typed}”: there is a letter O where a zero may be meant."),
        "o": gettext_noop("“{typed}”: there is a letter o where a zero may be meant."),
        "l": gettext_noop("“{typed}”: there is a letter l where a one may be meant."),
        "I": gettext_noop("“{typed}”: there is a letter I where a one may be meant."),
    }
    first = last = tokens.index(token)
    while first and tokens[first - 1].end == tokens[first].start:
        first -= 1
    while last + 1 < len(tokens) and tokens[last].end == tokens[last + 1].start:
        last += 1
    typed = "".join(piece.text for piece in tokens[first : last + 1])
    refuse("letter", phrase(messages[letter], typed=shown(typed)), typed=typed, letter=letter)


def is_lookalike(token: Token) -> bool:
    if token.sign is not Sign.WORD:
        return False
    rest = token.text.lstrip("".join(_LOOKALIKES))
    bare = rest.rstrip(".").casefold()
    return rest != token.text and (not bare or bare in _WORDS)


def example(system: System) -> str:
    return "8' 4 1/2\"" if system is System.INCH else "2.55 m"

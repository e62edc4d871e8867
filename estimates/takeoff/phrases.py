"""Sentences that the core can say without knowing the reader's language.

The core imports no Django, so it cannot translate. It returns a :class:`Phrase` (an English message and
its parameters); the web layer looks the message up in the catalogue and fills the parameters in. Messages
are marked with :func:`gettext_noop` under that very name, because ``makemessages`` finds them by it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias


def gettext_noop(message: str) -> str:
    """Mark a message for the translators and return it unchanged."""
    return message


# Parameters that hold a surface's name: the usual ones, such as "Floor", are words of the catalogue.
_SURFACES = frozenset({"surface", "thing"})


@dataclass(frozen=True)
class Phrase:
    """A message with named ``{parameters}``; parameters may be phrases themselves.

    >>> str(Phrase("Wall {n} of {room}", {"n": 3, "room": "Hall bath"}))
    'Wall 3 of Hall bath'
    """

    message: str
    parameters: Mapping[str, Value] = field(default_factory=dict)

    def render(self, translate: Callable[[str], str]) -> str:
        """Return the sentence with the message, and every phrase inside it, passed through *translate*.

        So is the name of a surface: one that somebody made up is no word of the catalogue and stays.
        """
        filled = {name: _said(name, value, translate) for name, value in self.parameters.items()}
        # An empty message is the catalogue's own heading.
        words = translate(self.message) if self.message else ""
        return words.format(**filled) if filled else words

    def __str__(self) -> str:
        return self.render(lambda message: message)

    def __hash__(self) -> int:
        return hash((self.message, tuple(sorted((k, str(v)) for k, v in self.parameters.items()))))


Value: TypeAlias = "str | int | Phrase"


def _said(name: str, value: Value, translate: Callable[[str], str]) -> str | int:
    if isinstance(value, Phrase):
        return value.render(translate)
    return translate(value) if name in _SURFACES and isinstance(value, str) and value else value


def phrase(message: str, **parameters: Value) -> Phrase:
    """Build a :class:`Phrase`; *message* is a literal already marked with :func:`gettext_noop`."""
    return Phrase(message, parameters)

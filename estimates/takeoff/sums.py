"""Sums with their working: many parts of one quantity added up in lines that can be read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from .phrases import Phrase, gettext_noop, phrase
from .working import Figure, Origin, Working

_TERMS = 30


def add_up(work: Working, names: Sequence[str], symbol: str, label: Phrase, unit: str) -> Decimal:
    """Add a step that sums the symbols *names*, in parts where there are many; return the sum."""
    names = list(names)
    part = 0
    while len(names) > _TERMS:
        part += 1
        work.step(
            f"{symbol}_{part}",
            phrase(gettext_noop("{what}, part {number} of the sum"), what=label, number=part),
            " + ".join(names[:_TERMS]),
            unit,
        )
        names = [f"{symbol}_{part}", *names[_TERMS:]]
    return work.step(symbol, label, " + ".join(names) if names else "0", unit)


def total(key: str, label: Phrase, parts: Iterable[tuple[Phrase, Figure]], unit: str) -> Figure:
    """Return the sum of figures as a figure; 0 for none. The parts are in *unit* already."""
    work = Working(key, label)
    names = []
    for number, (name, figure) in enumerate(parts, 1):
        work.carry(f"q{number}", name, figure)
        names.append(f"q{number}")
    add_up(work, names, "Q", label, unit)
    return work.figure()


def sum_of(key: str, label: Phrase, parts: Iterable[tuple[Phrase, Decimal]], unit: str) -> Figure:
    """Return the sum of geometric quantities as a figure."""
    work = Working(key, label)
    names = []
    for number, (name, value) in enumerate(parts, 1):
        work.given(f"q{number}", name, value, unit, Origin.GEOMETRY)
        names.append(f"q{number}")
    add_up(work, names, "Q", label, unit)
    return work.figure()


def count_of(key: str, label: Phrase, number: int) -> Figure:
    """Return a plain count found from the geometry."""
    work = Working(key, label)
    work.given("n", label, number, "each", Origin.GEOMETRY)
    return work.figure()

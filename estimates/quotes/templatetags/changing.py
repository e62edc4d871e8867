"""Signed numbers of change orders for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import template

from ..changes.contract import Sums
from .figures import MINUS, NARROW, quantity

register = template.Library()


@register.filter
def without_sign(number: int) -> int:
    """Return a number without its sign, for words such as ``two days less``."""
    return abs(int(number))


@register.filter
def hours_more(minutes: int | None) -> str:
    """Print minutes more or less as hours and minutes: -90 gives ``−1:30 h``."""
    if not minutes:
        return "–"
    sign = MINUS if minutes < 0 else "+"
    return f"{sign}{abs(minutes) // 60}:{abs(minutes) % 60:02}{NARROW}h"


@register.filter
def step_cost(row: Mapping[str, Any]) -> int:
    """Return what a trade step costs more or less: labour, material and other costs."""
    return sum(int(row.get(name, 0)) for name in ("labour_cents", "material_cents", "other_cents"))


@register.filter
def left(sums: Sums) -> int:
    """Return what a change leaves of its price after its cost, before overhead."""
    return sums.price_cents - sums.cost_cents


@register.filter
def room_names(rooms: Sequence[Mapping[str, Any]]) -> str:
    """Print the names of rooms: ``Hall bath, Powder room``."""
    return ", ".join(str(room["name"]) for room in rooms)


@register.filter
def more_or_less(number: str) -> str:
    """Print a signed quantity with its sign: ``-1.5`` gives ``−1.5``, ``2`` gives ``+2``."""
    return f"{MINUS if number.startswith('-') else '+'}{quantity(number.lstrip('-'))}"

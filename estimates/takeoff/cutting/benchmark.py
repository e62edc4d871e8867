"""Published cutting instances, posed as jobs for the planner.

A one-dimensional instance is full-width pieces cut from rolls as long as the capacity: the value is the
number of rolls. A strip instance is one long roll: the value is the length used of it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from time import perf_counter
from typing import Any

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from .model import CutSettings, Piece, RollKind
from .plan import plan_cuts
from .verify import verify

# Work decides when a search ends, so that a busy machine gives the same values later; on two idle cores this
# work takes well under 2 s and under 5 s. The clock only ends a search that has gone astray.
_WORK = {"1d": 60_000_000, "2d-strip": 175_000_000}
_OUTER_LIMIT_S = 60.0


@dataclass(frozen=True)
class Instance:
    """*size* is the capacity of a bin or the width of the strip; *sides* are across and along."""

    name: str
    kind: str
    size: int
    sides: tuple[tuple[int, int], ...]
    may_turn: bool
    optimum: int | None
    guillotine_optimum: int | None


@dataclass(frozen=True)
class Solved:
    """What the planner made of an instance."""

    name: str
    kind: str
    value: int
    bound: int
    optimum: int | None
    guillotine_optimum: int | None
    seconds: float


def read_instance(text: str, place: str) -> Instance:
    """Read one instance from JSON.

    Raises:
        DomainError: rule ``cutting.instance``; *place* and the field are named.
    """
    try:
        told = json.loads(text)
    except json.JSONDecodeError as error:
        raise _bad(f"{place}:{error.lineno}:{error.colno}", "JSON", error.msg) from None
    except RecursionError:
        raise _bad(place, "JSON", "too deeply nested") from None
    if not isinstance(told, dict):
        raise _bad(place, "an object", told)
    kind = told.get("kind")
    if kind not in _WORK:
        raise _bad(f"{place}: kind", '"1d" or "2d-strip"', kind)
    size_name = "capacity" if kind == "1d" else "strip_width"
    size = _whole(told.get(size_name), f"{place}: {size_name}")
    items = told.get("items")
    if not isinstance(items, list) or not items:
        raise _bad(f"{place}: items", "a list that is not empty", items)
    sides = []
    for i, item in enumerate(items):
        at = f"{place}: items[{i}]"
        if kind == "1d":
            sides.append((1, _whole(item, at)))
        elif isinstance(item, list) and len(item) == 2:
            sides.append((_whole(item[0], at), _whole(item[1], at)))
        else:
            raise _bad(at, "two whole numbers", item)
    rotation = told.get("rotation", False)
    if not isinstance(rotation, bool):
        raise _bad(f"{place}: rotation", "true or false", rotation)
    for i, (across, along) in enumerate(sides):
        side = along if kind == "1d" else min(across, along) if rotation else across
        if side > size:
            raise _bad(f"{place}: items[{i}]", f"no more than {size_name} {size}", items[i])
    known = {}
    for field in ("optimum", "guillotine_optimum"):
        value = told.get(field)
        known[field] = None if value is None else _whole(value, f"{place}: {field}")
    name = told.get("name", place.removesuffix(".json"))
    if not isinstance(name, str):
        raise _bad(f"{place}: name", "a text", name)
    return Instance(name, kind, size, tuple(sides), rotation, known["optimum"], known["guillotine_optimum"])


def _whole(value: Any, place: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < 10**9:
        raise _bad(place, "a whole number from 1 to 999999999", value)
    return value


def _bad(place: str, wanted: str, found: Any) -> DomainError:
    shown = found if isinstance(found, str) and wanted == "JSON" else json.dumps(found, default=str)
    return DomainError(
        phrase(gettext_noop("{wanted} was expected, not {found}."), wanted=wanted, found=shown[:60]),
        rule="cutting.instance",
        place=place,
    )


def as_job(instance: Instance) -> tuple[list[Piece], list[RollKind]]:
    """Return the instance as pieces and one kind of roll, one millimetre for one."""
    pieces = [
        Piece(f"{i + 1}", Decimal(across), Decimal(along), instance.may_turn)
        for i, (across, along) in enumerate(instance.sides)
    ]
    if instance.kind == "1d":
        return pieces, [RollKind("bin", Decimal(1), Decimal(instance.size), 1)]
    length = sum(max(sides) if instance.may_turn else sides[1] for sides in instance.sides)
    return pieces, [RollKind("strip", Decimal(instance.size), Decimal(length), 1, available=1)]


def solve(instance: Instance) -> Solved:
    """Plan the instance, prove the plan by the independent check, and return what was reached."""
    began = perf_counter()
    pieces, kinds = as_job(instance)
    settings = CutSettings(time_limit_s=_OUTER_LIMIT_S, work_limit=_WORK[instance.kind])
    plan = plan_cuts(pieces, kinds, settings)
    seconds = perf_counter() - began
    verify(plan, pieces, kinds, settings)
    if instance.kind == "1d":
        value, bound = plan.cost_cents, plan.bound_cents
    else:
        value, bound = int(plan.length_used_mm), int(plan.length_bound_mm)
    return Solved(
        instance.name,
        instance.kind,
        value,
        bound,
        instance.optimum,
        instance.guillotine_optimum,
        round(seconds, 3),
    )


def row(solved: Solved) -> Sequence[str]:
    """Return the columns of a table row; a dash for what is not known."""
    return [
        solved.name,
        solved.kind,
        str(solved.value),
        str(solved.bound),
        *("-" if x is None else str(x) for x in (solved.optimum, solved.guillotine_optimum)),
        f"{solved.seconds:.2f}",
    ]

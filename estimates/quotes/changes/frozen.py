"""Reading back what a quote froze of the core's values: the inverse of :func:`~..snapshot.plain`."""

from __future__ import annotations

import datetime
import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import Enum
from typing import Any

from estimates.takeoff import model
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.practice import Practice

from .. import pricing
from ..calculation import Held
from ..models import Quote
from ..templatetags.figures import phrase_from


def read_back(kind: Any, stored: Any) -> Any:
    """Return a value of *kind* (a type as annotations spell it) from what :func:`~..snapshot.plain` made.

    Raises:
        ValueError, KeyError, TypeError: it was written by a program with other fields.
    """
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin in {typing.Union, types.UnionType}:
        inner = [one for one in arguments if one is not type(None)]
        return None if stored is None else read_back(inner[0], stored)
    if origin is tuple:
        each = [arguments[0]] * len(stored) if arguments[-1] is Ellipsis else arguments
        return tuple(read_back(one, value) for one, value in zip(each, stored, strict=True))
    if origin in {frozenset, set, list}:
        return origin(read_back(arguments[0], one) for one in stored)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {read_back(arguments[0], key): read_back(arguments[1], one) for key, one in stored.items()}
    return _plain_value(kind, stored)


def _plain_value(kind: Any, stored: Any) -> Any:
    if kind is Phrase:
        return phrase_from(stored)
    if kind is datetime.timedelta:
        return datetime.timedelta(seconds=stored)
    if kind in {datetime.datetime, datetime.date, datetime.time}:
        return kind.fromisoformat(stored)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind(stored)
    if isinstance(kind, type) and is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        known = {one.name for one in fields(kind) if one.init}
        return kind(
            **{name: read_back(hints[name], value) for name, value in stored.items() if name in known}
        )
    if kind is Decimal:
        return Decimal(stored)
    # The keys of a mapping come back as text.
    return int(stored) if kind is int else stored


def held_by(quote: Quote) -> Held | None:
    """Return what *quote* froze, or None when it has no measured room or another program wrote it."""
    work, office = quote.snapshot["work"], quote.snapshot["office"]
    if not work.get("room_set"):
        return None
    try:
        return Held(
            room_set=read_back(model.RoomSet, work["room_set"]),
            practice=read_back(Practice, office["practice"]),
            terms=read_back(pricing.Terms, office["terms"]),
            pack_cents=dict(_pack_cents(office["lines"])),
        )
    except (KeyError, TypeError, ValueError):
        return None


def _pack_cents(lines: list[dict[str, Any]]) -> typing.Iterator[tuple[str, int]]:
    for line in lines:
        if line["kind"] == pricing.Kind.MATERIAL and not line.get("customer_supplied"):
            price = next(row["value"] for row in line["cost_working"]["lines"] if row["symbol"] == "p")
            yield line["key"].split(":")[1], int(Decimal(price) * 100)

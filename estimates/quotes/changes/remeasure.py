"""Rooms measured again after the quote was signed: what they come to at its prices, less what was agreed.

The takeoff is worked out anew for the whole job with the frozen practice, terms and pack prices, since packs
are rounded up once for all rooms; only the rooms named differ. What follows is the difference to what was
signed last (the quote, or the last signed change with measurements), by trade step and by material.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from contracting.money import half_up
from estimates.rooms.models import Room

from ..calculation import Calculation, calculate_again
from ..drawings import drawings_in_other_languages, room_plans
from ..models import Quote
from ..pricing import MINIMUM_STEP, STEPS, Kind
from ..snapshot import in_paper_language, plain, work_part
from .frozen import held_by, read_back
from .models import ChangeOrder

Row = dict[str, Any]
MEASURED = frozenset({Kind.MATERIAL.value, Kind.LABOUR.value})


@dataclass(frozen=True)
class Agreed:
    """What was signed last: its priced lines, room set and figures by room, all as they were frozen."""

    order: ChangeOrder | None
    lines: list[Row]
    room_set: Any
    figures: dict[str, dict[str, Row]]
    names: dict[str, Row]


def agreed_by(quote: Quote) -> Agreed:
    """Return the state that a new measurement is compared with."""
    work, office = quote.snapshot["work"], quote.snapshot["office"]
    names = {one["key"]: {"name": one["name"], "pack": one["pack"]} for one in work["materials"]}
    base = last_measured(quote)
    if base is not None:
        kept = base.measured
        return Agreed(base, kept["lines"], kept["room_set"], kept["figures_now"], names | kept["names"])
    rooms = (work["takeoff"] or {}).get("rooms", ())
    figures = {room["key"]: _figures(room["figures"]) for room in rooms}
    lines = [_line(line) for line in office["lines"]]
    return Agreed(None, lines, work["room_set"], figures, names)


def last_measured(quote: Quote) -> ChangeOrder | None:
    """Return the last signed change order that has measurements."""
    signed = ChangeOrder.objects.filter(quote=quote, status=ChangeOrder.Status.ACCEPTED)
    return signed.exclude(measured={}).order_by("-recorded_at", "-pk").first()


def measure(quote: Quote, rooms: Sequence[Room]) -> Row:
    """Return the difference that *rooms*, as they are measured now, make; JSON, money in whole cents.

    Raises:
        ValidationError: the quote has no measured rooms, or the takeoff refuses one.
    """
    agreed = agreed_by(quote)
    found = _worked(quote, agreed, rooms)
    assert found.priced is not None
    now = [_line(plain(line)) for line in found.priced.lines]
    drift = _drift(quote, agreed)
    names = agreed.names | _names(found)
    figures_now = {room.key: _figures(plain(room.figures)) for room in found.takeoff.rooms}  # type: ignore[union-attr]
    assert found.given is not None
    return {
        "rooms": [
            {"key": str(room.pk), "name": room.name, "is_new": str(room.pk) not in agreed.figures}
            for room in rooms
        ],
        "steps": _steps(agreed.lines, now, quote),
        "materials": _materials(agreed.lines, now, names),
        "figures": _changed_figures(rooms, agreed.figures, figures_now),
        "drift_cents": drift,
        "lines": now,
        "room_set": plain(found.given.room_set),
        "figures_now": figures_now,
        "names": names,
    }


def work_now(quote: Quote, rooms: Sequence[Room]) -> Row:
    """Return the work part of the whole job with *rooms* as measured now: takeoff and drawings, no money."""
    with in_paper_language(quote.estimate):
        found = _worked(quote, agreed_by(quote), rooms)
        return work_part(found, room_plans(found), drawings_in_other_languages(found))


def _worked(quote: Quote, agreed: Agreed, rooms: Sequence[Room]) -> Calculation:
    held = held_by(quote)
    if held is None:
        raise ValidationError(
            _("This quote has no measured rooms to compare with; write the change as lines by hand.")
        )
    held = type(held)(
        read_back(type(held.room_set), agreed.room_set), held.practice, held.terms, held.pack_cents
    )
    found = calculate_again(quote.estimate, held, rooms)
    if found.error is not None:
        raise ValidationError(found.error.reason.render(_))
    if found.problems:
        raise ValidationError([problem.text.render(_) for problem in found.problems])
    return found


def _drift(quote: Quote, agreed: Agreed) -> int:
    """Return by how much what was agreed would be priced otherwise today: above nothing, dearer.

    Nothing, unless a data sheet, a material of the estimate or the program has changed since.
    """
    again = _worked(quote, agreed, ())
    assert again.priced is not None
    now = sum(line.price_cents for line in again.priced.lines if line.kind in MEASURED)
    return now - sum(int(line["price_cents"]) for line in agreed.lines if line["kind"] in MEASURED)


def _line(line: Row) -> Row:
    """Return what of a priced line is kept for the next comparison."""
    kept = {name: line[name] for name in ("key", "kind", "step", "price_cents", "cost_cents", "is_material")}
    if line["kind"] == Kind.LABOUR:
        kept["minutes"] = half_up(Decimal(line["quantity"]) * 60)
    if line["kind"] == Kind.MATERIAL:
        kept["packs"] = next(row["value"] for row in line["cost_working"]["lines"] if row["symbol"] == "n")
    return kept


def _steps(before: list[Row], now: list[Row], quote: Quote) -> list[Row]:
    """Return each trade step's price, cost and time, agreed and now; steps that stay the same left out."""
    found: dict[str, Row] = {}
    for sign, lines in ((-1, before), (1, now)):
        for line in lines:
            if line["kind"] not in MEASURED:
                continue
            row = found.setdefault(line["step"], _empty(line["step"]))
            row["before_cents" if sign < 0 else "after_cents"] += line["price_cents"]
            row["price_cents"] += sign * line["price_cents"]
            row["taxed_cents"] += sign * line["price_cents"] * line["is_material"]
            row["minutes"] += sign * line.get("minutes", 0)
            part = "labour_cents" if line["kind"] == Kind.LABOUR else "material_cents"
            row[part] += sign * line["cost_cents"]
    lift = _lift(before, sum(row["price_cents"] for row in found.values()), quote)
    if lift:
        found[MINIMUM_STEP] = lift
    changed = [
        row
        for row in found.values()
        if any(row[name] for name in ("price_cents", "minutes", "labour_cents", "material_cents"))
    ]
    order = list(STEPS)
    return sorted(changed, key=lambda row: order.index(row["step"]) if row["step"] in order else len(order))


def _empty(step: str) -> Row:
    names = ("before_cents", "after_cents", "price_cents", "taxed_cents")
    return {"step": step, **dict.fromkeys((*names, "minutes", "labour_cents", "material_cents"), 0)}


def _lift(before: list[Row], difference_cents: int, quote: Quote) -> Row | None:
    """Return what becomes of the lift to the minimum charge when the rest moves by *difference_cents*."""
    was = sum(line["price_cents"] for line in before if line["kind"] == Kind.MINIMUM)
    if not was:
        return None
    minimum = Decimal(quote.snapshot["office"]["terms"]["minimum_charge"]) * 100
    reached = sum(line["price_cents"] for line in before if line["kind"] != Kind.MINIMUM)
    lift = max(0, int(minimum) - reached - difference_cents)
    return {
        **_empty(MINIMUM_STEP),
        "before_cents": was,
        "after_cents": lift,
        "price_cents": lift - was,
    }


def _materials(before: list[Row], now: list[Row], names: dict[str, Row]) -> list[Row]:
    """Return the packs more or less of each material, with their cost."""
    packs: dict[str, list[Decimal]] = {}
    costs: dict[str, int] = {}
    steps: dict[str, str] = {}
    for at, (sign, lines) in enumerate(((-1, before), (1, now))):
        for line in lines:
            if line["kind"] == Kind.MATERIAL:
                key = line["key"].split(":")[1]
                # The packs are of the whole job and stand in every room's line.
                packs.setdefault(key, [Decimal(0), Decimal(0)])[at] = Decimal(line["packs"])
                costs[key] = costs.get(key, 0) + sign * line["cost_cents"]
                steps[key] = line["step"]
    return [
        {
            "key": key,
            **names.get(key, {"name": key, "pack": ""}),
            "step": steps[key],
            "packs": f"{after - was:f}",
            "cost_cents": costs[key],
        }
        for key, (was, after) in packs.items()
        if after != was or costs[key]
    ]


def _names(found: Calculation) -> dict[str, Row]:
    needs = found.takeoff.needs if found.takeoff else ()
    offered = found.offered or {}
    return {
        need.material: {"name": offered[need.material].row.name, "pack": need.pack_label} for need in needs
    }


def _figures(figures: Iterable[Row]) -> dict[str, Row]:
    return {
        one["key"]: {"label": one["label"], "value": one["value"], "unit": one["unit"]} for one in figures
    }


def _changed_figures(
    rooms: Sequence[Room], before: dict[str, dict[str, Row]], now: dict[str, dict[str, Row]]
) -> list[Row]:
    """Return what each measured room has more or less of: areas, lengths and counts, without money."""
    found = []
    for room in rooms:
        key = str(room.pk)
        was, has = before.get(key, {}), now.get(key, {})
        changed = [
            {
                "label": one["label"],
                "before": was.get(name, {}).get("value", "0"),
                "after": one["value"],
                "unit": one["unit"],
            }
            for name, one in has.items()
            if Decimal(one["value"]) != Decimal(was.get(name, {}).get("value", "0"))
        ]
        found.append({"key": key, "name": room.name, "figures": changed})
    return found

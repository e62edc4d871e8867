"""Needs: what the whole job takes of each material, and the packs, rounded up once."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from .board_plan import boards_figure
from .cutting import CutPlan
from .model import Material, Role
from .phrases import Phrase, gettext_noop, phrase
from .practice import Practice, put
from .result import Need
from .sums import total
from .working import Figure, Origin, Round, Working

RoomFigure = tuple[str, str, Figure]  # room key, room name, quantity


def need(material: Material, rooms: Sequence[RoomFigure], unit: str, practice: Practice) -> Need | None:
    """Return the need for a material from its rooms' quantities; None where no room takes any.

    Packs = quantity * (1 + waste) / content of a pack, rounded up once for the job. Tile adds the breakage.
    """
    rooms = [row for row in rooms if row[2].value]
    if not rooms:
        return None
    quantity = _quantity(material, rooms, unit)
    work = Working(
        f"{material.key}.packs", phrase(gettext_noop("Packs of {material}"), material=material.name)
    )
    work.carry("Q", phrase(gettext_noop("Needed in the job")), quantity)
    work.given(
        "w",
        phrase(gettext_noop("Waste, as a fraction")),
        material.waste,
        "",
        Origin.PRICE_LIST,
        phrase(gettext_noop("price list, {material}"), material=material.name),
    )
    extra = ""
    if material.role is Role.TILE:
        practice.put(work, "b", "tile_breakage")
        extra = " + b"
    _content(work, material, unit)
    work.step(
        "n",
        phrase(gettext_noop("Packs, rounded up once for the job")),
        f"Q * (1 + w{extra}) / c",
        "each",
        Round.UP_WHOLE,
    )
    return _need(material, quantity, work.figure(), rooms)


def membrane_needs(
    materials: Sequence[Material], plan: CutPlan, rooms: dict[str, list[RoomFigure]], unit: str
) -> list[Need]:
    """Return the need for each membrane that the plan cuts; packs are the rolls it takes, offcuts from the
    shelf not among them."""
    found = []
    for material in materials:
        rolls = [roll for roll in plan.rolls if roll.kind_key == material.key]
        if material.key not in rooms:
            continue
        work = Working(
            f"{material.key}.packs", phrase(gettext_noop("Rolls of {material}"), material=material.name)
        )
        work.given(
            "n",
            phrase(gettext_noop("Rolls taken by the cut plan")),
            len(rolls),
            "each",
            Origin.COMPUTED,
            phrase(gettext_noop("cut plan")),
        )
        rows = rooms[material.key]
        found.append(_need(material, _quantity(material, rows, unit), work.figure(), rows))
    return found


def board_need(material: Material, plan: CutPlan, rooms: Sequence[RoomFigure]) -> Need:
    """Return the need for backer board: area by room, and the whole boards that the plan cuts."""
    return _need(material, _quantity(material, rooms, "each"), boards_figure(material, plan), rooms)


def _quantity(material: Material, rooms: Sequence[RoomFigure], unit: str) -> Figure:
    label: Phrase = phrase(gettext_noop("{material} in the whole job"), material=material.name)
    return total(material.key, label, [(phrase(name), figure) for _, name, figure in rooms], unit)


def _content(work: Working, material: Material, unit: str) -> Decimal:
    return put(
        work,
        "c",
        phrase(gettext_noop("Content of one {pack}"), pack=material.pack.label),
        material.pack.content,
        unit,
        Origin.PRICE_LIST,
        phrase(gettext_noop("price list, {material}"), material=material.name),
    )


def _need(material: Material, quantity: Figure, packs: Figure, rooms: Sequence[RoomFigure]) -> Need:
    return Need(
        material.key,
        material.role,
        quantity,
        packs,
        material.pack.label,
        material.customer_supplied,
        tuple((key, figure) for key, _, figure in rooms),
    )

"""What an issued quote freezes: its paper, the work behind it, and what only the office sees.

``paper`` holds all that is printed and nothing else: no cost, no overhead, no margin. ``work`` is for crew
sheet and purchase list: the takeoff and its drawings, without money. ``office`` keeps cost, margin and terms.
Sentences are stored as phrases, so that a page can be printed in another language; numbers as text, since
JSON would make floats of them.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import Enum
from itertools import groupby
from typing import Any

from django.utils import translation
from django.utils.translation import gettext

from contracting.customers.models import Site
from contracting.staff.models import CompanyProfile
from estimates.stock.selectors import offcuts_named
from estimates.takeoff import model
from estimates.takeoff.answer import OUTPUT_FORMAT
from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import System

from .calculation import Calculation, counted_in
from .drawings import face_drawings, roll_drawings
from .models import Detail, Estimate
from .pricing import WHOLE_JOB, Kind, Line
from .pricing import Detail as PricedDetail
from .profit import CENT
from .templatetags.figures import stored_phrase

FORMAT = 1
# Letter where the currency is one of a country that prints on it, A4 elsewhere.
LETTER_CURRENCIES = frozenset({"USD", "CAD", "MXN"})


def plain(value: Any) -> Any:
    """Return the core's frozen values as JSON: numbers as text, phrases as message and parameters."""
    if isinstance(value, Phrase):
        return stored_phrase(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, datetime.timedelta):
        return int(value.total_seconds())
    if isinstance(value, Mapping):
        return {str(plain(key)): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        rows = [plain(one) for one in value]
        return sorted(rows, key=str) if isinstance(value, set | frozenset) else rows
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    return value


def paper_part(
    found: Calculation,
    plans: Mapping[str, Mapping[str, Any]],
    *,
    number: str,
    revision: int,
    issued_at: datetime.datetime,
    valid_until: datetime.date,
) -> dict[str, Any]:
    """Return everything the customer's pages show."""
    estimate, company, priced = found.estimate, found.company, found.priced
    assert priced is not None
    return {
        "format": FORMAT,
        "language": estimate.site.customer.language,
        "time_zone": estimate.site.time_zone,
        "paper": "letter" if company.currency in LETTER_CURRENCIES else "A4",
        "company": company_part(company),
        "currency": company.currency,
        "number": number,
        "revision": revision,
        "issued_at": issued_at.isoformat(),
        "valid_until": valid_until.isoformat(),
        "prices_of": estimate.price_on.isoformat(),
        "title": estimate.title,
        "customer": customer_part(estimate.site),
        "site": site_part(estimate.site),
        "detail": estimate.detail,
        "groups": _price_groups(found),
        "price_cents": priced.price_cents,
        "tax_cents": priced.tax_cents,
        "tax_base": estimate.tax_base,
        "tax_basis_points": estimate.tax_basis_points,
        "total_cents": priced.total_cents,
        "payments": [{"due": stored_phrase(part.due), "cents": part.cents} for part in priced.payments],
        "customer_supplies": _customer_supplies(found),
        "inclusions": _lines(estimate.inclusions),
        "exclusions": _lines(estimate.exclusions),
        "cautions": _cautions(found),
        "terms": estimate.terms.strip(),
        "rooms": [
            {
                "name": room.name,
                "drawing": plans[str(room.pk)]["measured"],
                "scale": plans[str(room.pk)]["scale"],
                "surfaces": _surfaces(found, str(room.pk)),
            }
            for room in found.rooms
        ],
    }


def company_part(company: CompanyProfile) -> dict[str, Any]:
    """Return the company as it stands on paper."""
    names = ("name", "tagline", "address", "phone", "email", "licence", "ink_colour")
    return {name: getattr(company, name) for name in names}


def customer_part(site: Site) -> dict[str, Any]:
    """Return the customer as it stands on paper; office notes stay out."""
    customer = site.customer
    return {name: getattr(customer, name) for name in ("name", "email", "phone", "billing_address")}


def site_part(site: Site) -> dict[str, Any]:
    """Return the site as it stands on paper."""
    place = " ".join(part for part in (site.region, site.postal_code) if part)
    town = ", ".join(part for part in (site.city, place) if part)
    return {"name": site.name, "street": site.street, "town": town, "units": site.units}


def _price_groups(found: Calculation) -> list[dict[str, Any]]:
    """Return the price as the customer sees it: groups of lines, with a heading where rooms part them."""
    priced, detail = found.priced, found.estimate.detail
    assert priced is not None
    if detail != Detail.LINE:
        lines = [
            {"label": stored_phrase(one.label), "cents": one.price_cents}
            for one in priced.shown(PricedDetail(detail))
        ]
        return [{"heading": "", "lines": lines}]
    names = {str(room.pk): room.name for room in found.rooms}
    off = [line for line in priced.lines if line.kind is Kind.DISCOUNT]
    rest = [line for line in priced.lines if line.kind is not Kind.DISCOUNT]
    groups = [
        {"heading": names.get(room, gettext("Whole job")), "lines": [_paper_line(line) for line in lines]}
        for room, lines in groupby(rest, key=lambda line: line.room if line.room in names else WHOLE_JOB)
    ]
    if off:
        # What is taken off materials and off the rest is taxed apart, and is one discount to who reads it.
        cents = sum(line.price_cents for line in off)
        groups.append({"heading": "", "lines": [{"label": stored_phrase(off[0].label), "cents": cents}]})
    return groups


def _paper_line(line: Line) -> dict[str, Any]:
    row: dict[str, Any] = {"label": stored_phrase(line.label), "cents": line.price_cents}
    # Hours stay with the office: beside the price they would tell the rate.
    if line.quantity is not None and line.kind is not Kind.LABOUR:
        row |= {"quantity": plain(line.quantity.quantize(CENT)), "unit": line.unit}
    if line.customer_supplied:
        row["customer_supplied"] = True
    return row


def _customer_supplies(found: Calculation) -> list[dict[str, Any]]:
    if found.takeoff is None or found.offered is None:
        return []
    return [
        {
            "name": found.offered[need.material].row.name,
            "packs": plain(need.packs.value),
            "pack": need.pack_label,
        }
        for need in found.takeoff.needs
        if need.customer_supplied
    ]


def _cautions(found: Calculation) -> list[dict[str, Any]]:
    own = [
        {"text": {"message": "{text}", "parameters": {"text": line}}, "source": ""}
        for line in _lines(found.estimate.cautions)
    ]
    if found.takeoff is None:
        return own
    # A clause that was not looked up is not printed as if it were.
    rules = [
        {"text": stored_phrase(one.text), "source": "" if "from memory" in one.source else one.source}
        for one in found.takeoff.cautions
    ]
    return rules + own


def _surfaces(found: Calculation, room_key: str) -> list[dict[str, Any]]:
    """Return what is done in a room, surface by surface, with the area and the tile."""
    if found.given is None or found.takeoff is None:
        return []
    room = next(one for one in found.given.room_set.rooms if one.key == room_key)
    taken = next(one for one in found.takeoff.rooms if one.key == room_key)
    places = Decimal("0.1") if found.system is System.INCH else Decimal("0.01")
    rows = []
    for surface in room.surfaces:
        areas = [face.area for face in taken.faces if face.surface == surface.key and face.area is not None]
        tile = surface.tile and found.offered and found.offered[surface.tile.material].row.name
        rows.append(
            {
                "name": surface.name,
                "area": plain(sum((area.value for area in areas), Decimal(0)).quantize(places)),
                "unit": areas[0].unit if areas else "",
                "membrane": surface.membrane,
                "new_board": surface.new_board,
                "remove": surface.remove.value,
                "tile": tile or "",
                "pattern": surface.tile.pattern.value if surface.tile else "",
                **_within(found, surface.tile),
            }
        )
    return rows


def _within(found: Calculation, tile: model.TileChoice | None) -> dict[str, str]:
    """Return the border and the accent that a surface's tile has, by the names of their own tiles."""
    names: dict[str, str] = {}
    if tile is None or found.offered is None:
        return names
    if tile.border is not None:
        names["border"] = found.offered[tile.border].row.name
    if tile.accent is not None:
        sides = (tile.accent.width_mm, tile.accent.height_mm)
        names["accent"] = found.offered[tile.accent.material].row.name
        names["accent_size"] = " × ".join(format_length(side, found.system) for side in sides)
    return names


def work_part(
    found: Calculation,
    plans: Mapping[str, Mapping[str, Any]],
    translated: Mapping[str, Mapping[str, Any]],
) -> dict[str, Any]:
    """Return what crew and purchase need: takeoff, materials by name, drawings. No money.

    *translated* holds the drawings once more by language, for a crew that reads another one.
    """
    estimate = found.estimate
    offered = found.offered or {}
    needs = found.takeoff.needs if found.takeoff else ()
    return {
        "format": FORMAT,
        "title": estimate.title,
        "site": site_part(estimate.site),
        "rooms": [{"key": str(room.pk), "name": room.name} for room in found.rooms],
        "takeoff": _for_the_crew(plain(found.takeoff)),
        "materials": [
            {
                "key": need.material,
                "role": need.role.value,
                "name": offered[need.material].row.name,
                "code": offered[need.material].row.code,
                "supplier": offered[need.material].row.supplier.name,
                "material_id": offered[need.material].row.pk,
                "quantity": plain(need.quantity.value),
                "unit": counted_in(need, offered[need.material]),
                "packs": plain(need.packs.value),
                "pack": need.pack_label,
                "customer_supplied": need.customer_supplied,
            }
            for need in needs
        ],
        # What was measured and how it is built, so that nothing later reads the living estimate.
        "room_set": plain(found.given.room_set) if found.given else None,
        "tiles": {
            material.key: plain(material.facts)
            for material in (found.given.materials if found.given else ())
            if material.role is model.Role.TILE
        },
        "plans": {key: dict(drawn) for key, drawn in plans.items()},
        **face_drawings(found),
        "rolls": roll_drawings(found),
        "stock": _stock(found),
        "translated": dict(translated),
    }


def _stock(found: Calculation) -> dict[str, dict[str, str]]:
    """Return the offcuts from the shelf that the cut plan takes: what of, and where each lies."""
    keys = list(found.takeoff.stock_used) if found.takeoff else []
    return {key: {"name": one.material.name, "place": one.place} for key, one in offcuts_named(keys).items()}


_DRAWN = frozenset({"placements", "patches"})


def _for_the_crew(value: Any) -> Any:
    """Leave out what the cut plan was chosen by, since crews read the rest, and what the drawings show.

    Of a mosaic the outlines of the tiles would be most of the snapshot.
    """
    if isinstance(value, dict):
        return {
            key: _for_the_crew(one)
            for key, one in value.items()
            if not key.endswith("_cents") and key not in _DRAWN
        }
    return [_for_the_crew(one) for one in value] if isinstance(value, list) else value


def office_part(found: Calculation) -> dict[str, Any]:
    """Return cost, margin, terms and every line with its working: for the office only."""
    priced = found.priced
    assert priced is not None
    return {
        "lines": plain(priced.lines),
        "terms": plain(found.terms),
        "cost_cents": priced.cost_cents,
        "full_cost_cents": priced.full_cost_cents,
        "price_cents": priced.price_cents,
        "tax_working": plain(priced.tax_working),
        "engine": OUTPUT_FORMAT,
        "input_sha256": found.given.digest if found.given else "",
        "practice": plain(found.given.practice) if found.given else {},
    }


def in_paper_language(estimate: Estimate) -> Any:
    """Return a context in which words that are stored as words come out in the paper's language."""
    return translation.override(estimate.site.customer.language)


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]

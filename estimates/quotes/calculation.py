"""An estimate worked out: from its rows to the takeoff and the price, through the two pure calls."""

from __future__ import annotations

import datetime
import hashlib
import re
from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import prefetch_related_objects

from contracting.staff.models import CompanyProfile
from contracting.staff.selectors import company_profile, labour_cost_on
from estimates.practice.selectors import company_practice
from estimates.pricelists.models import MaterialRole
from estimates.pricelists.selectors import Offered, material_key, material_pk, materials_on
from estimates.rooms.models import Room
from estimates.rooms.selectors import takeoff_rooms
from estimates.stock.selectors import stock_for
from estimates.takeoff import model
from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.practice import Practice
from estimates.takeoff.result import Need, Takeoff
from estimates.takeoff.run import run
from estimates.takeoff.units import System

from . import pricing
from .models import Estimate, EstimateMaterial, SurfaceAccent, SurfaceTile
from .profit import money
from .slots import SLOTS, tile_slot

HUNDRED_PERCENT = Decimal(10_000)


@dataclass(frozen=True)
class TakeoffInput:
    """What the takeoff is called with; *digest* names it, so that equal input is worked out once."""

    room_set: model.RoomSet
    materials: tuple[model.Material, ...]
    practice: Practice
    start: datetime.datetime

    @property
    def digest(self) -> str:
        """SHA-256 of the whole input as text (frozen values, so equal input gives equal text)."""
        return hashlib.sha256(repr(self).encode()).hexdigest()


@dataclass(frozen=True)
class Chosen:
    """Which material an estimate uses where: what fills its slots, and what single surfaces get."""

    materials: Sequence[EstimateMaterial]
    tiles: Sequence[SurfaceTile]
    accents: Sequence[SurfaceAccent]


@dataclass
class Calculation:
    """An estimate with everything that follows from it. Without rooms, or with an error, nothing follows.

    *error* is what the takeoff refused, *error_room* the room it lies in; *problems* keep the estimate from
    being issued although it can be looked at.
    """

    estimate: Estimate
    company: CompanyProfile
    rooms: list[Room]
    given: TakeoffInput | None = None
    offered: dict[str, Offered] | None = None
    takeoff: Takeoff | None = None
    priced: pricing.Priced | None = None
    terms: pricing.Terms | None = None
    error: DomainError | None = None
    error_room: Room | None = None
    untiled: tuple[tuple[Room, str], ...] = ()

    @property
    def problems(self) -> tuple[pricing.Problem, ...]:
        return self.priced.problems if self.priced else ()

    @property
    def can_be_issued(self) -> bool:
        return self.priced is not None and not self.problems and bool(self.priced.lines)

    @property
    def system(self) -> System:
        return System(self.estimate.site.units)


def calculate(estimate: Estimate, chosen: Chosen | None = None) -> Calculation:
    """Work out *estimate*, with *chosen* instead of what is stored: about fifteen queries, one takeoff and
    one pricing."""
    estimate_rooms = list(estimate.estimate_rooms.select_related("room"))
    rooms = [row.room for row in estimate_rooms]
    prefetch_related_objects(
        [estimate],
        "materials__material",
        "surface_tiles",
        "surface_accents",
        "lines",
        "overrides__by",
        "payment_stages",
    )
    found = Calculation(estimate, company_profile(), rooms)
    chosen = chosen or _stored(estimate)
    offered = _offered(estimate, chosen)
    found.offered = offered
    core_rooms, untiled = _tiled(takeoff_rooms(rooms), chosen, offered)
    by_key = {str(room.pk): room for room in rooms}
    found.untiled = tuple((by_key[key], name) for key, name in untiled)
    found.terms = _terms(estimate, found.company)
    if rooms:
        found.given = _input(estimate, core_rooms, tuple(_materials(chosen, offered)))
        try:
            found.takeoff = _run(found.given)
        except DomainError as error:
            found.error, found.error_room = error, _room_of(error, rooms)
            return found
    try:
        found.priced = pricing.price(_asked(estimate, rooms, found.takeoff, offered), found.terms)
    except DomainError as error:
        found.error = error
    return found


@dataclass(frozen=True)
class Held:
    """What a signed quote holds fast while its rooms are measured again.

    Attributes:
        room_set: the rooms as they were frozen, each with its tile.
        practice, terms: how the company worked and priced then.
        pack_cents: the price of a pack by material, as it was quoted; what is not named has today's.
    """

    room_set: model.RoomSet
    practice: Practice
    terms: pricing.Terms
    pack_cents: Mapping[str, int]


def calculate_again(estimate: Estimate, held: Held, measured: Sequence[Room]) -> Calculation:
    """Work out *estimate* as it was quoted, but for *measured*: rooms as they are measured now.

    A room that the quote did not have is added. Only rooms differ: settings, terms and pack prices are
    *held*. Materials are those of the estimate's slots.
    """
    chosen = _stored(estimate)
    offered = {
        key: replace(one, cents=held.pack_cents.get(key, one.cents))
        for key, one in _offered(estimate, chosen).items()
    }
    fresh, untiled = _tiled(takeoff_rooms(list(measured)), chosen, offered)
    now = {room.key: room for room in fresh}
    core = [now.pop(room.key, room) for room in held.room_set.rooms]
    room_set = replace(held.room_set, rooms=(*core, *now.values()))
    by_key = {str(pk): room for pk, room in Room.objects.in_bulk(int(one.key) for one in core).items()}
    by_key |= {str(room.pk): room for room in measured}
    rooms = [by_key[room.key] for room in room_set.rooms]
    found = Calculation(estimate, company_profile(), rooms, offered=offered, terms=held.terms)
    found.untiled = tuple((by_key[key], name) for key, name in untiled)
    day = estimate.start_on or estimate.price_on
    zone = ZoneInfo(estimate.site.time_zone)
    start = datetime.datetime.combine(day, held.practice.calendar.start_of_day, tzinfo=zone)
    found.given = TakeoffInput(room_set, tuple(_materials(chosen, offered)), held.practice, start)
    try:
        found.takeoff = _run(found.given)
        found.priced = pricing.price(_asked(estimate, rooms, found.takeoff, offered), held.terms)
    except DomainError as error:
        found.error, found.error_room = error, _room_of(error, rooms)
    return found


# The takeoff is pure, so what was worked out for the same input a moment ago is still right.
_recent: OrderedDict[str, Takeoff] = OrderedDict()
_KEPT = 8


def _run(given: TakeoffInput) -> Takeoff:
    digest = given.digest
    takeoff = _recent.pop(digest, None) or run(
        given.room_set, given.materials, given.practice, start=given.start
    )
    _recent[digest] = takeoff
    while len(_recent) > _KEPT:
        _recent.popitem(last=False)
    return takeoff


def _input(
    estimate: Estimate, rooms: tuple[model.Room, ...], materials: tuple[model.Material, ...]
) -> TakeoffInput:
    site = estimate.site
    room_set = model.RoomSet(
        system=System(site.units),
        rooms=rooms,
        built_year=site.built_year,
        occupied=site.is_occupied,
        travel_h=Decimal(site.travel_minutes) / 60,
        flood_test_asked=estimate.flood_test_asked,
        stock=stock_for(estimate.pk, _membrane_keys(materials)),
    )
    day = estimate.start_on or estimate.price_on
    practice = company_practice()
    start = datetime.datetime.combine(day, practice.calendar.start_of_day, tzinfo=ZoneInfo(site.time_zone))
    return TakeoffInput(room_set, materials, practice, start)


def _membrane_keys(materials: Sequence[model.Material]) -> dict[int, str]:
    """Return the keys of the chosen membranes by the material's number; what we buy goes before our
    customer's."""
    keys = [one.key for one in materials if one.role is model.Role.MEMBRANE]
    return {material_pk(key): key for key in sorted(keys, reverse=True)}


# --- Materials and tile -----------------------------------------------------------------------------------


def core_key(pk: int, customer_supplied: bool) -> str:
    """Return the takeoff's key of a material; what the customer supplies is counted apart."""
    return material_key(pk) + ("-own" if customer_supplied else "")


def _stored(estimate: Estimate) -> Chosen:
    return Chosen(
        list(estimate.materials.all()),
        list(estimate.surface_tiles.all()),
        list(estimate.surface_accents.all()),
    )


def _offered(estimate: Estimate, chosen: Chosen) -> dict[str, Offered]:
    uses = list(_uses(chosen))
    found = materials_on(estimate.price_on, {pk for pk, _, _ in uses})
    return {core_key(pk, own): found[pk] for pk, own, _ in uses}


def _uses(chosen: Chosen) -> Iterator[tuple[int, bool, str]]:
    """Yield the number of every chosen material, whether the customer supplies it, and its slot ("": a single
    surface's). A border is supplied by whoever supplies the surface's tile."""
    for row in chosen.materials:
        if row.material_id:
            yield row.material_id, row.customer_supplied, row.slot
    for accent in chosen.accents:
        yield accent.material_id, accent.customer_supplied, ""
    for tile in chosen.tiles:
        for pk in (tile.material_id, tile.border_id):
            if pk:
                yield pk, tile.customer_supplied, ""


def _materials(chosen: Chosen, offered: dict[str, Offered]) -> Iterator[model.Material]:
    """Yield each chosen material once; an agent chosen for one way of bonding only is marked with it."""
    slots: dict[str, list[str]] = {}
    for pk, own, slot in _uses(chosen):
        slots.setdefault(core_key(pk, own), []).append(slot)
    for key, places in slots.items():
        found = offered[key]
        method = None
        if found.row.role == MaterialRole.BONDING_AGENT and len(places) == 1:
            method = model.BondMethod(SLOTS[places[0]].use)
        yield replace(
            found.material,
            key=key,
            customer_supplied=key.endswith("-own"),
            bond_method=method,
            cost_cents=found.cents,
        )


def _tiled(
    rooms: tuple[model.Room, ...],
    chosen: Chosen,
    offered: dict[str, Offered],
) -> tuple[tuple[model.Room, ...], list[tuple[str, str]]]:
    """Return the rooms with a tile on every surface that has one, and the surfaces left without."""
    by_slot = {row.slot: row for row in chosen.materials}
    by_surface = {(str(row.room_id), row.surface_key): row for row in chosen.tiles}
    accents = {(str(row.room_id), row.surface_key): row for row in chosen.accents}
    untiled: list[tuple[str, str]] = []
    dressed = []
    for room in rooms:
        surfaces = []
        for surface in room.surfaces:
            own = by_surface.get((room.key, surface.key))
            if own is None and tile_slot(surface.kind) not in by_slot:
                untiled.append((room.key, surface.name))
            row = own or by_slot.get(tile_slot(surface.kind))
            choice = _choice(row, offered)
            accent = accents.get((room.key, surface.key))
            if choice is not None and accent is not None:
                choice = replace(choice, accent=_accent(accent, offered))
            surfaces.append(replace(surface, tile=choice))
        dressed.append(replace(room, surfaces=tuple(surfaces)))
    return tuple(dressed), untiled


def _choice(
    row: EstimateMaterial | SurfaceTile | None, offered: dict[str, Offered]
) -> model.TileChoice | None:
    if row is None or row.material_id is None:
        return None
    key = core_key(row.material_id, row.customer_supplied)
    pattern = _pattern(row.pattern, offered[key])
    if not isinstance(row, SurfaceTile):
        return model.TileChoice(key, pattern)
    border = core_key(row.border_id, row.customer_supplied) if row.border_id else None
    return model.TileChoice(key, pattern, row.joint.mm if row.joint else None, border)


def _accent(row: SurfaceAccent, offered: dict[str, Offered]) -> model.Accent | None:
    if row.along is None or row.base is None or row.width is None or row.height is None:
        return None  # the database refuses such a row
    key = core_key(row.material_id, row.customer_supplied)
    return model.Accent(
        key,
        along_mm=row.along.mm,
        base_mm=row.base.mm,
        width_mm=row.width.mm,
        height_mm=row.height.mm,
        pattern=_pattern(row.pattern, offered[key]),
    )


def _pattern(ticked: str, tile: Offered) -> model.Pattern:
    """Return how a tile is laid: what comes on sheets is laid, counted and bought by the sheet."""
    return model.Pattern.MOSAIC if on_sheets(tile) else model.Pattern(ticked)


def on_sheets(offered: Offered) -> bool:
    """Return whether a tile comes mounted on sheets."""
    return "sheet width" in offered.material.facts


# --- Price ------------------------------------------------------------------------------------------------


def _fraction(basis_points: int) -> Decimal:
    return Decimal(basis_points) / HUNDRED_PERCENT


def _terms(estimate: Estimate, company: CompanyProfile) -> pricing.Terms:
    cost = labour_cost_on(estimate.price_on)
    labour = None
    if cost is not None:
        source = phrase(gettext_noop("cost of an hour from {day}"), day=cost.starts_on.isoformat())
        labour = pricing.Labour(money(cost.pay_cents_per_hour), _fraction(cost.burden_basis_points), source)
    return pricing.Terms(
        currency=company.currency,
        labour=labour,
        overhead=_fraction(estimate.overhead_basis_points),
        profit=_fraction(estimate.profit_basis_points),
        profit_rule=pricing.ProfitRule(estimate.profit_rule),
        minimum_charge=money(estimate.minimum_charge_cents),
        discount=_fraction(estimate.discount_basis_points),
        discount_amount=money(estimate.discount_cents),
        discount_reason=estimate.discount_reason,
        tax_base=pricing.TaxBase(estimate.tax_base),
        tax_rate=_fraction(estimate.tax_basis_points),
        deposit=_fraction(estimate.deposit_basis_points),
        stages=tuple(
            pricing.Stage(stage.due, _fraction(stage.share_basis_points))
            for stage in estimate.payment_stages.all()
        ),
    )


def _asked(
    estimate: Estimate, rooms: Sequence[Room], takeoff: Takeoff | None, offered: dict[str, Offered]
) -> pricing.Asked:
    quantities: dict[str, pricing.Changed] = {}
    prices: dict[str, pricing.Changed] = {}
    for override in estimate.overrides.all():
        if override.quantity_millionths is not None:
            value = Decimal(override.quantity_millionths).scaleb(-6)
            quantities[override.key] = pricing.Changed(value, override.reason, str(override.by))
        elif override.price_cents is not None:
            prices[override.key] = pricing.Changed(
                money(override.price_cents), override.reason, str(override.by)
            )
    return pricing.Asked(
        rooms=tuple((str(room.pk), room.name) for room in rooms),
        bought=tuple(_bought(takeoff, offered)) if takeoff else (),
        worked=tuple(
            pricing.Worked(hours.room, hours.step, hours.label, hours.hours) for hours in takeoff.hours
        )
        if takeoff
        else (),
        other=_other_costs(estimate),
        hand=tuple(
            pricing.HandLine(
                key=str(line.pk),
                room=str(line.room_id or ""),
                step=line.step,
                text=line.text,
                quantity=Decimal(line.quantity_millionths).scaleb(-6),
                unit=line.unit,
                cost_each=money(line.cost_cents),
                price_each=None if line.price_cents is None else money(line.price_cents),
                is_material=line.is_material,
            )
            for line in estimate.lines.all()
        ),
        quantities=quantities,
        prices=prices,
    )


def _bought(takeoff: Takeoff, offered: dict[str, Offered]) -> Iterator[pricing.Bought]:
    for need in takeoff.needs:
        found = offered[need.material]
        source = None
        if found.starts_on is not None:
            source = phrase(
                gettext_noop("{supplier_code}, price from {day}"),
                supplier_code=found.row.code,
                day=found.starts_on.isoformat(),
            )
        yield pricing.Bought(
            key=need.material,
            role=need.role,
            name=found.row.name,
            packs=need.packs,
            pack_label=need.pack_label,
            unit=counted_in(need, found),
            by_room=tuple((room, figure.value) for room, figure in need.by_room),
            pack_price=None if found.cents is None else money(found.cents),
            price_source=source,
            customer_supplied=need.customer_supplied,
        )


def counted_in(need: Need, found: Offered) -> str:
    """Return the unit of a need in words: what is counted is tiles, or the pack where it holds one."""
    if need.quantity.unit != "each":
        return need.quantity.unit
    if need.role is model.Role.TILE:
        return "sheets" if on_sheets(found) else "tiles"
    return _PIECES.get(need.role, need.pack_label)


_PIECES = {
    model.Role.INSIDE_CORNER: "pieces",
    model.Role.OUTSIDE_CORNER: "pieces",
    model.Role.FASTENER: "pieces",
}


def _other_costs(estimate: Estimate) -> tuple[pricing.OtherCost, ...]:
    entered: tuple[tuple[str, str, Phrase, int], ...] = (
        (
            "disposal",
            "demolition",
            phrase(gettext_noop("Demolition and disposal")),
            estimate.disposal_cents,
        ),
        (
            "levelling",
            "preparation",
            phrase(gettext_noop("Levelling and preparation")),
            estimate.levelling_cents,
        ),
        ("travel", "travel", phrase(gettext_noop("Travel")), estimate.travel_cents),
        ("permits", pricing.PERMITS_STEP, phrase(gettext_noop("Permits and fees")), estimate.permits_cents),
    )
    return tuple(pricing.OtherCost(key, step, label, money(cents)) for key, step, label, cents in entered)


def _room_of(error: DomainError, rooms: Sequence[Room]) -> Room | None:
    match = re.match(r"rooms\[(\d+)\]", error.place)
    return rooms[int(match[1])] if match and int(match[1]) < len(rooms) else None

"""What screens and other apps read about estimates and quotes."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from contracting.customers.models import Site
from estimates.pricelists.models import Material
from estimates.pricelists.selectors import with_prices
from estimates.rooms.models import Room
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.result import Need
from estimates.takeoff.working import Figure
from estimates.takeoff.workplan import job_hours

from .calculation import Calculation, counted_in
from .models import Estimate, EstimateChange, EstimateRoom, Quote
from .pricing import WHOLE_JOB, Kind, Line
from .profit import margin_of, markup_of
from .slots import SLOTS, Slot, tile_slot

# What becomes of the quote of an estimate that stays issued; the list finds these apart.
ENDED = (Quote.Status.EXPIRED, Quote.Status.WITHDRAWN)


def latest_quote(field: str) -> Subquery:
    """Return a column of an estimate's latest quote, to be read beside the estimate."""
    quotes = Quote.objects.filter(estimate=OuterRef("pk")).order_by("-revision")
    return Subquery(quotes.values(field)[:1])


def estimate_standings() -> list[tuple[str, str]]:
    """Return what an estimate's list can be narrowed to, with the words for it."""
    own = [(str(value), str(label)) for value, label in Estimate.Status.choices]
    return [*own[:2], *((status.value, str(status.label)) for status in ENDED), *own[2:]]


def estimates_matching(*, text: str = "", status: str = "") -> QuerySet[Estimate]:
    """Return estimates, the newest number first, with customer, site and their latest quote's figures.

    *text* is looked for in title, customer, street, and as a number; *status* is one of
    :func:`estimate_standings`.
    """
    found = Estimate.objects.select_related("site__customer").annotate(
        quote_pk=latest_quote("pk"),
        quote_number=latest_quote("number"),
        quote_status=latest_quote("status"),
        quote_total_cents=latest_quote("total_cents"),
        quote_currency=latest_quote("currency"),
    )
    if status in ENDED:
        found = found.filter(status=Estimate.Status.ISSUED, quote_status=status)
    elif status == Estimate.Status.ISSUED:
        found = found.filter(status=status).exclude(quote_status__in=list(ENDED))
    elif status in Estimate.Status.values:
        found = found.filter(status=status)
    if text:
        matching = (
            Q(title__icontains=text)
            | Q(site__customer__name__icontains=text)
            | Q(site__street__icontains=text)
        )
        if text.isdecimal() and len(text) < 10:
            matching |= Q(number=int(text))
        found = found.filter(matching)
    return found.order_by("-number")


# What a list shows. All of it stands before the snapshot in a row: SQLite would read through the whole
# snapshot to reach a column behind it.
LISTED = (
    "number",
    "revision",
    "status",
    "title",
    "customer_name",
    "site_name",
    "currency",
    "total_cents",
    "issued_at",
    "valid_until",
)


def quotes_matching(*, text: str = "", status: str = "") -> QuerySet[Quote]:
    """Return quotes as a list shows them, the newest first; *text* is looked for in number and names."""
    found = Quote.objects.only(*LISTED)
    if status in Quote.Status.values:
        found = found.filter(status=status)
    if text:
        found = found.filter(
            Q(number__icontains=text)
            | Q(title__icontains=text)
            | Q(customer_name__icontains=text)
            | Q(site_name__icontains=text)
        )
    return found.order_by("-issued_at", "-pk")


def quotes_answered(*, since: datetime.date, limit: int) -> QuerySet[Quote]:
    """Return the quotes that customers signed or declined from *since* on, the latest answer first."""
    answers = (Quote.Status.ACCEPTED, Quote.Status.DECLINED)
    found = Quote.objects.only(*LISTED, "answered_on", "answer_note")
    return found.filter(status__in=answers, answered_on__gte=since).order_by("-answered_on", "-pk")[:limit]


def quotes_of(estimate: Estimate) -> list[Quote]:
    """Return an estimate's quotes, the latest revision first, without their snapshots."""
    return list(estimate.quotes.defer("snapshot").order_by("-revision"))


def sites_to_quote(text: str) -> QuerySet[Site]:
    """Return sites to start an estimate at: those that match *text*, or those last worked for."""
    found = Site.objects.select_related("customer")
    if text:
        return found.filter(
            Q(customer__name__icontains=text) | Q(street__icontains=text) | Q(name__icontains=text)
        ).order_by("customer__name", "name")[:20]
    return found.order_by("-pk")[:8]


def unchosen_rooms(found: Calculation) -> list[Room]:
    """Return the rooms measured at the site that are in no estimate; none once it is accepted."""
    if found.estimate.status == Estimate.Status.WON:
        return []
    return list(rooms_in_no_estimate(found.estimate.site_id))


def site_has_rooms(found: Calculation) -> bool:
    """Return whether anything is measured at the site; asks only where the estimate itself has no room."""
    return bool(found.rooms) or Room.objects.filter(site=found.estimate.site_id).exists()


def rooms_in_no_estimate(site: int) -> QuerySet[Room]:
    """Return the rooms of a site that nobody has priced yet, by name."""
    return Room.objects.filter(~Exists(EstimateRoom.objects.filter(room=OuterRef("pk"))), site=site).order_by(
        "name"
    )


def changes_of(estimate: Estimate) -> list[EstimateChange]:
    """Return what was changed, the latest first."""
    return list(estimate.changes.select_related("by").order_by("-revision")[:100])


@dataclass(frozen=True)
class StepWork:
    """A trade step in a room: its priced lines and their sums (whole cents)."""

    step: str
    lines: tuple[Line, ...]

    @property
    def price_cents(self) -> int:
        return sum(line.price_cents for line in self.lines)

    @property
    def cost_cents(self) -> int:
        return sum(line.cost_cents for line in self.lines)

    @property
    def is_by_hand(self) -> bool:
        """Whether any line of it was written or changed by hand."""
        return any(line.changed or line.kind is Kind.HAND for line in self.lines)


@dataclass(frozen=True)
class RoomWork:
    """A room as the estimate's page shows it: its trade steps, and its figures with their working."""

    room: Room | None
    steps: tuple[StepWork, ...]
    figures: tuple[Any, ...]

    @property
    def price_cents(self) -> int:
        return sum(step.price_cents for step in self.steps)

    @property
    def cost_cents(self) -> int:
        return sum(step.cost_cents for step in self.steps)


def work_by_room(found: Calculation) -> list[RoomWork]:
    """Return the estimate's lines room by room, what belongs to the whole job last."""
    if found.priced is None:
        return []
    taken = {one.key: one for one in found.takeoff.rooms} if found.takeoff else {}
    known = {str(room.pk) for room in found.rooms}
    parts: list[tuple[Room | None, str]] = [(room, str(room.pk)) for room in found.rooms]
    rows = []
    for room, key in [*parts, (None, WHOLE_JOB)]:
        lines = [line for line in found.priced.lines if _room_key(line, known) == key]
        steps = groupby(lines, key=lambda line: line.step)
        figures = taken[key].figures if key in taken else ()
        if room is not None or lines:
            rows.append(RoomWork(room, tuple(StepWork(step, tuple(part)) for step, part in steps), figures))
    return rows


def _room_key(line: Line, known: set[str]) -> str:
    return line.room if line.room in known else WHOLE_JOB


@dataclass(frozen=True)
class Hindrance:
    """What keeps an estimate from being issued, and where it is mended.

    *material*: the one without a price on the estimate's day, with ``next_from`` when one begins later.
    """

    key: str
    text: Phrase
    material: Material | None


def hindrances(found: Calculation) -> list[Hindrance]:
    """Return what keeps the estimate from being issued; one query where a price is missing."""
    offered = found.offered or {}
    keys = {one.key: one.key.removeprefix("price:") for one in found.problems}
    rows = [offered[key].row.pk for key in keys.values() if key in offered]
    priced = with_prices(Material.objects.filter(pk__in=rows), found.estimate.price_on) if rows else ()
    materials = {row.pk: row for row in priced}
    return [
        Hindrance(
            one.key,
            one.text,
            materials.get(offered[keys[one.key]].row.pk) if keys[one.key] in offered else None,
        )
        for one in found.problems
    ]


@dataclass(frozen=True)
class Buying:
    """A material of the job as it is bought, with the price of a pack on the estimate's date."""

    name: str
    need: Need
    unit: str
    cents: int | None
    starts_on: datetime.date | None


def buying(found: Calculation) -> list[Buying]:
    """Return what the job needs, in the takeoff's order."""
    if found.takeoff is None or found.offered is None:
        return []
    rows = [(need, found.offered[need.material]) for need in found.takeoff.needs]
    return [
        Buying(offered.row.name, need, counted_in(need, offered), offered.cents, offered.starts_on)
        for need, offered in rows
    ]


def time_figures(found: Calculation) -> list[Figure]:
    """Return how long the job takes: man-hours, hours on site and days from start to finish."""
    if found.takeoff is None or not found.takeoff.hours:
        return []
    schedule = found.takeoff.schedule
    return [job_hours(found.takeoff.hours), schedule.hours_on_site, schedule.elapsed_days]


def slots_needed(found: Calculation) -> list[Slot]:
    """Return the slots that the rooms can use, so that a bath is not asked for a counter's tile."""
    needed = set()
    methods = set()
    for room in found.given.room_set.rooms if found.given else ():
        for surface in room.surfaces:
            needed.add(tile_slot(surface.kind))
            methods.add(f"bonding agent: {surface.method.value}")
    return [
        slot
        for slot in SLOTS.values()
        if (slot.key in needed if slot.is_tile else slot.key in methods or slot.role != "bonding agent")
    ]


@dataclass(frozen=True)
class Standing:
    """A quote's figures for the office: the share of the price that is left after cost with overhead."""

    margin: Decimal | None
    markup: Decimal | None
    profit_cents: int


def standing(quote: Quote) -> Standing:
    """Return margin and markup of an issued quote."""
    price, cost = Decimal(quote.price_cents), Decimal(quote.cost_cents)
    return Standing(margin_of(price, cost), markup_of(price, cost), quote.price_cents - quote.cost_cents)


def quote_work(quote: Quote) -> dict[str, Any]:
    """Return the takeoff, materials and drawings of a quote without any money: for crew and purchase."""
    part: dict[str, Any] = quote.snapshot["work"]
    return part


def quote_budget(quote: Quote) -> list[dict[str, Any]]:
    """Return what each line of a quote was to cost and bring (whole cents), for the office's margins."""
    lines: list[dict[str, Any]] = quote.snapshot["office"]["lines"]
    return lines

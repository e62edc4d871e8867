"""What screens and estimates read from the price list."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery

from estimates.takeoff import model
from estimates.takeoff.materials import FACTS
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import Measure

from .measures import from_millionths
from .models import Material, MaterialRole, Price, Supplier


@dataclass(frozen=True)
class Offered:
    """A material as the takeoff takes it, with the price of a pack on the asked day (None: it has none)."""

    row: Material
    material: model.Material
    cents: int | None
    starts_on: datetime.date | None


def with_prices(materials: QuerySet[Material], day: datetime.date) -> QuerySet[Material]:
    """Annotate materials with ``today_cents``, ``today_from``, ``next_cents``, ``next_from`` as of *day*."""
    mine = Price.objects.filter(material=OuterRef("pk"))
    now = mine.filter(starts_on__lte=day).order_by("-starts_on")
    later = mine.filter(starts_on__gt=day).order_by("starts_on")
    return materials.annotate(  # type: ignore[no-redef]  # the plugin sees the bare annotations of the model
        today_cents=Subquery(now.values("cents")[:1]),
        today_from=Subquery(now.values("starts_on")[:1]),
        next_cents=Subquery(later.values("cents")[:1]),
        next_from=Subquery(later.values("starts_on")[:1]),
    )


def materials_matching(
    *, day: datetime.date, role: str = "", text: str = "", sold_only: bool = True
) -> QuerySet[Material]:
    """Return the price list by role and name, with its prices as of *day*."""
    found = Material.objects.select_related("supplier")
    if role in MaterialRole.values:
        found = found.filter(role=role)
    if text:
        found = found.filter(
            Q(name__icontains=text) | Q(code__icontains=text) | Q(supplier__name__icontains=text)
        )
    if sold_only:
        found = found.filter(is_active=True)
    return with_prices(found, day).order_by("role", "use", F("is_usual").desc(), "name", "pk")


def materials_on(day: datetime.date, pks: Iterable[int]) -> dict[int, Offered]:
    """Return the materials *pks* with their prices on *day*, ready for the takeoff: two queries in all."""
    rows = with_prices(Material.objects.filter(pk__in=set(pks)), day).prefetch_related("facts")
    return {row.pk: Offered(row, takeoff_material(row), row.today_cents, row.today_from) for row in rows}


def material_key(pk: int) -> str:
    """Return the key by which takeoff and estimate name a material."""
    return f"m{pk}"


def material_pk(key: str) -> int:
    """Return the number of the material that *key* names, whoever supplies it."""
    return int(key.removeprefix("m").removesuffix("-own"))


def takeoff_material(row: Material) -> model.Material:
    """Return a row (its facts prefetched) as the takeoff's material."""
    return model.Material(
        key=material_key(row.pk),
        role=model.Role(row.role),
        name=row.name,
        pack=model.Pack(row.pack_label, from_millionths(row.pack_millionths, row.pack_unit)),
        waste=Decimal(row.waste_basis_points).scaleb(-4),
        facts={fact.name: from_millionths(fact.value_millionths, fact.unit) for fact in row.facts.all()},
        bond_method=model.BondMethod(row.use) if row.use and row.role == MaterialRole.BONDING_AGENT else None,
    )


@dataclass(frozen=True)
class SheetValue:
    label: Phrase
    measure: Measure


def data_sheet(row: Material) -> list[SheetValue]:
    """Return a material's data-sheet values in the order of the core's table."""
    have = takeoff_material(row).facts
    return [
        SheetValue(fact.label, have[name])
        for name, fact in FACTS[model.Role(row.role)].items()
        if name in have
    ]


def usual_materials() -> list[Material]:
    """Return what an estimate starts with: the usual material of every role, every usual roll size."""
    return list(Material.objects.filter(is_usual=True, is_active=True).order_by("role", "use", "pk"))


def materials_to_choose() -> list[Material]:
    """Return everything that is still sold, by role and name, with its supplier."""
    return list(
        Material.objects.filter(is_active=True).select_related("supplier").order_by("role", "name", "pk")
    )


def price_history(material: Material) -> list[Price]:
    """Return a material's prices, the newest start first."""
    return list(material.prices.order_by("-starts_on"))


def suppliers() -> QuerySet[Supplier]:
    """Return suppliers by name with ``material_count`` (those still sold)."""
    return Supplier.objects.annotate(
        material_count=Count("materials", filter=Q(materials__is_active=True))
    ).order_by("-is_active", "name")

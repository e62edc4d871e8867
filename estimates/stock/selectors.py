"""What lies on the shelf of offcuts."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.models import Prefetch, QuerySet

from estimates.pricelists.models import Material, MaterialRole
from estimates.takeoff.model import StockPiece

from .models import Offcut, OffcutPromise

# While a quote stands open or accepted, what its cut plan takes is spoken for (quotes.Quote.Status).
STANDING = ("issued", "accepted")
_PREFIX = "offcut-"


def on_shelf() -> QuerySet[Offcut]:
    """Return what lies on the shelf, with ``promises`` to standing quotes and their quotes (2 queries)."""
    promises = OffcutPromise.objects.filter(quote__status__in=STANDING).select_related("quote")
    return (
        Offcut.objects.filter(taken_at__isnull=True)
        .select_related("material", "added_by")
        .prefetch_related(Prefetch("promises", queryset=promises))
    )


def membranes() -> QuerySet[Material]:
    """Return the membranes that offcuts may be of, also those no longer sold."""
    return Material.objects.filter(role=MaterialRole.MEMBRANE).order_by("-is_active", "name")


def stock_for(estimate_pk: int, keys: Mapping[int, str]) -> tuple[StockPiece, ...]:
    """Return the offcuts an estimate's cut plan may take: of its membranes, not another quote's (1 query).

    Args:
        keys: the takeoff's key of each membrane by the material's number.
    """
    if not keys:
        return ()
    taken = OffcutPromise.objects.filter(quote__status__in=STANDING).exclude(quote__estimate_id=estimate_pk)
    free = (
        Offcut.objects.filter(taken_at__isnull=True, material_id__in=keys)
        .exclude(pk__in=taken.values("offcut"))
        .order_by("pk")
    )
    return tuple(
        StockPiece(f"{_PREFIX}{one.pk}", one.width.mm, one.length.mm, keys[one.material_id])
        for one in free
        if one.width is not None and one.length is not None
    )


def offcuts_named(keys: list[str]) -> dict[str, Offcut]:
    """Return the offcuts that a cut plan names, by the takeoff's key."""
    numbers = [int(key.removeprefix(_PREFIX)) for key in keys if key.startswith(_PREFIX)]
    found = Offcut.objects.select_related("material").in_bulk(numbers)
    return {f"{_PREFIX}{pk}": one for pk, one in found.items()}

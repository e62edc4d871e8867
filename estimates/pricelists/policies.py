"""Getting something of the price list is asking for the right to it: the office and the owner have it."""

from django.http import Http404

from contracting.staff.models import User

from .models import Material, Price, Supplier


def supplier_for(user: User, pk: int) -> Supplier:
    """Return the supplier; Http404 for somebody without the right or when there is none."""
    supplier = Supplier.objects.filter(pk=pk).first() if user.sees_money else None
    if supplier is None:
        raise Http404
    return supplier


def material_for(user: User, pk: int) -> Material:
    """Return the material with its supplier and data-sheet values; Http404 as above."""
    found = Material.objects.select_related("supplier").prefetch_related("facts").filter(pk=pk)
    material = found.first() if user.sees_money else None
    if material is None:
        raise Http404
    return material


def price_for(user: User, pk: int) -> Price:
    """Return the price with its material; Http404 as above."""
    price = Price.objects.select_related("material").filter(pk=pk).first() if user.sees_money else None
    if price is None:
        raise Http404
    return price

"""What changes the price list. Each call is one act of a person and one transaction."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from estimates.takeoff.errors import DomainError
from estimates.takeoff.materials import check_material
from estimates.takeoff.units import Measure

from .measures import to_millionths
from .models import Material, MaterialFact, MaterialRole, Price, Supplier
from .price_files import PriceRow
from .selectors import takeoff_material


@transaction.atomic
def supplier_save(*, supplier: Supplier) -> Supplier:
    """Store a new or changed supplier; raises ValidationError when a value is refused."""
    supplier.full_clean()
    supplier.save()
    return supplier


@transaction.atomic
def material_save(
    *,
    material: Material,
    facts: Mapping[str, Measure],
    first_price: tuple[datetime.date, int] | None = None,
) -> Material:
    """Store a material with its data sheet, and a first price (its start, cents) when one is given.

    A material that becomes the usual one takes the place of the one before (roll sizes of a membrane stand
    side by side).

    Raises:
        ValidationError: a value is refused.
        DomainError: the data sheet lacks a needed value or has one that cannot be (``material.*``).
    """
    if material.is_usual and material.role != MaterialRole.MEMBRANE:
        before = Material.objects.filter(role=material.role, use=material.use, is_usual=True)
        before.exclude(pk=material.pk).update(is_usual=False)
    material.full_clean()
    material.save()
    material.facts.all().delete()
    MaterialFact.objects.bulk_create(
        MaterialFact(material=material, name=name, value_millionths=to_millionths(measure), unit=measure.unit)
        for name, measure in facts.items()
    )
    check_material(takeoff_material(material))
    if first_price:
        price_set(material=material, starts_on=first_price[0], cents=first_price[1])
    return material


@transaction.atomic
def price_set(*, material: Material, starts_on: datetime.date, cents: int) -> Price:
    """Let a price start on a day; one that starts on that very day is replaced.

    Issued quotes keep the price they were issued with.
    """
    price = material.prices.filter(starts_on=starts_on).first() or Price(
        material=material, starts_on=starts_on
    )
    price.cents = cents
    price.full_clean(validate_unique=False, validate_constraints=False)
    price.save()
    return price


@transaction.atomic
def price_remove(*, price: Price) -> None:
    """Take a price out of the list again."""
    price.delete()


@transaction.atomic
def prices_import(*, rows: list[PriceRow]) -> int:
    """Store every price of a file that was read without an error; all or nothing.

    Returns:
        How many prices were stored.

    Raises:
        ValidationError: a row still has an error, so nothing is stored.
    """
    if any(row.error for row in rows):
        raise ValidationError(_("Nothing was stored: mend the marked lines and send the file again."))
    Price.objects.bulk_create(
        [Price(material_id=row.material_pk, starts_on=row.starts_on, cents=row.cents) for row in rows],
        update_conflicts=True,
        unique_fields=["material", "starts_on"],
        update_fields=["cents"],
    )
    return len(rows)


def domain_as_validation(error: DomainError) -> ValidationError:
    """Return the core's refusal as a form's, in the reader's language."""
    return ValidationError(error.reason.render(_), code=error.rule)

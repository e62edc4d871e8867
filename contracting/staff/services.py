"""What changes people, pay and the company. Each call is one act of a person and one transaction."""

import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from . import pay
from .models import CompanyProfile, LabourCost, PayRate, Role, User


@transaction.atomic
def company_save(*, company: CompanyProfile) -> CompanyProfile:
    """Store the one company; raises ValidationError when a value is refused."""
    company.pk = 1
    company.full_clean(validate_unique=False)
    if not CompanyProfile.objects.filter(pk=1).exists():
        company.save(force_insert=True)
    else:
        company.save(force_update=True)
    return company


@transaction.atomic
def person_save(*, person: User, password: str = "") -> User:
    """Store a new or changed person; an empty *password* leaves the one there is.

    Raises:
        ValidationError: a value is refused, or nobody would be left who may change the company.
    """
    if password:
        person.set_password(password)
    elif person.pk is None:
        person.set_unusable_password()
    person.full_clean(exclude=["password"])
    if person.pk is not None and not (person.is_owner and person.is_active):
        # The lock is the write below: SQLite has one writer, and PostgreSQL locks these rows here.
        owners = User.objects.select_for_update().filter(role=Role.OWNER, is_active=True)
        if {other.pk for other in owners} == {person.pk}:
            raise ValidationError(
                _("%(name)s is the only owner who can sign in. Make somebody else an owner first.")
                % {"name": person}
            )
    person.save()
    return person


@transaction.atomic
def preferences_save(*, person: User, language: str) -> User:
    """Store what somebody chooses for themselves."""
    person.language = language
    person.full_clean(exclude=["password"])
    person.save(update_fields=["language"])
    return person


@transaction.atomic
def labour_cost_save(*, starts_on: datetime.date, pay_cents: int, burden_basis_points: int) -> LabourCost:
    """Store what an hour costs from a day on; the same day again corrects that day's row.

    Raises:
        ValidationError: a value is refused.
    """
    row = LabourCost.objects.filter(starts_on=starts_on).first() or LabourCost(starts_on=starts_on)
    row.pay_cents_per_hour = pay_cents
    row.burden_basis_points = burden_basis_points
    row.full_clean()
    row.save()
    pay.changed(None, starts_on)
    return row


@transaction.atomic
def labour_cost_remove(*, labour_cost: LabourCost) -> None:
    """Remove a row; quotes keep the costs they were frozen with."""
    labour_cost.delete()
    pay.changed(None, labour_cost.starts_on)


@transaction.atomic
def pay_rate_save(
    *, person: User, starts_on: datetime.date, pay_cents: int, burden_basis_points: int
) -> PayRate:
    """Store what an hour of *person* costs from a day on; the same day again corrects that day's row.

    Hours already logged from that day on are costed anew.

    Raises:
        ValidationError: a value is refused.
    """
    row = PayRate.objects.filter(person=person, starts_on=starts_on).first()
    row = row or PayRate(person=person, starts_on=starts_on)
    row.pay_cents_per_hour, row.burden_basis_points = pay_cents, burden_basis_points
    row.full_clean()
    row.save()
    pay.changed(person, starts_on)
    return row


@transaction.atomic
def pay_rate_remove(*, pay_rate: PayRate) -> None:
    """Remove a row; the rate before it holds again, also for hours already logged."""
    pay_rate.delete()
    pay.changed(pay_rate.person, pay_rate.starts_on)

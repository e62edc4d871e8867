"""What changes customers and sites. Each call is one act of a person and one transaction."""

from typing import TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, ProtectedError
from django.utils.translation import gettext as _

from .models import Contact, Customer, Site

Row = TypeVar("Row", bound=Customer | Contact | Site)


@transaction.atomic
def record_save(*, record: Row) -> Row:
    """Store a new or changed customer, contact or site; raises ValidationError when a value is refused."""
    record.full_clean()
    record.save()
    return record


@transaction.atomic
def record_remove(*, record: Model) -> None:
    """Remove a customer, contact or site that nothing else rests on.

    Raises:
        ValidationError: rooms, estimates or sites rest on it.
    """
    try:
        record.delete()
    except ProtectedError as error:
        raise ValidationError(
            _("“%(name)s” stays: there is work on record for it (%(count)d).")
            % {"name": record, "count": len(error.protected_objects)}
        ) from error

"""An act is done once: the form or the phone makes a key for it, and the row that it makes keeps that key."""

from __future__ import annotations

import uuid
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db.models import Model
from django.utils.translation import gettext as _

# The code of the refusal; a form whose key was used gets another (contracting/forms.py).
KEY_USED = "key-used"
Row = TypeVar("Row", bound=Model)


def key_used() -> ValidationError:
    """Return the refusal of a key under which something else was recorded before."""
    return ValidationError(
        _("This form was recorded before with other values. Open the page anew to record another."),
        code=KEY_USED,
    )


def sent_before(model: type[Row], key: uuid.UUID, **sent: Any) -> Row | None:
    """Return the row that *key* made, or None.

    Raises:
        ValidationError: the key made something else than *sent*: somebody went back in the browser and typed
            the next entry into the old form, and would be told that it is recorded.
    """
    row = model._default_manager.filter(key=key).first()
    if row is not None and any(getattr(row, name) != value for name, value in sent.items()):
        raise key_used()
    return row

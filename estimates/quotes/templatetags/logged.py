"""A logged change of an estimate in the reader's words: it was written in those of who made it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from django import template
from django.core.exceptions import FieldDoesNotExist
from django.utils import formats

from ..estimate_services import PARTS
from ..models import Estimate

register = template.Library()


@register.filter
def changed_field(field: Mapping[str, str]) -> str:
    """Return what the changed field is called; of a field that is gone, what it was called then."""
    name = field.get("name", "")
    if name in PARTS:
        return str(PARTS[name])
    try:
        return str(getattr(Estimate._meta.get_field(name), "verbose_name", field["label"]))
    except FieldDoesNotExist:
        return field["label"]


@register.filter
def day_or_text(value: str) -> str:
    """Print a day that stands as ``2026-11-22`` as the reader writes it; anything else as it is."""
    try:
        return formats.date_format(datetime.date.fromisoformat(value), "SHORT_DATE_FORMAT")
    except ValueError:
        return value

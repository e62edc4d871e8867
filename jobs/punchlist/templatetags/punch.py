"""How late an item is, and moments of a frozen list, for people."""

import datetime

from django import template
from django.utils.dateparse import parse_datetime

from jobs.punchlist.models import COVER_WORDS, Callback, CallbackEvent, PunchItem
from jobs.punchlist.selectors import due_words

register = template.Library()


@register.filter
def due(item: PunchItem, today: datetime.date) -> str:
    """Say how an item stands to its day."""
    return due_words(item, today)


@register.filter
def moment(text: str) -> datetime.datetime | None:
    """Read a moment back from a snapshot."""
    return parse_datetime(text) if text else None


@register.filter
def covered(row: Callback | CallbackEvent) -> str:
    """Say whether the warranty covers a callback, as somebody decided."""
    return str(COVER_WORDS[row.is_covered])

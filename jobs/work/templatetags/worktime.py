"""Minutes, trade steps and entries of the log for people."""

from django import template
from django.utils import formats
from django.utils.translation import gettext as _

from estimates.quotes.pricing import step_label
from estimates.quotes.templatetags.figures import MINUS, NARROW, millionths, say
from jobs.work.models import CostEntry, DayNote, DeliveryEntry, HoursEntry, LogEntry

register = template.Library()


@register.filter
def hours(minutes: int | None) -> str:
    """Print minutes as hours and minutes: 450 gives ``7:30 h``."""
    if minutes is None:
        return "–"
    sign = MINUS if minutes < 0 else ""
    return f"{sign}{abs(minutes) // 60}:{abs(minutes) % 60:02}{NARROW}h"


@register.filter
def step_name(step: str) -> str:
    """Print what a trade step is called."""
    return say(step_label(step))


@register.filter
def said(entry: LogEntry) -> str:
    """Print what an entry says, without money: ``6/1/2026, Tile setting 7:30 h``."""
    match entry:
        case HoursEntry():
            what = f"{entry.person}, {step_name(entry.step)} {hours(entry.minutes)}"
        case DeliveryEntry():
            what = f"{entry.material_name}, {millionths(entry.packs_millionths)} {entry.pack_label}"
            what += f", {entry.lot_numbers}" if entry.lot_numbers else ""
        case CostEntry():
            what = entry.what if entry.amount_cents else _("struck out")
        case DayNote():
            what = entry.text or _("struck out")
        case _:
            what = str(entry)
    return f"{formats.date_format(entry.day, 'SHORT_DATE_FORMAT')}: {what}"

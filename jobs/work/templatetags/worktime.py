"""Minutes, trade steps and entries of the log for people."""

from decimal import Decimal

from django import template
from django.utils import formats
from django.utils.translation import gettext as _

from estimates.quotes.pricing import step_label
from estimates.quotes.templatetags.figures import (
    MINUS,
    NARROW,
    millionths,
    percent,
    quantity,
    say,
    unit_name,
)
from estimates.takeoff.units import System
from jobs.work.daily.forms import degrees_text
from jobs.work.models import CostEntry, DayNote, DeliveryEntry, HoursEntry, LogEntry, ProgressEntry

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
def told(note: DayNote) -> str:
    """Print what a note of the day says: its cause, its temperatures on this site, its words."""
    parts = [str(note.get_cause_display())] if note.cause else []
    if note.low_tenths is not None and note.high_tenths is not None:
        system = System(note.job.site.units)
        degrees = "°C" if system is System.METRIC else "°F"
        low, high = degrees_text(note.low_tenths, system), degrees_text(note.high_tenths, system)
        parts.append(f"{low}{NARROW}{degrees}" if low == high else f"{low}–{high}{NARROW}{degrees}")
    return ": ".join([", ".join(parts), note.text]) if parts and note.text else ", ".join(parts) or note.text


@register.filter
def done(entry: ProgressEntry) -> str:
    """Print how much of a step is done: ``30 of 46 sq ft, 65 %``, or the share alone."""
    share = percent(entry.done_basis_points)
    if entry.quantity_thousandths is None or entry.of_thousandths is None:
        return share
    amounts = (Decimal(entry.quantity_thousandths) / 1000, Decimal(entry.of_thousandths) / 1000)
    finished, foreseen = (quantity(one) for one in amounts)
    words = {"done": finished, "foreseen": foreseen, "unit": unit_name(entry.unit), "share": share}
    return _("%(done)s of %(foreseen)s %(unit)s, %(share)s") % words


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
            what = told(entry) or _("struck out")
        case _:
            what = str(entry)
    return f"{formats.date_format(entry.day, 'SHORT_DATE_FORMAT')}: {what}"

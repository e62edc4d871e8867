"""Visits, days and waits in words, in the reader's language; for pages, sentences and calendar feeds."""

from __future__ import annotations

import datetime
from zoneinfo import ZoneInfo

from django.utils import formats
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.quotes.pricing import step_label
from estimates.quotes.templatetags.figures import say

from .models import Visit
from .network import Label

DASH = "–"
_NAMED = 2


def zone_of(visit: Visit) -> ZoneInfo:
    """Return the zone of the visit's site."""
    return ZoneInfo(visit.plan.job.site.time_zone)


def work_of(visit: Visit) -> str:
    """Return what a visit is for, in short: "Waterproofing, tile setting"."""
    if visit.title:
        return visit.title
    names = [say(step_label(step)) for step in visit.steps[:_NAMED]]
    if not names:
        return _("Work as quoted")
    first, *others = names
    return ", ".join([first, *(other[:1].lower() + other[1:] for other in others)])


def name_of(visit: Visit) -> str:
    """Return a visit's name for a sentence: "1004 Mudroom floor: tile setting"."""
    return f"{visit.plan.job}: {work_of(visit)}"


def day_of(day: datetime.date) -> str:
    """Print a day of the calendar: "Wed Dec 2", in Spanish "mié 2 dic"."""
    return formats.date_format(day, "WEEKDAY_FORMAT")


def clock_of(moment: datetime.datetime, zone: ZoneInfo) -> str:
    """Print a time of day where the site is: "2:30 PM", in Spanish "14:30"."""
    return formats.time_format(moment.astimezone(zone), "TIME_FORMAT")


def moment_of(moment: datetime.datetime, zone: ZoneInfo) -> str:
    """Print a moment where the site is: "Wed Dec 2, 2:30 PM"."""
    return f"{day_of(moment.astimezone(zone).date())}, {clock_of(moment, zone)}"


def hours_of(visit: Visit) -> str:
    """Print from when to when: "8:00 AM–4:30 PM"."""
    zone = zone_of(visit)
    return f"{clock_of(visit.starts_at, zone)}{DASH}{clock_of(visit.ends_at, zone)}"


def when_of(visit: Visit) -> str:
    return f"{day_of(visit.day)}, {hours_of(visit)}"


def wait_name(label: Label | None) -> str:
    """Print a wait: "Bond cures before tile"; None: the work of a visit itself."""
    return say(label) if label else _("the visit before")


def person_name(person: User) -> str:
    """Return how colleagues call somebody on a calendar: by the first name, or what they sign in with."""
    return person.first_name or person.username

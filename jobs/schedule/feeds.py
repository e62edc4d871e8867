"""Calendar feeds by RFC 5545: what a calendar program reads from a private link. No money, no access notes.

Times carry the site's time zone (TZID with its VTIMEZONE); days off are whole days. A visit keeps its UID
for ever and its SEQUENCE rises with every change. One that fell away, or that this person no longer makes,
stays for a while as STATUS:CANCELLED. Access notes are left out: a calendar is copied to servers that are
not ours, and the code of a door is not for them.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Prefetch, Q
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from icalendar import Calendar, Event

from contracting.staff.models import User
from contracting.staff.selectors import company_profile
from estimates.quotes.pricing import step_label
from estimates.quotes.templatetags.figures import say

from .models import DayOff, FeedLink, Visit, VisitPerson, Wait
from .words import moment_of, wait_name, work_of, zone_of

PRODUCT = "-//Ledgerboard//Calendar of visits//EN"
# What is over or was cancelled stays so long.
KEPT_FOR = datetime.timedelta(days=60)
# How often a calendar program should look again (RFC 7986, 5.7).
REFRESH = datetime.timedelta(hours=1)


@dataclass(frozen=True)
class Feed:
    """A feed as it is sent."""

    body: bytes
    sha256: str


def feed_of(link: FeedLink, *, now: datetime.datetime, site_address: str) -> Feed:
    """Return the feed of a private link: one person's visits, or all of the office's. 5 queries.

    Args:
        site_address: of this installation, such as ``https://board.example``, for links to jobs.
    """
    with translation.override(link.language):
        calendar = _calendar(link)
        since = (now - KEPT_FOR).date()
        for visit in _visits(link.person, since, now - KEPT_FOR):
            calendar.add_component(_event(visit, link.person, site_address))
        for row in _days_off(link.person, since):
            calendar.add_component(_day_off(row, is_own=link.person_id is not None))
        dates = [component.decoded("DTSTART") for component in calendar.walk("VEVENT")]
        days = [_date(moment) for moment in dates] or [now.date()]
        year = datetime.timedelta(days=366)
        calendar.add_missing_timezones(min(days) - year, max(days) + year)
        body = calendar.to_ical()
    return Feed(body, hashlib.sha256(body).hexdigest())


def _date(moment: datetime.date | datetime.datetime) -> datetime.date:
    return moment.date() if isinstance(moment, datetime.datetime) else moment


def _calendar(link: FeedLink) -> Calendar:
    company = company_profile()
    calendar = Calendar()
    calendar.add("PRODID", PRODUCT)
    calendar.add("VERSION", "2.0")
    calendar.add("CALSCALE", "GREGORIAN")
    name = _("%(name)s: visits") % {"name": link.person or (company.name if company else "Ledgerboard")}
    # RFC 7986, 5.1; the second for programs older than it.
    calendar.add("NAME", name)
    calendar.add("X-WR-CALNAME", name)
    calendar.add("REFRESH-INTERVAL", REFRESH, parameters={"VALUE": "DURATION"})
    return calendar


def _visits(person: User | None, since: datetime.date, cancelled_since: datetime.datetime) -> Iterable[Visit]:
    people = VisitPerson.objects.select_related("person")
    found = (
        Visit.objects.filter(Q(cancelled_at=None) | Q(cancelled_at__gte=cancelled_since), day__gte=since)
        .select_related("plan__job__site")
        .defer("plan__network", "plan__job__crew_notes", "plan__job__site__access_notes", "parts")
        .prefetch_related(
            Prefetch("people", queryset=people), Prefetch("waits", queryset=Wait.objects.filter(holds=True))
        )
        .order_by("starts_at", "pk")
    )
    if person is not None:
        own = VisitPerson.objects.filter(Q(left_at=None) | Q(left_at__gte=cancelled_since), person=person)
        found = found.filter(pk__in=own.values("visit"))
    return found


def _days_off(person: User | None, since: datetime.date) -> Iterable[DayOff]:
    rows = DayOff.objects.filter(last_on__gte=since, person__is_active=True).select_related("person")
    return rows if person is None else rows.filter(person=person)


def _event(visit: Visit, person: User | None, site_address: str) -> Event:
    job, zone = visit.plan.job, zone_of(visit)
    crew = [row for row in visit.people.all() if row.left_at is None]
    is_off = visit.cancelled_at is not None or (
        person is not None and all(row.person_id != person.pk for row in crew)
    )
    event = Event()
    event.add("UID", str(visit.uid))
    event.add("SEQUENCE", visit.sequence)
    # Without METHOD, DTSTAMP says when the event was last revised (RFC 5545, 3.8.7.2).
    event.add("DTSTAMP", visit.changed_at.astimezone(datetime.UTC))
    event.add("LAST-MODIFIED", visit.changed_at.astimezone(datetime.UTC))
    event.add("CREATED", visit.made_at.astimezone(datetime.UTC))
    event.add("DTSTART", visit.starts_at.astimezone(zone))
    event.add("DTEND", visit.ends_at.astimezone(zone))
    event.add("SUMMARY", f"{job}: {work_of(visit)}")
    event.add("STATUS", "CANCELLED" if is_off else "CONFIRMED")
    place = " ".join(part for part in (job.site.region, job.site.postal_code) if part)
    event.add("LOCATION", ", ".join(part for part in (job.site.street, job.site.city, place) if part))
    event.add("DESCRIPTION", "\n".join(_lines(visit, [row.person for row in crew])))
    event.add("URL", site_address + reverse("schedule:job", args=[job.pk]))
    return event


def _lines(visit: Visit, crew: Iterable[User]) -> Iterable[str]:
    """Yield what an event says about itself, in plain lines."""
    zone = zone_of(visit)
    yield _("Customer: %(name)s") % {"name": visit.plan.job.customer_name}
    if visit.rooms:
        yield _("Rooms: %(rooms)s") % {"rooms": ", ".join(visit.rooms)}
    if visit.steps:
        steps = ", ".join(say(step_label(step)) for step in visit.steps)
        yield _("Work: %(steps)s") % {"steps": steps}
    names = ", ".join(str(person) for person in crew)
    if names:
        yield _("Crew: %(names)s") % {"names": names}
    for wait in visit.waits.all():
        yield _("Then: %(wait)s, until %(until)s") % {
            "wait": wait_name(wait.label),
            "until": moment_of(wait.ends_at, zone),
        }


def _day_off(row: DayOff, *, is_own: bool) -> Event:
    event = Event()
    event.add("UID", f"day-off-{row.pk}-{int(row.made_at.timestamp())}")
    event.add("SEQUENCE", 0)
    event.add("DTSTAMP", row.made_at.astimezone(datetime.UTC))
    event.add("LAST-MODIFIED", row.made_at.astimezone(datetime.UTC))
    event.add("DTSTART", row.first_on)
    # The end is not part of the event (RFC 5545, 3.6.1).
    event.add("DTEND", row.last_on + datetime.timedelta(days=1))
    event.add("SUMMARY", _("Day off") if is_own else _("%(name)s: day off") % {"name": row.person})
    event.add("TRANSP", "OPAQUE")
    return event

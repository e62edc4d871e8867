"""The calendar's part of the first page: today's visits and those of the rest of the week."""

from __future__ import annotations

import datetime

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import CREW

from .models import Visit
from .selectors import visits_between
from .words import day_of, hours_of, person_name, work_of

MOST = 8


def register() -> None:
    """Show everybody who goes where this week; an installer sees their own."""
    home.register(home.Part(roles=CREW, order=10, section=visits_section))


def visits_section(user: User) -> home.Section | None:
    """Return today's visits and those of the week ahead; 2 queries."""
    today = timezone.localdate()
    found = list(visits_between(user, today, today + datetime.timedelta(days=6))[:MOST])
    if not found and user.sees_money:
        return None
    return home.Section(
        heading=_("Visits today and this week"),
        items=[_item(visit, user, today) for visit in found],
        empty=_("You are down for no visit this week."),
        more=(_("Calendar"), reverse("schedule:calendar")),
    )


def _item(visit: Visit, user: User, today: datetime.date) -> home.Item:
    job = visit.plan.job
    names = ", ".join(person_name(row.person) for row in visit.people.all()) or _("nobody yet")
    day = _("today") if visit.day == today else day_of(visit.day)
    return home.Item(
        title=str(job),
        url=job.get_absolute_url() if not user.sees_money else visit.plan.get_absolute_url(),
        detail=f"{work_of(visit)} · {names if user.sees_money else job.site.street}",
        when=f"{day}, {hours_of(visit)}",
    )

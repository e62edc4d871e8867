"""The jobs' part of the first page: what is under way and what comes next."""

import datetime

from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import CREW

from .models import Job
from .selectors import jobs_to_come, jobs_under_way


def register() -> None:
    """Show the jobs under way and those that come next, to everybody their own."""
    home.register(home.Part(roles=CREW, order=30, section=under_way))
    home.register(home.Part(roles=CREW, order=31, section=to_come))


def under_way(user: User) -> home.Section | None:
    """Return the jobs that are being worked on with how far they are, or None when there is none."""
    items = [_item(job, _("since {day}").format(day=_day(job.starts_on))) for job in jobs_under_way(user)]
    return home.Section(heading=_("Jobs under way"), items=items, more=_every_job()) if items else None


def to_come(user: User) -> home.Section | None:
    """Return the signed jobs that have not begun, by start; who is on no open job is told why."""
    items = [_item(job, _day(job.starts_on)) for job in jobs_to_come(user)]
    if not items and jobs_under_way(user).exists():
        return None
    empty = (
        _("No open job. A quote that the customer has signed becomes a job.")
        if user.sees_money
        else _("You are on no open job. The office puts you on one.")
    )
    return home.Section(heading=_("Jobs coming up"), items=items, empty=empty, more=_every_job())


def _item(job: Job, when: str) -> home.Item:
    detail = f"{job.site.street} · {job.get_stage_display()}"
    return home.Item(title=str(job), url=job.get_absolute_url(), detail=detail, when=when)


def _every_job() -> tuple[str, str]:
    return _("All jobs"), reverse("work:jobs")


def _day(starts_on: datetime.date | None) -> str:
    return formats.date_format(starts_on, "SHORT_DATE_FORMAT") if starts_on else _("no date yet")

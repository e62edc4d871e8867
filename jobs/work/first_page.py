"""The jobs' part of the first page: what comes next."""

import datetime

from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import CREW

from .selectors import jobs_next


def register() -> None:
    """Show the jobs that come next, to everybody their own."""
    home.register(home.Part(roles=CREW, order=30, section=jobs_coming))


def jobs_coming(user: User) -> home.Section | None:
    """Return the open jobs by start date; an installer's are those they are on."""
    items = [
        home.Item(
            title=str(job),
            url=job.get_absolute_url(),
            detail=f"{job.site.street} · {job.get_stage_display()}",
            when=formats.date_format(job.starts_on, "SHORT_DATE_FORMAT")
            if job.starts_on
            else _("no date yet"),
        )
        for job in jobs_next(user, today=timezone.localdate())
    ]
    empty = (
        _("No open job. A quote that the customer has signed becomes a job.")
        if user.sees_money
        else _("You are on no open job. The office puts you on one.")
    )
    return home.Section(
        heading=_("Jobs coming up"), items=items, empty=empty, more=(_("All jobs"), reverse("work:jobs"))
    )


def _day(starts_on: datetime.date | None) -> str:
    return formats.date_format(starts_on, "SHORT_DATE_FORMAT") if starts_on else _("no date yet")

"""The crew's part of the first page: their phone's pages, and for the office what phones left to look at."""

from collections.abc import Iterator

from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from jobs.work import history
from jobs.work.models import Job

from .selectors import look_ats
from .sentences import act_sentence, why_sentence

MOST = 8


def to_look_at(user: User) -> home.Section | None:
    """Return what two people did at once, and what was refused; None when there is nothing."""
    rows = list(look_ats()[: MOST + 1])
    if not rows:
        return None
    return home.Section(
        heading=_("To look at from the crews' phones"),
        items=[
            home.Item(
                title=why_sentence(row),
                url=reverse("crew:look-at"),
                detail=f"{row.job} · {act_sentence(row.act)}",
                when=formats.date_format(row.act.at, "SHORT_DATE_FORMAT"),
            )
            for row in rows[:MOST]
        ],
        more=(_("All of them"), reverse("crew:look-at")),
    )


def told(job: Job) -> Iterator[history.Told]:
    """Yield what phones left to look at, for the job's history."""
    for row in look_ats(is_open=False).filter(job=job).order_by("made_at"):
        words = why_sentence(row) if row.seen_at else _("To look at: %(why)s") % {"why": why_sentence(row)}
        yield history.Told(
            row.made_at, words, str(row.act.person), act_sentence(row.act), reverse("crew:look-at")
        )


def phone_pages(user: User) -> home.Section | None:
    """Lead an installer to the pages for the phone; the office finds them on each job."""
    if user.sees_money:
        return None
    item = home.Item(
        title=_("Today's jobs on the phone"),
        url=reverse("crew:today"),
        detail=_("Plans, cut list, clocks, checks and hours; they work without signal."),
    )
    return home.Section(heading=_("On site"), items=[item])

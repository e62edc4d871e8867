"""The owner's part of the first page: which margins want looking at."""

from django.urls import reverse
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import OWNER

from . import selectors


def register() -> None:
    """Show the owner how many open jobs fall behind their quote."""
    home.register(home.Part(roles=OWNER, order=40, section=margins_section))


def margins_section(user: User) -> home.Section | None:
    """Return the figures, or None while no job has a budget; two queries."""
    address = reverse("margins:margins")
    falling = selectors.margins(show="falling").count()
    unsure = selectors.margins(stage="", show="unsure").count()
    if not falling and not unsure:
        return None
    figures = [
        home.Figure(
            _("Open jobs whose forecast is below the quote"), str(falling), f"{address}?show=falling"
        ),
        home.Figure(_("Jobs with costs still open"), str(unsure), f"{address}?stage=&show=unsure"),
    ]
    return home.Section(heading=_("Margins"), figures=figures, more=(_("Margin by job"), address))

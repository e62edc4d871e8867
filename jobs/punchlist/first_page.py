"""The punch lists' part of the first page: what somebody has to mend, the most overdue first."""

from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import CREW

from .models import PunchItem
from .selectors import due_words, items_to_mend

SHOWN = 8


def register() -> None:
    """Show an installer what they have to mend, and the office every item with who mends it."""
    home.register(home.Part(roles=CREW, order=28, section=to_mend_section))


def to_mend_section(user: User) -> home.Section | None:
    """Return the items by due day, or None when there is none; one query."""
    items = list(items_to_mend(user)[:SHOWN])
    if not items:
        return None
    return home.Section(
        heading=_("To mend by the punch lists"),
        items=[_entry(item, user) for item in items],
        more=(_("Every item to mend"), reverse("punchlist:every-list")),
    )


def _entry(item: PunchItem, user: User) -> home.Item:
    day = formats.date_format(item.due_on, "SHORT_DATE_FORMAT") if item.due_on else _("no day yet")
    words = due_words(item, timezone.localdate())
    owner = str(item.owner) if item.owner else _("nobody yet")
    return home.Item(
        title=item.text,
        url=item.get_absolute_url(),
        detail=f"{item.job} · {owner}" if user.sees_money or item.owner is None else str(item.job),
        when=f"{day}, {words}" if words else day,
    )

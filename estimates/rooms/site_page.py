"""The part of a site's page about what is measured there."""

from __future__ import annotations

from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from contracting.customers import shown
from contracting.customers.models import Site
from contracting.staff.home import Item, Section

from .models import Room
from .selectors import rooms_of_site


def register() -> None:
    """Show the office the rooms of a site on the site's page."""
    shown.register_site(rooms)


def rooms(site: Site) -> Section | None:
    """Return the rooms measured at *site*, by name."""
    items = [
        Item(title=room.name, url=room.get_absolute_url(), detail=_said(room), when=_day(room))
        for room in rooms_of_site(site)
    ]
    more = (_("All rooms"), reverse("rooms:rooms", args=[site.pk]))
    return Section(heading=_("Rooms"), items=items, more=more) if items else None


def _said(room: Room) -> str:
    count = getattr(room, "surface_count", 0)
    surfaces = ngettext("%(count)s surface", "%(count)s surfaces", count) % {"count": count}
    return f"{room.outline_text} · {surfaces}" if room.outline_text else surfaces


def _day(room: Room) -> str:
    return _("measured {day}").format(day=formats.date_format(room.updated_at, "SHORT_DATE_FORMAT"))

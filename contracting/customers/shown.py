"""What a customer's and a site's page show besides contacts and facts. An app adds its part in
``AppConfig.ready``.

This way the pages can speak of rooms, estimates and contracts, whose apps import this layer and are not
imported by it.
"""

from collections.abc import Callable

from contracting.staff.home import Section

from .models import Customer, Site

Part = Callable[[Customer], Section | None]
SitePart = Callable[[Site], Section | None]

_parts: list[Part] = []
_site_parts: list[SitePart] = []


def register(part: Part) -> None:
    """Add a part to every customer's page; it may run queries, and return None when there is nothing."""
    _parts.append(part)


def register_site(part: SitePart) -> None:
    """Add a part to every site's page, as above."""
    _site_parts.append(part)


def sections_of(customer: Customer) -> list[Section]:
    """Return what *customer*'s page shows of other apps, in the order they registered."""
    return [section for part in _parts if (section := part(customer)) is not None]


def site_sections_of(site: Site) -> list[Section]:
    """Return what *site*'s page shows of other apps, in the order they registered."""
    return [section for part in _site_parts if (section := part(site)) is not None]

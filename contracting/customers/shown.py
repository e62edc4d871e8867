"""What a customer's page shows besides sites and contacts. An app adds its part in ``AppConfig.ready``.

This way the page can speak of contracts, whose apps import this layer and are not imported by it.
"""

from collections.abc import Callable

from contracting.staff.home import Section

from .models import Customer

Part = Callable[[Customer], Section | None]

_parts: list[Part] = []


def register(part: Part) -> None:
    """Add a part to every customer's page; it may run queries, and return None when there is nothing."""
    _parts.append(part)


def sections_of(customer: Customer) -> list[Section]:
    """Return what *customer*'s page shows of other apps, in the order they registered."""
    return [section for part in _parts if (section := part(customer)) is not None]

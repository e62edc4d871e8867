"""System checks: every address says who may open it."""

from collections.abc import Iterator
from typing import Any

from django.core.checks import CheckMessage, Error, register
from django.urls import URLPattern, URLResolver, get_resolver

from .policies import is_marked


@register("security")
def every_view_is_marked(**kwargs: Any) -> list[CheckMessage]:
    """Name the views that ``PolicyMiddleware`` would refuse."""
    return [
        Error(
            f"The view of {address} does not say who may open it.",
            hint="Decorate it with office_required, owner_required, crew_allowed or everyone_allowed.",
            id="staff.E001",
        )
        for address, pattern in url_patterns()
        if not is_marked(pattern.callback)
    ]


def url_patterns(resolver: URLResolver | None = None, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Yield every address of the site with its pattern; the permission table is held against these too."""
    for entry in (resolver or get_resolver()).url_patterns:
        address = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from url_patterns(entry, address)
        else:
            yield address, entry

"""System checks: can this machine lay out pages?"""

from typing import Any

from django.core.checks import CheckMessage, Warning, register

from .errors import LibraryMissing
from .rendering import check_library


@register()
def pango_is_installed(**kwargs: Any) -> list[CheckMessage]:
    """Warn, and not fail: a web server may run where only the workers, elsewhere, make documents."""
    try:
        check_library()
    except LibraryMissing as error:
        return [Warning(str(error), id="documents.W001")]
    return []

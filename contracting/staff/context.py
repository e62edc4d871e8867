"""What every template knows: the company."""

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from .selectors import company_profile


def company(request: HttpRequest) -> dict[str, object]:
    """Give templates ``company``: read at its first use, and once a page."""
    return {"company": SimpleLazyObject(company_profile)}

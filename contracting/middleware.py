"""What holds for every request, whoever makes it."""

from collections.abc import Callable

from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse


class PlainAddressMiddleware:
    """Refuse an address that asks for a NUL: no person types one, and PostgreSQL keeps no such text.

    Forms refuse it field by field; what stands behind the question mark reaches no form.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if "%00" in request.META.get("QUERY_STRING", ""):
            raise SuspiciousOperation("The address holds a NUL character.")
        return self.get_response(request)

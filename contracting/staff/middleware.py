"""Default deny for addresses, and each person's own language."""

import logging
from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.utils import translation

from .policies import is_marked

logger = logging.getLogger(__name__)
Handler = Callable[[HttpRequest], HttpResponseBase]


class PolicyMiddleware:
    """Refuse every address whose view does not say who may open it."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: object, kwargs: object
    ) -> None:
        if not is_marked(view):
            logger.error("%s carries no mark of who may open it, so nobody may.", view.__qualname__)
            raise PermissionDenied


class PersonLanguageMiddleware:
    """Show the site in the language that the person who signed in has chosen."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.user.is_authenticated:
            translation.activate(request.user.language)
            request.LANGUAGE_CODE = translation.get_language() or ""
        return self.get_response(request)

"""Keeps one address from having files examined without end. A proxy in front may well limit more strictly."""

from __future__ import annotations

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest

A_MINUTE = 60
UPLOADS_A_MINUTE = 10


def is_too_often(request: HttpRequest) -> bool:
    """Count this request, and return whether its sender has had enough of this minute."""
    key = f"verify-upload:{sender_of(request)}"
    cache.add(key, 0, A_MINUTE)
    try:
        return cache.incr(key) > UPLOADS_A_MINUTE
    except ValueError:
        # It ran out between the two lines: a new minute.
        return False


def sender_of(request: HttpRequest) -> str:
    """Return the address a request came from; behind a proxy, the one that the proxy itself saw."""
    if settings.SECURE_PROXY_SSL_HEADER:
        # The proxy appends; what stands before it was written by whoever sent the request.
        told = request.META.get("HTTP_X_FORWARDED_FOR", "").rsplit(",")[-1].strip()
        if told:
            return str(told)
    return str(request.META.get("REMOTE_ADDR", ""))

"""Keeps the tokens of private links out of the logs: whoever reads a log must not be able to open a link."""

from __future__ import annotations

import logging
import re

_LINK = re.compile(r"(/q/(?:c/)?|/feed/)[^/\s\"'?#]+")


def masked(text: str) -> str:
    """Return *text* with every private link's token left out.

    >>> masked("GET /q/AbC-123/sign/ HTTP/1.1")
    'GET /q/…/sign/ HTTP/1.1'
    >>> masked("GET /q/c/AbC-123/ HTTP/1.1")
    'GET /q/c/…/ HTTP/1.1'
    >>> masked("GET /feed/AbC-123/visits.ics HTTP/1.1")
    'GET /feed/…/visits.ics HTTP/1.1'
    """
    return _LINK.sub(r"\1…", text)


class MaskPrivateLinks(logging.Filter):
    """Rewrites a log record that names a private link; nothing is dropped."""

    def filter(self, record: logging.LogRecord) -> bool:
        text = record.getMessage()
        if "/q/" in text or "/feed/" in text:
            record.msg, record.args = masked(text), ()
        return True

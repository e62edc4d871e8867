"""Photos on paper: frozen as data with the hashes of their bytes, and drawn from that data alone."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from contracting.documents.errors import DocumentError

from . import arrows, storing
from .gallery import Shot


def frozen(shot: Shot) -> dict[str, Any]:
    """Return a photo as a document freezes it: words in the language at hand, its time in UTC.

    *sha256* is that of the photo as we keep it, *paper_sha256* that of the smaller one on the pages, which
    can be taken out of the PDF again and held against it.
    """
    photo, said = shot.photo, shot.said
    return {
        "sha256": photo.sha256,
        "paper_sha256": photo.paper_sha256,
        "width": photo.width,
        "height": photo.height,
        "caption": said.caption,
        "about": shot.label,
        "arrows": said.arrows,
        "taken_at": photo.taken_at.astimezone(datetime.UTC).isoformat(),
        "by": str(photo.by),
    }


def shown(number: int, photo: Mapping[str, Any]) -> dict[str, Any]:
    """Return a frozen photo as ``photos/_paper.html`` prints it."""
    taken_at = datetime.datetime.fromisoformat(photo["taken_at"])
    return {**photo, "number": number, "taken_at": taken_at, "drawing": drawing(photo)}


def drawing(photo: Mapping[str, Any]) -> SafeString:
    """Return a frozen photo as pages show it: a picture, or with arrows a drawing that holds it.

    Its caption, or what it belongs to, is said to who cannot see it.
    """
    said = photo["caption"] or photo["about"]
    source = f"stored:{photo['paper_sha256']}"
    width, height = photo["width"], photo["height"]
    if not photo["arrows"]:
        return format_html('<img src="{}" alt="{}">', source, said)
    return format_html(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}">'
        '<title>{said}</title><image href="{source}" width="{w}" height="{h}"/>{arrows}</svg>',
        w=width,
        h=height,
        said=said,
        source=source,
        arrows=arrows.paths(photo["arrows"], width, height),
    )


def picture(sha256: str) -> bytes:
    """Return the bytes of a picture that a document names.

    Raises:
        DocumentError: it is missing from the store, or is not what it was when the document was frozen.
    """
    try:
        return storing.read(sha256)
    except storing.FileSpoilt as error:
        sentence = _("The photo %(hash)s… is missing from the store, or was changed there.")
        raise DocumentError(sentence % {"hash": sha256[:12]}) from error

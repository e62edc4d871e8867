"""The quote as a document: what its template is given, from the frozen paper and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.dateparse import parse_datetime
from django.utils.safestring import mark_safe

from contracting.documents import registry
from estimates.takeoff.units import System

KIND = "quote"


def context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return the snapshot with its drawings as SVG and its time read."""
    from estimates.rooms.drawing import scale_words

    system = System(snapshot["site"]["units"])
    rooms = [
        # The drawing is our own SVG, frozen when the quote was issued; its texts were escaped there.
        {**room, "drawing": mark_safe(room["drawing"]), "scale_words": scale_words(room["scale"], system)}  # noqa: S308
        for room in snapshot["rooms"]
    ]
    return {**snapshot, "rooms": rooms, "issued_at": parse_datetime(snapshot["issued_at"])}


def filename(snapshot: Mapping[str, Any]) -> str:
    """Return the file's name: number and revision, no money."""
    return f"{snapshot['number']}-r{snapshot['revision']}.pdf"


def register() -> None:
    """Make the kind known to the documents app."""
    registry.register(KIND, template="quotes/quote_paper.html", context=context, filename=filename)

"""The change order as a document: from the frozen paper and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.dateparse import parse_datetime

from contracting.documents import registry

from .services import DOCUMENT_KIND


def context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return the snapshot with its time read."""
    return {**snapshot, "issued_at": parse_datetime(snapshot["issued_at"])}


def filename(snapshot: Mapping[str, Any]) -> str:
    """Return the file's name: its number, no money."""
    return f"{snapshot['number'].replace(' ', '-')}.pdf"


def register() -> None:
    """Make the kind known to the documents app."""
    registry.register(DOCUMENT_KIND, template="changes/order_paper.html", context=context, filename=filename)

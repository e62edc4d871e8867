"""The warranty record on paper: an archival PDF with its data inside, signed by the company."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from django.utils.dateparse import parse_datetime
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.documents.registry import Attached, Snapshot
from contracting.documents.services import canonical_json
from jobs.inspections.verdicts import span
from jobs.photos import paper as photos

from . import journal, keys, signing
from .services import KIND, content_sha256


def register() -> None:
    """Make the kind known to the documents app."""
    registry.register(
        KIND,
        template="warranty/record_paper.html",
        context=paper_context,
        filename=lambda snapshot: f"warranty-record-{snapshot['record']['number']}.pdf",
        variant=registry.ARCHIVAL,
        attachments=attachments,
        stored=photos.picture,
        finish=finish,
    )


def paper_context(snapshot: Snapshot) -> dict[str, Any]:
    """Return what the template is given, from the snapshot and nothing else."""
    record = snapshot["record"]
    return {
        **snapshot,
        "issued_at": parse_datetime(record["issued_at"]),
        "code_in_groups": in_groups(record["code"]),
        "content_sha256": content_sha256(dict(snapshot)),
        "plans": [_plan(room) for room in snapshot["plans"]],
        "photos": [photos.shown(number, one) for number, one in enumerate(snapshot.get("photos", ()), 1)],
        "flood_tests": [_flood_test(test) for test in snapshot["flood_tests"]],
    }


def attachments(snapshot: Snapshot) -> list[Attached]:
    """Return the record as data: the very text whose hash stands in the chain."""
    return [
        Attached(
            name=signing.ATTACHMENT,
            content=canonical_json(dict(snapshot)).encode(),
            description=_("The record as data"),
            made_at=datetime.datetime.fromisoformat(snapshot["record"]["issued_at"]),
        )
    ]


def finish(pdf: bytes, snapshot: Snapshot) -> bytes:
    """Sign the pages with the company's key, and note beside the key what was signed.

    Raises:
        KeyMissing: no key has been made on this machine.
    """
    record, site = snapshot["record"], snapshot["site"]
    key = keys.current_key()
    reason = _("Warranty record %(number)s") % {"number": record["number"]}
    signed = signing.sign(pdf, key, reason=reason, place=site["town"])
    journal.note(number=record["number"], sequence=record["sequence"], sha256=content_sha256(dict(snapshot)))
    return signed


def in_groups(code: str) -> str:
    """Return a code as it is printed: groups of four."""
    return "-".join(code[at : at + 4] for at in range(0, len(code), 4))


def _plan(room: Mapping[str, Any]) -> dict[str, Any]:
    # Our own SVG, frozen when the quote was issued; its texts were escaped there.
    drawings = [{**one, "svg": mark_safe(one["svg"])} for one in room["drawings"]]  # noqa: S308
    faces = [{**one, "svg": mark_safe(one["svg"])} for one in room["faces"]]  # noqa: S308
    return {**room, "drawings": drawings, "faces": faces}


def _flood_test(test: Mapping[str, Any]) -> dict[str, Any]:
    moments = {
        name: parse_datetime(test[name]) for name in ("laid_at", "started_at", "ended_at") if test[name]
    }
    spans = {
        name: span(datetime.timedelta(seconds=test[f"{name}_seconds"] or 0))
        for name in ("stood", "stands", "waited", "wait")
    }
    return {**test, **moments, **spans}

"""Proves the chain of records: what was removed, re-ordered, dated back or altered is named."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.core.files.storage import default_storage
from django.utils.translation import gettext as _

from contracting.documents.models import DocumentRequest

from . import journal, keys, signing
from .models import WarrantyRecord
from .services import KIND, content_sha256


@dataclass(frozen=True)
class Fault:
    """What is wrong with a record, in a sentence that can be read alone."""

    number: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.number}: {self.sentence}"


def faults(*, with_files: bool = True) -> Iterator[Fault]:
    """Yield everything that is not as it was issued; nothing means that the chain holds.

    Args:
        with_files: also hold every stored PDF against its hash and its signature.
    """
    yield from _chain_faults()
    yield from _journal_faults()
    yield from _document_faults()
    if with_files:
        yield from _file_faults()


def files_not_made() -> list[str]:
    """Return the numbers of the records whose PDF is not made yet: no fault, but not proven either."""
    rows = WarrantyRecord.objects.exclude(document__status="done").order_by("sequence")
    return list(rows.values_list("number", flat=True))


def _chain_faults() -> Iterator[Fault]:
    last: WarrantyRecord | None = None
    rows = WarrantyRecord.objects.select_related("job", "issued_by", "supersedes").order_by("sequence")
    for record in rows.iterator(chunk_size=50):
        yield from _content_faults(record)
        yield from _place_faults(record, last)
        last = record


def _content_faults(record: WarrantyRecord) -> Iterator[Fault]:
    """Yield where a record differs from what was hashed when it was issued."""
    if content_sha256(record.snapshot) != record.sha256:
        yield Fault(record.number, _("its content was altered after it was issued."))
    told = record.snapshot.get("record", {})
    columns = {
        "number": (record.number, _("its number")),
        "sequence": (record.sequence, _("its place in the chain")),
        "issued_at": (record.issued_at.isoformat(), _("its date of issue")),
        "code": (record.code, _("its verification code")),
        "previous_sha256": (record.previous_sha256, _("the hash of the record before")),
        "supersedes": (record.supersedes.number if record.supersedes else "", _("what it replaces")),
        "reason": (record.reason, _("the reason of its replacement")),
    }
    for name, (value, words) in columns.items():
        if told.get(name) != value:
            yield Fault(
                record.number,
                _("%(what)s was altered: the record itself says “%(told)s”, the table “%(value)s”.")
                % {"what": words, "told": told.get(name), "value": value},
            )
    if record.snapshot.get("job", {}).get("number") != record.job.number:
        yield Fault(record.number, _("it was moved to another job."))


def _place_faults(record: WarrantyRecord, last: WarrantyRecord | None) -> Iterator[Fault]:
    """Yield what is wrong between a record and the one before it."""
    expected = last.sequence + 1 if last else 1
    if record.sequence > expected:
        gone = ", ".join(str(place) for place in range(expected, record.sequence))
        yield Fault(record.number, _("before it, records were removed: places %(gone)s.") % {"gone": gone})
    elif record.previous_sha256 != (last.sha256 if last else ""):
        before = last.number if last else _("nothing")
        yield Fault(
            record.number,
            _("it does not follow %(before)s: one of them was altered, exchanged or put in later.")
            % {"before": before},
        )
    if last is not None and record.issued_at < last.issued_at:
        yield Fault(record.number, _("it is dated before %(last)s.") % {"last": last.number})


def _journal_faults() -> Iterator[Fault]:
    """Yield what was signed on this machine and is not in the chain, or is there otherwise."""
    known = dict(WarrantyRecord.objects.values_list("number", "sha256"))
    for line in journal.lines():
        if line.number not in known:
            yield Fault(line.number, _("it was signed here, and it was removed from the records."))
        elif known[line.number] != line.sha256:
            yield Fault(line.number, _("what was signed here is not what the record says now."))


def _document_faults() -> Iterator[Fault]:
    """Yield papers that were made of a record which is not there any more."""
    orphans = DocumentRequest.objects.filter(kind=KIND, warranty_record=None).order_by("pk")
    for subject in orphans.values_list("subject", flat=True):
        yield Fault(subject, _("its paper is there, and its record was removed."))


def _file_faults() -> Iterator[Fault]:
    certificates = keys.certificate_files()
    if not certificates:
        yield Fault("–", _("no certificate is on this machine, so no signature can be proven."))
        return
    rows = WarrantyRecord.objects.filter(document__status="done").select_related("document")
    for record in rows.defer("snapshot", "document__snapshot").order_by("sequence").iterator():
        sentence = _file_fault(record, certificates)
        if sentence:
            yield Fault(record.number, sentence)


def _file_fault(record: WarrantyRecord, certificates: list[Path]) -> str:
    try:
        with default_storage.open(record.document.file) as file:
            pdf = file.read()
    except FileNotFoundError:
        return _("its PDF is gone from the store.")
    if hashlib.sha256(pdf).hexdigest() != record.document.sha256:
        return _("its PDF is not the one that was stored.")
    found = signing.examine(pdf, certificates)
    if not found.is_whole:
        return _("the signature of its PDF does not hold.")
    if found.content_sha256 != record.sha256:
        return _("the data in its PDF is not the record's.")
    return ""

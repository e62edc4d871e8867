"""What the public page says about a record: genuine, changed, unknown or superseded, and nothing private."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import dataclass
from enum import StrEnum
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models.fields.json import KT

from . import examiner, keys
from .models import WarrantyRecord
from .selectors import bare_code

# More than any record of ours; a person's phone should not send more for nothing.
LARGEST_FILE = 20_000_000
BEGINS = b"%PDF-"


class Verdict(StrEnum):
    GENUINE = "genuine"
    SUPERSEDED = "superseded"
    # The code is known: the record exists, but the file in somebody's hands has not been looked at.
    ON_THE_BOOKS = "on the books"
    CHANGED = "changed"
    # Our key signed it and our books do not know it: a record was taken out of them.
    MISSING = "missing"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Answer:
    """A verdict, and what may be told of the record: no customer, no address, no work."""

    verdict: Verdict
    number: str = ""
    company: str = ""
    issued_on: datetime.date | None = None
    replaced_by: str = ""
    replaced_on: datetime.date | None = None


def verify_code(code: str) -> Answer:
    """Return what may be said of the record with this code; dashes, blanks and case do not matter."""
    record = _record(code=bare_code(code))
    if record is None:
        return Answer(Verdict.UNKNOWN)
    return _answer(record, Verdict.ON_THE_BOOKS)


def verify_file(pdf: bytes) -> Answer:
    """Return whether *pdf* is a record as we issued it.

    Raises:
        BusyError: too many files are being looked at just now.
    """
    found = examiner.examine_apart(pdf, keys.certificate_files(), code_folder=settings.BASE_DIR)
    if found.is_whole:
        record = _record(sha256=found.content_sha256)
        if record is None:
            return Answer(Verdict.MISSING)
        return _answer(record, Verdict.GENUINE if _is_as_stored(pdf, record) else Verdict.CHANGED)
    claimed = _record(code=bare_code(found.code))
    if claimed is not None:
        return _answer(claimed, Verdict.CHANGED)
    return Answer(Verdict.CHANGED if found.is_ours else Verdict.UNKNOWN)


def _is_as_stored(pdf: bytes, record: WarrantyRecord) -> bool:
    """Whether *pdf* is byte for byte the file that was stored when it was signed.

    A signature cannot cover itself: the versions and lists of algorithms around it can be rewritten, and it
    stays valid. The hash of the stored file leaves nothing out. Without one the signature alone speaks.
    """
    stored = record.document.sha256
    return not stored or stored == hashlib.sha256(pdf).hexdigest()


def _record(**wanted: str) -> WarrantyRecord | None:
    if not all(wanted.values()):
        return None
    return (
        WarrantyRecord.objects.filter(**wanted)
        .select_related("superseded_by", "document")
        .defer("snapshot", "superseded_by__snapshot", "document__snapshot")
        .annotate(company=KT("snapshot__company__name"), zone=KT("snapshot__time_zone"))
        .first()
    )


def _answer(record: WarrantyRecord, verdict: Verdict) -> Answer:
    newer = record.superseded_by if record.is_superseded else None
    if newer is not None and verdict in {Verdict.GENUINE, Verdict.ON_THE_BOOKS}:
        verdict = Verdict.SUPERSEDED
    zone = ZoneInfo(record.zone)  # type: ignore[attr-defined]
    return Answer(
        verdict,
        record.number,
        record.company,  # type: ignore[attr-defined]
        record.issued_at.astimezone(zone).date(),
        newer.number if newer else "",
        newer.issued_at.astimezone(zone).date() if newer else None,
    )

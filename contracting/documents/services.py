"""What changes a document's row: asking, claiming, finishing, failing, trying again."""

import hashlib
import json
import logging
from datetime import timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.text import get_valid_filename
from django.utils.translation import gettext as _

from contracting.staff.models import User

from . import registry
from .models import MAX_ATTEMPTS, TRANSITIONS, Audience, DocumentRequest, Status
from .rendering import RenderedDocument

logger = logging.getLogger(__name__)

# Longer than the hard time limit of a task, so that no row is taken from a worker that still works on it.
LEASE = timedelta(seconds=settings.CELERY_TASK_TIME_LIMIT + 30)
# Wait before the second, third and fourth attempt.
BACK_OFF = (timedelta(seconds=5), timedelta(minutes=1), timedelta(minutes=5))


@transaction.atomic
def document_request(
    *, kind: str, snapshot: dict[str, Any], subject: str, audience: Audience | str, by: User | None
) -> DocumentRequest:
    """Ask for the document of *snapshot*; asking again for the same one returns the one there is.

    Call it inside the transaction of what wants the document: both are stored, or neither.

    Args:
        kind: a name given to :func:`contracting.documents.registry.register`.
        snapshot: everything the pages show; JSON, where Decimals and dates become text.
        subject: what the progress page calls it, such as "Quote 2041"; no money.
        audience: who may fetch it.
        by: who asked.

    Raises:
        KeyError: nobody registered *kind*.
        ValueError: the same snapshot was asked for under another audience, or holds NaN.
    """
    renderer = registry.renderer(kind)
    text = canonical_json(snapshot)
    frozen = json.loads(text)
    document, is_new = DocumentRequest.objects.get_or_create(
        kind=kind,
        snapshot_sha256=hashlib.sha256(text.encode()).hexdigest(),
        defaults={
            "snapshot": frozen,
            "subject": subject[:200],
            "audience": Audience(audience),
            "requested_by": by,
            "filename": get_valid_filename(renderer.filename(frozen))[:150],
        },
    )
    if document.audience != audience:
        raise ValueError(f"{kind} {document.pk} was asked for as {document.audience}, now as {audience}")
    if is_new:
        _nudge_on_commit(document)
    return document


@transaction.atomic
def document_retry(*, document: DocumentRequest) -> DocumentRequest:
    """Try a failed document again, from its first attempt on; one that has not failed is left alone."""
    if status_change(
        document,
        Status.FAILED,
        Status.QUEUED,
        attempts_left=MAX_ATTEMPTS,
        due_at=timezone.now(),
        finished_at=None,
        error="",
        percent=0,
    ):
        _nudge_on_commit(document)
    document.refresh_from_db()
    return document


def document_claim(*, pk: int) -> DocumentRequest | None:
    """Take the row for this worker, or return None: somebody else has it, or it is done, or not yet due."""
    now = timezone.now()
    document = DocumentRequest.objects.filter(pk=pk, status=Status.QUEUED, due_at__lte=now).first()
    if document is None:
        return None
    taken = status_change(
        document,
        Status.QUEUED,
        Status.RENDERING,
        attempts=F("attempts") + 1,
        attempts_left=F("attempts_left") - 1,
        lease_until=now + LEASE,
        percent=0,
        stage="",
    )
    if not taken:
        return None
    document.refresh_from_db()
    return document


def document_progress(*, document: DocumentRequest, stage: str, percent: int) -> None:
    """Say how far a claimed document is."""
    DocumentRequest.objects.filter(
        pk=document.pk, status=Status.RENDERING, attempts=document.attempts
    ).update(stage=stage, percent=percent)


def document_finish(*, document: DocumentRequest, rendered: RenderedDocument) -> bool:
    """Store the file, then switch the row to it, then clear away what killed attempts left.

    Returns:
        Whether this worker's file is the document. False when its lease ran out and another has the row:
        its file is deleted again.
    """
    folder = f"documents/{document.pk}"
    place = default_storage.save(f"{folder}/{document.attempts}.pdf", ContentFile(rendered.pdf))
    won = status_change(
        document,
        Status.RENDERING,
        Status.DONE,
        file=place,
        sha256=hashlib.sha256(rendered.pdf).hexdigest(),
        byte_count=len(rendered.pdf),
        page_count=rendered.page_count,
        finished_at=timezone.now(),
        lease_until=None,
        percent=100,
        stage="",
        error="",
    )
    if not won:
        default_storage.delete(place)
        return False
    for name in default_storage.listdir(folder)[1]:
        if f"{folder}/{name}" != place:
            default_storage.delete(f"{folder}/{name}")
    return True


def document_fail(*, document: DocumentRequest, sentence: str) -> bool:
    """Close a claimed document as failed, with the sentence its reader gets."""
    return status_change(
        document,
        Status.RENDERING,
        Status.FAILED,
        error=sentence[:500],
        lease_until=None,
        stage="",
        finished_at=timezone.now(),
    )


def document_put_back(*, document: DocumentRequest, sentence: str) -> bool:
    """Let a claimed document be tried again after a while, or fail it when it has had its attempts."""
    if document.attempts_left == 0:
        return document_fail(document=document, sentence=sentence)
    wait = BACK_OFF[MAX_ATTEMPTS - document.attempts_left - 1]
    return status_change(
        document,
        Status.RENDERING,
        Status.QUEUED,
        due_at=timezone.now() + wait,
        lease_until=None,
        percent=0,
        stage="",
    )


def documents_sweep() -> list[int]:
    """Put back what a dead worker held, and return the keys of all rows that are due, to be nudged again."""
    now = timezone.now()
    for document in DocumentRequest.objects.filter(status=Status.RENDERING, lease_until__lt=now):
        logger.warning("The lease of document %s ran out at attempt %s.", document.pk, document.attempts)
        document_put_back(
            document=document,
            sentence=_("The document could not be finished in {n} attempts.").format(n=MAX_ATTEMPTS),
        )
    due = DocumentRequest.objects.filter(status=Status.QUEUED, due_at__lte=timezone.now())
    return list(due.order_by("due_at").values_list("pk", flat=True)[:500])


def status_change(document: DocumentRequest, old: Status, new: Status, **changes: Any) -> bool:
    """Move the row from *old* to *new* if nobody was first; return whether it moved.

    The conditional UPDATE is the lock, alike on SQLite and PostgreSQL. *attempts* is part of the condition,
    so a worker whose lease ran out cannot touch the row under its successor.
    """
    if new not in TRANSITIONS[old]:
        raise ValueError(f"A document does not go from {old} to {new}.")
    rows = DocumentRequest.objects.filter(pk=document.pk, status=old, attempts=document.attempts)
    return rows.update(status=new, **changes) == 1


def canonical_json(snapshot: dict[str, Any]) -> str:
    """Return *snapshot* as text with one spelling: sorted keys, no blanks, Decimals and dates as text."""
    return json.dumps(
        snapshot,
        cls=DjangoJSONEncoder,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )


def _nudge_on_commit(document: DocumentRequest) -> None:
    from .tasks import nudge

    transaction.on_commit(partial(nudge, document.pk))

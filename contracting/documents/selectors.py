"""What screens read about documents."""

import datetime
from collections.abc import Iterable

from django.utils import timezone

from .models import DocumentRequest, Status


def documents_by_key(keys: Iterable[int]) -> dict[int, DocumentRequest]:
    """Return the documents with these primary keys, without their snapshots."""
    return DocumentRequest.objects.defer("snapshot").in_bulk(list(keys))


def documents_failed(*, since: datetime.timedelta = datetime.timedelta(days=30)) -> list[DocumentRequest]:
    """Return what failed lately and still waits for somebody to try again, newest first."""
    rows = DocumentRequest.objects.defer("snapshot").filter(
        status=Status.FAILED, created_at__gte=timezone.now() - since
    )
    return list(rows[:20])

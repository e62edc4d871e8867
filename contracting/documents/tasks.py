"""What the worker does. Arguments are primary keys; everything else stands in the row."""

import logging

from celery import shared_task
from celery.exceptions import SoftTimeLimitExceeded
from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _
from kombu.exceptions import OperationalError

from . import services
from .errors import DocumentError
from .models import DocumentRequest
from .rendering import render

logger = logging.getLogger(__name__)


@shared_task(name="documents.render")
def render_document(pk: int) -> None:
    """Render one document. Run twice, or by two workers at once, it still gives one file."""
    document = services.document_claim(pk=pk)
    if document is None:
        return
    # The sentence of a failure is for whoever asked.
    reader = document.requested_by
    with translation.override(reader.language if reader else settings.LANGUAGE_CODE):
        _render_claimed(document)


@shared_task(name="documents.sweep")
def sweep_documents() -> None:
    """Nudge every row that is due: its message was lost, or its worker died."""
    for pk in services.documents_sweep():
        nudge(pk)


def nudge(pk: int) -> None:
    """Tell the workers about a row. A broker that is away costs a minute, until the next sweep."""
    try:
        render_document.delay(pk)
    except (OperationalError, OSError) as error:
        logger.warning("The broker is away (%s); the sweep will find document %s.", error, pk)


def _render_claimed(document: DocumentRequest) -> None:
    def progress(stage: str, percent: int) -> None:
        services.document_progress(document=document, stage=stage, percent=percent)

    try:
        rendered = render(document.kind, document.snapshot, progress=progress)
        services.document_finish(document=document, rendered=rendered)
    except DocumentError as error:
        logger.warning("Document %s failed: %s", document.pk, error)
        services.document_fail(document=document, sentence=str(error))
    except SoftTimeLimitExceeded:
        logger.warning("Document %s took longer than its time limit.", document.pk)
        services.document_fail(
            document=document,
            sentence=_("The document took longer than {seconds} seconds.").format(
                seconds=settings.CELERY_TASK_SOFT_TIME_LIMIT
            ),
        )
    except Exception:
        # A fault of the program or of a disk: it may pass, so the row is tried again after a while.
        logger.exception("Document %s could not be rendered.", document.pk)
        sentence = _("Something went wrong while the document was made. The log has it under document {n}.")
        services.document_put_back(document=document, sentence=sentence.format(n=document.pk))

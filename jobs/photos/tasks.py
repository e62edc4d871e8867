"""What the worker does for photos."""

import logging

from celery import shared_task

from .uploads import uploads_sweep

logger = logging.getLogger(__name__)


@shared_task(name="photos.sweep")
def sweep_uploads() -> None:
    """Finish uploads that a killed server left at their end; forget those nobody goes on with."""
    finished, forgotten = uploads_sweep()
    if finished or forgotten:
        logger.info("Photo uploads: %d finished, %d forgotten.", finished, forgotten)

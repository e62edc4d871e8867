"""What the scheduler does for quotes."""

from celery import shared_task
from django.utils import timezone

from . import services


@shared_task(name="quotes.expire")
def expire_quotes() -> int:
    """Mark the quotes whose last day has passed; doing it twice does nothing more."""
    return services.quotes_expire(at=timezone.now())

"""The site itself, and who we work for: customers, staff, documents."""

from .celery import app as celery_app

__all__ = ["celery_app"]

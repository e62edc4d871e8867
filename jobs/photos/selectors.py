"""What pages, papers and other apps read about photos."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, Q, QuerySet

from jobs.work.models import Job

from .models import Description, Photo


def shown() -> QuerySet[Photo]:
    """Return photos with what is said of them now (``photo.said``) and whether they were withdrawn."""
    holding = Description.objects.filter(superseded_by=None).select_related("by")
    return Photo.objects.select_related("by", "withdrawal__by").prefetch_related(
        Prefetch("descriptions", holding, to_attr="holding")
    )


def photos_of(job: Job) -> list[Photo]:
    """Return the photos of *job* that were not withdrawn, in the order they were taken. Two queries."""
    return list(shown().filter(job=job, withdrawal=None).order_by("taken_at", "pk"))


def withdrawn_of(job: Job) -> list[Photo]:
    """Return the withdrawn photos of *job*."""
    return list(shown().filter(job=job).exclude(withdrawal=None).order_by("taken_at", "pk"))


def photos_about(job: Job, kind: str | Iterable[str], refs: Iterable[str] | None = None) -> list[Photo]:
    """Return the photos of *job* that belong to *kind* (or any of several), of any of *refs* or all."""
    kinds = [kind] if isinstance(kind, str) else list(kind)
    holding = Q(descriptions__superseded_by=None, descriptions__about_kind__in=kinds)
    if refs is not None:
        holding &= Q(descriptions__about_ref__in=list(refs))
    return list(shown().filter(holding, job=job, withdrawal=None).order_by("taken_at", "pk"))


def photo_count(job: Job) -> int:
    """Return how many photos *job* has that were not withdrawn."""
    return Photo.objects.filter(job=job, withdrawal=None).count()


def photos_by_day(job: Job) -> dict[datetime.date, list[Photo]]:
    """Return the photos of *job* by the day they were taken, in the site's time."""
    zone = ZoneInfo(job.site.time_zone)
    days: dict[datetime.date, list[Photo]] = {}
    for photo in photos_of(job):
        days.setdefault(photo.taken_at.astimezone(zone).date(), []).append(photo)
    return days


def descriptions_of(photo: Photo) -> list[Description]:
    """Return everything that was ever said of *photo*, the newest first."""
    return list(Description.objects.filter(photo=photo).select_related("by").order_by("-pk"))

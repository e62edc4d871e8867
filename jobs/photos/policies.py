"""Getting a photo is asking for the right to its job: the office sees all jobs, an installer their own."""

from __future__ import annotations

import uuid

from django.db.models import QuerySet
from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.selectors import jobs_of

from .models import Photo, PhotoUpload
from .selectors import shown


def job_for(user: User, pk: object) -> Job:
    """Return the job with its site; Http404 when there is none that *user* may see."""
    found = _jobs(user).filter(pk=pk).first() if isinstance(pk, int) and 0 < pk < 2**63 else None
    if found is None:
        raise Http404
    return found


def photo_for(user: User, pk: int) -> Photo:
    """Return the photo with what is said of it; a withdrawn one is the office's alone."""
    photos = shown().filter(job__in=jobs_of(user)).select_related("job__site")
    photo = photos.filter(pk=pk).defer("job__crew_notes").first()
    if photo is None or (photo.is_withdrawn and not user.sees_money):
        raise Http404
    return photo


def upload_for(user: User, key: uuid.UUID) -> PhotoUpload:
    """Return somebody's own upload; Http404 when they have none under this key."""
    found = PhotoUpload.objects.filter(key=key, by=user, job__in=jobs_of(user)).select_related(
        "job__site", "by"
    )
    upload = found.first()
    if upload is None:
        raise Http404
    return upload


def _jobs(user: User) -> QuerySet[Job]:
    # Without the quote's content: its frozen takeoff and drawings are large.
    return jobs_of(user).select_related("site__customer", "quote").defer("quote__snapshot")

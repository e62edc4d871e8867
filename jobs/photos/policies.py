"""Getting a photo is asking for the right to its job: the office sees all jobs, an installer their own."""

from __future__ import annotations

import uuid

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.selectors import jobs_of

from .models import Description, Photo, PhotoUpload
from .selectors import shown


def job_for(user: User, pk: object) -> Job:
    """Return the job with its site; Http404 when there is none that *user* may see."""
    found = _jobs(user).filter(pk=pk).first() if isinstance(pk, int) and 0 < pk < 2**63 else None
    if found is None:
        raise Http404
    return found


def job_with_work_for(user: User, pk: int) -> Job:
    """Return the job as :func:`job_for` does, with the rooms and surfaces it was sold with."""
    found = jobs_of(user).select_related("site__customer", "quote").filter(pk=pk).first()
    if found is None:
        raise Http404
    return found


def photo_for(user: User, pk: int) -> Photo:
    """Return the photo with what is said of it; a withdrawn one is the office's alone."""
    photos = shown().filter(job__in=jobs_of(user)).select_related("job__site", "job__quote")
    photo = photos.defer("job__quote__snapshot").filter(pk=pk).first()
    if photo is None or (photo.is_withdrawn and not user.sees_money):
        raise Http404
    return photo


def describes(user: User, photo: Photo) -> bool:
    """Whether *user* may say what *photo* shows: the office of any, an installer of their own."""
    return not photo.is_withdrawn and (user.sees_money or photo.by_id == user.pk)


def may_describe(user: User, photo: Photo) -> None:
    """Raise PermissionDenied when *user* may not say what *photo* shows."""
    if not describes(user, photo):
        raise PermissionDenied


def description_of(photo: Photo, pk: int) -> Description:
    """Return the description of *photo* that a form was opened with; Http404 when it is none of its."""
    found = Description.objects.filter(photo=photo, pk=pk).select_related("photo").first()
    if found is None:
        raise Http404
    return found


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

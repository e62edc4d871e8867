"""What adds to the photos of a job. Each call is one act of a person.

A photo brings a key made by whoever took it, so the same photo sent twice is stored once. Decoding and
storing happen before the transaction: files are named by the hash of their bytes, so doing that twice, or
being killed in between, changes nothing, and the row is what counts.
"""

from __future__ import annotations

import datetime
import hashlib
import uuid
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from contracting.staff.selectors import company_profile
from jobs.work.models import Job

from . import arrows as drawn
from . import storing, subjects
from .models import About, Description, Photo, Withdrawal
from .pictures import PictureRefused, Pictures, pictures_from

# A camera that was never set says 1970 or 2000.
OLDEST = datetime.datetime(2001, 1, 1, tzinfo=datetime.UTC)


@dataclass(frozen=True)
class Said:
    """What is said of a photo: caption, what it belongs to, and arrows as :mod:`.arrows` reads them."""

    caption: str = ""
    about: About = About.JOB
    ref: str = ""
    arrows: list[list[int]] = field(default_factory=list)


def photo_take(
    *,
    key: uuid.UUID,
    job: Job,
    by: User,
    content: bytes,
    said: Said,
    taken_at: datetime.datetime | None = None,
) -> Photo:
    """Store a photo of *job*; the same key again returns the one there is.

    Args:
        content: the file as it was sent; JPEG, PNG, HEIC or WebP.
        taken_at: by the phone's clock, corrected by its offset from ours; None: the camera's own time counts,
            and where there is none, now.

    Raises:
        ValidationError: the file is refused, or the key belongs to somebody else's photo.
    """
    known = _known(key, job, by)
    if known is not None:
        return known
    if len(content) > settings.PHOTO_MAX_BYTES:
        raise ValidationError(too_large(len(content)))
    try:
        pictures = pictures_from(content, most_pixels=settings.PHOTO_MAX_PIXELS)
    except PictureRefused as error:
        raise ValidationError(str(error)) from error
    files = {
        "sha256": storing.put(pictures.large.content),
        "paper_sha256": storing.put(pictures.paper.content),
        "small_sha256": storing.put(pictures.small.content),
    }
    now = timezone.now()
    photo = Photo(
        key=key,
        job=job,
        by=by,
        at=now,
        **_moments(pictures, job, taken_at, now),
        kind=pictures.kind,
        source_sha256=hashlib.sha256(content).hexdigest(),
        byte_count=len(pictures.large.content),
        width=pictures.large.width,
        height=pictures.large.height,
        **files,
        **_place(pictures),
    )
    try:
        return _store(photo, said)
    except IntegrityError:
        # Two at once: the unique key has let one through.
        known = _known(key, job, by)
        if known is None:
            raise
        return known


@transaction.atomic
def photo_describe(*, key: uuid.UUID, old: Description, said: Said, by: User) -> Description:
    """Say something else of a photo; *old* is what was seen when this was written, and stays on record.

    Raises:
        ValidationError: somebody has described the photo anew, it was withdrawn, or a value is refused.
    """
    known = Description.objects.filter(key=key, photo=old.photo).first()
    if known is not None:
        return known
    if Withdrawal.objects.filter(photo=old.photo).exists():
        raise ValidationError(_("This photo was withdrawn; nothing is added to it."))
    if (old.caption, old.about_kind, old.about_ref, old.arrows) == _values(said):
        return old
    row = _description(old.photo, said, by, key)
    row.supersedes = old
    row.full_clean(exclude=["photo", "key", "by", "supersedes"], validate_constraints=False)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        raise ValidationError(
            _("Somebody has described this photo anew in the meantime; look at it again.")
        ) from None
    return row


@transaction.atomic
def photo_withdraw(*, photo: Photo, reason: str, by: User) -> Withdrawal:
    """Take a photo out of sight, with a reason; it stays in the store and in records that carry it.

    Raises:
        PermissionDenied: *by* is neither the owner nor of the office.
        ValidationError: no reason is given.
    """
    if not by.sees_money:
        raise PermissionDenied
    reason = reason.strip()
    if len(reason) < 5:
        raise ValidationError({"reason": _("Say why in a few words; it stays beside the photo.")})
    row, _is_new = Withdrawal.objects.get_or_create(
        photo=photo, defaults={"reason": reason[:300], "by": by, "at": timezone.now()}
    )
    return row


def too_large(size: int) -> str:
    """Return the sentence for a file that is too large."""
    said = {"size": _megabytes(size), "most": _megabytes(settings.PHOTO_MAX_BYTES)}
    return _("The file has %(size)s MB; at most %(most)s MB are taken.") % said


def _megabytes(size: int) -> str:
    return f"{size / 1_000_000:.1f}".removesuffix(".0")


def _moments(
    pictures: Pictures, job: Job, taken_at: datetime.datetime | None, now: datetime.datetime
) -> dict[str, datetime.datetime | None]:
    camera = pictures.camera.moment(ZoneInfo(job.site.time_zone))
    believable = camera is not None and OLDEST <= camera <= now
    # A phone that says the year 1 would stand in the way of every page that prints its photo in local time.
    told = taken_at if taken_at is not None and taken_at >= OLDEST else None
    taken = told or (camera if believable else now)
    return {"taken_at": min(taken, now) if taken else now, "camera_at": camera}


def _place(pictures: Pictures) -> dict[str, int]:
    place = pictures.camera.place
    if place is None or not company_profile().keeps_photo_location:
        return {}
    return {"latitude": place[0], "longitude": place[1]}


def _known(key: uuid.UUID, job: Job, by: User) -> Photo | None:
    found = Photo.objects.filter(key=key).first()
    if found is not None and (found.job_id, found.by_id) != (job.pk, by.pk):
        raise ValidationError(_("Another photo has this key already; open the form again."))
    return found


@transaction.atomic
def _store(photo: Photo, said: Said) -> Photo:
    photo.save(force_insert=True)
    _description(photo, said, photo.by, photo.key).save(force_insert=True)
    return photo


def _description(photo: Photo, said: Said, by: User, key: uuid.UUID) -> Description:
    caption, kind, ref, arrows = _values(said)
    return Description(
        photo=photo,
        key=key,
        caption=caption,
        about_kind=kind,
        about_ref=ref,
        arrows=arrows,
        by=by,
        at=timezone.now(),
    )


def _values(said: Said) -> tuple[Any, ...]:
    kind, ref = subjects.checked(said.about, said.ref)
    return said.caption.strip()[:300], kind, ref, drawn.checked(said.arrows)

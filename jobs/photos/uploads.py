"""Uploads from phones that lose their signal: announced, sent in pieces, gone on with, finished once.

A piece counts when the row's offset has moved over it. The bytes are stored first, under a name of their
own, and then the offset is moved by a conditional UPDATE in one transaction with the piece's row: of two
that send the same piece one moves it, the other is told where it stands, and a server that is killed has
lost that piece and nothing else. What was stored and not counted is swept away with the upload's folder.

All bytes there, they are decoded in the request of the last piece: measured at 0.2 s for what a phone has
shrunk, 0.3 to 0.7 s for 12 million pixels as JPEG or HEIC, and 2.4 s at the limit of pixels. That is less
than the phone needed to send it, and the phone hears at once whether its photo is refused. A server that is
killed in between leaves the offset at the end; the next request of the phone, or the sweep, finishes it, and
the photo's key makes that once.
"""

from __future__ import annotations

import datetime
import hashlib
import logging
import re
import uuid
from dataclasses import dataclass

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone, translation
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from contracting.staff.models import User
from jobs.work.models import Job

from . import services, storing, subjects
from .models import About, PhotoUpload, UploadPiece, UploadState

logger = logging.getLogger(__name__)
_SHA256 = re.compile(r"[0-9a-f]{64}")
# All bytes have come and are not those announced: they were spoilt on the way, or the phone is wrong.
MOST_SPOILT = 3
# A last piece is being decoded; whoever sweeps keeps away from it for so long.
AT_WORK = datetime.timedelta(minutes=2)


class WrongOffset(Exception):
    """The bytes do not go on where the upload stands; the row says where that is."""


@dataclass(frozen=True)
class Announced:
    """What a phone says of the photo it is about to send."""

    key: uuid.UUID
    size: int
    sha256: str
    taken_at: datetime.datetime
    caption: str
    about: About
    ref: str


def announced(told: object) -> Announced:
    """Read what a phone sent as JSON.

    Raises:
        ValidationError: by name, what was read and what was expected.
    """
    if not isinstance(told, dict):
        raise ValidationError(_("Expected one object with key, job, size, sha256, taken_at and about."))
    about = told.get("about") or {"kind": About.JOB}
    if not isinstance(about, dict):
        raise ValidationError({"about": _("Expected an object with kind and ref.")})
    try:
        kind, ref = subjects.checked(about.get("kind", ""), about.get("ref"))
    except ValidationError as error:
        raise ValidationError({"about": error.messages}) from error
    return Announced(
        _key(told.get("key")),
        _size(told.get("size")),
        _sha256(told.get("sha256")),
        _moment(told.get("taken_at")),
        str(told.get("caption") or "").replace("\x00", "").strip()[:300],
        kind,
        ref,
    )


def upload_start(*, told: Announced, job: Job, by: User) -> PhotoUpload:
    """Announce an upload; the same key again returns the row there is, wherever it stands.

    Raises:
        ValidationError: the key was announced with other bytes, or belongs to another job or person.
    """
    now = timezone.now()
    try:
        with transaction.atomic():
            upload, is_new = PhotoUpload.objects.get_or_create(
                key=told.key,
                defaults={
                    "job": job,
                    "by": by,
                    "size": told.size,
                    "sha256": told.sha256,
                    "taken_at": min(told.taken_at, now),
                    "caption": told.caption,
                    "about_kind": told.about,
                    "about_ref": told.ref,
                    "started_at": now,
                    "moved_at": now,
                },
            )
    except IntegrityError as error:
        raise ValidationError(str(error)) from error
    same = (upload.job_id, upload.by_id, upload.size, upload.sha256)
    if same != (job.pk, by.pk, told.size, told.sha256):
        raise ValidationError({"key": _("Another photo was announced under this key.")})
    return upload if is_new else _finished(upload)


def upload_append(*, upload: PhotoUpload, offset: int, content: bytes) -> PhotoUpload:
    """Add *content* at *offset*, and finish the photo with the last piece; return the row as it stands then.

    Empty *content* at the end finishes what a killed server has left.

    Raises:
        WrongOffset: *offset* is not where the upload stands. It may have got there by an earlier request
            whose answer was lost.
        ValidationError: more was sent than was announced.
    """
    if upload.state != UploadState.RECEIVING:
        return upload
    if offset != upload.offset:
        raise WrongOffset
    if offset + len(content) > upload.size:
        raise ValidationError(_("More bytes than the %(size)d that were announced.") % {"size": upload.size})
    if content and not _counted(upload, offset, content):
        upload.refresh_from_db()
        raise WrongOffset
    return _finished(upload)


def _counted(upload: PhotoUpload, offset: int, content: bytes) -> bool:
    """Store *content* and move the offset over it; False when somebody else moved it first."""
    name = storing.put_piece(upload.key, offset, content)
    end = offset + len(content)
    try:
        with transaction.atomic():
            rows = PhotoUpload.objects.filter(pk=upload.pk, offset=offset, state=UploadState.RECEIVING)
            if not rows.update(offset=end, moved_at=timezone.now()):
                raise WrongOffset
            UploadPiece.objects.create(upload=upload, offset=offset, length=len(content), file=name)
    except (WrongOffset, IntegrityError):
        storing.remove(name)
        return False
    upload.offset = end
    return True


def _finished(upload: PhotoUpload) -> PhotoUpload:
    """Make the photo of an upload whose bytes have all come; any other is returned as it is."""
    if upload.state != UploadState.RECEIVING or upload.offset < upload.size:
        return upload
    pieces = list(UploadPiece.objects.filter(upload=upload).order_by("offset"))
    try:
        content = storing.read_pieces(piece.file for piece in pieces)
    except storing.FileSpoilt:
        content = b""
    if hashlib.sha256(content).hexdigest() != upload.sha256:
        _begin_again(upload)
    else:
        _make(upload, content)
    upload.refresh_from_db()
    return upload


def _make(upload: PhotoUpload, content: bytes) -> None:
    said = services.Said(upload.caption, About(upload.about_kind), upload.about_ref)
    try:
        photo = services.photo_take(
            key=upload.key,
            job=upload.job,
            by=upload.by,
            content=content,
            said=said,
            taken_at=upload.taken_at,
        )
    except ValidationError as error:
        _end(upload, state=UploadState.REFUSED, message=" ".join(error.messages)[:400])
    else:
        _end(upload, state=UploadState.READY, photo=photo, message="")


def _end(upload: PhotoUpload, **values: object) -> None:
    rows = PhotoUpload.objects.filter(pk=upload.pk, state=UploadState.RECEIVING)
    with transaction.atomic():
        if rows.update(moved_at=timezone.now(), **values):
            UploadPiece.objects.filter(upload=upload).delete()
    storing.remove_pieces(upload.key)


def _begin_again(upload: PhotoUpload) -> None:
    """Ask for all bytes anew: those that came are not those announced."""
    if upload.spoilt + 1 >= MOST_SPOILT:
        sentence = _("The bytes that came are not those of the photo that was announced.")
        _end(upload, state=UploadState.REFUSED, message=sentence)
        return
    with transaction.atomic():
        rows = PhotoUpload.objects.filter(
            pk=upload.pk, state=UploadState.RECEIVING, offset=upload.size, spoilt=upload.spoilt
        )
        sentence = _("Some bytes were spoilt on the way; the photo is sent again.")
        if not rows.update(offset=0, spoilt=F("spoilt") + 1, message=sentence, moved_at=timezone.now()):
            return
        UploadPiece.objects.filter(upload=upload).delete()
    # Not the whole folder: the phone may be sending again already.


def uploads_sweep() -> tuple[int, int]:
    """Finish what a killed server left at its end, and forget what nobody went on with for some days.

    Returns how many were finished and how many forgotten.
    """
    now = timezone.now()
    waiting = PhotoUpload.objects.filter(state=UploadState.RECEIVING)
    whole = waiting.filter(offset=F("size"), moved_at__lt=now - AT_WORK).select_related("by", "job__site")
    finished = 0
    for upload in whole.order_by("moved_at")[:50]:
        with translation.override(upload.by.language):
            finished += _finished(upload).state != UploadState.RECEIVING
    kept = now - datetime.timedelta(days=settings.PHOTO_UPLOAD_DAYS)
    forgotten = list(waiting.filter(moved_at__lt=kept, offset__lt=F("size"))[:200])
    for upload in forgotten:
        with transaction.atomic():
            PhotoUpload.objects.filter(pk=upload.pk, state=UploadState.RECEIVING, moved_at__lt=kept).delete()
        storing.remove_pieces(upload.key)
    return finished, len(forgotten)


def _key(value: object) -> uuid.UUID:
    try:
        return uuid.UUID(str(value))
    except ValueError:
        raise ValidationError({"key": _("Expected a UUID made on the phone.")}) from None


def _size(value: object) -> int:
    if type(value) is not int or value < 1:
        raise ValidationError({"size": _("Expected the number of bytes.")})
    if value > settings.PHOTO_MAX_BYTES:
        raise ValidationError({"size": services.too_large(value)})
    return value


def _sha256(value: object) -> str:
    text = str(value).lower()
    if not _SHA256.fullmatch(text):
        raise ValidationError({"sha256": _("Expected the SHA-256 of the bytes as 64 hexadecimal digits.")})
    return text


def _moment(value: object) -> datetime.datetime:
    try:
        found = parse_datetime(str(value))
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise ValidationError(
            {"taken_at": _("Expected a moment with its offset, such as 2026-06-01T10:30:00Z.")}
        )
    try:
        return found.astimezone(datetime.UTC)
    except OverflowError:
        raise ValidationError({"taken_at": _("Expected a moment of our time.")}) from None

"""Photos of a job: what was taken, what is said of it, what was withdrawn, and uploads on their way.

A photo's row and bytes are never changed. What is said of it (caption, arrows, what it belongs to) stands in
:class:`Description` rows of which the newest holds; a withdrawal is a row with a reason beside it. A database
trigger refuses to change or remove any of them (migration ``0002_photos_only_grow``).

Files are stored under the hash of their bytes (:mod:`.storing`), so a hash in a warranty record names bytes
that cannot be exchanged.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.work.models import Job


class About(models.TextChoices):
    """What a photo belongs to; *ref* names which one."""

    JOB = "job", _("the whole job")
    ROOM = "room", _("a room")
    SURFACE = "surface", _("a surface")
    STEP = "step", _("a trade step")
    CHECK = "check", _("a check")
    FLOOD = "flood", _("a flood test")
    PUNCH = "punch", _("a punch list item")
    NOTE = "note", _("a note of the day")


class Kind(models.TextChoices):
    """What the file was that somebody sent."""

    JPEG = "jpeg", "JPEG"
    PNG = "png", "PNG"
    HEIC = "heic", "HEIC"
    WEBP = "webp", "WebP"


class Photo(models.Model):
    """One photo, re-encoded by us. Every stored file is a JPEG without any metadata.

    *taken_at* is the moment that counts: the phone's, corrected by its offset from the server's clock, or the
    camera's where the phone gave none. *camera_at* is what the camera wrote into the file, if it did; without
    an offset of its own it is read in the time of the site. Latitude and longitude are whole ten-millionths
    of a degree, and only there when the company keeps locations.
    """

    key = models.UUIDField(_("key"), unique=True, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="photos", verbose_name=_("job"))
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", verbose_name=_("taken by")
    )
    at = models.DateTimeField(_("stored"))
    taken_at = models.DateTimeField(_("taken"))
    camera_at = models.DateTimeField(_("time of the camera"), null=True, blank=True)
    kind = models.CharField(_("sent as"), max_length=4, choices=Kind)
    source_sha256 = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)
    byte_count = models.PositiveIntegerField(_("bytes"))
    width = models.PositiveIntegerField(_("width"))
    height = models.PositiveIntegerField(_("height"))
    paper_sha256 = models.CharField(max_length=64)
    small_sha256 = models.CharField(max_length=64)
    latitude = models.IntegerField(_("latitude"), null=True, blank=True)
    longitude = models.IntegerField(_("longitude"), null=True, blank=True)

    class Meta:
        ordering = ["job", "taken_at", "pk"]
        verbose_name = _("photo")
        verbose_name_plural = _("photos")
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=Kind.values), name="photo_kind_known"),
            models.CheckConstraint(
                condition=~Q(sha256="") & ~Q(paper_sha256="") & ~Q(small_sha256="") & ~Q(source_sha256=""),
                name="photo_has_its_files",
            ),
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0, byte_count__gt=0), name="photo_has_a_size"
            ),
            models.CheckConstraint(
                condition=Q(latitude=None, longitude=None)
                | Q(
                    latitude__isnull=False,
                    longitude__isnull=False,
                    latitude__gte=-900_000_000,
                    latitude__lte=900_000_000,
                    longitude__gte=-1_800_000_000,
                    longitude__lte=1_800_000_000,
                ),
                name="photo_place_on_earth",
            ),
            models.CheckConstraint(condition=Q(taken_at__lte=F("at")), name="photo_taken_before_stored"),
        ]
        indexes = [models.Index(fields=["job", "taken_at"], name="photo_by_job")]

    def __str__(self) -> str:
        return f"{self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("photos:photo", args=[self.pk])

    @property
    def said(self) -> Description:
        """What is said of it now; read ahead by ``selectors.shown`` or asked for here."""
        ahead: list[Description] | None = getattr(self, "holding", None)
        return ahead[0] if ahead else self.descriptions.get(superseded_by=None)

    @property
    def is_withdrawn(self) -> bool:
        """Whether the office took it out of sight."""
        return hasattr(self, "withdrawal")


class Description(models.Model):
    """What is said of a photo from a moment on: caption, arrows, and what it belongs to.

    *arrows* is a list of ``[x1, y1, x2, y2]`` from tail to tip in whole ten-thousandths of the picture's
    width and height, from its upper left corner.
    """

    photo = models.ForeignKey(Photo, models.PROTECT, related_name="descriptions")
    key = models.UUIDField(unique=True, editable=False)
    caption = models.CharField(_("caption"), max_length=300, blank=True)
    arrows = models.JSONField(_("arrows"), default=list, blank=True)
    about_kind = models.CharField(_("belongs to"), max_length=8, choices=About, default=About.JOB)
    about_ref = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )

    class Meta:
        ordering = ["photo", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(about_kind__in=About.values), name="photo_description_about_known"
            ),
            # With the unique successor this makes one line of descriptions a photo, so one that holds.
            models.UniqueConstraint(
                fields=["photo"], condition=Q(supersedes=None), name="photo_first_description_once"
            ),
            models.CheckConstraint(
                condition=Q(supersedes=None) | ~Q(supersedes=F("pk")),
                name="photo_description_not_its_own_successor",
            ),
        ]
        indexes = [models.Index(fields=["about_kind", "about_ref"], name="photo_by_about")]

    def __str__(self) -> str:
        return self.caption


class Withdrawal(models.Model):
    """The office took a photo out of sight. The photo stays in the store, and that it was withdrawn shows."""

    photo = models.OneToOneField(Photo, models.PROTECT, related_name="withdrawal")
    reason = models.CharField(_("reason"), max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="photo_withdrawal_says_why")]

    def __str__(self) -> str:
        return self.reason


class UploadState(models.TextChoices):
    RECEIVING = "receiving", _("on its way")
    READY = "ready", _("ready")
    REFUSED = "refused", _("refused")


class PhotoUpload(models.Model):
    """A photo on its way from a phone: announced, then sent in pieces, in order, from *offset* on.

    The row is the truth about what has arrived: a piece counts when *offset* has moved over it, and it moves
    by a conditional UPDATE, so of two that send the same piece one is counted.
    """

    key = models.UUIDField(unique=True, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    taken_at = models.DateTimeField()
    caption = models.CharField(max_length=300, blank=True)
    about_kind = models.CharField(max_length=8, choices=About, default=About.JOB)
    about_ref = models.CharField(max_length=120, blank=True)
    offset = models.PositiveIntegerField(default=0)
    # How often all bytes had come and were not those that were announced.
    spoilt = models.PositiveSmallIntegerField(default=0)
    state = models.CharField(max_length=10, choices=UploadState, default=UploadState.RECEIVING)
    message = models.CharField(max_length=400, blank=True)
    photo = models.OneToOneField(Photo, models.PROTECT, related_name="upload", null=True, blank=True)
    started_at = models.DateTimeField()
    moved_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=UploadState.values), name="photo_upload_state_known"
            ),
            models.CheckConstraint(
                condition=Q(size__gt=0, offset__lte=F("size")), name="photo_upload_within_its_size"
            ),
            models.CheckConstraint(
                condition=Q(state="ready", photo__isnull=False) | ~Q(state="ready") & Q(photo=None),
                name="photo_upload_ready_has_its_photo",
            ),
            models.CheckConstraint(
                condition=~Q(state="refused") | ~Q(message=""), name="photo_upload_refused_says_why"
            ),
        ]
        indexes = [
            models.Index(fields=["moved_at"], condition=Q(state="receiving"), name="photo_upload_on_its_way")
        ]

    def __str__(self) -> str:
        return f"{self.key}"


class UploadPiece(models.Model):
    """Bytes of an upload that have arrived, as a file of the store."""

    upload = models.ForeignKey(PhotoUpload, models.CASCADE, related_name="pieces")
    offset = models.PositiveIntegerField()
    length = models.PositiveIntegerField()
    file = models.CharField(max_length=200)

    class Meta:
        ordering = ["upload", "offset"]
        constraints = [
            models.UniqueConstraint(fields=["upload", "offset"], name="upload_piece_once"),
            models.CheckConstraint(condition=Q(length__gt=0), name="upload_piece_not_empty"),
        ]

    def __str__(self) -> str:
        return f"{self.offset}+{self.length}"

"""The company's warranty terms, and the records that close its jobs.

A record is written once. The database refuses to change or remove it, and to add one anywhere but at the end
of the chain (migration ``0002_records_only_grow``); a mistake is put right by a new record that supersedes
the old one, which stays.
"""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from contracting.documents.models import DocumentRequest
from jobs.photos.models import Photo
from jobs.work.models import Job

LONGEST_YEARS = 50


class WarrantyTerms(models.Model):
    """What the company promises and asks for, from a date on; the newest that have started hold."""

    starts_on = models.DateField(_("from"), unique=True)
    years = models.PositiveSmallIntegerField(_("years"))
    terms = models.TextField(_("terms"))
    care = models.TextField(_("care"))

    class Meta:
        ordering = ["-starts_on"]
        verbose_name = _("warranty terms")
        verbose_name_plural = _("warranty terms")
        constraints = [
            models.CheckConstraint(
                condition=Q(years__gte=1, years__lte=LONGEST_YEARS), name="warranty_years_believable"
            ),
            models.CheckConstraint(condition=~Q(terms="") & ~Q(care=""), name="warranty_terms_say_something"),
        ]

    def __str__(self) -> str:
        return f"{self.starts_on}"


class WarrantyRecord(models.Model):
    """The signed proof that closes a job: what was specified, laid and tested, frozen and chained.

    *snapshot* holds all that the paper says, and with it number, place in the chain, date, code and the hash
    of the record before; *sha256* is the hash of its canonical JSON. The columns beside it are copies for
    look-up and constraints, and ``manage.py verify_records`` compares them.
    """

    job = models.ForeignKey(Job, models.PROTECT, related_name="warranty_records", verbose_name=_("job"))
    sequence = models.PositiveIntegerField(_("place in the chain"), unique=True)
    number = models.CharField(_("number"), max_length=20, unique=True)
    code = models.CharField(_("verification code"), max_length=24, unique=True)
    issued_at = models.DateTimeField(_("issued"))
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", verbose_name=_("issued by")
    )
    snapshot = models.JSONField(_("frozen record"))
    sha256 = models.CharField(max_length=64, unique=True)
    # Unique, so that the chain cannot fork.
    previous_sha256 = models.CharField(max_length=64, blank=True, unique=True)
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )
    reason = models.CharField(_("why it replaces the one before"), max_length=300, blank=True)
    document = models.OneToOneField(DocumentRequest, models.PROTECT, related_name="warranty_record")

    class Meta:
        ordering = ["-sequence"]
        verbose_name = _("warranty record")
        verbose_name_plural = _("warranty records")
        constraints = [
            models.UniqueConstraint(
                fields=["job"], condition=Q(supersedes=None), name="warranty_first_record_once_a_job"
            ),
            models.CheckConstraint(
                condition=Q(sequence=1, previous_sha256="") | Q(sequence__gt=1) & ~Q(previous_sha256=""),
                name="warranty_record_follows_another",
            ),
            models.CheckConstraint(
                condition=Q(supersedes=None, reason="") | Q(supersedes__isnull=False) & ~Q(reason=""),
                name="warranty_replacement_says_why",
            ),
            models.CheckConstraint(
                condition=Q(supersedes=None) | ~Q(supersedes=F("pk")), name="warranty_not_its_own_successor"
            ),
            models.CheckConstraint(
                condition=~Q(code="") & ~Q(number="") & ~Q(sha256=""), name="warranty_record_is_named"
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("warranty:job", args=[self.job_id])

    @property
    def is_superseded(self) -> bool:
        """Whether a newer record of the same job has replaced this one."""
        return hasattr(self, "superseded_by")


class PhotoChoice(models.Model):
    """The office said of a photo whether the job's next record carries it, whatever the rule says."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="+")
    photo = models.OneToOneField(Photo, models.CASCADE, related_name="+")
    is_in = models.BooleanField(_("in the record"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["job", "photo"]

    def __str__(self) -> str:
        return f"{self.photo_id}: {self.is_in}"

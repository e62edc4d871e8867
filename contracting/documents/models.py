"""What has been asked to be rendered, and what came of it: the outbox of documents."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

MAX_ATTEMPTS = 4


class Audience(models.TextChoices):
    """Who may fetch a document. The office may fetch every one."""

    OFFICE = "office", _("office")
    CREW = "crew", _("office and crew")
    CUSTOMER = "customer", _("office and customer")


class Status(models.TextChoices):
    QUEUED = "queued", _("waiting")
    RENDERING = "rendering", _("being made")
    DONE = "done", _("ready")
    FAILED = "failed", _("failed")


# Every change of status goes through services.status_change, which reads this table.
TRANSITIONS: dict[Status, frozenset[Status]] = {
    Status.QUEUED: frozenset({Status.RENDERING}),
    Status.RENDERING: frozenset({Status.DONE, Status.FAILED, Status.QUEUED}),
    Status.FAILED: frozenset({Status.QUEUED}),
    Status.DONE: frozenset(),
}


class DocumentRequest(models.Model):
    """One document: written in the transaction of what asked for it, rendered later by a worker.

    The row is the truth and the broker's message only a nudge: a lost or doubled message, or a killed
    worker, still gives exactly one document.
    """

    kind = models.CharField(_("kind"), max_length=40)
    subject = models.CharField(_("subject"), max_length=200)
    snapshot = models.JSONField(_("frozen input"))
    snapshot_sha256 = models.CharField(max_length=64, editable=False)
    audience = models.CharField(_("for"), max_length=10, choices=Audience)
    status = models.CharField(_("status"), max_length=10, choices=Status, default=Status.QUEUED)
    # Counts claims. It is also the fence: a worker finishes a row only under the number it claimed it with,
    # so one that was thought dead and comes back changes nothing.
    attempts = models.PositiveIntegerField(default=0)
    attempts_left = models.PositiveSmallIntegerField(default=MAX_ATTEMPTS)
    due_at = models.DateTimeField(_("not before"), default=timezone.now)
    lease_until = models.DateTimeField(null=True, blank=True)
    stage = models.CharField(_("stage"), max_length=80, blank=True)
    percent = models.PositiveSmallIntegerField(_("done, per cent"), default=0)
    error = models.CharField(_("what went wrong"), max_length=500, blank=True)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    file = models.CharField(_("place in the store"), max_length=200, blank=True)
    filename = models.CharField(_("file name"), max_length=150, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    page_count = models.PositiveIntegerField(_("pages"), default=0)
    byte_count = models.PositiveBigIntegerField(_("bytes"), default=0)

    class Meta:
        ordering = ["-pk"]
        verbose_name = _("document")
        verbose_name_plural = _("documents")
        indexes = [
            # What the sweep looks for every minute; done rows, which become most of the table, stay outside.
            models.Index(
                fields=["due_at"],
                condition=Q(status__in=["queued", "rendering"]),
                name="document_open",
            )
        ]
        constraints = [
            models.UniqueConstraint("kind", "snapshot_sha256", name="document_once_per_snapshot"),
            models.CheckConstraint(condition=Q(status__in=Status.values), name="document_status_known"),
            models.CheckConstraint(condition=Q(audience__in=Audience.values), name="document_audience_known"),
            models.CheckConstraint(condition=Q(percent__lte=100), name="document_percent_at_most_100"),
            models.CheckConstraint(
                condition=~Q(status="done")
                | (~Q(file="") & ~Q(sha256="") & Q(page_count__gt=0) & Q(byte_count__gt=0)),
                name="document_done_has_its_file",
            ),
            models.CheckConstraint(
                condition=~Q(status="failed") | ~Q(error=""), name="document_failed_says_why"
            ),
            models.CheckConstraint(
                condition=~Q(status="rendering") | Q(lease_until__isnull=False),
                name="document_rendering_has_a_lease",
            ),
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True) | Q(finished_at__gte=F("created_at")),
                name="document_finished_after_created",
            ),
        ]

    def __str__(self) -> str:
        return self.subject

    def get_absolute_url(self) -> str:
        return reverse("documents:document", args=[self.pk])

    @property
    def is_done(self) -> bool:
        return self.status == Status.DONE

    @property
    def is_failed(self) -> bool:
        return self.status == Status.FAILED

    @property
    def is_open(self) -> bool:
        """Whether somebody still waits for it."""
        return self.status in {Status.QUEUED, Status.RENDERING}

    def facts(self) -> dict[str, Any]:
        """Return what a log line says about this row: no names and no figures of the document itself."""
        return {"document": self.pk, "kind": self.kind, "attempt": self.attempts}

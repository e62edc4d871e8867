"""A customer calls after the job is complete: what was reported, found and done, and what it cost.

As with the punch list, the words of a report never change, everything that happens is an added row, and the
columns of :class:`Callback` that change only repeat the newest rows. What a callback costs are entries of the
job's daily log, tied to it by :class:`CallbackEntry`, so that the margin counts them once.
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.work.models import CostEntry, DeliveryEntry, HoursEntry, Job


class Cause(models.TextChoices):
    """Why something went wrong, as the trade sorts it."""

    WORKMANSHIP = "workmanship", _("workmanship")
    MATERIAL = "material", _("material")
    MOVEMENT = "movement", _("movement or structure of the building")
    USE = "use", _("use or maintenance")
    OTHER = "other", _("something else")


class CallbackState(models.TextChoices):
    """How far a callback is."""

    REPORTED = "reported", _("reported")
    PLANNED = "planned", _("visit planned")
    FOUND = "found", _("looked at")
    RESOLVED = "resolved", _("resolved")


TRANSITIONS: dict[CallbackState, frozenset[CallbackState]] = {
    CallbackState.REPORTED: frozenset({CallbackState.PLANNED, CallbackState.FOUND}),
    CallbackState.PLANNED: frozenset({CallbackState.PLANNED, CallbackState.FOUND}),
    # A finding can be put right, and a second visit planned.
    CallbackState.FOUND: frozenset({CallbackState.PLANNED, CallbackState.FOUND, CallbackState.RESOLVED}),
    CallbackState.RESOLVED: frozenset({CallbackState.REPORTED}),
}
COVER_WORDS = {True: _("covered by the warranty"), False: _("not covered"), None: _("not decided")}


class Callback(models.Model):
    """One report of a customer about a complete job."""

    key = models.UUIDField(unique=True, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="callbacks", verbose_name=_("job"))
    number = models.PositiveIntegerField(_("number"))
    reported_on = models.DateField(_("reported on"))
    reported_by = models.CharField(_("reported by"), max_length=120)
    text = models.CharField(_("what was reported"), max_length=500)
    room_name = models.CharField(_("room"), max_length=120, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    state = models.CharField(_("state"), max_length=10, choices=CallbackState, default=CallbackState.REPORTED)
    visitor = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="callback_visits",
        null=True,
        blank=True,
        verbose_name=_("who visits"),
    )
    visit_on = models.DateField(_("visit on"), null=True, blank=True)
    cause = models.CharField(_("cause"), max_length=12, choices=Cause, blank=True)
    is_covered = models.BooleanField(_("covered by the warranty"), null=True, blank=True)

    class Meta:
        ordering = ["-reported_on", "-pk"]
        verbose_name = _("callback")
        verbose_name_plural = _("callbacks")
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="callback_number_once_a_job"),
            models.CheckConstraint(
                condition=~Q(text="") & ~Q(reported_by=""), name="callback_says_what_and_who"
            ),
            models.CheckConstraint(condition=Q(state__in=CallbackState.values), name="callback_state_known"),
            models.CheckConstraint(condition=Q(cause__in=["", *Cause.values]), name="callback_cause_known"),
            models.CheckConstraint(
                condition=~Q(state__in=["found", "resolved"]) | ~Q(cause=""),
                name="callback_looked_at_has_a_cause",
            ),
        ]
        indexes = [models.Index(fields=["state", "visit_on"], name="callback_by_state")]

    def __str__(self) -> str:
        return f"{self.number}: {self.text}"

    def get_absolute_url(self) -> str:
        return reverse("punchlist:callback", args=[self.job_id, self.number])


class CallbackKind(models.TextChoices):
    """What happened to a callback."""

    REPORTED = "reported", _("reported")
    PLANNED = "planned", _("visit planned")
    FOUND = "found", _("looked at")
    DECIDED = "decided", _("warranty decided")
    RESOLVED = "resolved", _("resolved")
    REOPENED = "reopened", _("reported again")


class CallbackEvent(models.Model):
    """Who did what about a callback, when, and what they found; rows are added and never changed."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    callback = models.ForeignKey(Callback, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=10, choices=CallbackKind)
    visitor = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    day = models.DateField(null=True, blank=True)
    cause = models.CharField(max_length=12, choices=Cause, blank=True)
    is_covered = models.BooleanField(null=True, blank=True)
    text = models.CharField(max_length=500, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["callback", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=CallbackKind.values), name="callback_event_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["reported", "planned", "decided"]) | ~Q(text=""),
                name="callback_event_says_what",
            ),
            models.CheckConstraint(
                condition=~Q(kind="found") | Q(cause__in=Cause.values),
                name="callback_event_found_has_a_cause",
            ),
            models.CheckConstraint(
                condition=~Q(kind="decided") | Q(is_covered__isnull=False),
                name="callback_event_decided_says_how",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.callback_id} {self.kind}"


class CallbackEntry(models.Model):
    """An entry of the daily log that a callback caused: its hours, what it took, what else it cost."""

    callback = models.ForeignKey(Callback, models.PROTECT, related_name="entries")
    hours = models.OneToOneField(HoursEntry, models.PROTECT, related_name="of_callback", null=True)
    delivery = models.OneToOneField(DeliveryEntry, models.PROTECT, related_name="of_callback", null=True)
    cost = models.OneToOneField(CostEntry, models.PROTECT, related_name="of_callback", null=True)

    class Meta:
        ordering = ["callback", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(hours__isnull=False, delivery=None, cost=None)
                | Q(hours=None, delivery__isnull=False, cost=None)
                | Q(hours=None, delivery=None, cost__isnull=False),
                name="callback_entry_is_one_entry",
            )
        ]

    def __str__(self) -> str:
        return f"{self.callback_id}"

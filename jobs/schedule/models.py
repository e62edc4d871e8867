"""The calendar: visits of jobs and who makes them, waits between, days off, and private calendar feeds.

A visit is never deleted: one that falls away is cancelled, and one that somebody no longer makes is left, so
that calendar programs which read a feed can be told.
"""

from __future__ import annotations

import uuid

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.work.models import Job


class Plan(models.Model):
    """The visits of one job. *revision* is raised by every act, so that of two people the second is told.

    *network* is the sequence as it was sold: by task its hours, crew, room and what it waits for (see
    :mod:`jobs.schedule.network`); empty for a job whose lines were written by hand.
    """

    job = models.OneToOneField(Job, models.CASCADE, related_name="plan", verbose_name=_("job"))
    revision = models.PositiveIntegerField(default=1)
    network = models.JSONField(default=dict)

    class Meta:
        verbose_name = _("plan of a job")
        verbose_name_plural = _("plans of jobs")
        constraints = [models.CheckConstraint(condition=Q(revision__gte=1), name="plan_revision_counts")]

    def __str__(self) -> str:
        return str(self.job)

    def get_absolute_url(self) -> str:
        return reverse("schedule:job", args=[self.job_id])


class Visit(models.Model):
    """One stay of a crew on a site, on one day.

    *minutes* are worked; between *starts_at* and *ends_at* lie the breaks too. *parts* say which task of the
    network takes which of those minutes (``task``, ``at``, ``minutes``). Somebody *set* a visit that was put
    where it is by hand: what is planned anew leaves it there. *waits_until* is filled only where the visit
    begins before what it waits for is over.
    """

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="visits")
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    position = models.PositiveSmallIntegerField()
    day = models.DateField(_("day"))  # where the site is
    starts_at = models.DateTimeField(_("starts"))
    ends_at = models.DateTimeField(_("ends"))
    minutes = models.PositiveSmallIntegerField(_("minutes of work"))
    parts = models.JSONField(default=list, blank=True)
    steps = models.JSONField(default=list, blank=True)  # trade steps, the longest first
    rooms = models.JSONField(default=list, blank=True)  # names
    title = models.CharField(_("what for"), max_length=80, blank=True)
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    set_at = models.DateTimeField(null=True, blank=True)
    waits_until = models.DateTimeField(null=True, blank=True)
    waits_for = models.JSONField(null=True, blank=True)  # the wait, as a phrase of the takeoff
    cancelled_at = models.DateTimeField(null=True, blank=True)
    sequence = models.PositiveIntegerField(default=0)  # RFC 5545, 3.8.7.4
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["starts_at", "pk"]
        verbose_name = _("visit")
        verbose_name_plural = _("visits")
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="visit_ends_after_it_starts"
            ),
            models.CheckConstraint(
                condition=Q(minutes__gte=1, minutes__lte=24 * 60), name="visit_within_a_day"
            ),
            models.CheckConstraint(
                condition=Q(set_by=None, set_at=None) | Q(set_by__isnull=False, set_at__isnull=False),
                name="visit_set_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(changed_at__gte=F("made_at")), name="visit_changed_after_made"
            ),
        ]
        indexes = [
            models.Index(fields=["day"], name="visit_by_day"),
            models.Index(fields=["plan", "position"], name="visit_by_plan"),
        ]

    def __str__(self) -> str:
        return f"{self.day}"

    def get_absolute_url(self) -> str:
        return reverse("schedule:visit", args=[self.pk])


class VisitPerson(models.Model):
    """Somebody who makes a visit; *left_at*: was taken off it again."""

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="people")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="visits")
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["visit", "pk"]
        constraints = [models.UniqueConstraint(fields=["visit", "person"], name="visit_person_once")]

    def __str__(self) -> str:
        return str(self.person)


class Wait(models.Model):
    """A time by the clock after a visit in which some work must not begin: a cure, a flood test.

    It follows from the visits and is written anew with them; the pages read it without the network.
    """

    visit = models.ForeignKey(Visit, models.CASCADE, related_name="waits")
    cure = models.CharField(max_length=40)
    label = models.JSONField()  # a phrase of the takeoff
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    # Whether a later visit is held back by it; a cure before use holds back nobody of ours.
    holds = models.BooleanField(default=True)

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="wait_ends_after_it_starts"),
            models.UniqueConstraint(fields=["visit", "cure"], name="wait_once_after_a_visit"),
        ]

    def __str__(self) -> str:
        return self.cure


class PlanChange(models.Model):
    """Who did what to a plan, and how the visits stood before; rows are added and never changed."""

    class Kind(models.TextChoices):
        MADE = "made", _("planned from the sequence")
        MOVED = "moved", _("moved a visit")
        ADDED = "added", _("added a visit")
        DROPPED = "dropped", _("took a visit off")
        UNDONE = "undone", _("undid the change before")
        FOLLOWED = "followed", _("followed the job")

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="changes")
    revision = models.PositiveIntegerField()  # of the plan after it
    kind = models.CharField(max_length=8, choices=Kind)
    said = models.JSONField(default=list)  # what moved, as sentences in the language of who did it
    before = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "revision"], name="plan_change_once_a_revision"),
            models.CheckConstraint(
                condition=Q(kind__in=["made", "moved", "added", "dropped", "undone", "followed"]),
                name="plan_change_kind_known",
            ),
        ]
        indexes = [models.Index(fields=["by", "-at"], name="plan_change_by_person")]

    def __str__(self) -> str:
        return self.kind


class DayOff(models.Model):
    """Days on which somebody does not work."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="days_off", verbose_name=_("person")
    )
    first_on = models.DateField(_("first day"))
    last_on = models.DateField(_("last day"))
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["first_on", "pk"]
        verbose_name = _("days off")
        verbose_name_plural = _("days off")
        constraints = [
            models.CheckConstraint(
                condition=Q(last_on__gte=F("first_on")), name="day_off_ends_after_it_starts"
            ),
            models.UniqueConstraint(fields=["person", "first_on"], name="day_off_starts_once"),
        ]

    def __str__(self) -> str:
        return f"{self.person} {self.first_on}"


class FeedLink(models.Model):
    """A private address from which a calendar program reads visits: one person's, or (nobody's) the office's.

    Of its token only the SHA-256 is kept; the address is told once, when it is made.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="feed_links", null=True, blank=True
    )
    is_office = models.BooleanField(default=False)
    token_sha256 = models.CharField(max_length=64, unique=True, editable=False)
    language = models.CharField(max_length=5, default="en")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)
    # What was sent last, and since when it is so: HTTP's Last-Modified.
    body_sha256 = models.CharField(max_length=64, blank=True, editable=False)
    changed_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"],
                condition=Q(revoked_at=None, person__isnull=False),
                name="feed_one_open_a_person",
            ),
            models.UniqueConstraint(
                fields=["is_office"],
                condition=Q(is_office=True, revoked_at=None),
                name="feed_one_open_for_the_office",
            ),
            models.CheckConstraint(
                condition=Q(is_office=True, person=None) | Q(is_office=False, person__isnull=False),
                name="feed_of_a_person_or_the_office",
            ),
            models.CheckConstraint(
                condition=Q(revoked_at=None, revoked_by=None)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="feed_revoked_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return str(self.person or "office")

"""Accepted work: one job for one accepted quote, who does it, and how far it is."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from contracting.customers.models import Site
from contracting.documents.models import DocumentRequest
from estimates.quotes.models import Quote


class Stage(models.TextChoices):
    """How far a job is, in the order of the trade."""

    ACCEPTED = "accepted", _("to be scheduled")
    SCHEDULED = "scheduled", _("scheduled")
    SUBSTRATE = "substrate", _("substrate")
    MEMBRANE = "membrane", _("membrane")
    TILE = "tile", _("tile and grout")
    PUNCH = "punch", _("punch list")
    COMPLETE = "complete", _("complete")
    CANCELLED = "cancelled", _("cancelled")


# Work may step back (a membrane that failed its check goes back to the substrate), never skip ahead past
# the membrane, and a complete job is reopened only to its punch list.
TRANSITIONS: dict[Stage, frozenset[Stage]] = {
    Stage.ACCEPTED: frozenset({Stage.SCHEDULED, Stage.CANCELLED}),
    Stage.SCHEDULED: frozenset({Stage.ACCEPTED, Stage.SUBSTRATE, Stage.CANCELLED}),
    Stage.SUBSTRATE: frozenset({Stage.SCHEDULED, Stage.MEMBRANE, Stage.CANCELLED}),
    Stage.MEMBRANE: frozenset({Stage.SUBSTRATE, Stage.TILE, Stage.CANCELLED}),
    Stage.TILE: frozenset({Stage.MEMBRANE, Stage.PUNCH, Stage.CANCELLED}),
    Stage.PUNCH: frozenset({Stage.TILE, Stage.COMPLETE}),
    Stage.COMPLETE: frozenset({Stage.PUNCH}),
    Stage.CANCELLED: frozenset({Stage.ACCEPTED}),
}


class Job(models.Model):
    """The work of one accepted quote. What is to be built stands in the quote's frozen snapshot."""

    number = models.PositiveIntegerField(_("number"), unique=True)
    quote = models.OneToOneField(Quote, models.PROTECT, related_name="job", verbose_name=_("quote"))
    site = models.ForeignKey(Site, models.PROTECT, related_name="jobs", verbose_name=_("site"))
    # Copies for the list and its search.
    title = models.CharField(_("title"), max_length=120)
    customer_name = models.CharField(_("customer"), max_length=120)
    stage = models.CharField(_("stage"), max_length=12, choices=Stage, default=Stage.ACCEPTED)
    starts_on = models.DateField(_("starts on"), null=True, blank=True)
    crew_notes = models.TextField(_("notes for the crew"), blank=True)
    crew = models.ManyToManyField(
        settings.AUTH_USER_MODEL, through="CrewMember", related_name="jobs", verbose_name=_("crew")
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-number"]
        verbose_name = _("job")
        verbose_name_plural = _("jobs")
        constraints = [
            models.CheckConstraint(condition=Q(stage__in=Stage.values), name="job_stage_known"),
            models.CheckConstraint(
                condition=Q(stage__in=["accepted", "cancelled"]) | Q(starts_on__isnull=False),
                name="job_under_way_has_a_start",
            ),
        ]
        indexes = [
            models.Index(fields=["stage", "-number"], name="job_by_stage"),
            models.Index(fields=["starts_on"], name="job_by_start"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("work:job", args=[self.pk])


class CrewMember(models.Model):
    """Somebody who works on a job; an installer sees the jobs they are on, and no others."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="crew_members")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="crew_places")

    class Meta:
        ordering = ["job", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "person"], name="crew_member_once_a_job")]

    def __str__(self) -> str:
        return str(self.person)


class StageChange(models.Model):
    """Who moved a job to which stage, and when; rows are added and never changed."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="stage_changes")
    stage = models.CharField(_("stage"), max_length=12, choices=Stage)
    at = models.DateTimeField(_("at"))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta:
        ordering = ["job", "at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(stage__in=Stage.values), name="stage_change_stage_known")
        ]

    def __str__(self) -> str:
        return f"{self.stage}"


class JobPaper(models.Model):
    """A paper that was printed for a job: its crew sheets and purchase lists."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="papers")
    document = models.OneToOneField(DocumentRequest, models.CASCADE, related_name="+")

    class Meta:
        ordering = ["job", "-document"]

    def __str__(self) -> str:
        return str(self.document)

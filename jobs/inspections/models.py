"""Inspection records: what was to be checked, what was found, what was done about it.

Every table here is a record: rows are added and never changed or removed. A database trigger refuses both
(migration ``0002_records_only_grow``); a correction is a new row that points at the one it replaces. What a
check says about pass or fail is computed by the database from the evidence in the same row.
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Case, F, Q, Value, When
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from jobs.work.models import Job

from . import limits


class Hold(models.TextChoices):
    """Where work stops until somebody has looked; the values are the takeoff's (a test compares)."""

    SUBSTRATE = "substrate accepted", _("Substrate")
    MEMBRANE = "membrane accepted", _("Membrane")
    FLOOD_TEST = "flood test", _("Flood test")
    COVERAGE = "setting coverage", _("Mortar contact")
    JOINTS = "movement joints", _("Movement joints")
    FINAL = "final", _("Final check")


class Kind(models.TextChoices):
    READING = "reading", _("a reading")
    ANSWER = "answer", _("yes or no")
    LAID = "laid", _("a moment")
    FLOOD = "flood", _("a timed test")


class Quantity(models.TextChoices):
    LENGTH = "length", _("a length")
    PERCENT = "percent", _("per cent")


class Step(models.TextChoices):
    """Work that hold points stand before, as said in a sentence."""

    MEMBRANE = "membrane", _("laying membrane")
    FLOOD = "flood test", _("the flood test")
    TILE = "tile", _("setting tile")
    GROUT = "grout", _("grouting")
    PUNCH = "punch list", _("the punch list")
    HAND_OVER = "hand over", _("handing over")


class InspectionPlan(models.Model):
    """That the plan of a job was made, once."""

    job = models.OneToOneField(Job, models.PROTECT, related_name="inspection_plan")
    made_at = models.DateTimeField(_("made"))
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return str(self.job)


class PlannedCheck(models.Model):
    """One check of a job with its limit, frozen when the plan was made.

    Lengths are whole ten-thousandths of a millimetre, percentages whole hundredths. The words are English
    and are translated where they are shown.
    """

    plan = models.ForeignKey(InspectionPlan, models.PROTECT, related_name="checks")
    position = models.PositiveSmallIntegerField()
    key = models.CharField(max_length=24)
    hold = models.CharField(_("hold point"), max_length=20, choices=Hold)
    kind = models.CharField(max_length=8, choices=Kind)
    quantity = models.CharField(max_length=8, choices=Quantity, blank=True)
    room_key = models.CharField(max_length=40, blank=True)
    room_name = models.CharField(_("room"), max_length=80, blank=True)
    surface_key = models.CharField(max_length=40, blank=True)
    surface_name = models.CharField(_("surface"), max_length=80, blank=True)
    label = models.CharField(_("check"), max_length=80)
    ask = models.CharField(_("what to look at"), max_length=300)
    source = models.CharField(_("source"), max_length=160)
    instrument = models.CharField(_("instrument"), max_length=80, blank=True)
    needs_note = models.BooleanField(default=False)
    least = models.BigIntegerField(_("at least"), null=True, blank=True)
    most = models.BigIntegerField(_("at most"), null=True, blank=True)
    wait_seconds = models.PositiveIntegerField(_("cure"), default=0)
    stands_seconds = models.PositiveIntegerField(_("water stands"), default=0)

    class Meta:
        ordering = ["plan", "position"]
        verbose_name = _("check")
        verbose_name_plural = _("checks")
        constraints = [
            models.UniqueConstraint(
                fields=["plan", "key", "room_key", "surface_key"], name="check_planned_once"
            ),
            models.UniqueConstraint(fields=["plan", "position"], name="check_position_once"),
            models.CheckConstraint(condition=Q(hold__in=Hold.values), name="check_hold_known"),
            models.CheckConstraint(
                condition=Q(kind__in=["answer", "laid"], quantity="", least=None, most=None)
                | Q(kind__in=["reading", "flood"], quantity__in=Quantity.values)
                & (Q(least__isnull=False) | Q(most__isnull=False)),
                name="check_reading_has_a_limit",
            ),
            models.CheckConstraint(
                condition=Q(least=None) | Q(most=None) | Q(least__lte=F("most")), name="check_limit_in_order"
            ),
            models.CheckConstraint(
                condition=Q(kind="flood", stands_seconds__gt=0) | (~Q(kind="flood") & Q(stands_seconds=0)),
                name="check_flood_stands",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} ({self.place})" if self.place else self.label

    def get_absolute_url(self) -> str:
        return reverse("inspections:check", args=[self.plan.job_id, self.pk])

    @property
    def place(self) -> str:
        """Room and surface, or "" for the whole job; a usual surface's name in the reader's language."""
        return ", ".join(name for name in (self.room_name, gettext(self.surface_name)) if name)

    @property
    def limit(self) -> limits.Limit | None:
        if not self.quantity:
            return None
        return limits.Limit(limits.Quantity(self.quantity), self.least, self.most)


class FloodStart(models.Model):
    """Water is in: the level, the moment, and since when the membrane has stood."""

    planned = models.ForeignKey(PlannedCheck, models.PROTECT, related_name="flood_starts")
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    level = models.PositiveBigIntegerField(_("level at the start"))
    level_typed = models.CharField(max_length=40)
    started_at = models.DateTimeField(_("started"))
    laid_at = models.DateTimeField(_("membrane finished"))
    is_cold = models.BooleanField(_("laid below 50 °F (10 °C)"))
    stands_seconds = models.PositiveIntegerField(_("water stands"))
    instrument = models.CharField(_("instrument"), max_length=80)
    note = models.CharField(_("note"), max_length=500, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["planned", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(stands_seconds__gt=0), name="flood_start_stands"),
            models.CheckConstraint(condition=Q(started_at__gte=F("laid_at")), name="flood_start_after_laid"),
            models.CheckConstraint(condition=~Q(instrument=""), name="flood_start_has_instrument"),
        ]

    def __str__(self) -> str:
        return f"{self.started_at:%Y-%m-%d %H:%M}"


_WITHIN = (Q(least=None) | Q(reading__gte=F("least"))) & (Q(most=None) | Q(reading__lte=F("most")))
_STOOD = (
    (Q(least=None) | Q(start_level__gte=F("least")))
    & (Q(most=None) | Q(start_level__lte=F("most")))
    & Q(
        reading__gte=F("start_level"),
        reading__lte=F("start_level") + limits.FLOOD_RISE,
        stood_seconds__gte=F("stands_seconds"),
        waited_seconds__gte=F("wait_seconds"),
        leak_seen=False,
    )
)


class CheckRecord(models.Model):
    """What was found at a check. The evidence is entered; *passed* is the database's own computation.

    The limits are copied from the planned check, so that the row can be judged by itself. *reading* is the
    level at the end of a flood test. *observed_at* is when somebody looked, *recorded_at* when we knew.
    """

    planned = models.ForeignKey(PlannedCheck, models.PROTECT, related_name="records")
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    kind = models.CharField(max_length=8, choices=Kind)
    least = models.BigIntegerField(null=True, blank=True)
    most = models.BigIntegerField(null=True, blank=True)
    reading = models.PositiveBigIntegerField(_("reading"), null=True, blank=True)
    reading_typed = models.CharField(max_length=40, blank=True)
    instrument = models.CharField(_("instrument"), max_length=80, blank=True)
    answer = models.BooleanField(_("answer"), null=True, blank=True)
    laid_at = models.DateTimeField(_("last sheet embedded"), null=True, blank=True)
    is_cold = models.BooleanField(_("laid below 50 °F (10 °C)"), null=True, blank=True)
    flood_start = models.OneToOneField(
        FloodStart, models.PROTECT, related_name="result", null=True, blank=True
    )
    start_level = models.PositiveBigIntegerField(null=True, blank=True)
    stood_seconds = models.PositiveIntegerField(null=True, blank=True)
    stands_seconds = models.PositiveIntegerField(null=True, blank=True)
    waited_seconds = models.PositiveIntegerField(null=True, blank=True)
    wait_seconds = models.PositiveIntegerField(null=True, blank=True)
    leak_seen = models.BooleanField(_("water seen where it must not be"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )
    reason = models.CharField(_("why it is corrected"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    observed_at = models.DateTimeField(_("looked at"))
    recorded_at = models.DateTimeField(_("recorded"))
    passed = models.GeneratedField(
        expression=Case(
            When(Q(kind="answer", answer=True), then=Value(True)),
            When(Q(kind="laid", laid_at__isnull=False), then=Value(True)),
            When(Q(kind="reading") & _WITHIN, then=Value(True)),
            When(Q(kind="flood") & _STOOD, then=Value(True)),
            default=Value(False),
        ),
        output_field=models.BooleanField(),
        db_persist=True,
    )

    class Meta:
        ordering = ["planned", "pk"]
        verbose_name = _("inspection record")
        verbose_name_plural = _("inspection records")
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="answer", answer__isnull=False, reading=None, laid_at=None, flood_start=None)
                | Q(
                    kind="laid",
                    laid_at__isnull=False,
                    is_cold__isnull=False,
                    answer=None,
                    reading=None,
                    flood_start=None,
                )
                | Q(kind="reading", reading__isnull=False, answer=None, laid_at=None, flood_start=None)
                & (Q(least__isnull=False) | Q(most__isnull=False))
                & ~Q(instrument="")
                | Q(
                    kind="flood",
                    reading__isnull=False,
                    start_level__isnull=False,
                    stood_seconds__isnull=False,
                    stands_seconds__gt=0,
                    waited_seconds__isnull=False,
                    wait_seconds__isnull=False,
                    leak_seen__isnull=False,
                    answer=None,
                    laid_at=None,
                )
                & (Q(flood_start__isnull=False) | Q(supersedes__isnull=False))
                & ~Q(instrument=""),
                name="record_has_its_evidence",
            ),
            models.CheckConstraint(
                condition=Q(supersedes=None, reason="") | Q(supersedes__isnull=False) & ~Q(reason=""),
                name="record_correction_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.planned_id}: {self.pk}"


class NonConformance(models.Model):
    """A check failed. It stays until a re-inspection passes; see :class:`Closure`."""

    planned = models.ForeignKey(PlannedCheck, models.PROTECT, related_name="non_conformances")
    opened_by = models.OneToOneField(CheckRecord, models.PROTECT, related_name="non_conformance")
    opened_at = models.DateTimeField(_("opened"))

    class Meta:
        ordering = ["pk"]
        verbose_name = _("non-conformance")
        verbose_name_plural = _("non-conformances")

    def __str__(self) -> str:
        return f"{self.pk}"


class CorrectiveAction(models.Model):
    """What was done about a non-conformance, before the check is looked at again."""

    non_conformance = models.ForeignKey(NonConformance, models.PROTECT, related_name="actions")
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    text = models.CharField(_("what was done"), max_length=500)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    # The failed record it answers: an action before a second failure does not count for a third look.
    after = models.ForeignKey(CheckRecord, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=~Q(text=""), name="corrective_action_says_what")]

    def __str__(self) -> str:
        return self.text


class Closure(models.Model):
    """The passed re-inspection that closed a non-conformance."""

    non_conformance = models.OneToOneField(NonConformance, models.PROTECT, related_name="closure")
    record = models.OneToOneField(CheckRecord, models.PROTECT, related_name="closes")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.non_conformance_id}"


class HoldPointOverride(models.Model):
    """Somebody with the right let work go on past a hold point, and why. It shows for ever."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="hold_point_overrides")
    key = models.UUIDField(unique=True, default=uuid.uuid4)
    step = models.CharField(_("for"), max_length=12, choices=Step)
    reason = models.CharField(_("reason"), max_length=500)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="override_of_hold_has_reason"),
            models.CheckConstraint(condition=Q(step__in=Step.values), name="override_of_hold_step_known"),
        ]

    def __str__(self) -> str:
        return self.reason


class WaivedCheck(models.Model):
    """A check that stood in the way when it was overridden, in the words shown then.

    *last_record* is what was known then: whatever is recorded later stands in the way anew.
    """

    override = models.ForeignKey(HoldPointOverride, models.PROTECT, related_name="waived")
    planned = models.ForeignKey(PlannedCheck, models.PROTECT, related_name="waived")
    last_record = models.ForeignKey(CheckRecord, models.PROTECT, related_name="+", null=True, blank=True)
    sentence = models.CharField(max_length=400)

    class Meta:
        ordering = ["override", "pk"]
        constraints = [models.UniqueConstraint(fields=["override", "planned"], name="waived_once")]

    def __str__(self) -> str:
        return self.sentence

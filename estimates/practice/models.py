"""How this contractor works, where it differs from the defaults of the takeoff.

Rows are only added: the newest of a key counts, and those before it are the history of who changed what and
when. A row without figures says that the default holds again.
"""

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from contracting.staff.models import User


class KeptValue(models.Model):
    """What every row of the history says: which figure, what says so, who set it and when."""

    # The name that the takeoff gives it; a setting that the program no longer knows stays in the history.
    key = models.CharField(max_length=60)
    source = models.CharField(_("what says so"), max_length=200, blank=True)
    set_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        abstract = True
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.key

    @property
    def is_default(self) -> bool:
        """Whether the row says that the default holds again."""
        raise NotImplementedError


class PracticeValue(KeptValue):
    """A setting in the unit it was typed in, in whole millionths; NULL: back to the default."""

    value_millionths = models.BigIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)

    class Meta(KeptValue.Meta):
        constraints = [
            models.CheckConstraint(condition=~Q(key=""), name="practice_value_has_key"),
            models.CheckConstraint(
                condition=Q(value_millionths__isnull=True) | Q(value_millionths__gte=0),
                name="practice_value_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(value_millionths__isnull=False) | Q(unit="", source=""),
                name="practice_value_default_is_bare",
            ),
        ]
        indexes = [models.Index(fields=["key", "-id"], name="practice_value_newest")]

    @property
    def is_default(self) -> bool:
        return self.value_millionths is None


class RateValue(KeptValue):
    """What one worker does in an hour, in whole millionths of *unit*; all NULL: back to the default.

    Set-up and minimum are whole man-minutes.
    """

    optimistic_millionths = models.BigIntegerField(null=True, blank=True)
    likely_millionths = models.BigIntegerField(null=True, blank=True)
    pessimistic_millionths = models.BigIntegerField(null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    setup_minutes = models.PositiveIntegerField(null=True, blank=True)
    minimum_minutes = models.PositiveIntegerField(null=True, blank=True)
    crew = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta(KeptValue.Meta):
        constraints = [
            models.CheckConstraint(condition=~Q(key=""), name="rate_value_has_key"),
            models.CheckConstraint(
                condition=Q(
                    optimistic_millionths__isnull=True,
                    likely_millionths__isnull=True,
                    pessimistic_millionths__isnull=True,
                    setup_minutes__isnull=True,
                    minimum_minutes__isnull=True,
                    crew__isnull=True,
                    unit="",
                    source="",
                )
                | Q(
                    optimistic_millionths__isnull=False,
                    likely_millionths__isnull=False,
                    pessimistic_millionths__isnull=False,
                    setup_minutes__isnull=False,
                    minimum_minutes__isnull=False,
                    crew__isnull=False,
                )
                & ~Q(unit=""),
                name="rate_value_whole_or_default",
            ),
            # Rates fall: the most work in an hour is the best that may happen.
            models.CheckConstraint(
                condition=Q(likely_millionths__isnull=True)
                | Q(
                    optimistic_millionths__gte=F("likely_millionths"),
                    likely_millionths__gte=F("pessimistic_millionths"),
                    pessimistic_millionths__gt=0,
                ),
                name="rate_value_above_zero_and_falls",
            ),
            models.CheckConstraint(
                condition=Q(crew__isnull=True) | Q(crew__gte=1), name="rate_value_has_a_crew"
            ),
        ]
        indexes = [models.Index(fields=["key", "-id"], name="rate_value_newest")]

    @property
    def is_default(self) -> bool:
        return self.likely_millionths is None


class FactorValue(KeptValue):
    """What the hours are multiplied by, in whole millionths; NULL: back to the default."""

    multiplier_millionths = models.BigIntegerField(null=True, blank=True)

    class Meta(KeptValue.Meta):
        constraints = [
            models.CheckConstraint(condition=~Q(key=""), name="factor_value_has_key"),
            models.CheckConstraint(
                condition=Q(multiplier_millionths__isnull=True) | Q(multiplier_millionths__gt=0),
                name="factor_value_above_zero",
            ),
            models.CheckConstraint(
                condition=Q(multiplier_millionths__isnull=False) | Q(source=""),
                name="factor_value_default_is_bare",
            ),
        ]
        indexes = [models.Index(fields=["key", "-id"], name="factor_value_newest")]

    @property
    def is_default(self) -> bool:
        return self.multiplier_millionths is None


class WorkingTime(models.Model):
    """The calendar as it was set on one day, with its breaks and holidays; the newest counts.

    Without hours the default hours hold; the holidays are the company's own either way.
    """

    start_of_day = models.TimeField(_("work starts"), null=True, blank=True)
    end_of_day = models.TimeField(_("work ends"), null=True, blank=True)
    # Bit 0 is Monday, bit 6 Sunday.
    weekdays = models.PositiveSmallIntegerField(default=0)
    set_by = models.ForeignKey(User, models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(start_of_day__isnull=True, end_of_day__isnull=True, weekdays=0)
                | Q(start_of_day__lt=F("end_of_day"), weekdays__gte=1, weekdays__lte=127),
                name="working_time_day_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.start_of_day} – {self.end_of_day}"

    @property
    def is_default(self) -> bool:
        """Whether the default hours hold."""
        return self.start_of_day is None


class WorkBreak(models.Model):
    working_time = models.ForeignKey(WorkingTime, models.CASCADE, related_name="breaks")
    starts = models.TimeField()
    ends = models.TimeField()

    class Meta:
        ordering = ["working_time", "starts"]
        constraints = [
            models.CheckConstraint(condition=Q(starts__lt=F("ends")), name="work_break_ends_after_it_starts"),
        ]

    def __str__(self) -> str:
        return f"{self.starts:%H:%M} – {self.ends:%H:%M}"


class Holiday(models.Model):
    """A day without work."""

    working_time = models.ForeignKey(WorkingTime, models.CASCADE, related_name="holidays")
    day = models.DateField(_("day"))
    name = models.CharField(_("name"), max_length=60, blank=True)

    class Meta:
        ordering = ["working_time", "day"]
        constraints = [
            models.UniqueConstraint(fields=["working_time", "day"], name="holiday_once"),
        ]

    def __str__(self) -> str:
        return self.name or str(self.day)

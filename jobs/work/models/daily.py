"""The daily log of a job: hours, deliveries, other costs, progress, and what stood in the way.

Rows are added and never edited. A correction is a new row that supersedes an earlier one; a superseded row
stays and counts no more. A correction to nothing (no minutes, no packs, no amount, no text) strikes the row
out. Every row carries a key that its writer made, so the same act sent twice is stored once.

Only what is derived may change afterwards: the rate and cost of hours, when a pay rate is entered late. A
database trigger refuses every other change (migration ``0003_log_only_grows``).
"""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from .job import Job

MINUTES_OF_A_DAY = 24 * 60


class LogEntry(models.Model):
    """What every row of the log has."""

    key = models.UUIDField(_("key"), editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="%(class)s_set", verbose_name=_("job"))
    day = models.DateField(_("day"))
    note = models.CharField(_("note"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(_("stored at"))
    supersedes = models.OneToOneField(
        "self", models.PROTECT, related_name="superseded_by", null=True, blank=True
    )

    class Meta:
        abstract = True
        ordering = ["job", "day", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["key"], name="%(class)s_key_once"),
            models.CheckConstraint(
                condition=Q(supersedes=None) | ~Q(supersedes=F("pk")), name="%(class)s_not_its_own_successor"
            ),
        ]
        indexes = [models.Index(fields=["job", "day"], name="%(class)s_by_job")]


class HoursEntry(LogEntry):
    """Time one person worked on one activity of a job on one day.

    *cost_cents* is minutes at the pay and burden of that person on that day, rounded half up once; without a
    known rate both parts are None and the cost is 0 until one is entered.
    """

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="hours_entries", verbose_name=_("person")
    )
    step = models.CharField(_("activity"), max_length=40)
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    pay_cents_per_hour = models.PositiveIntegerField(_("pay an hour"), null=True, editable=False)
    burden_basis_points = models.PositiveIntegerField(_("burden"), null=True, editable=False)
    cost_cents = models.PositiveBigIntegerField(_("cost"), default=0, editable=False)

    class Meta(LogEntry.Meta):
        verbose_name = _("hours")
        verbose_name_plural = _("hours")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(condition=~Q(step=""), name="hours_have_a_step"),
            models.CheckConstraint(condition=Q(minutes__lte=MINUTES_OF_A_DAY), name="hours_within_a_day"),
            models.CheckConstraint(
                condition=Q(minutes__gt=0) | Q(supersedes__isnull=False),
                name="hours_struck_only_by_correction",
            ),
            models.CheckConstraint(
                condition=Q(pay_cents_per_hour__isnull=False, burden_basis_points__isnull=False)
                | Q(pay_cents_per_hour=None, burden_basis_points=None, cost_cents=0),
                name="hours_cost_needs_a_rate",
            ),
        ]
        indexes = [*LogEntry.Meta.indexes, models.Index(fields=["person", "day"], name="hours_by_person")]

    def __str__(self) -> str:
        return f"{self.day} {self.step} {self.minutes}"


class DeliveryEntry(LogEntry):
    """Packs of one material that reached a job (less than nothing: sent back), and what they cost.

    Until the office has confirmed the cost, *cost_cents* is the packs at the budget's price of a pack: the
    crew log what came without seeing or typing money, and the job's cost is still complete.
    """

    step = models.CharField(_("trade step"), max_length=40)
    material_key = models.CharField(max_length=120)
    material_name = models.CharField(_("material"), max_length=160)
    pack_label = models.CharField(_("pack"), max_length=40, blank=True)
    packs_millionths = models.BigIntegerField(_("packs"))
    lot_numbers = models.CharField(_("lot numbers"), max_length=200, blank=True)
    cost_cents = models.BigIntegerField(_("cost"), default=0)
    is_cost_confirmed = models.BooleanField(_("the cost is that of the invoice"), default=False)

    class Meta(LogEntry.Meta):
        verbose_name = _("delivery")
        verbose_name_plural = _("deliveries")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(step="") & ~Q(material_key="") & ~Q(material_name=""),
                name="delivery_says_what_it_is",
            ),
            models.CheckConstraint(
                condition=~Q(packs_millionths=0) | Q(supersedes__isnull=False),
                name="delivery_struck_only_by_correction",
            ),
            models.CheckConstraint(
                condition=Q(packs_millionths__gte=0, cost_cents__gte=0)
                | Q(packs_millionths__lt=0, cost_cents__lte=0),
                name="delivery_cost_has_the_sign_of_its_packs",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.material_name}"


class CostEntry(LogEntry):
    """Any other money a job cost: disposal, a rented tool, a permit. Only the office sees it."""

    step = models.CharField(_("trade step"), max_length=40)
    what = models.CharField(_("what"), max_length=200)
    amount_cents = models.PositiveBigIntegerField(_("amount"))

    class Meta(LogEntry.Meta):
        verbose_name = _("other cost")
        verbose_name_plural = _("other costs")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(condition=~Q(step="") & ~Q(what=""), name="cost_says_what_it_is"),
            models.CheckConstraint(
                condition=Q(amount_cents__gt=0) | Q(supersedes__isnull=False),
                name="cost_struck_only_by_correction",
            ),
            models.CheckConstraint(condition=Q(amount_cents__lte=1_000_000_000), name="cost_believable"),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.what}"


class ProgressEntry(LogEntry):
    """How much of a trade step the crew says is done; the newest that is not superseded holds.

    Where it was said as a quantity, *quantity_thousandths* is what is done by then and *of_thousandths* what
    the takeoff foresaw, both in *unit*; the share follows from the two.
    """

    step = models.CharField(_("trade step"), max_length=40)
    done_basis_points = models.PositiveIntegerField(_("done"))
    quantity_thousandths = models.PositiveBigIntegerField(_("quantity done"), null=True, blank=True)
    of_thousandths = models.PositiveBigIntegerField(_("quantity foreseen"), null=True, blank=True)
    unit = models.CharField(_("unit"), max_length=12, blank=True)

    class Meta(LogEntry.Meta):
        verbose_name = _("progress")
        verbose_name_plural = _("progress")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(
                condition=~Q(step="") & Q(done_basis_points__lte=10_000), name="progress_at_most_all"
            ),
            models.CheckConstraint(
                condition=Q(quantity_thousandths=None, of_thousandths=None, unit="")
                | Q(quantity_thousandths__isnull=False, of_thousandths__isnull=False)
                & Q(of_thousandths__gt=0)
                & ~Q(unit=""),
                name="progress_quantity_is_of_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.step} {self.done_basis_points}"


class NoteKind(models.TextChoices):
    """What a note of the day is about."""

    DELAY = "delay", _("delay")
    VISITOR = "visitor", _("visitor")
    WEATHER = "weather", _("weather and temperatures")
    OTHER = "other", _("anything else")


class DelayCause(models.TextChoices):
    """What held work up."""

    WEATHER = "weather", _("weather")
    MATERIAL = "material", _("material late or wrong")
    ACCESS = "access", _("no access")
    OTHER_TRADE = "trade", _("another trade")
    CUSTOMER = "customer", _("the customer's decision")
    SUBSTRATE = "substrate", _("substrate not as expected")
    TOOL = "tool", _("tool or machine")
    CHECK = "check", _("a check or a cure")
    CREW = "crew", _("crew short")
    OTHER = "other", _("something else")


class DayNote(LogEntry):
    """A delay and its cause, a visitor, the weather. *minutes* lost only where something was delayed.

    Temperatures are tenths of a degree Celsius, the lowest and the highest where the work is.
    """

    kind = models.CharField(_("about"), max_length=8, choices=NoteKind, default=NoteKind.OTHER)
    text = models.CharField(_("what happened"), max_length=500, blank=True)
    cause = models.CharField(_("cause"), max_length=10, choices=DelayCause, blank=True)
    low_tenths = models.SmallIntegerField(_("lowest temperature"), null=True, blank=True)
    high_tenths = models.SmallIntegerField(_("highest temperature"), null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(_("minutes lost"), default=0)

    class Meta(LogEntry.Meta):
        verbose_name = _("note of the day")
        verbose_name_plural = _("notes of the day")
        constraints = [
            *LogEntry.Meta.constraints,
            models.CheckConstraint(condition=Q(kind__in=NoteKind.values), name="day_note_kind_known"),
            models.CheckConstraint(
                condition=~Q(text="")
                | ~Q(cause="")
                | Q(low_tenths__isnull=False)
                | Q(supersedes__isnull=False),
                name="day_note_struck_only_by_correction",
            ),
            models.CheckConstraint(
                condition=Q(cause="") | Q(kind="delay", cause__in=DelayCause.values),
                name="day_note_cause_of_a_delay",
            ),
            models.CheckConstraint(
                condition=Q(low_tenths=None, high_tenths=None)
                | Q(kind="weather", low_tenths__isnull=False, high_tenths__isnull=False)
                & Q(low_tenths__gte=-600, low_tenths__lte=F("high_tenths"), high_tenths__lte=700),
                name="day_note_temperatures_of_the_weather",
            ),
            models.CheckConstraint(
                condition=Q(minutes=0) | Q(kind="delay", minutes__lte=MINUTES_OF_A_DAY),
                name="day_note_time_lost_only_by_delay",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.text}"

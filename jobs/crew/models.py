"""What a crew's phone sent: every act once, the ticks and clocks it made, and what the office should look at.

Rows are added and never changed, apart from who has looked at a :class:`LookAt`. An act is stored under the
key its phone made, in the same transaction as its effect, so that a repeat is answered and not done again.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from jobs.work.models import Job


class PhoneAct(models.Model):
    """One act of a person on a phone, as it was sent, and what came of it.

    *made_at* is the phone's own clock; *at* is corrected by *offset_ms*, the server's clock less the phone's.
    A refused act had no effect; it is kept so that nothing a crew wrote down is lost.
    """

    class Outcome(models.TextChoices):
        DONE = "done", _("done")
        REFUSED = "refused", _("refused")

    key = models.UUIDField(unique=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="phone_acts")
    # None: the act named a job that does not exist.
    job = models.ForeignKey(Job, models.PROTECT, related_name="phone_acts", null=True, blank=True)
    kind = models.CharField(max_length=16)
    fields = models.JSONField(default=dict)
    made_at = models.DateTimeField()
    offset_ms = models.BigIntegerField(default=0)
    at = models.DateTimeField(_("at"))
    recorded_at = models.DateTimeField(_("recorded"))
    outcome = models.CharField(max_length=8, choices=Outcome)
    messages = models.JSONField(default=list)

    class Meta:
        ordering = ["pk"]
        verbose_name = _("entry of a phone")
        verbose_name_plural = _("entries of phones")
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome="done", job__isnull=False) | Q(outcome="refused") & ~Q(messages=[]),
                name="phone_act_done_or_says_why",
            ),
            models.CheckConstraint(condition=~Q(kind=""), name="phone_act_has_a_kind"),
        ]
        indexes = [models.Index(fields=["job", "person"], name="phone_act_by_job")]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"


class Subject(models.TextChoices):
    """What is ticked or timed."""

    CUT = "cut", _("piece of the cut list")
    STEP = "step", _("step of the sequence")
    BATCH = "batch", _("batch of bonding agent")
    TIMER = "timer", _("hours")


class MarkState(models.TextChoices):
    DONE = "done", _("done")
    UNDONE = "undone", _("not done after all")
    SPREAD = "spread", _("agent spread")
    EMBEDDED = "embedded", _("sheets embedded")
    RUNNING = "running", _("timer started")
    STOPPED = "stopped", _("timer stopped")


STATES_OF: dict[str, tuple[str, ...]] = {
    Subject.CUT: (MarkState.DONE, MarkState.UNDONE),
    Subject.STEP: (MarkState.DONE, MarkState.UNDONE),
    Subject.BATCH: (MarkState.SPREAD, MarkState.EMBEDDED, MarkState.UNDONE),
    Subject.TIMER: (MarkState.RUNNING, MarkState.STOPPED),
}


class Mark(models.Model):
    """A tick or a clock: the newest by *at* of one subject and *ref* holds (of timers, one a person).

    *ref* is the piece, the task's key, the number of the batch, or the trade step that is timed.
    """

    act = models.OneToOneField(PhoneAct, models.PROTECT, related_name="mark")
    job = models.ForeignKey(Job, models.PROTECT, related_name="crew_marks")
    subject = models.CharField(max_length=8, choices=Subject)
    ref = models.CharField(max_length=120)
    state = models.CharField(max_length=8, choices=MarkState)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(_("at"))

    class Meta:
        ordering = ["job", "subject", "ref", "at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(subject__in=["cut", "step"], state__in=["done", "undone"])
                | Q(subject="batch", state__in=["spread", "embedded", "undone"])
                | Q(subject="timer", state__in=["running", "stopped"]),
                name="mark_state_fits_its_subject",
            ),
            models.CheckConstraint(condition=~Q(ref=""), name="mark_says_of_what"),
        ]
        indexes = [models.Index(fields=["job", "subject", "ref"], name="mark_by_subject")]

    def __str__(self) -> str:
        return f"{self.subject} {self.ref} {self.state}"


class LookAt(models.Model):
    """Something the office should look at: two people on one thing, or work on a job that had changed."""

    class Why(models.TextChoices):
        BOTH = "both", _("two people recorded the same thing")
        CHANGED = "changed", _("the job had changed meanwhile")
        NOT_ON_CREW = "off_crew", _("somebody who is not on the crew")
        REFUSED = "refused", _("an entry was refused")

    act = models.OneToOneField(PhoneAct, models.PROTECT, related_name="look_at")
    job = models.ForeignKey(Job, models.PROTECT, related_name="look_ats")
    why = models.CharField(max_length=8, choices=Why)
    other = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True)
    made_at = models.DateTimeField()
    seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True)
    seen_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(why__in=["both", "changed", "off_crew", "refused"]), name="look_at_why_known"
            ),
            models.CheckConstraint(
                condition=Q(seen_by=None, seen_at=None) | Q(seen_by__isnull=False, seen_at__isnull=False),
                name="look_at_seen_by_somebody",
            ),
        ]
        indexes = [models.Index(fields=["seen_at", "job"], name="look_at_open")]

    def __str__(self) -> str:
        return f"{self.why} {self.act_id}"

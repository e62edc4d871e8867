"""What is still to be put right on a job, where, by whom, and everything that happened to it.

An item's words never change; what happens to it is a row of :class:`PunchEvent`, which is only ever added.
*state*, *owner* and *due_on* of an item repeat what its newest events say, so that a list reads one row an
item; a conditional UPDATE of *state* is the lock between two people who act at once. A database trigger
refuses every other change (migration ``0002_punch_list_only_grows``).
"""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from jobs.work.models import Job

# A place on the plan: ten-thousandths of the room's width from the left, and of its depth from the top.
WHOLE = 10_000


class ItemState(models.TextChoices):
    """How far an item is."""

    OPEN = "open", _("to mend")
    MENDED = "mended", _("mended, to be looked at")
    REJECTED = "rejected", _("not accepted, to mend again")
    ACCEPTED = "accepted", pgettext_lazy("punch list item", "accepted")
    WITHDRAWN = "withdrawn", _("taken off the list")


TRANSITIONS: dict[ItemState, frozenset[ItemState]] = {
    ItemState.OPEN: frozenset({ItemState.MENDED, ItemState.WITHDRAWN}),
    ItemState.MENDED: frozenset({ItemState.ACCEPTED, ItemState.REJECTED, ItemState.WITHDRAWN}),
    ItemState.REJECTED: frozenset({ItemState.MENDED, ItemState.WITHDRAWN}),
    # What comes loose again before the job is complete.
    ItemState.ACCEPTED: frozenset({ItemState.REJECTED}),
    ItemState.WITHDRAWN: frozenset(),
}
TO_MEND = (ItemState.OPEN, ItemState.REJECTED)
# What keeps a job from being complete.
UNACCEPTED = (*TO_MEND, ItemState.MENDED)


class PunchItem(models.Model):
    """One thing to put right."""

    key = models.UUIDField(unique=True, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="punch_items", verbose_name=_("job"))
    number = models.PositiveIntegerField(_("number"))
    text = models.CharField(_("what is to be put right"), max_length=300)
    room_key = models.CharField(max_length=120, blank=True)
    room_name = models.CharField(_("room"), max_length=120, blank=True)
    across = models.PositiveIntegerField(_("from the left"), null=True, blank=True)
    down = models.PositiveIntegerField(_("from the top"), null=True, blank=True)
    place = models.CharField(_("place in words"), max_length=120, blank=True)
    step = models.CharField(_("trade step"), max_length=40, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    state = models.CharField(_("state"), max_length=10, choices=ItemState, default=ItemState.OPEN)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="punch_items",
        null=True,
        blank=True,
        verbose_name=_("who mends it"),
    )
    due_on = models.DateField(_("due on"), null=True, blank=True)

    class Meta:
        ordering = ["job", "number"]
        verbose_name = _("item of the punch list")
        verbose_name_plural = _("items of the punch list")
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="punch_item_number_once_a_job"),
            models.CheckConstraint(condition=~Q(text=""), name="punch_item_says_what"),
            models.CheckConstraint(condition=Q(state__in=ItemState.values), name="punch_item_state_known"),
            models.CheckConstraint(
                condition=Q(across=None, down=None)
                | (
                    Q(across__isnull=False, down__isnull=False)
                    & Q(across__lte=WHOLE, down__lte=WHOLE)
                    & ~Q(room_key="")
                ),
                name="punch_item_place_on_a_plan",
            ),
        ]
        indexes = [
            models.Index(
                fields=["due_on"],
                condition=Q(state__in=["open", "rejected"]),
                name="punch_item_to_mend_by_due_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.text}"

    def get_absolute_url(self) -> str:
        return reverse("punchlist:item", args=[self.job_id, self.number])


class EventKind(models.TextChoices):
    """What happened to an item."""

    OPENED = "opened", _("put on the list")
    ASSIGNED = "assigned", _("given to somebody")
    MENDED = "mended", _("mended")
    ACCEPTED = "accepted", pgettext_lazy("punch list item", "accepted")
    REJECTED = "rejected", _("not accepted")
    WITHDRAWN = "withdrawn", _("taken off the list")


class PunchEvent(models.Model):
    """Who did what to an item, when and why; rows are added and never changed."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    item = models.ForeignKey(PunchItem, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=10, choices=EventKind)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", null=True, blank=True
    )
    due_on = models.DateField(null=True, blank=True)
    customer = models.CharField(_("customer"), max_length=120, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["item", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=EventKind.values), name="punch_event_kind_known"),
            models.CheckConstraint(
                condition=~Q(kind__in=["rejected", "withdrawn"]) | ~Q(note=""), name="punch_event_says_why"
            ),
            models.CheckConstraint(
                condition=Q(customer="") | Q(kind="accepted"), name="punch_event_customer_accepts"
            ),
            models.CheckConstraint(
                condition=Q(owner=None, due_on=None) | Q(kind__in=["opened", "assigned"]),
                name="punch_event_owner_by_assignment",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} {self.kind}"


class PunchOverride(models.Model):
    """Somebody with the right let a job be completed with items open, and why. It shows for ever."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    job = models.ForeignKey(Job, models.PROTECT, related_name="punch_overrides")
    reason = models.CharField(_("reason"), max_length=500)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="punch_override_has_reason")]

    def __str__(self) -> str:
        return self.reason


class WaivedItem(models.Model):
    """An item that was open when its list was overridden; one not accepted later stands in the way anew."""

    override = models.ForeignKey(PunchOverride, models.PROTECT, related_name="waived")
    item = models.ForeignKey(PunchItem, models.PROTECT, related_name="waived")
    last_event = models.ForeignKey(PunchEvent, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["override", "pk"]
        constraints = [models.UniqueConstraint(fields=["override", "item"], name="punch_item_waived_once")]

    def __str__(self) -> str:
        return f"{self.item_id}"

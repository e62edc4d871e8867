"""What changes a punch list. Each call is one act of a person and one transaction.

Every act brings a key made by whoever acted (the phone, or the form that was opened): an act that is sent
twice, or queued without signal and sent again, is done once, and the second call returns what the first did.

Raises (all of them): ValidationError, by field, when something is refused; PermissionDenied when it is not
theirs to do.
"""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, PermissionDenied, ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import Role, User
from estimates.takeoff.labour import TRADE_STEPS
from jobs.work.models import CrewMember, Job, Stage

from .models import (
    TRANSITIONS,
    UNACCEPTED,
    EventKind,
    ItemState,
    PunchEvent,
    PunchItem,
    PunchOverride,
    WaivedItem,
)

Row = TypeVar("Row", bound=models.Model)
CLOSED = frozenset({Stage.COMPLETE, Stage.CANCELLED})
SHORTEST_REASON = 4


@dataclass(frozen=True)
class Where:
    """Where an item is: a room of the job, a place on its plan, and words.

    Attributes:
        room_key, room_name: of the frozen takeoff; "" for the whole job.
        across, down: ten-thousandths of the room's width from the left and of its depth from the top of its
            plan; both or neither.
    """

    room_key: str = ""
    room_name: str = ""
    across: int | None = None
    down: int | None = None
    place: str = ""


@transaction.atomic
def item_add(
    *,
    key: uuid.UUID,
    job: Job,
    text: str,
    by: User,
    where: Where | None = None,
    step: str = "",
    owner: User | None = None,
    due_on: datetime.date | None = None,
) -> PunchItem:
    """Put something on the punch list of *job*; an installer gives it to nobody but themselves."""
    lock(job)
    known = PunchItem.objects.filter(key=key).first()
    if known is not None:
        return same(known, job_id=job.pk, by_id=by.pk, text=text.strip(), step=step)
    if Job.objects.filter(pk=job.pk, stage__in=CLOSED).exists():
        raise ValidationError(
            _("The job is closed. What is reported now is a callback, or the office reopens its punch list.")
        )
    if step and step not in TRADE_STEPS:
        raise ValidationError(
            {"step": _("Read “%(step)s”: expected one of the trade steps.") % {"step": step}}
        )
    _check_owner(job, owner, by)
    last = PunchItem.objects.filter(job=job).aggregate(last=Max("number"))["last"] or 0
    where = where or Where()
    now = timezone.now()
    item = PunchItem(
        key=key,
        job=job,
        number=last + 1,
        text=text.strip(),
        room_key=where.room_key,
        room_name=where.room_name,
        across=where.across,
        down=where.down,
        place=where.place.strip(),
        step=step,
        by=by,
        at=now,
        owner=owner,
        due_on=due_on,
    )
    clean(item)
    item.save(force_insert=True)
    PunchEvent.objects.create(item=item, kind=EventKind.OPENED, owner=owner, due_on=due_on, by=by, at=now)
    return item


@transaction.atomic
def item_mend(*, key: uuid.UUID, item: PunchItem, by: User, note: str = "") -> PunchItem:
    """Say that an item is mended; anybody on the job may."""
    return _move(item, ItemState.MENDED, _Act(key, EventKind.MENDED, by, note))


@transaction.atomic
def item_accept(
    *, key: uuid.UUID, item: PunchItem, by: User, customer: str = "", note: str = ""
) -> PunchItem:
    """Accept a mended item for the company, or for the *customer* of that name; the office does."""
    _office(by)
    return _move(
        item, ItemState.ACCEPTED, _Act(key, EventKind.ACCEPTED, by, note, {"customer": customer.strip()})
    )


@transaction.atomic
def item_reject(*, key: uuid.UUID, item: PunchItem, by: User, reason: str) -> PunchItem:
    """Send an item back to be mended again, with the reason; the office does."""
    _office(by)
    _check_reason(reason)
    return _move(item, ItemState.REJECTED, _Act(key, EventKind.REJECTED, by, reason))


@transaction.atomic
def item_withdraw(*, key: uuid.UUID, item: PunchItem, by: User, reason: str) -> PunchItem:
    """Take an item off the list, with the reason; it stays in sight. The office does."""
    _office(by)
    _check_reason(reason)
    return _move(item, ItemState.WITHDRAWN, _Act(key, EventKind.WITHDRAWN, by, reason))


@transaction.atomic
def item_assign(
    *,
    key: uuid.UUID,
    item: PunchItem,
    by: User,
    owner: User | None,
    due_on: datetime.date | None,
    note: str = "",
) -> PunchItem:
    """Say who mends an item and by which day; the office does."""
    _office(by)
    act = _Act(key, EventKind.ASSIGNED, by, note, {"owner": owner, "due_on": due_on})
    if _done_before(item, act):
        return item
    if item.state not in UNACCEPTED:
        raise ValidationError(_("This item is closed; nobody has to mend it."))
    _check_owner(item.job, owner, by)
    rows = PunchItem.objects.filter(pk=item.pk, state=item.state)
    if not rows.update(owner=owner, due_on=due_on):
        return _somebody_was_first(item, act)
    _add(item, act)
    item.owner, item.due_on = owner, due_on
    return item


@transaction.atomic
def list_accept(*, key: uuid.UUID, job: Job, by: User, customer: str, note: str = "") -> list[PunchItem]:
    """Accept every mended item at once: the customer has signed the printed list.

    The keys of the acts follow from *key*, so that pressing twice accepts once.
    """
    _office(by)
    if not customer.strip():
        raise ValidationError({"customer": _("Say who signed.")})
    lock(job)
    events = PunchEvent.objects.filter(item__job=job, kind=EventKind.ACCEPTED).select_related("item")
    if before := [one.item for one in events if one.key == uuid.uuid5(key, str(one.item_id))]:
        return before
    mended = list(PunchItem.objects.filter(job=job, state=ItemState.MENDED))
    if not mended:
        raise ValidationError(_("No item is mended and waits to be accepted."))
    return [
        item_accept(key=uuid.uuid5(key, str(item.pk)), item=item, by=by, customer=customer, note=note)
        for item in mended
    ]


@transaction.atomic
def list_override(*, key: uuid.UUID, job: Job, by: User, reason: str) -> PunchOverride:
    """Let *job* be completed with the items that are open now; reason and items stay in sight for ever."""
    _office(by)
    if len(reason.strip()) < 10:
        raise ValidationError({"reason": _("Give the reason in a sentence; it stays in the record.")})
    lock(job)
    known = PunchOverride.objects.filter(key=key).first()
    if known is not None:
        return same(known, job_id=job.pk, by_id=by.pk)
    items = list(PunchItem.objects.filter(job=job, state__in=UNACCEPTED).annotate(newest=Max("events")))
    if not items:
        raise ValidationError(_("No item is open, so nothing has to be overridden."))
    override = PunchOverride(key=key, job=job, reason=reason.strip(), by=by, at=timezone.now())
    clean(override)
    override.save(force_insert=True)
    WaivedItem.objects.bulk_create(
        WaivedItem(override=override, item=item, last_event_id=item.newest) for item in items
    )
    return override


@dataclass(frozen=True)
class _Act:
    key: uuid.UUID
    kind: EventKind
    by: User
    note: str = ""
    more: dict[str, Any] = field(default_factory=dict)


def _move(item: PunchItem, state: ItemState, act: _Act) -> PunchItem:
    if _done_before(item, act):
        return item
    if state not in TRANSITIONS[ItemState(item.state)]:
        raise ValidationError(
            _("Item %(number)d is “%(old)s”; it cannot become “%(new)s”.")
            % {"number": item.number, "old": item.get_state_display(), "new": state.label}
        )
    # The conditional UPDATE is the lock, alike on SQLite and PostgreSQL.
    if not PunchItem.objects.filter(pk=item.pk, state=item.state).update(state=state):
        return _somebody_was_first(item, act)
    _add(item, act)
    item.state = state
    return item


def _add(item: PunchItem, act: _Act) -> None:
    event = PunchEvent(
        key=act.key,
        item=item,
        kind=act.kind,
        note=act.note.strip(),
        by=act.by,
        at=timezone.now(),
        **act.more,
    )
    clean(event)
    try:
        with transaction.atomic():
            event.save(force_insert=True)
    except IntegrityError:
        raise ValidationError(_("Another act has this key already; open the page again.")) from None


def _done_before(item: PunchItem, act: _Act) -> bool:
    """Return whether this very act is done; another one under its key is refused."""
    known = PunchEvent.objects.filter(key=act.key).first()
    if known is None:
        return False
    same(known, item_id=item.pk, kind=act.kind, by_id=act.by.pk)
    item.refresh_from_db(fields=["state", "owner", "due_on"])
    return True


def _somebody_was_first(item: PunchItem, act: _Act) -> PunchItem:
    # On PostgreSQL the same act, sent twice at once, waits at the UPDATE and finds itself done.
    if _done_before(item, act):
        return item
    raise ValidationError(_("Somebody else has changed this item; look again."))


def same(known: Row, **expected: object) -> Row:
    if any(getattr(known, name) != value for name, value in expected.items()):
        raise ValidationError(_("Another act has this key already; open the page again."))
    return known


def lock(job: Job) -> None:
    """Make acts on one job's list wait for each other: by the row on PostgreSQL, by IMMEDIATE on SQLite."""
    Job.objects.select_for_update().only("pk").get(pk=job.pk)


def _office(by: User) -> None:
    if not by.sees_money:
        raise PermissionDenied


def _check_owner(job: Job, owner: User | None, by: User) -> None:
    if owner is None:
        return
    if by.role == Role.INSTALLER and owner != by:
        raise ValidationError({"owner": _("The office says who else mends it.")})
    is_crew = CrewMember.objects.filter(job=job, person=owner).exists()
    if owner.role == Role.INSTALLER and not is_crew:
        raise ValidationError({"owner": _("%(name)s is not on the crew of this job.") % {"name": owner}})


def _check_reason(reason: str) -> None:
    if len(reason.strip()) < SHORTEST_REASON:
        raise ValidationError({"reason": _("Say why; whoever mends it reads it.")})


def clean(row: models.Model) -> None:
    """Check a row before it is stored; what a rule of the whole row says has no field of its own."""
    relations: Sequence[str] = [one.name for one in row._meta.fields if one.is_relation]
    try:
        row.full_clean(exclude=[*relations, "key"])
    except ValidationError as error:
        own = error.error_dict.pop(NON_FIELD_ERRORS, None) if hasattr(error, "error_dict") else None
        raise ValidationError(own) if own and not error.error_dict else error from None

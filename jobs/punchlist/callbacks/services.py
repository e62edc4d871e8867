"""What changes a callback. Each call is one act of a person and one transaction, done once for its key.

Raises (all of them): ValidationError, by field, when something is refused; PermissionDenied when it is not
theirs to do.
"""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import Role, User
from estimates.quotes.pricing_model import CALLBACK_STEP
from jobs.work.daily import services as daily
from jobs.work.daily.selectors import today_at
from jobs.work.models import CostEntry, CrewMember, DeliveryEntry, HoursEntry, Job, LogEntry, Stage

from ..models import Callback, CallbackEntry, CallbackEvent, CallbackKind, CallbackState, Cause
from ..models.callback import TRANSITIONS
from ..services import clean, lock, same

Entry = TypeVar("Entry", bound=LogEntry)


@transaction.atomic
def callback_report(
    *,
    key: uuid.UUID,
    job: Job,
    by: User,
    reported_on: datetime.date,
    reported_by: str,
    text: str,
    room_name: str = "",
) -> Callback:
    """Note what a customer reports about a complete job; the office does, or a crew member who was called."""
    lock(job)
    known = Callback.objects.filter(key=key).first()
    if known is not None:
        return same(known, job_id=job.pk, by_id=by.pk, text=text.strip(), reported_on=reported_on)
    if not Job.objects.filter(pk=job.pk, stage=Stage.COMPLETE).exists():
        raise ValidationError(_("The job is not complete; what is wrong goes on its punch list."))
    _check_day("reported_on", reported_on, job)
    last = Callback.objects.filter(job=job).aggregate(last=Max("number"))["last"] or 0
    made = Callback(
        key=key,
        job=job,
        number=last + 1,
        reported_on=reported_on,
        reported_by=reported_by.strip(),
        text=text.strip(),
        room_name=room_name.strip(),
        by=by,
        at=timezone.now(),
    )
    clean(made)
    made.save(force_insert=True)
    _add(made, _Act(uuid.uuid5(key, "event"), CallbackKind.REPORTED, by, {"day": reported_on}))
    return made


@transaction.atomic
def callback_plan(
    *, key: uuid.UUID, callback: Callback, by: User, visitor: User, visit_on: datetime.date, note: str = ""
) -> Callback:
    """Say who visits and when; an installer who was not on the job's crew joins it, so that they see it."""
    _office(by)
    act = _Act(key, CallbackKind.PLANNED, by, {"visitor": visitor, "day": visit_on, "text": note.strip()})
    done = _move(callback, CallbackState.PLANNED, act, visitor=visitor, visit_on=visit_on)
    if visitor.role == Role.INSTALLER:
        CrewMember.objects.get_or_create(job_id=callback.job_id, person=visitor)
    return done


@transaction.atomic
def callback_found(
    *, key: uuid.UUID, callback: Callback, by: User, cause: str, text: str, day: datetime.date | None = None
) -> Callback:
    """Say what was found and why it happened; whoever visited does, and may put it right later."""
    if cause not in Cause.values:
        raise ValidationError({"cause": _("Choose the cause.")})
    day = day or today_at(callback.job)
    _check_day("day", day, callback.job)
    act = _Act(key, CallbackKind.FOUND, by, {"cause": cause, "text": text.strip(), "day": day})
    return _move(callback, CallbackState.FOUND, act, cause=cause)


@transaction.atomic
def callback_decide(
    *, key: uuid.UUID, callback: Callback, by: User, is_covered: bool, reason: str = ""
) -> Callback:
    """Decide whether the warranty covers it; the office does, and may decide anew, which stays in sight."""
    _office(by)
    act = _Act(key, CallbackKind.DECIDED, by, {"is_covered": is_covered, "text": reason.strip()})
    if _done_before(callback, act):
        return callback
    if callback.state not in {CallbackState.FOUND, CallbackState.RESOLVED}:
        raise ValidationError(_("Nobody has looked at it yet; the cause decides what the warranty covers."))
    if not Callback.objects.filter(pk=callback.pk, state=callback.state).update(is_covered=is_covered):
        return _somebody_was_first(callback, act)
    _add(callback, act)
    callback.is_covered = is_covered
    return callback


@transaction.atomic
def callback_resolve(
    *, key: uuid.UUID, callback: Callback, by: User, text: str, day: datetime.date | None = None
) -> Callback:
    """Close a callback with what was done about it; whoever did it does."""
    day = day or today_at(callback.job)
    _check_day("day", day, callback.job)
    act = _Act(key, CallbackKind.RESOLVED, by, {"text": text.strip(), "day": day})
    return _move(callback, CallbackState.RESOLVED, act)


@transaction.atomic
def callback_reopen(*, key: uuid.UUID, callback: Callback, by: User, text: str) -> Callback:
    """Take a closed callback up again: the customer has called once more."""
    act = _Act(key, CallbackKind.REOPENED, by, {"text": text.strip()})
    return _move(callback, CallbackState.REPORTED, act, visitor=None, visit_on=None)


@transaction.atomic
def callback_hours_log(*, callback: Callback, act: daily.Act, person: User, minutes: int) -> HoursEntry:
    """Log the time *person* spent on a callback into the job's daily log, at their pay of the day."""
    entry = daily.hours_log(act=act, person=person, step=CALLBACK_STEP, minutes=minutes)
    return _tied(callback, entry)


@transaction.atomic
def callback_delivery_log(*, callback: Callback, act: daily.Act, **what: Any) -> DeliveryEntry:
    """Log packs a callback took; the arguments are those of ``daily.services.delivery_log`` but the step."""
    return _tied(callback, daily.delivery_log(act=act, **what | {"step": CALLBACK_STEP}))


@transaction.atomic
def callback_cost_log(*, callback: Callback, act: daily.Act, what: str, amount_cents: int) -> CostEntry:
    """Log any other money a callback cost; the office does."""
    entry = daily.cost_log(act=act, step=CALLBACK_STEP, what=what, amount_cents=amount_cents)
    return _tied(callback, entry)


def entry_corrected(entry: LogEntry, before: LogEntry | None) -> None:
    """Tie a correction to the callback of what it corrects; registered with ``listeners.when_logged``."""
    if before is None or getattr(before, "step", "") != CALLBACK_STEP:
        return
    known = CallbackEntry.objects.filter(**{_kind(before): before}).first()
    if known is not None:
        tie: dict[str, Any] = {_kind(entry): entry}
        CallbackEntry.objects.get_or_create(callback_id=known.callback_id, **tie)


def _tied(callback: Callback, entry: Entry) -> Entry:
    if entry.job_id != callback.job_id:
        raise ValidationError(_("An entry belongs to a callback of its own job."))
    tied, _is_new = CallbackEntry.objects.get_or_create(
        **{_kind(entry): entry}, defaults={"callback": callback}
    )
    if tied.callback_id != callback.pk:
        raise ValidationError(_("This entry belongs to another callback already."))
    return entry


def _kind(entry: LogEntry) -> str:
    return {HoursEntry: "hours", DeliveryEntry: "delivery", CostEntry: "cost"}[type(entry)]


@dataclass(frozen=True)
class _Act:
    key: uuid.UUID
    kind: CallbackKind
    by: User
    more: dict[str, Any] = field(default_factory=dict)


def _move(callback: Callback, state: CallbackState, act: _Act, **changes: Any) -> Callback:
    if _done_before(callback, act):
        return callback
    if state not in TRANSITIONS[CallbackState(callback.state)]:
        raise ValidationError(
            _("The callback is “%(old)s”; it cannot become “%(new)s”.")
            % {"old": callback.get_state_display(), "new": state.label}
        )
    # The conditional UPDATE is the lock, alike on SQLite and PostgreSQL.
    rows = Callback.objects.filter(pk=callback.pk, state=callback.state)
    if not rows.update(state=state, **changes):
        return _somebody_was_first(callback, act)
    _add(callback, act)
    for name, value in ({"state": state} | changes).items():
        setattr(callback, name, value)
    return callback


def _add(callback: Callback, act: _Act) -> None:
    event = CallbackEvent(
        key=act.key, callback=callback, kind=act.kind, by=act.by, at=timezone.now(), **act.more
    )
    clean(event)
    try:
        with transaction.atomic():
            event.save(force_insert=True)
    except IntegrityError:
        raise ValidationError(_("Another act has this key already; open the page again.")) from None


def _done_before(callback: Callback, act: _Act) -> bool:
    known = CallbackEvent.objects.filter(key=act.key).first()
    if known is None:
        return False
    same(known, callback_id=callback.pk, kind=act.kind, by_id=act.by.pk)
    callback.refresh_from_db(fields=["state", "visitor", "visit_on", "cause", "is_covered"])
    return True


def _somebody_was_first(callback: Callback, act: _Act) -> Callback:
    if _done_before(callback, act):
        return callback
    raise ValidationError(_("Somebody else has changed this callback; look again."))


def _office(by: User) -> None:
    if not by.sees_money:
        raise PermissionDenied


def _check_day(name: str, day: datetime.date, job: Job) -> None:
    if day > today_at(job):
        raise ValidationError(
            {name: _("Read %(day)s: expected a day up to today.") % {"day": day.isoformat()}}
        )

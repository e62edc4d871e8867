"""Taking acts from phones: each once, in order, and answered the same way however often it is sent."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from jobs.work.models import Job, Stage
from jobs.work.selectors import jobs_of

from .acts import HANDLERS, WORDS, Doing
from .models import LookAt, PhoneAct

# A phone's clock is believed as far as what it measured agrees with the moment its message came in.
OFFSET_SLACK = datetime.timedelta(minutes=2)
# What lies further back than a form may tell is a clock that was never set.
OLDEST = datetime.timedelta(days=366)
# Some three hundred years either side of 1970.
CALENDAR_MS = 10**13
# Acts whose moment a cure or a flood test is counted from, and to.
BEGINS_A_WAIT = frozenset({"flood-start", "check"})
ENDS_A_WAIT = frozenset({"flood-end"})
ENDED = frozenset({Stage.COMPLETE, Stage.CANCELLED})


@dataclass(frozen=True)
class Sent:
    """An act as the phone sent it.

    *seen* and *stage* are the newest row of the thing and the stage of the job as the phone had seen them;
    *mends* is the key of a refused act that this one puts right. *offset* is how far the phone's clock was
    from ours when the act was made, as the phone knew it then, and *after* our time when it learnt that.
    """

    key: uuid.UUID
    job: int
    kind: str
    made_at: datetime.datetime
    fields: Mapping[str, str] = field(default_factory=dict)
    seen: str = ""
    stage: str = ""
    mends: uuid.UUID | None = None
    offset: datetime.timedelta | None = None
    after: datetime.datetime | None = None


@dataclass(frozen=True)
class Clock:
    """How far the phone's clock is from ours: what the phone measured, else what the message itself shows."""

    offset: datetime.timedelta
    now: datetime.datetime

    @classmethod
    def of(cls, *, phone_now: datetime.datetime | None, offset_ms: int | None) -> Clock:
        now = timezone.now()
        if phone_now is None:
            return cls(datetime.timedelta(), now)
        shown = now - phone_now
        told = shown if offset_ms is None else datetime.timedelta(milliseconds=offset_ms)
        return cls(told if abs(told - shown) <= OFFSET_SLACK else shown, now)

    def corrected(self, made_at: datetime.datetime) -> datetime.datetime:
        """Return *made_at* by our clock: never later than now, since what is told has happened."""
        return min(made_at + self.offset, self.now)

    def moment_of(self, sent: Sent) -> datetime.datetime:
        """Return when an act was made.

        A clock that was set between the act and its message makes two answers of what the phone measured
        before and after. Nobody can tell which is right, so a wait begins at the later and ends at the
        earlier; one before the phone's last word with us is no answer.
        """
        now = self.corrected(sent.made_at)
        then = now if sent.offset is None else min(sent.made_at + sent.offset, self.now)
        if abs(then - now) <= OFFSET_SLACK or (sent.after is not None and then < sent.after - OFFSET_SLACK):
            return now
        if sent.after is not None and now < sent.after - OFFSET_SLACK:
            return then
        if sent.kind in BEGINS_A_WAIT:
            return max(now, then)
        return min(now, then) if sent.kind in ENDS_A_WAIT else now


@dataclass(frozen=True)
class Result:
    """What came of an act, for the phone: *is_repeat* when it had been stored before."""

    key: uuid.UUID
    outcome: str
    messages: list[str]
    is_repeat: bool = False


def act_take(*, sent: Sent, clock: Clock, by: User) -> Result:
    """Do an act of *by* once, and return what came of it; a key that is known answers what was stored.

    The row and its effect are one transaction. A refusal is stored too, so that nothing somebody wrote down
    without signal is lost, and the same message sent again gets the same answer.
    """
    known = _known(sent, by)
    if known is not None:
        return known
    try:
        with transaction.atomic():
            return _take(sent, clock, by)
    except IntegrityError:
        # Two at once: the unique key has let one through.
        known = _known(sent, by)
        if known is None:
            raise
        return known


def act_read_and_take(*, key: uuid.UUID, told: Any, clock: Clock, by: User) -> Result:
    """Take an act from JSON; one that cannot be read is refused by its key, and holds no other up."""
    try:
        sent = read_act(told)
    except ValueError:
        return Result(key, PhoneAct.Outcome.REFUSED, [_("This entry could not be read; enter it again.")])
    return act_take(sent=sent, clock=clock, by=by)


def _known(sent: Sent, by: User) -> Result | None:
    row = PhoneAct.objects.filter(key=sent.key).first()
    if row is None:
        return None
    if row.person_id != by.pk:
        return Result(sent.key, PhoneAct.Outcome.REFUSED, [_("Another entry has this key already.")], True)
    return Result(sent.key, row.outcome, list(row.messages), True)


def _take(sent: Sent, clock: Clock, by: User) -> Result:
    at = clock.moment_of(sent)
    job = jobs_of(by).select_related("site", "quote").filter(pk=sent.job).first()
    refusal = _refusal_before(sent, job, at, clock)
    row = PhoneAct(
        key=sent.key,
        person=by,
        job=job or Job.objects.filter(pk=sent.job).first(),
        kind=sent.kind[:16] or "?",
        fields={name: value[:WORDS] for name, value in sent.fields.items()},
        made_at=sent.made_at,
        offset_ms=round(clock.offset.total_seconds() * 1000),
        at=max(at, clock.now - 10 * OLDEST),
        recorded_at=clock.now,
        outcome=PhoneAct.Outcome.REFUSED if refusal else PhoneAct.Outcome.DONE,
        messages=refusal,
    )
    # First the row: of two with one key the second waits here, and then reads what the first one stored.
    row.save(force_insert=True)
    other = None
    if job is not None and not refusal:
        try:
            with transaction.atomic(), timezone.override(ZoneInfo(job.site.time_zone)):
                other = HANDLERS[sent.kind](Doing(row, job, by, at, sent.fields, sent.seen))
        except ValidationError as error:
            row.outcome, row.messages = PhoneAct.Outcome.REFUSED, list(error.messages)
            row.save(update_fields=["outcome", "messages"])
    _tell_office(row, sent, job, other, clock.now)
    return Result(row.key, row.outcome, list(row.messages))


def _refusal_before(sent: Sent, job: Job | None, at: datetime.datetime, clock: Clock) -> list[str]:
    if job is None:
        return [_("You are not on the crew of this job any more; the office has been told.")]
    if sent.kind not in HANDLERS:
        return [_("This page was too old; open it again.")]
    if at < clock.now - OLDEST:
        return [_("The phone's clock was more than a year behind; set it, and enter this again.")]
    return []


def _tell_office(
    row: PhoneAct, sent: Sent, job: Job | None, other: User | None, now: datetime.datetime
) -> None:
    """Put what two people did, and what met a job that had changed, on the office's list."""
    why = None
    if row.job is None:
        return
    if sent.mends and row.outcome == PhoneAct.Outcome.DONE:
        refused = LookAt.objects.filter(act__key=sent.mends, act__person=row.person, seen_at=None)
        refused.filter(why=LookAt.Why.REFUSED).update(seen_by=row.person, seen_at=now)
    if job is None:
        why = LookAt.Why.NOT_ON_CREW
    elif other is not None:
        why = LookAt.Why.BOTH
    elif sent.stage and sent.stage != job.stage and job.stage in ENDED:
        why = LookAt.Why.CHANGED
    elif row.outcome == PhoneAct.Outcome.REFUSED:
        why = LookAt.Why.REFUSED
    if why is not None:
        LookAt.objects.create(act=row, job=row.job, why=why, other=other, made_at=now)


@transaction.atomic
def look_at_seen(*, look_at: LookAt, by: User) -> LookAt:
    """Say that somebody of the office has looked; the first one stays named."""
    if LookAt.objects.filter(pk=look_at.pk, seen_at=None).update(seen_by=by, seen_at=timezone.now()):
        look_at.refresh_from_db()
    return look_at


def read_act(told: Any) -> Sent:
    """Return an act read from JSON.

    Raises:
        ValueError: it has not the shape of an act.
    """
    if not isinstance(told, dict):
        raise ValueError("An act is an object.")
    fields = told.get("fields") or {}
    if not isinstance(fields, dict):
        raise ValueError("The fields of an act are an object.")
    if not isinstance(told.get("job"), int) or isinstance(told.get("job"), bool):
        raise ValueError("The job of an act is a number.")
    return Sent(
        key=uuid.UUID(str(told.get("key"))),
        job=told["job"] if abs(told["job"]) < 2**63 else 0,
        kind=str(told.get("kind", "")),
        made_at=read_moment(told.get("made_at")),
        fields={_plain(name): _plain(value) for name, value in fields.items()},
        seen=_plain(told.get("seen", "")),
        stage=_plain(told.get("stage", "")),
        mends=uuid.UUID(str(told["mends"])) if told.get("mends") else None,
        offset=_offset(told.get("offset")),
        after=read_moment(told["after"]) if told.get("after") else None,
    )


def _offset(milliseconds: Any) -> datetime.timedelta | None:
    """Return how far a phone's clock was from ours; None where it did not know."""
    if isinstance(milliseconds, bool) or not isinstance(milliseconds, int | float):
        return None
    # Beyond a lifetime it is no clock, and no timedelta either.
    return datetime.timedelta(milliseconds=milliseconds) if abs(milliseconds) < 4 * 10**12 else None


def _plain(value: Any) -> str:
    """Return text that every database keeps: no NUL, no half of a surrogate pair."""
    text = "" if value is None else str(value)
    return text.replace("\x00", "").encode("utf-8", "replace").decode("utf-8")[:WORDS]


def read_moment(milliseconds: Any) -> datetime.datetime:
    """Return the moment of a phone's clock, told in milliseconds since 1970.

    Raises:
        ValueError: it is no number, or so far off that no phone shows it; corrected, such a moment could lie
            outside of every calendar.
    """
    is_number = isinstance(milliseconds, int | float) and not isinstance(milliseconds, bool)
    # Written so that not-a-number is refused as well.
    if not is_number or not abs(milliseconds) < CALENDAR_MS:
        raise ValueError("A moment is a number of milliseconds.")
    return datetime.datetime.fromtimestamp(milliseconds / 1000, datetime.UTC)

"""What adds to a job's daily log. Each call is one act of a person and one transaction.

Every act brings a key made by whoever acted (the phone, or the form that was opened), so an act that is
sent twice, or queued without signal and sent again, is stored once: the second call returns the first
entry. A correction is an act like any other; an entry can be corrected once, and then its correction can.

Raises (all of them): ValidationError, by field, when a value is refused.
"""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any, TypeVar

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Sum
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.keys import key_used
from contracting.staff.models import Role, User
from contracting.staff.pay import hour_rate_on
from estimates.quotes.pricing_model import CALLBACK_STEP
from estimates.takeoff.labour import TRADE_STEPS

from ..models import CostEntry, CrewMember, DayNote, DeliveryEntry, HoursEntry, Job, NoteKind, ProgressEntry
from ..models.daily import MINUTES_OF_A_DAY
from . import listeners
from .quantities import foreseen_of
from .selectors import today_at

# What a callback takes counts apart from the same material of the job itself.
CALLBACK_KEY = "callback:"
# What somebody enters; the rest of a row follows from it.
ENTERED: dict[type, tuple[str, ...]] = {
    HoursEntry: ("person_id", "step", "minutes"),
    DeliveryEntry: ("material_key", "packs_millionths", "lot_numbers"),
    CostEntry: ("step", "what", "amount_cents"),
    ProgressEntry: ("step", "quantity_thousandths"),
    DayNote: ("kind", "text", "minutes", "cause", "low_tenths", "high_tenths"),
}
Row = TypeVar("Row", HoursEntry, DeliveryEntry, CostEntry, ProgressEntry, DayNote)


@dataclass(frozen=True)
class Act:
    """Who writes into which job's log, about which day, under which key.

    *at*: when it was written, of what a phone kept until it had signal; None: now.
    """

    key: uuid.UUID
    job: Job
    day: datetime.date
    by: User
    note: str = ""
    at: datetime.datetime | None = None


@transaction.atomic
def hours_log(
    *, act: Act, person: User, step: str, minutes: int, supersedes: HoursEntry | None = None
) -> HoursEntry:
    """Log the time *person* worked on a trade step; an installer logs their own.

    The cost follows from the pay of that person on that day. A correction to 0 minutes strikes it out.
    """
    step = _step(step, supersedes)
    if act.by.role == Role.INSTALLER and person != act.by:
        raise ValidationError({"person": _("You log your own hours; the office logs those of others.")})
    if person != act.by and not CrewMember.objects.filter(job=act.job, person=person).exists():
        raise ValidationError({"person": _("%(name)s is not on the crew of this job.") % {"name": person}})
    rate = hour_rate_on(person=person, day=act.day)
    entry = HoursEntry(
        **_common(act, supersedes),
        person=person,
        step=step,
        minutes=minutes,
        pay_cents_per_hour=rate.pay_cents_per_hour if rate else None,
        burden_basis_points=rate.burden_basis_points if rate else None,
        cost_cents=rate.cost_cents(minutes) if rate else 0,
    )
    # Repeats are looked for before the day is added up: their minutes are in it already.
    known = _known(entry)
    if known is not None:
        return known
    # What was logged may be corrected whatever happened since; only work that is new to the step waits.
    if minutes and (supersedes is None or supersedes.step != step):
        _check_nothing_stops(act, step)
    own = HoursEntry.objects.filter(person=person, day=act.day, superseded_by=None)
    if supersedes is not None:
        own = own.exclude(pk=supersedes.pk)
    others = own.aggregate(sum=Sum("minutes", default=0))["sum"]
    if others + minutes > MINUTES_OF_A_DAY:
        raise ValidationError(
            {
                "minutes": _(
                    "With the %(hours)s h logged already, %(name)s would have worked over 24 h that day."
                )
                % {"hours": f"{others / 60:.3g}", "name": person}
            }
        )
    return _store(entry, supersedes)


@transaction.atomic
def hours_repeat(
    *, key: uuid.UUID, job: Job, day: datetime.date, by: User, at: datetime.datetime | None = None
) -> list[HoursEntry]:
    """Log on *day* the hours of the last day before it that has any: an installer's own, or the crew's.

    The keys of the new entries follow from *key*, so that pressing twice logs once.
    """
    past = HoursEntry.objects.filter(job=job, day__lt=day, superseded_by=None, minutes__gt=0)
    past = past.exclude(step=CALLBACK_STEP)
    if by.role == Role.INSTALLER:
        past = past.filter(person=by)
    last = past.order_by("-day").first()
    if last is None:
        raise ValidationError(_("There is no earlier day with hours to repeat."))
    rows = past.filter(day=last.day).select_related("person").order_by("pk")
    return [
        hours_log(
            act=Act(uuid.uuid5(key, str(row.pk)), job, day, by, at=at),
            person=row.person,
            step=row.step,
            minutes=row.minutes,
        )
        for row in rows
    ]


@transaction.atomic
def delivery_log(
    *,
    act: Act,
    material_key: str,
    packs_millionths: int,
    lot_numbers: str = "",
    material_name: str = "",
    step: str = "",
    cost_cents: int | None = None,
    supersedes: DeliveryEntry | None = None,
) -> DeliveryEntry:
    """Log packs that came (or, below nothing, went back); *material_key* is one of the purchase list.

    An empty *material_key* is something that was not on the list: *material_name* and *step* say what.
    *cost_cents* is the invoice's and only the office gives it; without one the packs count at the budget's
    price, and a corrected quantity keeps the cost that was confirmed.
    """
    if cost_cents is not None and not act.by.sees_money:
        raise ValidationError({"cost_cents": _("The office enters what it cost.")})
    # What a callback took stays the callback's, also when it is corrected.
    is_callback = CALLBACK_STEP in {step, supersedes.step if supersedes else ""}
    planned = _planned(act.job, material_key.removeprefix(CALLBACK_KEY))
    if planned is None:
        if supersedes is not None and supersedes.material_key == material_key:
            material_name, step = supersedes.material_name, supersedes.step
        elif not material_name.strip():
            raise ValidationError({"material_name": _("Say what came, or choose it from the purchase list.")})
        else:
            kind = CALLBACK_KEY if is_callback else "other:"
            material_key = f"{kind}{material_name.strip().lower()}"[:120]
        step = _step(step, supersedes)
        pack_label, name = "", material_name.strip()
        foreseen = 0
    else:
        step, name, pack_label = planned.step, planned.name, planned.pack_label
        if is_callback:
            step, material_key = CALLBACK_STEP, f"{CALLBACK_KEY}{planned.key}"
        # Half up in whole numbers; the sign is put to it below.
        share = 2 * abs(packs_millionths) * planned.cost_cents + planned.packs_millionths
        foreseen = share // (2 * planned.packs_millionths)
    # What the customer supplies has no invoice to wait for.
    is_confirmed = cost_cents is not None or (planned is not None and planned.is_customers)
    if cost_cents is None and supersedes is not None and supersedes.is_cost_confirmed and packs_millionths:
        cost_cents, is_confirmed = supersedes.cost_cents, True
    # What is sent back is credited: its cost has the sign of its packs.
    cost = abs(foreseen if cost_cents is None else cost_cents) * (-1 if packs_millionths < 0 else 1)
    entry = DeliveryEntry(
        **_common(act, supersedes),
        step=step,
        material_key=material_key,
        material_name=name,
        pack_label=pack_label,
        packs_millionths=packs_millionths,
        lot_numbers=lot_numbers.strip(),
        cost_cents=cost if packs_millionths else 0,
        is_cost_confirmed=is_confirmed,
    )
    return _store(entry, supersedes)


@transaction.atomic
def delivery_confirm_cost(
    *, key: uuid.UUID, delivery: DeliveryEntry, cost_cents: int, by: User
) -> DeliveryEntry:
    """Put the invoice's amount to a delivery: a correction that changes nothing else."""
    return delivery_log(
        act=Act(key, delivery.job, delivery.day, by, delivery.note),
        material_key=delivery.material_key,
        packs_millionths=delivery.packs_millionths,
        lot_numbers=delivery.lot_numbers,
        cost_cents=cost_cents,
        supersedes=delivery,
    )


@transaction.atomic
def cost_log(
    *, act: Act, step: str, what: str, amount_cents: int, supersedes: CostEntry | None = None
) -> CostEntry:
    """Log any other money the job cost, under the trade step it belongs to; the office alone does."""
    step = _step(step, supersedes)
    if not act.by.sees_money:
        raise ValidationError(_("The office enters what it cost."))
    entry = CostEntry(**_common(act, supersedes), step=step, what=what.strip(), amount_cents=amount_cents)
    return _store(entry, supersedes)


@transaction.atomic
def progress_log(
    *,
    act: Act,
    step: str,
    done_basis_points: int | None = None,
    quantity_thousandths: int | None = None,
) -> ProgressEntry:
    """Log how much of a trade step is done by the end of the day; the newest day's word holds.

    Either as a share, or as a quantity in the step's own unit, of which the share of the takeoff's follows.
    """
    _check_step(step)
    if (done_basis_points is None) == (quantity_thousandths is None):
        raise ValidationError(
            {"done_basis_points": _("Say how much is done: a quantity or a share, one of the two.")}
        )
    entry = ProgressEntry(
        **_common(act, None),
        step=step,
        done_basis_points=done_basis_points or 0,
        quantity_thousandths=quantity_thousandths,
    )
    known = _known(entry)
    if known is not None:
        if done_basis_points is not None and known.done_basis_points != done_basis_points:
            raise key_used()
        return known
    if done_basis_points or quantity_thousandths:
        _check_nothing_stops(act, step)
    if quantity_thousandths is not None:
        foreseen = foreseen_of(act.job).get(step)
        if foreseen is None:
            raise ValidationError(
                {"quantity_thousandths": _("The takeoff counts nothing for this step; say a share.")}
            )
        entry.of_thousandths = foreseen.thousandths
        entry.unit, entry.done_basis_points = foreseen.unit, foreseen.share(quantity_thousandths)
    return _store(entry, None)


@transaction.atomic
def note_log(
    *,
    act: Act,
    kind: str,
    text: str = "",
    minutes: int = 0,
    cause: str = "",
    low_tenths: int | None = None,
    high_tenths: int | None = None,
    supersedes: DayNote | None = None,
) -> DayNote:
    """Log a delay and its cause, a visitor, or the weather with temperatures in tenths of a degree C.

    A delay may be its cause alone, weather its temperatures alone. A correction to nothing strikes it out.
    """
    if minutes and kind != NoteKind.DELAY:
        raise ValidationError({"minutes": _("Time is lost by a delay; choose “delay”, or leave this empty.")})
    if (low_tenths is None) != (high_tenths is None):
        one = low_tenths if high_tenths is None else high_tenths
        low_tenths = high_tenths = one
    if low_tenths is not None and high_tenths is not None and low_tenths > high_tenths:
        low_tenths, high_tenths = high_tenths, low_tenths
    if not text.strip() and not cause and low_tenths is None and supersedes is None:
        raise ValidationError({"text": _("Say what happened.")})
    entry = DayNote(
        **_common(act, supersedes),
        kind=kind,
        text=text.strip(),
        minutes=minutes,
        cause=cause,
        low_tenths=low_tenths,
        high_tenths=high_tenths,
    )
    return _store(entry, supersedes)


def _common(act: Act, supersedes: Any) -> dict[str, Any]:
    return {
        "key": act.key,
        "job": act.job,
        "day": act.day,
        "note": act.note.strip(),
        "by": act.by,
        "at": timezone.now(),
        "supersedes": supersedes,
    }


def _step(step: str, supersedes: HoursEntry | DeliveryEntry | CostEntry | None) -> str:
    """Return the step an entry counts under: an entry of a callback stays one when it is corrected."""
    if supersedes is not None and supersedes.step == CALLBACK_STEP:
        return CALLBACK_STEP
    if step != CALLBACK_STEP or supersedes is not None:
        _check_step(step)
    return step


def _check_step(step: str) -> None:
    if step not in TRADE_STEPS:
        raise ValidationError(
            {"step": _("Read “%(step)s”: expected one of the trade steps.") % {"step": step}}
        )


def _check_nothing_stops(act: Act, step: str) -> None:
    """Refuse work of a step that a hold point or a cure stands before."""
    stopped = listeners.in_the_way(act.job, step, act.at or timezone.now())
    if stopped:
        raise ValidationError({"step": stopped})


def _planned(job: Job, material_key: str) -> listeners.Planned | None:
    return next((one for one in listeners.purchase_list(job) if one.key == material_key), None)


def _known(entry: Row) -> Row | None:
    """Return the entry that was stored under the same key; one of another job or writer is refused.

    One with other values is refused too: somebody went back in the browser and typed the next entry into the
    old form, and would be told that it is logged.
    """
    found = type(entry)._default_manager.filter(key=entry.key).first()
    if found is not None and (found.job_id, found.by_id) != (entry.job_id, entry.by_id):
        raise ValidationError(_("Another entry has this key already; open the form again."))
    told = ("day", "note", "supersedes_id", *ENTERED[type(entry)])
    if found is not None and any(getattr(found, name) != getattr(entry, name) for name in told):
        raise key_used()
    return found


def _store(entry: Row, supersedes: Row | None) -> Row:
    """Store *entry* once and move the job's totals with it."""
    known = _known(entry)
    if known is not None:
        return known
    _check(entry, supersedes)
    try:
        with transaction.atomic():
            entry.save(force_insert=True)
    except IntegrityError:
        # Two at once: the unique key, or the unique successor, has let one through.
        known = _known(entry)
        if known is None:
            raise ValidationError(_taken()) from None
        return known
    listeners.logged(entry, supersedes)
    return entry


def _check(entry: Row, supersedes: Row | None) -> None:
    if entry.day > today_at(entry.job):
        raise ValidationError(
            {"day": _("Read %(day)s: a log tells what was, up to today.") % {"day": entry.day.isoformat()}}
        )
    if supersedes is not None:
        if supersedes.job_id != entry.job_id:
            raise ValidationError(_("An entry is corrected in its own job."))
        if type(entry)._default_manager.filter(supersedes=supersedes).exists():
            raise ValidationError(_taken())
        if entry.by.role == Role.INSTALLER and entry.by_id not in _writers(supersedes):
            raise ValidationError(_("You correct what you wrote yourself; tell the office about this one."))
    try:
        entry.full_clean(exclude=["key", "supersedes", "job", "by"])
    except ValidationError as error:
        # A sentence of a rule of the whole row has no field of its own.
        own = error.error_dict.pop(NON_FIELD_ERRORS, None) if hasattr(error, "error_dict") else None
        raise ValidationError(own) if own and not error.error_dict else error from None


def _writers(entry: Row) -> set[int]:
    return {entry.by_id, entry.person_id} if isinstance(entry, HoursEntry) else {entry.by_id}


def _taken() -> str:
    return _("Somebody has corrected this entry already; look at the log again.")

"""What happens to a change order: written, measured, issued, answered, followed. One act, one transaction."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import canonical_json, document_request
from contracting.staff.models import User
from estimates.rooms.models import Room

from ..estimate_services import number_next
from ..models import NumberSeries, Quote
from . import followers, remeasure
from .models import ChangeLine, ChangeOrder
from .snapshot import office_part, paper_part, sums_of, work_part

DOCUMENT_KIND = "change-order"
VALID_FOR = datetime.timedelta(days=30)
Status = ChangeOrder.Status
# What a draft is made of, beside its lines.
WRITTEN = ("title", "reason", "work_days", "pay_when")


class DraftChangedError(ValidationError):
    """Somebody saved or issued the draft in the meantime."""

    def __init__(self) -> None:
        super().__init__(
            _("Somebody else saved this change order while you were editing it. Save again to keep yours."),
            code="changed",
        )


@transaction.atomic
def change_start(
    *, quote: Quote, title: str, reason: str, by: User, replaces: ChangeOrder | None = None
) -> ChangeOrder:
    """Begin a change order as a draft.

    Raises:
        ValidationError: the quote is not signed, or title or reason are missing.
    """
    if quote.status != Quote.Status.ACCEPTED:
        raise ValidationError(_("A change order changes a signed quote; this one is not signed."))
    order = ChangeOrder(
        quote=quote,
        title=title.strip(),
        reason=reason.strip(),
        currency=quote.currency,
        created_by=by,
        replaces=replaces,
    )
    order.full_clean(exclude=["quote"])
    order.save(force_insert=True)
    return order


@transaction.atomic
def change_save(
    *, order: ChangeOrder, revision: int, values: dict[str, Any], lines: Sequence[ChangeLine]
) -> ChangeOrder:
    """Store the draft with its hand-written lines, against the revision its editor began with.

    Raises:
        DraftChangedError: somebody saved or issued it since.
        ValidationError: a value that cannot be.
    """
    for name in WRITTEN:
        setattr(order, name, values[name])
    order.full_clean(exclude=["quote", "document"])
    _claim_draft(order, revision, **{name: values[name] for name in WRITTEN})
    ChangeLine.objects.filter(order=order).delete()
    for position, line in enumerate(lines, 1):
        line.pk, line.order, line.position = None, order, position
        line.full_clean(exclude=["order"])
    ChangeLine.objects.bulk_create(lines)
    return _summed(order)


@transaction.atomic
def change_measure(*, order: ChangeOrder, revision: int, rooms: Sequence[Room]) -> ChangeOrder:
    """Take *rooms* into the draft as they are measured now; none takes all measurements out again.

    Raises:
        DraftChangedError: somebody saved or issued it since.
        ValidationError: the takeoff refuses a room, or the quote has none to compare with.
    """
    measured = remeasure.measure(order.quote, rooms) if rooms else {}
    base = remeasure.last_measured(order.quote) if rooms else None
    _claim_draft(order, revision, measured=measured, base=base)
    order.measured, order.base = measured, base
    return _summed(order)


@transaction.atomic
def change_discard(*, order: ChangeOrder) -> None:
    """Throw a draft away; what has been issued stays on record."""
    if not ChangeOrder.objects.filter(pk=order.pk, status=Status.DRAFT).exists():
        raise ValidationError(_("Only a draft can be thrown away; an issued change order is withdrawn."))
    ChangeOrder.objects.get(pk=order.pk).delete()


def change_issue(
    *, order: ChangeOrder, by: User, at: datetime.datetime, valid_until: datetime.date | None = None
) -> ChangeOrder:
    """Freeze the draft under the next number of its quote, ask for its paper, and put aside what it replaces.

    Raises:
        ValidationError: it has no line, would take away more than the contract comes to, a room was measured
            again since, or somebody issued it first.
    """
    rooms = rooms_in(order)
    whole = remeasure.work_now(order.quote, rooms) if rooms else None
    if rooms and canonical_json(remeasure.measure(order.quote, rooms)) != canonical_json(order.measured):
        raise ValidationError(
            _(
                "A room, a material or a signed change is not as it was when this was measured; "
                "take it over again."
            )
        )
    with transaction.atomic():
        return _freeze(order, whole, by, at, valid_until)


def _freeze(
    order: ChangeOrder,
    whole: dict[str, Any] | None,
    by: User,
    at: datetime.datetime,
    valid_until: datetime.date | None,
) -> ChangeOrder:
    quote = _held(order)
    lines = list(order.lines.order_by("position", "pk"))
    if not lines and not order.measured:
        raise ValidationError(_("There is nothing in this change order yet: add a line, or measured rooms."))
    signed = signed_of(quote)
    sums = sums_of(order, lines)
    _check_contract(quote, signed, sums.total_cents)
    today = at.astimezone(ZoneInfo(quote.snapshot["paper"]["time_zone"])).date()
    last = valid_until or today + VALID_FOR
    if last < today:
        raise ValidationError(
            {"valid_until": _("Read %(day)s: expected today or a later day.") % {"day": last.isoformat()}}
        )
    sequence = _number(quote)
    order.sequence = sequence
    paper = paper_part(order, lines, number=order.number, issued_at=at, valid_until=last, signed=signed)
    snapshot = {
        "paper": paper,
        "work": work_part(order, lines, whole),
        "office": office_part(order, lines),
    }
    values = {
        "status": Status.ISSUED,
        "sequence": sequence,
        "issued_by": by,
        "issued_at": at,
        "valid_until": last,
        "price_cents": sums.price_cents,
        "tax_cents": sums.tax_cents,
        "total_cents": sums.total_cents,
        "cost_cents": sums.cost_cents,
        "snapshot": snapshot,
        "sha256": hashlib.sha256(canonical_json(snapshot).encode()).hexdigest(),
        "document": _paper(paper, by),
    }
    _supersede(order)
    # The conditional update decides who issued it; a saved draft has another revision.
    draft = ChangeOrder.objects.filter(pk=order.pk, status=Status.DRAFT, revision=order.revision)
    if not draft.update(**values):
        raise DraftChangedError
    return ChangeOrder.objects.select_related("quote").get(pk=order.pk)


def _supersede(order: ChangeOrder) -> None:
    if order.replaces_id is None:
        return
    open_states = [old for old, new in ChangeOrder.TRANSITIONS.items() if Status.SUPERSEDED in new]
    before = ChangeOrder.objects.filter(pk=order.replaces_id, status__in=open_states)
    if not before.update(status=Status.SUPERSEDED):
        raise ValidationError(_("The change order that this one replaces was signed or replaced already."))


def _number(quote: Quote) -> int:
    series = f"change-{quote.pk}"
    NumberSeries.objects.get_or_create(name=series, defaults={"last_number": 0})
    return number_next(series)


def _paper(paper: dict[str, Any], by: User) -> DocumentRequest:
    return document_request(
        kind=DOCUMENT_KIND,
        snapshot=paper,
        subject=_("Change order %(number)s") % paper,
        audience=Audience.CUSTOMER,
        by=by,
    )


@transaction.atomic
def change_paper_again(*, order: ChangeOrder, by: User) -> DocumentRequest:
    """Ask for the paper of a change order whose document is gone; the same snapshot gives the same pages."""
    document = _paper(order.snapshot["paper"], by)
    ChangeOrder.objects.filter(pk=order.pk).update(document=document)
    return document


@transaction.atomic
def change_revise(*, order: ChangeOrder, by: User) -> ChangeOrder:
    """Begin a new draft with all of an unsigned change order's contents; issued, it takes its place.

    Raises:
        ValidationError: it is a draft itself, signed, or replaced already.
    """
    if Status.SUPERSEDED not in ChangeOrder.TRANSITIONS[Status(order.status)]:
        raise ValidationError(_("Only a change order that is issued and not signed can be revised."))
    draft = ChangeOrder.objects.filter(replaces=order, status=Status.DRAFT).first()
    if draft is not None:
        return draft
    made = change_start(quote=order.quote, title=order.title, reason=order.reason, by=by, replaces=order)
    lines = list(order.lines.order_by("position", "pk"))
    values = {name: getattr(order, name) for name in WRITTEN}
    made = change_save(order=made, revision=made.revision, values=values, lines=lines)
    if order.measured:
        made = change_measure(order=made, revision=made.revision, rooms=rooms_in(order))
    return made


@transaction.atomic
def change_accept_on_paper(
    *,
    order: ChangeOrder,
    name: str,
    signed_on: datetime.date,
    by: User,
    at: datetime.datetime | None = None,
) -> ChangeOrder:
    """Record that the customer signed the paper, and make all that follows, once.

    Raises:
        ValidationError: no name, a day before the issue or to come, or it is not open any more.
    """
    if not name.strip():
        raise ValidationError({"name": _("Write the name that stands under the signature.")})
    _check_day(order, signed_on, "signed_on", at)
    return accept(order, name.strip()[:120], signed_on, by, by, at)


def change_accept_electronically(
    *, order: ChangeOrder, name: str, sent_by: User, at: datetime.datetime
) -> ChangeOrder:
    """Accept an issued change order that the customer signs at *at*; call it within a transaction.

    Raises:
        ValidationError: it is not open any more, or its last day has passed where the site is.
    """
    return accept(order, name, day_to_sign(order, at), None, sent_by, at)


def accept(
    order: ChangeOrder,
    name: str,
    signed_on: datetime.date,
    recorded_by: User | None,
    by: User,
    at: datetime.datetime | None,
) -> ChangeOrder:
    """Sign *order* if nobody was first, and make what follows from it; within a transaction."""
    quote = _held(order)
    moved = _move(order, Status.ACCEPTED, by=recorded_by, at=at, signed_name=name, answered_on=signed_on)
    others = [one for one in signed_of(quote) if one.pk != order.pk]
    _check_contract(quote, others, order.total_cents)
    if order.measured and _last_measured(others) != order.base_id:
        raise ValidationError(
            _(
                "Another change with measured rooms was signed since this one was issued; "
                "it has to be issued anew."
            )
        )
    followers.follow(order=moved, by=by)
    return moved


def _last_measured(signed: Sequence[ChangeOrder]) -> int | None:
    return max(((one.recorded_at, one.pk) for one in signed if one.measured), default=(None, None))[1]


@transaction.atomic
def change_decline(
    *,
    order: ChangeOrder,
    declined_on: datetime.date,
    reason: str,
    by: User,
    at: datetime.datetime | None = None,
) -> ChangeOrder:
    """Record that the customer said no, with the reason.

    Raises:
        ValidationError: no reason, a day before the issue or to come, or it is not open any more.
    """
    if not reason.strip():
        raise ValidationError({"note": _("Say in a word why, so that we can do better.")})
    _check_day(order, declined_on, "day", at)
    return _move(
        order, Status.DECLINED, by=by, at=at, answered_on=declined_on, answer_note=reason.strip()[:300]
    )


def change_decline_electronically(*, order: ChangeOrder, reason: str, at: datetime.datetime) -> ChangeOrder:
    """Record that the customer says no by a private link; call it within a transaction."""
    day = day_to_sign(order, at)
    return _move(order, Status.DECLINED, by=None, at=at, answered_on=day, answer_note=reason.strip()[:300])


@transaction.atomic
def change_withdraw(*, order: ChangeOrder, note: str, by: User) -> ChangeOrder:
    """Take an open change order back; it stays on record as it was."""
    return _move(order, Status.WITHDRAWN, by=by, at=None, answer_note=note.strip()[:300])


def rooms_in(order: ChangeOrder) -> list[Room]:
    """Return the rooms whose measurements stand in *order*."""
    keys = [int(room["key"]) for room in order.measured.get("rooms", ())]
    found = {room.pk: room for room in Room.objects.filter(pk__in=keys)}
    if len(found) != len(keys):
        raise ValidationError(_("A room of this change order was removed; take the measurements over again."))
    return [found[key] for key in keys]


def signed_of(quote: Quote) -> list[ChangeOrder]:
    """Return the signed change orders of *quote* in the order of their signatures, without snapshots."""
    found = ChangeOrder.objects.filter(quote=quote, status=Status.ACCEPTED).defer("snapshot")
    return list(found.select_related("quote").order_by("recorded_at", "pk"))


def day_to_sign(order: ChangeOrder, at: datetime.datetime) -> datetime.date:
    """Return the day it is at the site; refuse one past the last day."""
    day = at.astimezone(ZoneInfo(order.snapshot["paper"]["time_zone"])).date()
    if order.valid_until is None or day > order.valid_until:
        raise ValidationError(_("This change order is not valid any more; ask for a new one."), code="status")
    return day


def _summed(order: ChangeOrder) -> ChangeOrder:
    """Store the draft's sums and return it."""
    sums = sums_of(order, list(order.lines.order_by("position", "pk")))
    for name in ("price_cents", "tax_cents", "total_cents", "cost_cents"):
        setattr(order, name, getattr(sums, name))
    order.save(update_fields=["price_cents", "tax_cents", "total_cents", "cost_cents"])
    return order


def _claim_draft(order: ChangeOrder, revision: int, **values: Any) -> None:
    draft = ChangeOrder.objects.filter(pk=order.pk, status=Status.DRAFT, revision=revision)
    if not draft.update(revision=revision + 1, **values):
        raise DraftChangedError
    order.revision = revision + 1


def _held(order: ChangeOrder) -> Quote:
    """Hold the quote's row till the transaction ends: changes of one contract go one after the other."""
    # The update changes nothing; it is the lock, alike on SQLite and PostgreSQL.
    Quote.objects.filter(pk=order.quote_id).update(status=F("status"))
    return order.quote


def _check_contract(quote: Quote, signed: Sequence[ChangeOrder], total_cents: int) -> None:
    before = quote.total_cents + sum(one.total_cents for one in signed)
    if before + total_cents < 0:
        raise ValidationError(_("This takes away more than the contract comes to; nothing was changed."))


def _move(
    order: ChangeOrder,
    status: ChangeOrder.Status,
    *,
    by: User | None,
    at: datetime.datetime | None,
    **values: Any,
) -> ChangeOrder:
    """Change the status if nobody was first; the row's conditional update decides, on any database."""
    old = Status(order.status)
    values |= {"status": status, "recorded_by": by, "recorded_at": at or timezone.now()}
    allowed = status in ChangeOrder.TRANSITIONS[old]
    if not allowed or not ChangeOrder.objects.filter(pk=order.pk, status=old).update(**values):
        now = ChangeOrder.objects.only("status").get(pk=order.pk)
        raise ValidationError(
            _("The change order is %(status)s already; nothing was changed.")
            % {"status": now.get_status_display()},
            code="status",
        )
    for name, value in values.items():
        setattr(order, name, value)
    return order


def _check_day(order: ChangeOrder, day: datetime.date, field: str, at: datetime.datetime | None) -> None:
    zone = ZoneInfo(order.quote.snapshot["paper"]["time_zone"])
    issued = order.issued_at.astimezone(zone).date() if order.issued_at else day
    today = (at or timezone.now()).astimezone(zone).date()
    if not issued <= day <= today:
        raise ValidationError(
            {
                field: _("Read %(day)s: expected a day from the issue (%(issued)s) to today.")
                % {"day": day.isoformat(), "issued": issued.isoformat()}
            }
        )

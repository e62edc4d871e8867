"""What changes a job's purchase list. Each call is one act and one transaction, done once for its key.

What came is logged with ``daily.services.delivery_log``: here stands only that a whole line came in one tap.

Raises (all of them): ValidationError, by field, when something is refused; PermissionDenied when it is not
theirs to do.
"""

from __future__ import annotations

import datetime
import uuid
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User

from ..daily.selectors import today_at
from ..daily.services import Act, delivery_log
from ..models import DeliveryEntry, Job, SupplyEntry, SupplyKind
from .selectors import Line, by_supplier, lines_of


@transaction.atomic
def stock_set(
    *, key: uuid.UUID, job: Job, by: User, material_key: str, packs_millionths: int, note: str
) -> SupplyEntry:
    """Say that packs of a line lie in stock and need not be bought; 0 packs takes that back.

    The newest word counts; what was said before stays on record.
    """
    _lock(job)
    sent = {"kind": SupplyKind.STOCK, "material_key": material_key, "packs_millionths": packs_millionths}
    known = _known(key, job, by, **sent)
    if known is not None:
        return known
    line = _line(job, material_key)
    if packs_millionths > line.planned.packs_millionths:
        raise ValidationError({"packs_millionths": _("The job needs no more than the list says.")})
    if packs_millionths and len(note.strip()) < 3:
        raise ValidationError({"note": _("Say where they lie or what they are left from.")})
    if not packs_millionths and line.stock is None:
        raise ValidationError({"packs_millionths": _("Nothing of this was said to be in stock.")})
    return _store(
        SupplyEntry(
            **_common(key, job, by, note),
            kind=SupplyKind.STOCK,
            material_key=material_key,
            material_name=line.planned.name,
            packs_millionths=packs_millionths,
            supersedes=line.stock,
        )
    )


@transaction.atomic
def order_log(
    *,
    key: uuid.UUID,
    job: Job,
    by: User,
    material_key: str,
    packs_millionths: int,
    reference: str = "",
    expected_on: datetime.date | None = None,
    note: str = "",
) -> SupplyEntry:
    """Note that packs of a line are ordered, beside what was ordered before; the office does."""
    _office(by)
    _lock(job)
    sent = {"kind": SupplyKind.ORDER, "material_key": material_key, "packs_millionths": packs_millionths}
    known = _known(key, job, by, **sent)
    if known is not None:
        return known
    line = _line(job, material_key)
    if line.planned.is_customers:
        raise ValidationError(_("The customer supplies this; there is nothing to order."))
    return _store(_order(key, job, by, line, packs_millionths, reference, expected_on, note))


@transaction.atomic
def order_rest(
    *,
    key: uuid.UUID,
    job: Job,
    by: User,
    supplier: str,
    reference: str = "",
    expected_on: datetime.date | None = None,
) -> list[SupplyEntry]:
    """Note that everything still to be ordered at *supplier* is ordered; the office does.

    The keys of the rows follow from *key*, so that pressing twice orders once.
    """
    _office(by)
    _lock(job)
    before = [
        one
        for one in SupplyEntry.objects.filter(job=job, by=by, kind=SupplyKind.ORDER)
        if one.key == uuid.uuid5(key, one.material_key)
    ]
    if before:
        return before
    found = next((one for one in by_supplier(lines_of(job)) if one.name == supplier), None)
    if found is None or not found.to_order:
        raise ValidationError(_("Everything of this supplier is ordered or here."))
    return [
        _store(
            _order(
                uuid.uuid5(key, line.planned.key), job, by, line, line.to_order, reference, expected_on, ""
            )
        )
        for line in found.to_order
    ]


@transaction.atomic
def order_strike(*, key: uuid.UUID, order: SupplyEntry, by: User, note: str = "") -> SupplyEntry:
    """Take an order back: it was cancelled, or never made. It stays on record. The office does."""
    _office(by)
    _lock(order.job)
    known = _known(key, order.job, by, supersedes_id=order.pk)
    if known is not None:
        return known
    if SupplyEntry.objects.filter(supersedes=order).exists():
        raise ValidationError(_("Somebody has taken this order back already."))
    return _store(
        SupplyEntry(
            **_common(key, order.job, by, note),
            kind=SupplyKind.ORDER,
            material_key=order.material_key,
            material_name=order.material_name,
            packs_millionths=0,
            supersedes=order,
        )
    )


@transaction.atomic
def line_receive(
    *,
    key: uuid.UUID,
    job: Job,
    by: User,
    material_key: str,
    packs_millionths: int,
    lot_numbers: str = "",
    day: datetime.date | None = None,
    note: str = "",
) -> DeliveryEntry:
    """Log what came of a line (below nothing: went back) as a delivery of *day*, or of today."""
    act = Act(key, job, day or today_at(job), by, note)
    return delivery_log(
        act=act, material_key=material_key, packs_millionths=packs_millionths, lot_numbers=lot_numbers
    )


def _order(
    key: uuid.UUID,
    job: Job,
    by: User,
    line: Line,
    packs: int,
    reference: str,
    expected_on: datetime.date | None,
    note: str,
) -> SupplyEntry:
    return SupplyEntry(
        **_common(key, job, by, note),
        kind=SupplyKind.ORDER,
        material_key=line.planned.key,
        material_name=line.planned.name,
        packs_millionths=packs,
        reference=reference.strip(),
        expected_on=expected_on,
    )


def _common(key: uuid.UUID, job: Job, by: User, note: str) -> dict[str, Any]:
    return {
        "key": key,
        "job": job,
        "day": today_at(job),
        "note": note.strip(),
        "by": by,
        "at": timezone.now(),
    }


def _line(job: Job, material_key: str) -> Line:
    line = next((one for one in lines_of(job) if one.planned.key == material_key), None)
    if line is None:
        raise ValidationError(_("This material is not on the job's purchase list any more."))
    return line


def _known(key: uuid.UUID, job: Job, by: User, **sent: Any) -> SupplyEntry | None:
    """Return the entry that *key* made; one that it made of something else is refused, not called done."""
    found = SupplyEntry.objects.filter(key=key).first()
    told = {"job_id": job.pk, "by_id": by.pk} | sent
    if found is not None and any(getattr(found, name) != value for name, value in told.items()):
        raise ValidationError(_("Another entry has this key already; open the form again."))
    return found


def _store(entry: SupplyEntry) -> SupplyEntry:
    try:
        entry.full_clean(exclude=["key", "supersedes", "job", "by"])
    except ValidationError as error:
        own = error.error_dict.pop(NON_FIELD_ERRORS, None)
        raise ValidationError(own) if own and not error.error_dict else error from None
    try:
        with transaction.atomic():
            entry.save(force_insert=True)
    except IntegrityError:
        raise ValidationError(_("Somebody else has changed this line; look at the list again.")) from None
    return entry


def _office(by: User) -> None:
    if not by.sees_money:
        raise PermissionDenied


def _lock(job: Job) -> None:
    """Make acts on one list wait for each other: by the row on PostgreSQL, by IMMEDIATE on SQLite."""
    Job.objects.select_for_update().only("pk").get(pk=job.pk)

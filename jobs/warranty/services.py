"""What adds to the warranty records. Each call is one act of a person and one transaction."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from collections.abc import Collection
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import formats, timezone, translation
from django.utils.translation import gettext as _

from contracting.documents.models import Audience
from contracting.documents.services import canonical_json, document_request
from contracting.staff.models import User
from contracting.staff.selectors import company_profile
from estimates.quotes.estimate_services import number_next
from jobs.inspections.selectors import checks_of
from jobs.work.models import Job, Stage
from jobs.work.services import job_move

from . import photographs, selectors
from .models import PhotoChoice, WarrantyRecord, WarrantyTerms
from .snapshot import completed_at, record_content
from .terms import terms_on

KIND = "warranty-record"
# Without the letters that are read as figures or as each other: 20 of 31 signs are 99 bits.
CODE_SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ".replace("L", "")
CODE_LENGTH = 20
# Who waits for the lock may be overtaken by somebody whose moment is later; more than that is a wrong clock.
OVERTAKEN = datetime.timedelta(minutes=1)


@transaction.atomic
def record_issue(*, job: Job, by: User, at: datetime.datetime, address: str = "") -> WarrantyRecord:
    """Issue the warranty record that closes *job*, and ask for its paper; later calls return the same one.

    A job on its punch list becomes complete by it.

    Args:
        at: now; never before the record issued last.
        address: of the public page that verifies records, as it is printed; "" where it is not known.

    Raises:
        PermissionDenied: *by* is neither the owner nor of the office.
        ValidationError: the final check has not passed, or something else stands in the way, in sentences.
    """
    if not by.sees_money:
        raise PermissionDenied
    locked = _lock(job)
    standing = selectors.standing_record(locked)
    if standing is not None:
        return standing
    return _issue(locked, by, at, address)


@transaction.atomic
def record_replace(
    *, record: WarrantyRecord, reason: str, by: User, at: datetime.datetime, address: str = ""
) -> WarrantyRecord:
    """Issue a new record of the same job in the place of *record*, which stays and is called superseded.

    Raises:
        PermissionDenied: *by* is neither the owner nor of the office.
        ValidationError: no reason, *record* has been replaced already, or something stands in the way.
    """
    if not by.sees_money:
        raise PermissionDenied
    reason = reason.strip()
    if len(reason) < 10:
        raise ValidationError({"reason": _("Give the reason in a sentence; it stays in the record.")})
    locked = _lock(record.job)
    standing = selectors.standing_record(locked)
    if standing is None or standing.pk != record.pk:
        raise ValidationError(_("This record has been replaced already; look again."))
    return _issue(locked, by, at, address, standing, reason[:300])


@transaction.atomic
def terms_save(*, starts_on: datetime.date, years: int, terms: str, care: str, by: User) -> WarrantyTerms:
    """Store the company's terms from a date on, in the place of those from the same date.

    Records that were issued keep the terms they were issued with.

    Raises:
        PermissionDenied: *by* is not the owner.
        ValidationError: by field, in sentences.
    """
    if not by.is_owner:
        raise PermissionDenied
    row = WarrantyTerms.objects.filter(starts_on=starts_on).first() or WarrantyTerms(starts_on=starts_on)
    row.years, row.terms, row.care = years, terms.strip(), care.strip()
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def photos_choose(*, job: Job, photos: Collection[int], by: User) -> int:
    """Say which photos the next record of *job* carries: *photos*, by their numbers, and no others.

    Only what differs from the rule is stored, so photos that come later follow the rule. Returns how many
    photos the record carries now. Records that were issued keep theirs.

    Raises:
        PermissionDenied: *by* is neither the owner nor of the office.
        ValidationError: more than a record carries.
    """
    if not by.sees_money:
        raise PermissionDenied
    locked = _lock(job)
    candidates = photographs.candidates_of(locked)
    wanted = {one.shot.photo.pk for one in candidates} & set(photos)
    if len(wanted) > photographs.MOST:
        raise ValidationError(
            _("%(count)d photos are chosen; a record carries at most %(most)d.")
            % {"count": len(wanted), "most": photographs.MOST}
        )
    # With fewer wanted by the rule than fit, what the rule says need not be stored.
    is_full = sum(one.by_rule for one in candidates) > photographs.MOST
    PhotoChoice.objects.filter(job=locked).delete()
    now = timezone.now()
    PhotoChoice.objects.bulk_create(
        PhotoChoice(job=locked, photo=one.shot.photo, is_in=one.shot.photo.pk in wanted, by=by, at=now)
        for one in candidates
        if is_full or one.by_rule != (one.shot.photo.pk in wanted)
    )
    return len(wanted)


def _lock(job: Job) -> Job:
    """Make acts on one job wait for each other: by the row on PostgreSQL, by IMMEDIATE on SQLite."""
    return (
        Job.objects.select_for_update(of=("self",)).select_related("quote", "site__customer").get(pk=job.pk)
    )


def _issue(
    job: Job,
    by: User,
    at: datetime.datetime,
    address: str,
    old: WarrantyRecord | None = None,
    reason: str = "",
) -> WarrantyRecord:
    checks = checks_of(job, now=at)
    if found := selectors.hindrances(checks):
        raise ValidationError(found)
    if job.stage != Stage.COMPLETE:
        job_move(job=job, stage=Stage.COMPLETE, by=by)
    # Locks the series until the end, so that records are chained one after the other over all jobs.
    number = f"W-{number_next('warranty record')}"
    last = WarrantyRecord.objects.order_by("-sequence").first()
    if last is not None and at < last.issued_at:
        if last.issued_at - at > OVERTAKEN:
            raise ValidationError(_before_the_last(last))
        at = last.issued_at
    with translation.override(job.site.customer.language):
        # The day it is where the work was done, which is the day the record bears.
        terms = terms_on(at.astimezone(ZoneInfo(job.site.time_zone)).date())
    content = record_content(
        checks=checks,
        company=company_profile(),
        terms=terms,
        record=_record_part(number, last, by, at, address, old, reason),
        completed_at=completed_at(job, otherwise=at),
    )
    return _stored(content, job, by, at, old)


def _record_part(
    number: str,
    last: WarrantyRecord | None,
    by: User,
    at: datetime.datetime,
    address: str,
    old: WarrantyRecord | None,
    reason: str,
) -> dict[str, Any]:
    return {
        "number": number,
        "sequence": last.sequence + 1 if last else 1,
        "issued_at": at.astimezone(datetime.UTC).isoformat(),
        "issued_by": str(by),
        "code": new_code(),
        "verify_at": address,
        "previous_sha256": last.sha256 if last else "",
        "supersedes": old.number if old else "",
        "reason": reason,
    }


def _stored(
    content: dict[str, Any], job: Job, by: User, at: datetime.datetime, old: WarrantyRecord | None
) -> WarrantyRecord:
    told = content["record"]
    document = document_request(
        kind=KIND,
        snapshot=content,
        subject=_("Warranty record %(number)s") % {"number": told["number"]},
        audience=Audience.CUSTOMER,
        by=by,
    )
    return WarrantyRecord.objects.create(
        job=job,
        sequence=told["sequence"],
        number=told["number"],
        code=told["code"],
        issued_at=at,
        issued_by=by,
        # As the database gives it back, so that the hash is that of what is stored.
        snapshot=document.snapshot,
        sha256=content_sha256(document.snapshot),
        previous_sha256=told["previous_sha256"],
        supersedes=old,
        reason=told["reason"],
        document=document,
    )


def _before_the_last(last: WarrantyRecord) -> str:
    moment = formats.date_format(last.issued_at, "DATETIME_FORMAT")
    said = {"number": last.number, "moment": moment}
    return _("Record %(number)s was issued on %(moment)s; no record is dated before it.") % said


def content_sha256(content: dict[str, Any]) -> str:
    """Return the hash of a record's content: that of its canonical JSON, which the PDF carries too."""
    return hashlib.sha256(canonical_json(content).encode()).hexdigest()


def new_code() -> str:
    """Return a verification code that cannot be guessed."""
    return "".join(secrets.choice(CODE_SIGNS) for _place in range(CODE_LENGTH))

"""What screens and services read about warranty records."""

from __future__ import annotations

import re

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from contracting.staff.selectors import company_profile
from jobs.inspections.checklist import Step
from jobs.inspections.holds import obstacles
from jobs.inspections.models import Hold
from jobs.inspections.selectors import JobChecks
from jobs.work import followers
from jobs.work.models import Job, Stage

from .models import WarrantyRecord, WarrantyTerms


def hindrances(checks: JobChecks) -> list[str]:
    """Return in plain words what keeps a job's warranty record from being issued; empty: it may be."""
    job, found = checks.job, []
    if job.stage not in {Stage.PUNCH, Stage.COMPLETE}:
        found.append(
            _("The job is at “%(stage)s”; its record is issued from the punch list on.")
            % {"stage": job.get_stage_display()}
        )
    found += [one.sentence for one in obstacles(checks, Step.HAND_OVER)]
    final = [state for state in checks.states if state.planned.hold == Hold.FINAL]
    if checks.plan and any(state.is_waived(Step.HAND_OVER) and not state.passed for state in final):
        found.append(_("The final check was overridden. A warranty record needs it passed."))
    if checks.plan and not final:
        found.append(_("This job's inspection plan has no final check."))
    found += followers.in_the_way(job, Stage.COMPLETE)
    if not company_profile().name:
        found.append(_("The company has no name yet; the owner gives it one on the company page."))
    return list(dict.fromkeys(found))


def standing_record(job: Job) -> WarrantyRecord | None:
    """Return the record of *job* that no other has replaced, or None."""
    return _shown().filter(job=job, superseded_by=None).first()


def records_of(job: Job) -> list[WarrantyRecord]:
    """Return every record of *job*, the newest first."""
    return list(_shown().filter(job=job))


def records_matching(text: str = "") -> QuerySet[WarrantyRecord]:
    """Return the records, newest first; *text* in number, customer, title or job number."""
    found = _shown()
    if text:
        match = (
            Q(number__icontains=text) | Q(job__customer_name__icontains=text) | Q(job__title__icontains=text)
        )
        if text.isdecimal() and len(text) < 10:
            match |= Q(job__number=int(text))
        found = found.filter(match)
    return found


def bare_code(code: str) -> str:
    """Return a verification code as it is stored, however it was written.

    >>> bare_code(" abcd-2345 ")
    'ABCD2345'
    """
    return re.sub(r"[^0-9A-Za-z]", "", code).upper()


def terms_rows() -> list[WarrantyTerms]:
    """Return the company's terms, the newest first."""
    return list(WarrantyTerms.objects.order_by("-starts_on"))


def _shown() -> QuerySet[WarrantyRecord]:
    """Return the records without their content, which is large."""
    return (
        WarrantyRecord.objects.select_related("job", "issued_by", "document", "superseded_by")
        .defer("snapshot", "document__snapshot", "superseded_by__snapshot")
        .order_by("-sequence")
    )

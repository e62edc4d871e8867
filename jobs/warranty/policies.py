"""Getting a record is asking for the right to it: the office gets every one, nobody else any."""

from django.core.exceptions import PermissionDenied
from django.http import Http404

from contracting.staff.models import User
from jobs.inspections.policies import checks_for
from jobs.inspections.selectors import JobChecks
from jobs.photos.policies import job_with_work_for
from jobs.work.models import Job

from .models import WarrantyRecord


def checks_for_office(user: User, job_pk: int) -> JobChecks:
    """Return the checks of a job, with its quote; Http404 when there is no such job."""
    _office(user)
    return checks_for(user, job_pk)


def job_for_office(user: User, job_pk: int) -> Job:
    """Return a job with its quote and site; Http404 when there is none."""
    _office(user)
    return job_with_work_for(user, job_pk)


def record_for(user: User, pk: int) -> WarrantyRecord:
    """Return a record with its job, without its content; Http404 when there is none."""
    _office(user)
    found = WarrantyRecord.objects.select_related("job__site", "document").defer(
        "snapshot", "document__snapshot"
    )
    record = found.filter(pk=pk).first()
    if record is None:
        raise Http404
    return record


def _office(user: User) -> None:
    if not user.sees_money:
        raise PermissionDenied

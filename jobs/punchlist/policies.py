"""Getting an item is asking for the right to its job: the office sees every job, the crew its own."""

from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.selectors import jobs_of

from .models import PunchItem
from .selectors import items_of


def job_for(user: User, pk: int, *, with_plans: bool = False) -> Job:
    """Return the job; Http404 when there is none that *user* may see.

    *with_plans*: with its quote, whose frozen takeoff and drawings are large.
    """
    jobs = jobs_of(user).select_related("site__customer", *(["quote"] if with_plans else []))
    job = jobs.filter(pk=pk).first()
    if job is None:
        raise Http404
    return job


def item_for(user: User, job: Job, number: int) -> PunchItem:
    """Return an item of a job that was fetched by right; Http404 when the job has none of that number."""
    item = items_of(job).filter(number=number).first()
    if item is None:
        raise Http404
    # One and the same row, so that its stage and site are not read again.
    item.job = job
    return item

"""Getting a job is asking for the right to it: the office sees every job, an installer those they are on."""

from django.http import Http404

from contracting.staff.models import User

from .models import Job
from .selectors import jobs_of


def job_for(user: User, pk: int) -> Job:
    """Return the job with its quote, site and crew; Http404 when there is none that *user* may see."""
    job = (
        jobs_of(user)
        .select_related("quote", "site__customer")
        .prefetch_related("crew_members__person", "stage_changes__by")
        .filter(pk=pk)
        .first()
    )
    if job is None:
        raise Http404
    return job

"""Getting a job's margin: the owner's right alone; the view's mark has seen to the role."""

from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.policies import job_for

from .models import Budget
from .selectors import budget_of


def budgeted_job_for(user: User, pk: int) -> tuple[Job, Budget]:
    """Return the job and its budget; Http404 when there is none."""
    job = job_for(user, pk)
    budget = budget_of(job)
    if budget is None:
        raise Http404
    return job, budget

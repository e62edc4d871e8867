"""Getting an inspection is asking for the right to its job: the office sees every job, the crew its own."""

from django.http import Http404

from contracting.staff.models import User
from jobs.work.selectors import jobs_of

from .checklist import Step
from .models import CheckRecord, FloodStart, NonConformance
from .selectors import CheckState, JobChecks, checks_of


def checks_for(user: User, job_pk: int) -> JobChecks:
    """Return the checks of a job; Http404 when there is no such job that *user* may see."""
    # Without the quote: its frozen takeoff and drawings are large, and nothing here shows them.
    job = jobs_of(user).select_related("site__customer").filter(pk=job_pk).first()
    if job is None:
        raise Http404
    return checks_of(job)


def check_of(checks: JobChecks, pk: int) -> CheckState:
    """Return a check of the job; Http404 when it is none of its."""
    if pk not in checks.by_pk:
        raise Http404
    return checks.by_pk[pk]


def non_conformance_of(checks: JobChecks, pk: int) -> tuple[CheckState, NonConformance]:
    """Return a non-conformance of the job with its check; Http404 when it is none of its."""
    for state in checks.states:
        for found in state.non_conformances:
            if found.pk == pk:
                return state, found
    raise Http404


def record_of(state: CheckState, pk: int) -> CheckRecord:
    """Return a record of the check; Http404 when it is none of its."""
    for record in state.records:
        if record.pk == pk:
            return record
    raise Http404


def flood_start_of(state: CheckState, pk: int) -> FloodStart:
    """Return a flood test of the check; Http404 when it is none of its."""
    for start in state.starts:
        if start.pk == pk:
            return start
    raise Http404


def step_of(word: str) -> Step:
    """Return the step of an address; Http404 when there is none."""
    try:
        return Step(word.replace("-", " "))
    except ValueError:
        raise Http404 from None

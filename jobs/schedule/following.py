"""How the calendar keeps in step with a job: its start, its crew and its stage."""

from __future__ import annotations

from contracting.staff.models import User
from jobs.work.models import Job, Stage

from .models import Plan, PlanChange
from .services import OVER, plan_make, visits_cancel


def job_planned(*, job: Job, by: User) -> None:
    """Plan a job that has got its start, and plan it anew where start or crew are others now."""
    plan = Plan.objects.select_related("job__site").filter(job=job).first()
    if job.stage in OVER:
        return
    if job.starts_on is None:
        if plan is not None:
            visits_cancel(plan=plan, by=by)
        return
    kind = PlanChange.Kind.MADE if plan is None else PlanChange.Kind.FOLLOWED
    plan_make(job=job, by=by, kind=kind)


def job_moved(*, job: Job, by: User) -> None:
    """Take what lies ahead off the calendar when a job is over or waits to be scheduled again."""
    plan = Plan.objects.select_related("job__site").filter(job=job).first()
    if plan is not None and job.stage in {*OVER, Stage.ACCEPTED}:
        visits_cancel(plan=plan, by=by)

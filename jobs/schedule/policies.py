"""Getting a plan or a visit is asking for the right to it: the office sees all, an installer their jobs."""

from __future__ import annotations

from django.http import Http404

from contracting.staff.models import User
from jobs.work.models import Job
from jobs.work.selectors import jobs_of

from .feed_services import token_hash
from .models import DayOff, FeedLink, Plan, Visit
from .selectors import people_of_calendar, visit_with_job


def job_for(user: User, pk: int) -> Job:
    """Return a job with its site and crew; Http404 when there is none that *user* may see."""
    job = (
        jobs_of(user)
        .select_related("site__customer", "quote")
        .defer("quote__snapshot")
        .prefetch_related("crew_members__person")
        .filter(pk=pk)
        .first()
    )
    if job is None:
        raise Http404
    return job


def plan_for(user: User, pk: int) -> Plan:
    """Return the plan of job *pk*; Http404 when there is none that *user* may see."""
    job = job_for(user, pk)
    plan = Plan.objects.filter(job=job).first()
    if plan is None:
        raise Http404
    plan.job = job
    return plan


def visit_for(user: User, pk: int) -> Visit:
    """Return a visit on the calendar with its job and people; Http404 otherwise."""
    visit = visit_with_job(pk)
    if visit is None or not (user.sees_money or jobs_of(user).filter(pk=visit.plan.job_id).exists()):
        raise Http404
    return visit


def day_off_for(user: User, pk: int) -> DayOff:
    """Return days off; the office's own matter."""
    row = DayOff.objects.select_related("person").filter(pk=pk).first()
    if row is None or not user.sees_money:
        raise Http404
    return row


def feed_person_for(user: User, pk: int) -> User | None:
    """Return whose feed *pk* is (0: the office's, None); an installer has only their own."""
    if not user.sees_money:
        if pk != user.pk:
            raise Http404
        return user
    if pk == 0:
        return None
    person = people_of_calendar().filter(pk=pk).first()
    if person is None:
        raise Http404
    return person


def feed_for_token(token: str) -> FeedLink | None:
    """Return the open link of a token, or None; a person who has left reads nothing any more.

    Whatever the token looks like, the same work is done: one hash and one look into an index of hashes.
    """
    found = FeedLink.objects.select_related("person", "made_by").filter(
        token_sha256=token_hash(token), revoked_at=None
    )
    link = found.first()
    if link is None or not (link.person or link.made_by).is_active:
        return None
    return link

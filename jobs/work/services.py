"""What changes a job. Each call is one act of a person and one transaction."""

import datetime
from collections.abc import Collection

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.quotes.estimate_services import number_next
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_accept_on_paper

from . import followers
from .models import TRANSITIONS, CrewMember, Job, Stage, StageChange

# Urgent work starts before its paper; nobody plans further ahead than this.
BEFORE_THE_QUOTE, FURTHEST_AHEAD = datetime.timedelta(days=31), datetime.timedelta(days=3 * 366)


@transaction.atomic
def quote_sign_on_paper(*, quote: Quote, name: str, signed_on: datetime.date, by: User) -> Job:
    """Record the customer's paper signature and make the job, both or neither, and once.

    Raises:
        ValidationError: no name, a day that cannot be, or a quote that cannot be accepted any more.
    """
    accepted = quote_accept_on_paper(quote=quote, name=name, signed_on=signed_on, by=by)
    return job_from_quote(quote=accepted, by=by)


@transaction.atomic
def job_from_quote(*, quote: Quote, by: User, note: str = "", at: datetime.datetime | None = None) -> Job:
    """Return the job of an accepted quote, made at the first call; later calls return the same one.

    Args:
        note: stands beside the job's first stage, such as who signed.
        at: when that was; None: now.
    """
    job = Job.objects.filter(quote=quote).first()
    if job is not None:
        return job
    if quote.status != Quote.Status.ACCEPTED:
        raise ValidationError(_("Only an accepted quote becomes a job."))
    # Two callers at once: the second meets the unique quote_id and reads the first one's job.
    job, is_new = Job.objects.get_or_create(
        quote=quote,
        defaults={
            "number": number_next("job"),
            "site_id": quote.site_id,
            "title": quote.title,
            "customer_name": quote.customer_name,
        },
    )
    if is_new:
        moment = at or timezone.now()
        StageChange.objects.create(job=job, stage=job.stage, at=moment, by=by, note=note[:300])
        followers.follow(job=job, by=by)
    return job


@transaction.atomic
def job_plan(
    *,
    job: Job,
    starts_on: datetime.date | None,
    crew: Collection[User],
    crew_notes: str,
    by: User,
    at: datetime.datetime | None = None,
) -> Job:
    """Set when a job starts, who is on it and what they should know; an unplanned job becomes scheduled."""
    if starts_on is None and job.stage not in {Stage.ACCEPTED, Stage.CANCELLED}:
        raise ValidationError({"starts_on": _("A job that is scheduled or under way needs its start.")})
    if starts_on is not None and starts_on != job.starts_on:
        _check_start(job, starts_on)
    had = set(CrewMember.objects.filter(job=job).values_list("person_id", flat=True))
    is_other = job.starts_on != starts_on or had != {person.pk for person in crew}
    job.starts_on, job.crew_notes = starts_on, crew_notes
    job.save(update_fields=["starts_on", "crew_notes"])
    CrewMember.objects.filter(job=job).exclude(person__in=crew).delete()
    CrewMember.objects.bulk_create(
        [CrewMember(job=job, person=person) for person in crew], ignore_conflicts=True
    )
    if starts_on is not None and job.stage == Stage.ACCEPTED:
        job_move(job=job, stage=Stage.SCHEDULED, by=by, at=at)
        is_other = True
    if is_other:
        followers.planned(job=job, by=by)
    return job


def _check_start(job: Job, day: datetime.date) -> None:
    """Refuse a day in another year than the work was sold in: a slip of the keyboard."""
    first = timezone.localtime(job.quote.issued_at).date() - BEFORE_THE_QUOTE
    last = timezone.localdate() + FURTHEST_AHEAD
    if not first <= day <= last:
        said = {"day": day, "first": first, "last": last}
        raise ValidationError(
            {
                "starts_on": _("Read %(day)s: expected a day from %(first)s to %(last)s.")
                % {name: formats.date_format(value, "SHORT_DATE_FORMAT") for name, value in said.items()}
            }
        )


@transaction.atomic
def job_start_follow(*, job: Job, starts_on: datetime.date) -> Job:
    """Set a job's start to the day of its first visit; whoever moves visits keeps the job in step by this."""
    Job.objects.filter(pk=job.pk).update(starts_on=starts_on)
    job.starts_on = starts_on
    return job


@transaction.atomic
def crew_join(*, job: Job, people: Collection[User]) -> None:
    """Put *people* on a job's crew beside those who are on it, so that they may see the job."""
    CrewMember.objects.bulk_create(
        [CrewMember(job=job, person=person) for person in people], ignore_conflicts=True
    )


@transaction.atomic
def job_move(*, job: Job, stage: Stage, by: User, note: str = "", at: datetime.datetime | None = None) -> Job:
    """Move a job to *stage*, as of *at* (None: now).

    Raises:
        ValidationError: the step is not one of :data:`~jobs.work.models.TRANSITIONS`, the job has no start
            date yet, something stands in the way (a hold point, a cure), or somebody moved it first.
    """
    if stage not in TRANSITIONS[Stage(job.stage)]:
        raise ValidationError(
            _("A job does not go from “%(old)s” to “%(new)s”.")
            % {"old": job.get_stage_display(), "new": stage.label}
        )
    if job.starts_on is None and stage not in {Stage.ACCEPTED, Stage.CANCELLED}:
        raise ValidationError(_("Say when the job starts first."))
    if hindrances := list(followers.in_the_way(job, stage)):
        raise ValidationError(hindrances)
    # The conditional UPDATE is the lock, alike on SQLite and PostgreSQL.
    if not Job.objects.filter(pk=job.pk, stage=job.stage).update(stage=stage):
        raise ValidationError(_("Somebody else has moved this job; look again."))
    job.stage = stage
    StageChange.objects.create(job=job, stage=stage, at=at or timezone.now(), by=by, note=note)
    followers.moved(job=job, by=by)
    return job

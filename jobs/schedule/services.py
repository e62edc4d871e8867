"""What changes the calendar. Each call is one act of a person and one transaction.

Every act on a plan names the revision that was *seen*; who comes second is told what the first one did, and
nothing is stored.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.quotes.changes.selectors import changed_work
from estimates.quotes.templatetags.figures import say
from estimates.takeoff.errors import DomainError
from jobs.work.models import Job, Stage
from jobs.work.services import crew_join, job_start_follow

from .drafts import Draft, crew_of, draft_of, planned_anew
from .models import DayOff, Plan, PlanChange, Visit, VisitPerson, Wait
from .network import frozen_network
from .words import day_of, work_of

Kind = PlanChange.Kind
# Work that has begun is not planned a second time.
NOT_BEGUN = frozenset({Stage.ACCEPTED, Stage.SCHEDULED})
OVER = frozenset({Stage.COMPLETE, Stage.CANCELLED})
# The days that may be planned: arithmetic with days needs room before and after.
FIRST_DAY, LAST_DAY = datetime.date(2000, 1, 1), datetime.date(2199, 12, 31)


class ChangedMeanwhile(ValidationError):
    """Somebody else has changed the plan since it was looked at; nothing is stored."""


@transaction.atomic
def plan_make(
    *,
    job: Job,
    by: User,
    seen: int | None = None,
    start: datetime.date | None = None,
    loose: bool = False,
    kind: Kind = Kind.MADE,
    at: datetime.datetime | None = None,
) -> Plan:
    """Plan a job's visits from its sequence, or what is left of them anew.

    Of a job that has begun, the visits that have started stay and count as done; the rest begins on *start*
    or today. Visits that were set by hand stay where they are unless they are let *loose*.

    Args:
        seen: the plan's revision when it was looked at; None: whatever it is now.
        start: the first day; None: the job's start, or today where the job has begun.

    Raises:
        ValidationError: no start, or a job that is over.
        ChangedMeanwhile: somebody was first.
    """
    at = at or timezone.now()
    if job.starts_on is None and start is None:
        raise ValidationError(_("Say when the job starts first."))
    if job.stage in OVER:
        raise ValidationError(_("This job is over; there is nothing left to plan."))
    measured = changed_work(job.quote).whole
    network = frozen_network(measured or job.quote.snapshot.get("work") or {})
    plan, is_new = Plan.objects.get_or_create(job=job, defaults={"network": network})
    if measured:
        # A signed change may have added a room since the job was planned.
        plan.network = network
    draft = draft_of(plan)
    has_begun = Stage(job.stage) not in NOT_BEGUN and not is_new
    kept = [visit for visit in draft.visits if has_begun and visit.starts_at <= at]
    first = start or job.starts_on or at.date()
    if has_begun:
        first = max(first, at.astimezone(draft.days.zone).date())
    if not FIRST_DAY <= first <= LAST_DAY:
        raise ValidationError(
            _("Read %(day)s: expected a day from %(first)s to %(last)s.")
            % {"day": first.isoformat(), "first": FIRST_DAY.isoformat(), "last": LAST_DAY.isoformat()}
        )
    with _in_words():
        planned_anew(draft, crew=crew_of(job), start=first, kept=kept, loose=loose, now=at)
    _store(draft, by=by, kind=kind, seen=plan.revision if seen is None else seen, at=at, is_new=is_new)
    return plan


@transaction.atomic
def visit_move(
    *,
    visit: Visit,
    seen: int,
    day: datetime.date,
    clock: datetime.time | None = None,
    people: Collection[User] | None = None,
    loose: bool = False,
    by: User,
    at: datetime.datetime | None = None,
) -> Draft:
    """Put a visit on another day, at another hour or in other hands; what follows moves along as it must.

    Args:
        seen: the plan's revision when it was looked at.
        clock: when it begins where the site is; None: at the same hour.
        people: who makes it; None: the same people. Who is not on the job's crew joins it.
        loose: whether visits that were set by hand move along too.

    Raises:
        ValidationError: it cannot begin then (a cure, a test, the work before).
        ChangedMeanwhile: somebody was first.
    """
    at = at or timezone.now()
    draft, moved = visit_try(
        visit=visit, seen=seen, day=day, clock=clock, people=people, loose=loose, by=by, at=at
    )
    if people is not None:
        crew_join(job=draft.plan.job, people=people)
    _store(draft, by=by, kind=Kind.MOVED, seen=seen, at=at, first=moved)
    return draft


def visit_try(
    *,
    visit: Visit,
    seen: int,
    day: datetime.date,
    clock: datetime.time | None = None,
    people: Collection[User] | None = None,
    loose: bool = False,
    by: User,
    at: datetime.datetime | None = None,
) -> tuple[Draft, Visit]:
    """Return what :func:`visit_move` would store, and the visit in it; nothing is stored."""
    at = at or timezone.now()
    plan = (
        Plan.objects.select_related("job__site", "job__quote")
        .defer("job__quote__snapshot")
        .get(pk=visit.plan_id)
    )
    _check_seen(plan, seen)
    draft = draft_of(plan)
    moved = next((one for one in draft.visits if one.pk == visit.pk), None)
    if moved is None:
        raise ChangedMeanwhile(_("This visit has been taken off the calendar."))
    local = moved.starts_at.astimezone(draft.days.zone)
    start = draft.days.at(day, clock or local.time())
    if people is not None:
        draft.crews[str(moved.uid)] = frozenset(person.pk for person in people)
    with _in_words():
        if start != moved.starts_at:
            moved.set_by, moved.set_at = by, at
            draft.move(moved, start, at, loose=loose)
        else:
            draft.settle(at, but=moved, loose=loose)
    return draft, moved


@contextmanager
def _in_words() -> Iterator[None]:
    """Tell a refusal of the takeoff, such as a calendar without a working day, as one of the form."""
    try:
        yield
    except DomainError as error:
        raise ValidationError(say(error.reason)) from error


@transaction.atomic
def visit_add(
    *,
    plan: Plan,
    seen: int,
    title: str,
    day: datetime.date,
    clock: datetime.time,
    minutes: int,
    people: Collection[User],
    by: User,
    at: datetime.datetime | None = None,
) -> Visit:
    """Add a visit that the sequence does not know: a meeting, a delivery, the punch list.

    Raises:
        ValidationError: nothing said about what it is for, or a length that no day has.
        ChangedMeanwhile: somebody was first.
    """
    at = at or timezone.now()
    _check_seen(plan, seen)
    draft = draft_of(plan)
    visit = Visit(
        plan=plan,
        position=len(draft.visits),
        title=title.strip(),
        minutes=minutes,
        set_by=by,
        set_at=at,
        made_at=at,
        changed_at=at,
    )
    if not visit.title:
        raise ValidationError({"title": _("Say what the visit is for.")})
    draft.put(visit, draft.days.after(draft.days.at(day, clock), 0))
    visit.full_clean(exclude=["plan", "set_by"])
    draft.visits.append(visit)
    draft.crews[str(visit.uid)] = frozenset(person.pk for person in people)
    crew_join(job=plan.job, people=people)
    draft.settle(at)
    _store(draft, by=by, kind=Kind.ADDED, seen=seen, at=at, first=visit)
    return visit


@transaction.atomic
def visit_drop(*, visit: Visit, seen: int, by: User, at: datetime.datetime | None = None) -> None:
    """Take a visit off the calendar; calendar programs are told that it is cancelled.

    Raises:
        ChangedMeanwhile: somebody was first.
    """
    at = at or timezone.now()
    plan = visit.plan
    _check_seen(plan, seen)
    draft = draft_of(plan)
    dropped = [one for one in draft.visits if one.pk == visit.pk]
    draft.visits = [one for one in draft.visits if one.pk != visit.pk]
    draft.cancelled = dropped
    draft.settle(at)
    _store(draft, by=by, kind=Kind.DROPPED, seen=seen, at=at, first=dropped[0] if dropped else None)


@transaction.atomic
def plan_undo(*, plan: Plan, seen: int, by: User, at: datetime.datetime | None = None) -> None:
    """Put the visits back as they were before the newest act; pressed again, the act is there again.

    Raises:
        ValidationError: there is nothing to undo.
        ChangedMeanwhile: somebody was first.
    """
    at = at or timezone.now()
    _check_seen(plan, seen)
    change = plan.changes.first()
    if change is None or change.revision != seen or not change.before:
        raise ValidationError(_("There is nothing to undo here."))
    draft = draft_of(plan)
    rows = {row["pk"]: row for row in change.before}
    visits = {visit.pk: visit for visit in plan.visits.filter(pk__in=rows)}
    draft.cancelled = [visit for visit in draft.visits if visit.pk not in rows]
    draft.visits = []
    for pk, row in rows.items():
        visit = visits[pk]
        visit.plan = plan
        for name in _KEPT:
            setattr(visit, name, row[name])
        visit.starts_at = datetime.datetime.fromisoformat(row["starts_at"])
        visit.set_at = datetime.datetime.fromisoformat(row["set_at"]) if row["set_at"] else None
        draft.put(visit, visit.starts_at)
        draft.visits.append(visit)
        draft.crews[str(visit.uid)] = frozenset(row["people"])
    # Everything stays where it was; only waits and what begins too early are looked at again.
    for visit in draft.visits:
        visit.waits_until = visit.waits_for = None
    _look_again(draft, at)
    _store(draft, by=by, kind=Kind.UNDONE, seen=seen, at=at)


def _look_again(draft: Draft, at: datetime.datetime) -> None:
    """Note waits and what begins too early without moving anything."""
    where = {str(visit.uid): visit.starts_at for visit in draft.visits}
    draft.settle(at)
    for visit in draft.visits:
        if visit.starts_at != where[str(visit.uid)]:
            draft.put(visit, where[str(visit.uid)])


@transaction.atomic
def visits_cancel(*, plan: Plan, by: User, at: datetime.datetime | None = None) -> None:
    """Take every visit that has not begun off the calendar: the job is over, or has no start any more."""
    at = at or timezone.now()
    draft = draft_of(plan)
    draft.cancelled = [visit for visit in draft.visits if visit.starts_at > at]
    if draft.cancelled:
        draft.visits = [visit for visit in draft.visits if visit.starts_at <= at]
        draft.settle(at)
        _store(draft, by=by, kind=Kind.FOLLOWED, seen=plan.revision, at=at)


@transaction.atomic
def day_off_set(*, person: User, first_on: datetime.date, last_on: datetime.date) -> DayOff:
    """Write down that somebody does not work on these days.

    Raises:
        ValidationError: the last day lies before the first, or the days overlap with others of theirs.
    """
    if last_on < first_on:
        raise ValidationError(
            {
                "last_on": _("Read %(last)s: expected a day from %(first)s on.")
                % {"last": day_of(last_on), "first": day_of(first_on)}
            }
        )
    known = DayOff.objects.filter(person=person, first_on__lte=last_on, last_on__gte=first_on).first()
    if known is not None:
        raise ValidationError(
            _("%(name)s has %(first)s to %(last)s off already.")
            % {"name": person, "first": day_of(known.first_on), "last": day_of(known.last_on)}
        )
    return DayOff.objects.create(person=person, first_on=first_on, last_on=last_on)


@transaction.atomic
def day_off_remove(*, day_off: DayOff) -> None:
    """Let somebody work on these days after all."""
    day_off.delete()


# --- Storing ----------------------------------------------------------------------------------------------

# What an undo puts back besides the times.
_KEPT = ("position", "minutes", "parts", "steps", "rooms", "title", "set_by_id")


def _check_seen(plan: Plan, seen: int) -> None:
    if plan.revision != seen:
        raise _changed(plan)


def _changed(plan: Plan) -> ChangedMeanwhile:
    change = plan.changes.select_related("by").first()
    if change is None:
        return ChangedMeanwhile(_("This plan has changed since you looked at it."))
    return ChangedMeanwhile(
        _("%(name)s has changed this plan since you looked at it: %(what)s. Nothing of yours is stored yet.")
        % {"name": change.by, "what": "; ".join([change.get_kind_display(), *change.said])}
    )


def _store(
    draft: Draft,
    *,
    by: User,
    kind: Kind,
    seen: int,
    at: datetime.datetime,
    first: Visit | None = None,
    is_new: bool = False,
) -> None:
    """Write a draft: the visits, their people and waits, the change, and the job's start."""
    plan = draft.plan
    # The conditional UPDATE is the lock, alike on SQLite and PostgreSQL.
    if not is_new:
        if not Plan.objects.filter(pk=plan.pk, revision=seen).update(
            revision=F("revision") + 1, network=plan.network
        ):
            plan.refresh_from_db(fields=["revision"])
            raise _changed(plan)
        plan.revision = seen + 1
    before = _standing(plan)
    for visit in draft.cancelled:
        visit.cancelled_at = visit.changed_at = at
        visit.sequence += 1
        visit.save()
    for visit in draft.visits:
        _store_visit(visit, draft.crews[str(visit.uid)], before.get(visit.pk), at)
    # By key: a DELETE with a join is slow beyond measure where PostgreSQL has not counted the rows yet.
    visits = list(Visit.objects.filter(plan=plan).values_list("pk", flat=True))
    Wait.objects.filter(visit_id__in=visits).delete()
    by_uid = {str(visit.uid): visit for visit in draft.visits}
    Wait.objects.bulk_create(
        Wait(
            visit=by_uid[gap.after],
            cure=gap.need.cure,
            label=gap.need.label,
            starts_at=gap.start,
            ends_at=gap.end,
            holds=gap.holds,
        )
        for gap in draft.gaps
    )
    said = draft.said(first)
    if first is not None:
        said = [f"{work_of(first)}: {day_of(first.day)}", *said]
    PlanChange.objects.create(
        plan=plan,
        revision=plan.revision,
        kind=kind,
        said=said,
        before=list(before.values()),
        at=at,
        by=by,
    )
    # A meeting before the work is not its start.
    starts_on = min((visit.day for visit in draft.visits if not visit.title), default=None)
    if starts_on is not None and starts_on != plan.job.starts_on:
        job_start_follow(job=plan.job, starts_on=starts_on)


def _standing(plan: Plan) -> dict[int, dict[str, Any]]:
    """Return the plan's visits as they are stored, so that an undo can put them back."""
    visits = plan.visits.filter(cancelled_at=None).prefetch_related("people").order_by("pk")
    return {
        visit.pk: {
            "pk": visit.pk,
            **{name: getattr(visit, name) for name in _KEPT},
            "starts_at": visit.starts_at.isoformat(),
            "set_at": visit.set_at.isoformat() if visit.set_at else None,
            "people": sorted(row.person_id for row in visit.people.all() if row.left_at is None),
        }
        for visit in visits
    }


def _store_visit(
    visit: Visit, crew: frozenset[int], before: dict[str, Any] | None, at: datetime.datetime
) -> None:
    had = frozenset(before["people"]) if before else frozenset()
    is_same = before is not None and (
        visit.starts_at == datetime.datetime.fromisoformat(before["starts_at"])
        and visit.minutes == before["minutes"]
        and visit.title == before["title"]
        and visit.steps == before["steps"]
        and crew == had
    )
    if not is_same:
        visit.changed_at = at
        # A new visit begins at 0; one that was cancelled and comes back has been sent before.
        visit.sequence += 1 if visit.pk else 0
    visit.cancelled_at = None
    visit.save()
    for person in crew - had:
        VisitPerson.objects.update_or_create(visit=visit, person_id=person, defaults={"left_at": None})
    VisitPerson.objects.filter(visit=visit, left_at=None).exclude(person_id__in=crew).update(left_at=at)

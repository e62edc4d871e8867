"""What adds to the inspection record. Each call is one act of a person and one transaction.

A call carries the key its form was made with, so that a request sent twice is recorded once.
"""

import datetime
import uuid
from typing import Any, TypeVar

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, models, transaction
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.keys import sent_before
from contracting.staff.models import User
from estimates.quotes.changes.models import ChangeOrder
from jobs.work.models import Job

from . import checklist, holds, limits, selectors, verdicts
from .models import (
    CheckRecord,
    Closure,
    CorrectiveAction,
    FloodStart,
    Hold,
    HoldPointOverride,
    InspectionPlan,
    Kind,
    NonConformance,
    PlannedCheck,
    WaivedCheck,
)

# A phone's clock may be a little ahead of ours.
CLOCK_SLACK = datetime.timedelta(minutes=2)
# Nobody records what lies further back; a wrong year is the likelier reason.
LONGEST_AGO = datetime.timedelta(days=366)
Row = TypeVar("Row", bound=models.Model)


@transaction.atomic
def plan_from_job(*, job: Job, by: User, facts: checklist.JobFacts | None = None) -> InspectionPlan:
    """Return the inspection plan of *job*, made at the first call; later calls return the same one.

    Args:
        facts: what the job builds; None reads it from the accepted quote.
    """
    made = InspectionPlan.objects.filter(job=job).first()
    if made is not None:
        return made
    if facts is None:
        from .planning import facts_of

        facts = facts_of(job)
    # Two callers at once: the second meets the unique job_id and reads the first one's plan.
    plan, is_new = InspectionPlan.objects.get_or_create(
        job=job, defaults={"made_at": timezone.now(), "made_by": by}
    )
    if is_new:
        PlannedCheck.objects.bulk_create(
            _row(plan, place, check) for place, check in enumerate(checklist.plan(facts), 1)
        )
    return plan


@transaction.atomic
def plan_follows_change(*, order: ChangeOrder, by: User) -> list[PlannedCheck]:
    """Add the checks of rooms and surfaces that a signed change order brought; return those that are new.

    What was planned stays: a check is never taken off a plan, and a limit never moves under a record. Work
    that a change left out is waived by the office, with its reason.
    """
    job = Job.objects.filter(quote=order.quote_id).first()
    plan = None if job is None else InspectionPlan.objects.select_for_update().filter(job=job).first()
    if job is None or plan is None:
        return []
    from .planning import facts_of

    planned = list(plan.checks.all())
    known = {(one.key, one.room_key, one.surface_key) for one in planned}
    place = max((one.position for one in planned), default=0)
    wanted = checklist.plan(facts_of(job))
    new = [one for one in wanted if (one.template.key, one.room[0], one.surface[0]) not in known]
    return PlannedCheck.objects.bulk_create(_row(plan, place + more, one) for more, one in enumerate(new, 1))


def _row(plan: InspectionPlan, position: int, check: checklist.Planned) -> PlannedCheck:
    template, limit = check.template, check.limit
    return PlannedCheck(
        plan=plan,
        position=position,
        key=template.key,
        hold=template.hold.value,
        kind=template.kind.value,
        quantity=limit.quantity.value if limit else "",
        room_key=check.room[0],
        room_name=check.room[1],
        surface_key=check.surface[0],
        surface_name=check.surface[1],
        label=template.label,
        ask=template.ask,
        source=check.source,
        instrument=template.instrument,
        needs_note=template.needs_note,
        least=limit.least if limit else None,
        most=limit.most if limit else None,
        wait_seconds=int(check.wait.total_seconds()),
        stands_seconds=int(check.stands.total_seconds()),
    )


@transaction.atomic
def check_record(
    *,
    planned: PlannedCheck,
    by: User,
    key: uuid.UUID,
    reading: int | None = None,
    reading_typed: str = "",
    answer: bool | None = None,
    laid_at: datetime.datetime | None = None,
    is_cold: bool | None = None,
    instrument: str = "",
    note: str = "",
    observed_at: datetime.datetime | None = None,
    supersedes: CheckRecord | None = None,
    reason: str = "",
) -> CheckRecord:
    """Record what was found at a check; the database computes whether it passed.

    A failed check opens a non-conformance; a passed re-inspection closes it. A correction replaces the
    newest record and says why; it never closes a non-conformance, since a slip of the pen is no inspection.

    Args:
        reading: ten-thousandths of a millimetre or hundredths of a per cent, by the check's quantity.
        observed_at: when somebody looked; None: now.

    Raises:
        ValidationError: by field, in sentences.
    """
    _lock(planned)
    evidence: dict[str, Any] = {
        "reading": reading,
        "answer": answer,
        "laid_at": laid_at,
        "is_cold": is_cold,
        "instrument": instrument.strip(),
        "note": note.strip(),
        "supersedes": supersedes,
        "reason": reason.strip(),
    }
    before = sent_before(CheckRecord, key, planned=planned, by=by, **evidence)
    if before is not None:
        return before
    _check_shape(planned, evidence)
    now = timezone.now()
    observed = observed_at or now
    _check_moment("observed_at", observed, now)
    if laid_at is not None:
        _check_moment("laid_at", laid_at, now)
    state = selectors.check_state(planned)
    _check_turn(state, planned, supersedes, now)
    if supersedes is None:
        _check_not_overtaken(state, observed, laid_at)
    evidence |= _flood_evidence(planned, supersedes)
    record = _create(
        CheckRecord,
        planned=planned,
        key=key,
        kind=planned.kind,
        least=planned.least,
        most=planned.most,
        reading_typed=reading_typed.strip()[:40],
        by=by,
        observed_at=observed,
        recorded_at=now,
        **evidence,
    )
    _follow(record, state.open, now)
    return record


@transaction.atomic
def flood_test_start(
    *,
    planned: PlannedCheck,
    by: User,
    key: uuid.UUID,
    level: int,
    level_typed: str,
    instrument: str,
    note: str = "",
    started_at: datetime.datetime | None = None,
    stands: datetime.timedelta | None = None,
) -> FloodStart:
    """Record that the water is in.

    Args:
        level: depth at the shallowest edge, ten-thousandths of a millimetre.
        stands: how long the water stands where the local code asks for another time than the plan's; only
            the office may say so, with a note.

    Raises:
        ValidationError: another test still runs, the membrane has not stood long enough or is not accepted,
            the depth is out of its limits, or the reading is incomplete.
    """
    _lock(planned)
    before = sent_before(FloodStart, key, planned=planned, by=by, level=level, note=note.strip())
    if before is not None:
        return before
    now = timezone.now()
    started = started_at or now
    _check_moment("started_at", started, now)
    checks = selectors.checks_of(planned.plan.job, now=started)
    state = checks.by_pk[planned.pk]
    if planned.kind != Kind.FLOOD:
        raise ValidationError(_("This check is not a flood test."))
    if state.running is not None:
        raise ValidationError(_("A flood test of this room runs already; end it first."))
    if state.needs_action:
        raise ValidationError(_("The last test failed. Say first what was done about it."))
    _check_not_overtaken(state, started)
    in_the_way = holds.obstacles(checks, checklist.Step.FLOOD, room=planned.room_key)
    if in_the_way:
        raise ValidationError([found.sentence for found in in_the_way])
    limit = planned.limit
    if limit is not None and not limit.admits(level):
        faults = verdicts.reading_faults(limit, level, state.system)
        raise ValidationError({"level": [fault.render(_) for fault in faults]})
    if not instrument.strip():
        raise ValidationError({"instrument": _("Say what the level was read with.")})
    length = _test_length(planned, stands, by, note)
    laid = [s.current for s in checks.in_scope(planned.room_key, "") if s.current and s.current.laid_at]
    if not laid:
        raise ValidationError(_("Record first when the membrane of this room was laid."))
    last = max(laid, key=lambda record: record.laid_at)  # type: ignore[arg-type,return-value]
    return _create(
        FloodStart,
        planned=planned,
        key=key,
        level=level,
        level_typed=level_typed.strip()[:40],
        started_at=started,
        laid_at=last.laid_at,
        is_cold=any(record.is_cold for record in laid),
        stands_seconds=int(length.total_seconds()),
        instrument=instrument.strip(),
        note=note.strip(),
        by=by,
        recorded_at=now,
    )


@transaction.atomic
def flood_test_end(
    *,
    start: FloodStart,
    by: User,
    key: uuid.UUID,
    level: int,
    level_typed: str,
    leak_seen: bool,
    instrument: str,
    note: str = "",
    ended_at: datetime.datetime | None = None,
) -> CheckRecord:
    """Record the level at the end of a flood test; ended early, fallen, or with a leak, it fails.

    Raises:
        ValidationError: it has ended already, it ends before it started or in the future.
    """
    planned = start.planned
    _lock(planned)
    evidence = {"reading": level, "leak_seen": leak_seen, "note": note.strip()}
    before = sent_before(CheckRecord, key, planned=planned, by=by, flood_start=start, **evidence)
    if before is not None:
        return before
    if CheckRecord.objects.filter(flood_start=start).exists():
        raise ValidationError(_("Somebody else has ended this test; look again."))
    now = timezone.now()
    ended = ended_at or now
    _check_moment("ended_at", ended, now)
    if ended < start.started_at:
        raise ValidationError({"ended_at": _("The test cannot end before it started.")})
    if not instrument.strip():
        raise ValidationError({"instrument": _("Say what the level was read with.")})
    state = selectors.check_state(planned)
    record = _create(
        CheckRecord,
        planned=planned,
        key=key,
        kind=planned.kind,
        least=planned.least,
        most=planned.most,
        reading_typed=level_typed.strip()[:40],
        instrument=instrument.strip(),
        flood_start=start,
        start_level=start.level,
        stood_seconds=_whole_seconds(ended - start.started_at),
        stands_seconds=start.stands_seconds,
        waited_seconds=_whole_seconds(start.started_at - start.laid_at),
        wait_seconds=_whole_seconds(limits.flood_wait(is_cold=start.is_cold)),
        by=by,
        observed_at=ended,
        recorded_at=now,
        **evidence,
    )
    _follow(record, state.open, now)
    return record


@transaction.atomic
def corrective_action(
    *, non_conformance: NonConformance, by: User, key: uuid.UUID, text: str
) -> CorrectiveAction:
    """Record what was done about a failed check, so that it can be looked at again.

    Raises:
        ValidationError: nothing is said, or the non-conformance is closed.
    """
    _lock(non_conformance.planned)
    text = text.strip()
    before = sent_before(CorrectiveAction, key, non_conformance=non_conformance, by=by, text=text)
    if before is not None:
        return before
    if not text:
        raise ValidationError({"text": _("Say what was done.")})
    if Closure.objects.filter(non_conformance=non_conformance).exists():
        raise ValidationError(_("This non-conformance is closed."))
    failed = CheckRecord.objects.filter(planned=non_conformance.planned, passed=False).order_by("-pk")
    return _create(
        CorrectiveAction,
        non_conformance=non_conformance,
        key=key,
        text=text,
        by=by,
        at=timezone.now(),
        after=failed[0],
    )


@transaction.atomic
def hold_override(
    *, job: Job, step: checklist.Step, reason: str, by: User, key: uuid.UUID
) -> HoldPointOverride:
    """Let *step* go on past what stands in its way now; whatever is recorded later stands in the way anew.

    Raises:
        PermissionDenied: *by* is neither the owner nor of the office.
        ValidationError: no reason, or nothing stands in the way that may be overridden.
    """
    if not by.sees_money:
        raise PermissionDenied
    # The plan is the row all overrides of a job queue on.
    InspectionPlan.objects.select_for_update().filter(job=job).first()
    reason = reason.strip()
    before = sent_before(HoldPointOverride, key, job=job, by=by, step=step.value, reason=reason)
    if before is not None:
        return before
    if len(reason) < 10:
        raise ValidationError({"reason": _("Give the reason in a sentence; it stays in the record.")})
    found = [one for one in holds.obstacles(selectors.checks_of(job), step) if one.states]
    if not found:
        raise ValidationError(_("Nothing stands in the way of this, so there is nothing to override."))
    override = _create(
        HoldPointOverride, job=job, key=key, step=step.value, reason=reason, by=by, at=timezone.now()
    )
    waived = {
        state.planned.pk: WaivedCheck(
            override=override,
            planned=state.planned,
            last_record=state.current,
            sentence=one.sentence[:400],
        )
        for one in found
        for state in one.states
    }
    WaivedCheck.objects.bulk_create(waived.values())
    return override


# --- What a record must hold ------------------------------------------------------------------------------


def _check_shape(planned: PlannedCheck, evidence: dict[str, Any]) -> None:
    wanted = {Kind.READING: "reading", Kind.FLOOD: "reading", Kind.ANSWER: "answer", Kind.LAID: "laid_at"}
    errors: dict[str, str] = {}
    for name in ("reading", "answer", "laid_at"):
        given = evidence[name] is not None
        if name == wanted[Kind(planned.kind)] and not given:
            errors[name] = _("This is what the check asks for.")
        elif name != wanted[Kind(planned.kind)] and given:
            errors[name] = _("This check does not ask for that.")
    if planned.kind == Kind.FLOOD and evidence["supersedes"] is None:
        errors["reading"] = _("A flood test is started and ended, not recorded at once.")
    if planned.kind == Kind.LAID and evidence["is_cold"] is None:
        errors["is_cold"] = _("Say whether it was laid below 50 °F (10 °C).")
    if planned.kind in {Kind.READING, Kind.FLOOD} and not evidence["instrument"]:
        errors["instrument"] = _("Say what it was read with.")
    if planned.quantity == limits.Quantity.PERCENT and (evidence["reading"] or 0) > 10_000:
        errors["reading"] = _("A share is at most 100 %.")
    if not evidence["note"] and (planned.needs_note or evidence["answer"] is False):
        errors["note"] = _("Say what was found.")
    if evidence["supersedes"] is not None and not evidence["reason"]:
        errors["reason"] = _("Say why the record is corrected.")
    if errors:
        raise ValidationError(errors)


def _check_moment(name: str, moment: datetime.datetime, now: datetime.datetime) -> None:
    if moment > now + CLOCK_SLACK:
        raise ValidationError({name: _("That moment has not come yet.")})
    if moment < now - LONGEST_AGO:
        raise ValidationError({name: _("That is more than a year ago; check the date.")})


def _check_turn(
    state: selectors.CheckState,
    planned: PlannedCheck,
    supersedes: CheckRecord | None,
    now: datetime.datetime,
) -> None:
    """Refuse a record that is out of turn."""
    if supersedes is not None:
        if state.current is None or supersedes.pk != state.current.pk:
            raise ValidationError(_("Only the newest record of a check can be corrected; look again."))
        return
    if state.needs_action:
        raise ValidationError(_("This check failed. Say first what was done about it, then look again."))
    if planned.hold == Hold.COVERAGE:
        # A tile that was lifted has been set.
        stopped = holds.standing_in_the_way(
            planned.plan.job,
            checklist.Step.TILE,
            room=planned.room_key,
            surface=planned.surface_key,
            now=now,
        )
        if stopped:
            raise ValidationError(stopped)


def _check_not_overtaken(
    state: selectors.CheckState, seen: datetime.datetime, laid_at: datetime.datetime | None = None
) -> None:
    """Refuse what a phone kept until something newer was known: it is no re-inspection, and no later cure.

    Args:
        seen: when somebody looked, or let the water in.
    """
    if state.open is not None:
        failed = [record for record in state.records if not record.passed][-1]
        if seen < failed.observed_at:
            raise ValidationError(
                _("%(name)s found at %(moment)s, after you had looked, that it fails. Look at it again.")
                % {"name": failed.by, "moment": _moment_text(failed.observed_at)}
            )
    standing = state.current
    if laid_at is not None and standing is not None and standing.laid_at and laid_at < standing.laid_at:
        raise ValidationError(
            _(
                "%(name)s has recorded that the last sheet was embedded at %(moment)s, and the cure runs "
                "from then. If that is wrong, correct that record."
            )
            % {"name": standing.by, "moment": _moment_text(standing.laid_at)}
        )


def _moment_text(moment: datetime.datetime) -> str:
    return formats.date_format(timezone.localtime(moment), "SHORT_DATETIME_FORMAT")


def _flood_evidence(planned: PlannedCheck, supersedes: CheckRecord | None) -> dict[str, Any]:
    """Return what a corrected flood test keeps of the record it replaces."""
    if planned.kind != Kind.FLOOD or supersedes is None:
        return {}
    names = ("start_level", "stood_seconds", "stands_seconds", "waited_seconds", "wait_seconds", "leak_seen")
    return {name: getattr(supersedes, name) for name in names}


def _test_length(
    planned: PlannedCheck, stands: datetime.timedelta | None, by: User, note: str
) -> datetime.timedelta:
    planned_length = datetime.timedelta(seconds=planned.stands_seconds)
    if stands is None or stands == planned_length:
        return planned_length
    if not by.sees_money:
        raise ValidationError({"stands": _("Only the office may change how long the water stands.")})
    if not datetime.timedelta(minutes=15) <= stands <= limits.FLOOD_LONGEST:
        raise ValidationError({"stands": _("Expected a time from 15 minutes to 72 hours.")})
    if not note.strip():
        raise ValidationError({"note": _("Say which local code asks for another time.")})
    return stands


# --- What follows from a record ---------------------------------------------------------------------------


def _follow(record: CheckRecord, standing: NonConformance | None, now: datetime.datetime) -> None:
    """Open a non-conformance for a failed record; close the one that stands by a passed re-inspection."""
    if not record.passed:
        if standing is None:
            NonConformance.objects.create(planned=record.planned, opened_by=record, opened_at=now)
    elif standing is not None and record.supersedes_id is None:
        Closure.objects.create(non_conformance=standing, record=record, at=now)


# --- Once, and one after the other ------------------------------------------------------------------------


def _lock(planned: PlannedCheck) -> None:
    """Make acts on one check wait for each other: by the row on PostgreSQL, by IMMEDIATE on SQLite."""
    PlannedCheck.objects.select_for_update(of=("self",)).get(pk=planned.pk)


def _create(model: type[Row], **values: Any) -> Row:
    """Create a row, or return the one that a request with the same key made at the same moment."""
    try:
        with transaction.atomic():
            return model._default_manager.create(**values)
    except IntegrityError:
        made = model._default_manager.filter(key=values["key"]).first()
        if made is None:
            raise
        return made


def _whole_seconds(length: datetime.timedelta) -> int:
    return max(int(length.total_seconds()), 0)

"""What the services record, and what the database itself keeps."""

import datetime
import importlib
import uuid

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from jobs.inspections import holds, selectors, services
from jobs.inspections.checklist import Step
from jobs.inspections.models import (
    CheckRecord,
    Closure,
    CorrectiveAction,
    FloodStart,
    Hold,
    HoldPointOverride,
    InspectionPlan,
    NonConformance,
    PlannedCheck,
    WaivedCheck,
)

from .factories import HOUR, INCH, check, facts, job, pass_all, planned_job, record

pytestmark = pytest.mark.django_db
TRIGGERS = importlib.import_module("jobs.inspections.migrations.0002_records_only_grow")


def state(planned):
    return selectors.checks_of(planned.plan.job).by_pk[planned.pk]


# --- The plan ---------------------------------------------------------------------------------------------


def test_the_plan_of_a_job_is_made_once(office_manager):
    made = job()

    first = services.plan_from_job(job=made, by=office_manager, facts=facts())
    count = PlannedCheck.objects.count()
    second = services.plan_from_job(job=made, by=office_manager, facts=facts())

    assert first == second
    assert count > 20
    assert PlannedCheck.objects.count() == count


# --- Pass and fail are computed ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "reading", "passed"),
    [
        # Membrane laps: at least 2 in at the side, 1 1/2 in end to end (common practice, no source).
        ("side_laps", 2 * INCH, True),
        ("side_laps", 2 * INCH - 1, False),
        ("butt_laps", INCH * 3 // 2, True),
        ("butt_laps", INCH * 3 // 2 - 1, False),
        # ANSI A108.5 2.2.3: 95 % in wet places.
        ("coverage", 9500, True),
        ("coverage", 9499, False),
        # IRC P2709.1: 1/4 in to 1/2 in per foot.
        ("slope", INCH // 4, True),
        ("slope", INCH // 4 - 1, False),
        ("slope", INCH // 2, True),
        ("slope", INCH // 2 + 1, False),
    ],
)
def test_the_database_computes_pass_from_the_reading_and_its_limit(installer, key, reading, passed):
    made = planned_job()
    CheckRecord.objects.create(
        planned=check(made, key),
        kind="reading",
        least=check(made, key).least,
        most=check(made, key).most,
        reading=reading,
        instrument="steel tape",
        by=installer,
        observed_at=timezone.now(),
        recorded_at=timezone.now(),
    )

    assert CheckRecord.objects.get().passed is passed


def test_pass_or_fail_cannot_be_entered(installer):
    found = record(check(planned_job(), "side_laps"), installer, reading=INCH)

    assert found.passed is False
    with pytest.raises(TypeError):
        services.check_record(planned=found.planned, by=installer, key=uuid.uuid4(), passed=True)  # type: ignore[call-arg]


def test_a_moisture_answer_without_its_note_proves_nothing(installer):
    with pytest.raises(ValidationError) as refused:
        record(check(planned_job(), "moisture"), installer, note="")

    assert refused.value.message_dict == {"note": ["Say what was found."]}


def test_a_reading_without_an_instrument_is_refused_by_service_and_database(installer):
    planned = check(planned_job(), "side_laps")

    with pytest.raises(ValidationError):
        record(planned, installer, instrument=" ")
    with pytest.raises(IntegrityError), transaction.atomic():
        CheckRecord.objects.create(
            planned=planned,
            kind="reading",
            least=planned.least,
            reading=INCH,
            by=installer,
            observed_at=timezone.now(),
            recorded_at=timezone.now(),
        )


def test_nobody_looks_at_a_check_tomorrow(installer):
    with pytest.raises(ValidationError, match="has not come yet"):
        record(check(planned_job(), "sound"), installer, observed_at=timezone.now() + HOUR)


def test_nobody_laid_membrane_in_another_century(installer):
    with pytest.raises(ValidationError, match="more than a year ago"):
        record(
            check(planned_job(), "laid"),
            installer,
            laid_at=datetime.datetime(1926, 6, 10, tzinfo=datetime.UTC),
        )


def row(planned, by, **values):
    """Write a record past the service."""
    good = {
        "planned": planned,
        "kind": planned.kind,
        "least": planned.least,
        "most": planned.most,
        "by": by,
        "observed_at": timezone.now(),
        "recorded_at": timezone.now(),
    }
    return CheckRecord.objects.create(**(good | values))


@pytest.mark.parametrize(
    ("key", "values"),
    [
        ("sound", {}),
        ("sound", {"answer": True, "reading": 1}),
        ("sound", {"answer": True, "reason": "corrects nothing"}),
        ("laid", {"laid_at": timezone.now()}),
        ("side_laps", {"instrument": "tape"}),
        ("side_laps", {"instrument": "tape", "reading": INCH, "least": None}),
        ("flood", {"instrument": "rule", "reading": INCH}),
        ("sound", {"answer": True, "kind": "guess"}),
    ],
)
def test_the_database_refuses_a_record_without_its_evidence(installer, key, values):
    planned = check(planned_job(), key)

    with pytest.raises(IntegrityError), transaction.atomic():
        row(planned, installer, **values)


@pytest.mark.parametrize(
    ("key", "values"),
    [
        ("side_laps", {"hold": "whenever"}),
        ("side_laps", {"least": None}),
        ("slope", {"least": INCH, "most": 1}),
        ("sound", {"least": 1}),
        ("flood", {"stands_seconds": 0}),
        ("sound", {"stands_seconds": 1}),
        ("sound", {"key": "bond_breaker"}),
    ],
)
def test_the_database_refuses_a_check_that_cannot_be(key, values):
    planned = check(planned_job(), key)
    planned.pk, planned._state.adding = None, True
    planned.position = 900
    planned.key = "another"
    for name, value in values.items():
        setattr(planned, name, value)

    with pytest.raises(IntegrityError), transaction.atomic():
        planned.save(force_insert=True)


def test_the_database_refuses_a_flood_test_of_a_membrane_to_come(installer):
    with pytest.raises(IntegrityError), transaction.atomic():
        FloodStart.objects.create(
            planned=check(planned_job(), "flood"),
            level=2 * INCH,
            started_at=timezone.now(),
            laid_at=timezone.now() + HOUR,
            is_cold=False,
            stands_seconds=86_400,
            instrument="rule",
            by=installer,
            recorded_at=timezone.now(),
        )


@pytest.mark.parametrize("values", [{"reason": ""}, {"step": "lunch"}])
def test_the_database_refuses_an_override_without_reason_or_step(owner, values):
    good = {"job": job(), "step": "tile", "reason": "We are late.", "by": owner, "at": timezone.now()}

    with pytest.raises(IntegrityError), transaction.atomic():
        HoldPointOverride.objects.create(**(good | values))


# --- Twice sent, once recorded ----------------------------------------------------------------------------


def test_a_request_sent_twice_is_recorded_once(installer):
    planned, key = check(planned_job(), "side_laps"), uuid.uuid4()

    first = record(planned, installer, key=key, reading=INCH)
    second = record(planned, installer, key=key, reading=INCH)

    assert first == second
    assert CheckRecord.objects.count() == NonConformance.objects.count() == 1


def test_a_key_that_recorded_something_else_is_refused(installer):
    planned, key = check(planned_job(), "side_laps"), uuid.uuid4()
    record(planned, installer, key=key)

    with pytest.raises(ValidationError, match="with other values"):
        record(planned, installer, key=key, reading=INCH)

    assert CheckRecord.objects.count() == 1


# --- Non-conformance --------------------------------------------------------------------------------------


def test_a_failed_check_closes_only_by_an_action_and_a_passed_reinspection(installer):
    planned = check(planned_job(), "side_laps")
    record(planned, installer, reading=INCH)
    with pytest.raises(ValidationError, match="Say first what was done"):
        record(planned, installer)

    found = state(planned).open
    services.corrective_action(non_conformance=found, by=installer, key=uuid.uuid4(), text="Strip added.")
    record(planned, installer, reading=INCH)

    assert not state(planned).passed
    with pytest.raises(ValidationError, match="Say first what was done"):
        record(planned, installer)  # the second failure needs its own action

    services.corrective_action(non_conformance=found, by=installer, key=uuid.uuid4(), text="Sheet re-laid.")
    last = record(planned, installer)

    assert state(planned).passed
    assert NonConformance.objects.get().closure.record == last


def test_a_correction_replaces_the_newest_record_and_closes_nothing(installer):
    planned = check(planned_job(), "side_laps")
    slip = record(planned, installer, reading=INCH)

    with pytest.raises(ValidationError) as refused:
        record(planned, installer, supersedes=slip)
    corrected = record(planned, installer, supersedes=slip, reason="Read 2 in, wrote 1 in.")
    with pytest.raises(ValidationError, match="newest record"):
        record(planned, installer, supersedes=slip, reason="Once more.")

    assert refused.value.message_dict == {"reason": ["Say why the record is corrected."]}
    assert corrected.supersedes == slip
    assert corrected.passed
    assert not state(planned).passed
    assert not Closure.objects.exists()


def test_a_correction_to_a_failing_value_opens_a_non_conformance(installer):
    planned = check(planned_job(), "side_laps")
    good = record(planned, installer)

    record(planned, installer, reading=INCH, supersedes=good, reason="It was the other seam.")

    assert state(planned).open is not None


# --- Only grows -------------------------------------------------------------------------------------------


def everything(owner):
    """One row of every table of the record."""
    made = planned_job()
    failed = record(check(made, "side_laps"), owner, reading=INCH)
    found = state(failed.planned).open
    services.corrective_action(non_conformance=found, by=owner, key=uuid.uuid4(), text="Done.")
    record(failed.planned, owner)
    services.hold_override(
        job=made, step=Step.TILE, reason="The owner moves in tonight.", by=owner, key=uuid.uuid4()
    )
    FloodStart.objects.create(
        planned=check(made, "flood"),
        level=2 * INCH,
        started_at=timezone.now(),
        laid_at=timezone.now() - 24 * HOUR,
        is_cold=False,
        stands_seconds=86400,
        instrument="rule",
        by=owner,
        recorded_at=timezone.now(),
    )


RECORDS = [
    InspectionPlan,
    PlannedCheck,
    FloodStart,
    CheckRecord,
    NonConformance,
    CorrectiveAction,
    Closure,
    HoldPointOverride,
    WaivedCheck,
]


@pytest.mark.parametrize("model", RECORDS)
@pytest.mark.parametrize("act", ["UPDATE", "DELETE"])
def test_the_database_refuses_to_change_or_remove_a_record(owner, model, act):
    """Whatever the database: this file is run on SQLite and on PostgreSQL."""
    everything(owner)
    # The tests' own database has no guard against DELETE on SQLite, so that it can be emptied.
    TRIGGERS.KEPT.create(None, connection.SchemaEditorClass(connection))
    table = model._meta.db_table
    assert table in TRIGGERS.TABLES
    count = model.objects.count()
    assert count

    statement = f"UPDATE {table} SET id = id" if act == "UPDATE" else f"DELETE FROM {table}"
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        connection.cursor().execute(statement)

    assert model.objects.count() == count


def test_every_table_of_the_app_is_guarded():
    from django.apps import apps

    assert {model._meta.db_table for model in apps.get_app_config("inspections").get_models()} == set(
        TRIGGERS.TABLES
    )


# --- Overrides --------------------------------------------------------------------------------------------


def test_an_installer_overrides_nothing(installer):
    with pytest.raises(PermissionDenied):
        services.hold_override(
            job=planned_job(), step=Step.TILE, reason="We are late today.", by=installer, key=uuid.uuid4()
        )


def test_an_override_needs_a_reason_and_something_to_override(office_manager):
    made = planned_job()

    with pytest.raises(ValidationError, match="Give the reason"):
        services.hold_override(job=made, step=Step.TILE, reason="ok", by=office_manager, key=uuid.uuid4())
    pass_all(made, office_manager, Hold.SUBSTRATE)
    with pytest.raises(ValidationError, match="Nothing stands in the way"):
        services.hold_override(
            job=made, step=Step.MEMBRANE, reason="We are late today.", by=office_manager, key=uuid.uuid4()
        )


def test_an_override_lets_that_state_pass_and_what_is_found_later_stops_again(office_manager):
    made = planned_job()
    services.hold_override(
        job=made,
        step=Step.MEMBRANE,
        reason="Slab checked by the builder.",
        by=office_manager,
        key=uuid.uuid4(),
    )
    assert holds.standing_in_the_way(made, Step.MEMBRANE) == []

    record(check(made, "sound"), office_manager, answer=False, note="Hollow by the door.")

    [sentence] = holds.standing_in_the_way(made, Step.MEMBRANE)
    assert sentence.startswith("Hall bath: “Clean and sound” failed, and non-conformance")
    assert HoldPointOverride.objects.count() == 1

"""Many at once: one record a key, one non-conformance a check, one plan a job."""

import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.utils import timezone

from jobs.inspections import services
from jobs.inspections.checklist import Step
from jobs.inspections.models import (
    CheckRecord,
    FloodStart,
    Hold,
    HoldPointOverride,
    InspectionPlan,
    NonConformance,
    PlannedCheck,
)

from .factories import HOUR, INCH, check, facts, job, pass_all, planned_job, record

pytestmark = pytest.mark.django_db(transaction=True)
CALLERS = 12


def at_once(act) -> list[object]:
    """Call *act* from many threads and return what each got: a row or a refusal."""

    def one(number: int) -> object:
        try:
            return act(number)
        except ValidationError as refused:
            return refused
        finally:
            connection.close()

    with ThreadPoolExecutor(CALLERS) as callers:
        return list(callers.map(one, range(CALLERS)))


def test_one_request_sent_many_times_at_once_is_recorded_once(installer):
    planned, key = check(planned_job(), "side_laps"), uuid.uuid4()
    now = timezone.now()

    found = at_once(lambda n: record(planned, installer, key=key, reading=INCH, observed_at=now))

    assert len({row.pk for row in found}) == 1
    assert CheckRecord.objects.count() == NonConformance.objects.count() == 1


def test_many_failures_at_once_open_one_non_conformance(installer):
    planned = check(planned_job(), "side_laps")

    found = at_once(lambda n: record(planned, installer, reading=INCH - n))

    # The first one is recorded; the others are told to say first what was done about it.
    assert sum(isinstance(one, CheckRecord) for one in found) == 1
    assert NonConformance.objects.count() == 1


def test_many_plans_at_once_make_one(office_manager):
    made = job()

    at_once(lambda n: services.plan_from_job(job=made, by=office_manager, facts=facts()))

    assert InspectionPlan.objects.count() == 1
    assert PlannedCheck.objects.filter(key="final").count() == 1


def test_many_flood_tests_at_once_start_one(installer):
    made = planned_job()
    pass_all(made, installer, Hold.SUBSTRATE, Hold.MEMBRANE)
    planned = check(made, "flood")

    at_once(
        lambda n: services.flood_test_start(
            planned=planned,
            by=installer,
            key=uuid.uuid4(),
            level=3 * INCH,
            level_typed="3",
            instrument="rule",
            started_at=timezone.now() - HOUR,
        )
    )

    assert FloodStart.objects.count() == 1


def test_one_override_sent_many_times_at_once_is_one(office_manager):
    made, key = planned_job(), uuid.uuid4()

    found = at_once(
        lambda n: services.hold_override(
            job=made, step=Step.MEMBRANE, reason="Checked by the builder.", by=office_manager, key=key
        )
    )

    assert len({row.pk for row in found}) == 1
    assert HoldPointOverride.objects.count() == 1

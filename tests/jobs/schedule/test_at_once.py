"""Many people at one plan at once: one act is stored, the others are told, and nothing is half done."""

import datetime

import pytest

from jobs.schedule import services
from jobs.schedule.models import Plan, PlanChange, Wait
from jobs.schedule.services import ChangedMeanwhile
from tests.jobs.inspections.test_at_once import CALLERS, at_once

from .factories import BEFORE, MONDAY, planned, visits

pytestmark = pytest.mark.django_db(transaction=True)

DAY = datetime.timedelta(days=1)


def test_of_many_moves_at_once_one_is_stored_and_the_others_are_told(
    office_manager, installer, other_installer
):
    plan = planned(installer, other_installer)
    last = visits(plan)[-1]
    seen = plan.revision

    found = at_once(
        lambda n: services.visit_move(
            visit=last, seen=seen, day=last.day + (n + 7) * DAY, by=office_manager, at=BEFORE
        )
    )

    told = [one for one in found if isinstance(one, ChangedMeanwhile)]
    assert len(told) == CALLERS - 1
    assert Plan.objects.get(pk=plan.pk).revision == seen + 1
    assert PlanChange.objects.filter(plan=plan).count() == 2
    last.refresh_from_db()
    assert last.sequence == 1
    assert Wait.objects.filter(visit__plan=plan).count() == 4


def test_of_many_first_plans_at_once_one_is_made(office_manager, installer):
    plan = planned(installer)
    job = plan.job
    plan.delete()

    at_once(lambda n: services.plan_make(job=job, by=office_manager, at=BEFORE, start=MONDAY))

    plan = Plan.objects.get(job=job)
    # Without a sequence in the quote one day stands for the work, however many asked.
    assert len(visits(plan)) == 1

"""Many at once: one record a job, one chain over all jobs."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.utils import timezone

from jobs.warranty import chain, services
from jobs.warranty.models import WarrantyRecord

from .factories import inspected_job

pytestmark = pytest.mark.django_db(transaction=True)
CALLERS = 20


def at_once(act):
    def one(number):
        try:
            return act(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(CALLERS) as callers:
        return list(callers.map(one, range(CALLERS)))


def test_one_job_pressed_by_twenty_at_once_gets_one_record(office_manager):
    job = inspected_job(is_measured=False)

    found = at_once(lambda n: services.record_issue(job=job, by=office_manager, at=timezone.now()).pk)

    assert len(set(found)) == 1
    assert WarrantyRecord.objects.count() == 1


def test_many_jobs_at_once_make_one_chain(office_manager):
    jobs = [inspected_job(number=4001 + n, is_measured=False) for n in range(5)]

    at_once(lambda n: services.record_issue(job=jobs[n % 5], by=office_manager, at=timezone.now()))

    assert list(WarrantyRecord.objects.order_by("sequence").values_list("sequence", flat=True)) == [
        1,
        2,
        3,
        4,
        5,
    ]
    assert list(chain.faults(with_files=False)) == []

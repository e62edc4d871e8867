"""Many people and phones at once: every entry counts, and none counts twice, on SQLite and PostgreSQL."""

import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from jobs.margins import ledger
from jobs.margins.models import Ledger
from jobs.work.daily import services
from jobs.work.models import HoursEntry
from tests.jobs.margins import factories
from tests.jobs.margins.factories import act

pytestmark = pytest.mark.django_db(transaction=True)


def test_forty_acts_of_eight_phones_each_sent_twice_count_once(installer):
    factories.pay()
    job = factories.job(installer)
    keys = [uuid.uuid4() for _ in range(40)]

    def send(key: uuid.UUID) -> None:
        try:
            services.hours_log(act=act(job, installer, key=key), person=installer, step="tile", minutes=6)
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as phones:
        list(phones.map(send, [*keys, *reversed(keys)]))

    kept = Ledger.objects.get(job=job)
    assert HoursEntry.objects.filter(job=job).count() == 40
    # 40 times 6 minutes at 40.00 an hour.
    assert (kept.minutes, kept.labour_cents) == (240, 16000)
    ledger.rebuild([job.pk])
    assert Ledger.objects.get(job=job).labour_cents == 16000

"""One act that comes in many times at the same moment is done once, on both databases."""

import threading
import uuid

import pytest
from django.db import connections
from django.utils import timezone

from jobs.crew.models import PhoneAct
from jobs.crew.services import Clock, Sent, act_take
from jobs.work.models import DayNote
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db(transaction=True)


def test_twenty_copies_of_one_act_at_once_make_one_entry(installer):
    job = sold_job(crew=(installer,))
    fields = {"kind": "other", "text": "Once"}
    sent = Sent(key=uuid.uuid4(), job=job.pk, kind="note", made_at=timezone.now(), fields=fields)
    clock = Clock.of(phone_now=None, offset_ms=None)
    gate, results, failed = threading.Barrier(20), [], []

    def send():
        try:
            gate.wait()
            results.append(act_take(sent=sent, clock=clock, by=installer))
        except Exception as error:
            failed.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=send) for _ in range(20)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert failed == []
    assert [one.outcome for one in results] == ["done"] * 20
    assert sum(not one.is_repeat for one in results) == 1
    assert DayNote.objects.count() == PhoneAct.objects.count() == 1

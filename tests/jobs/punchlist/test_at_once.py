"""Several people at one list at once: every number once, every act once, on SQLite and PostgreSQL."""

import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from jobs.punchlist import services
from jobs.punchlist.models import PunchEvent, PunchItem
from tests.jobs.margins import factories as margins
from tests.jobs.punchlist.factories import add

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(acts):
    def run(act):
        try:
            return act()
        except ValidationError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as people:
        return list(people.map(run, acts))


def test_forty_items_of_eight_phones_each_sent_twice_are_forty_numbers(installer, office_manager):
    job = margins.job(installer, stage="punch")
    keys = [uuid.uuid4() for _ in range(20)]

    at_once(
        [
            lambda key=key: services.item_add(key=key, job=job, text="Chip", by=installer)
            for key in [*keys, *reversed(keys)]
        ]
    )

    assert sorted(PunchItem.objects.values_list("number", flat=True)) == list(range(1, 21))
    assert PunchEvent.objects.count() == 20


def test_of_one_who_accepts_and_one_who_sends_back_one_is_told(installer, office_manager, owner):
    item = add(margins.job(installer, stage="punch"))
    services.item_mend(key=uuid.uuid4(), item=item, by=installer)
    copies = [PunchItem.objects.select_related("job").get() for _ in range(8)]

    answers = at_once(
        [
            (lambda one=one: services.item_accept(key=uuid.uuid4(), item=one, by=owner))
            if place % 2
            else lambda one=one: services.item_withdraw(
                key=uuid.uuid4(), item=one, by=office_manager, reason="Not ours"
            )
            for place, one in enumerate(copies)
        ]
    )

    assert sum(isinstance(answer, PunchItem) for answer in answers) == 1
    assert PunchEvent.objects.filter(kind__in=["accepted", "withdrawn"]).count() == 1


def test_the_same_mend_sent_eight_times_at_once_is_one(installer, office_manager):
    add(margins.job(installer, stage="punch"))
    key = uuid.uuid4()
    copies = [PunchItem.objects.select_related("job").get() for _ in range(8)]

    answers = at_once([lambda one=one: services.item_mend(key=key, item=one, by=installer) for one in copies])

    assert all(isinstance(answer, PunchItem) and answer.state == "mended" for answer in answers), answers
    assert PunchEvent.objects.filter(kind="mended").count() == 1

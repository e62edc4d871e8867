"""The demonstration's calendar, whichever day of the week it is started on."""

import datetime

import pytest
import time_machine
from django.urls import reverse

from contracting.staff.demo import load_company
from estimates.pricelists.demo import load_price_list
from jobs.margins.demo import load_work
from jobs.schedule.demo import load_calendar
from jobs.schedule.models import Visit

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("day", [25, 28])
def test_the_demo_has_a_calendar_with_one_thing_that_does_not_fit(client, day):
    with time_machine.travel(datetime.datetime(2026, 11, day, 15, tzinfo=datetime.UTC), tick=False):
        people = load_company()
        load_price_list()
        load_work(people)
        client.force_login(people["office"])

        board = client.get(reverse("schedule:calendar"), {"span": "month"}).context["board"]

        kinds = {clash.kind.value for _visit, clash in board.clashes}
        assert kinds == {"twice"}
        assert len(board.clashes) == 1
        assert Visit.objects.filter(title="Meet the plumber on site").count() == 1
        count = Visit.objects.count()
        load_calendar(people)
        assert Visit.objects.count() == count

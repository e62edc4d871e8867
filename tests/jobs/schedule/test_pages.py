"""The calendar's pages: who sees what, moving by a form, clashes in words, and how many queries."""

import datetime
import re
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contracting.staff.models import User
from estimates.practice.services import calendar_set
from jobs.schedule import services
from jobs.schedule.models import Plan
from jobs.schedule.selectors import visits_of
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.jobs.margins.factories import job as budgeted_job

from .factories import BEFORE, MONDAY, planned, visits

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_the_time")]

ZONE = ZoneInfo("America/Chicago")
DAY = datetime.timedelta(days=1)


@pytest.fixture
def at_the_time():
    with time_machine.travel(BEFORE, tick=False):
        yield


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def calendar(client, **options):
    return client.get(reverse("schedule:calendar"), {"from": MONDAY.isoformat(), **options})


def test_the_office_sees_everybody_and_an_installer_themselves(
    client, office_manager, installer, other_installer
):
    mine, theirs = planned(installer), planned(other_installer)

    client.force_login(office_manager)
    page = text_of(calendar(client))
    assert str(mine.job.number) in page
    assert str(theirs.job.number) in page

    client.force_login(installer)
    page = text_of(calendar(client))
    assert str(mine.job.number) in page
    assert str(theirs.job.number) not in page
    assert "Odile" not in page


def test_rows_are_persons_or_jobs(client, office_manager, installer):
    plan = planned(installer)
    client.force_login(office_manager)

    by_person = calendar(client)
    by_job = calendar(client, by="jobs")

    assert [row.person for row in by_person.context["board"].rows] == [installer]
    assert [row.job for row in by_job.context["board"].rows] == [plan.job]
    waits = [
        piece.wait.cure
        for cell in by_job.context["board"].rows[0].cells
        for piece in cell.waits
        if piece.is_named
    ]
    assert waits == ["before test", "flood test", "mortar", "grout"]


def test_a_month_is_five_weeks(client, office_manager):
    client.force_login(office_manager)

    assert len(calendar(client, span="month").context["board"].days) == 35
    assert len(calendar(client).context["board"].days) == 14


@pytest.mark.parametrize("odd", ["", "no day", "9999-99-99", "0001-01-01", "9999-12-31"])
def test_an_odd_week_is_shown_as_one_that_can_be(client, office_manager, odd):
    client.force_login(office_manager)

    assert client.get(reverse("schedule:calendar"), {"from": odd}).status_code == 200


def told(client, **options):
    return [clash.sentence for _visit, clash in calendar(client, **options).context["board"].clashes]


def test_the_same_person_twice_at_the_same_time_is_told_once_and_marked_on_both(
    client, office_manager, installer
):
    one, other = planned(installer), planned(installer)
    client.force_login(office_manager)

    answer = calendar(client)

    sentence = f"Ivo is on job {other.job.number} at the same time, 8:00 AM–4:30 PM."
    assert [clash.sentence for _visit, clash in answer.context["board"].clashes].count(sentence) > 0
    marked = {
        shown.visit.plan.job.number
        for cell in answer.context["board"].rows[0].cells
        for shown in cell.visits
        if shown.clashes
    }
    assert marked == {one.job.number, other.job.number}
    pairs = [{visit.pk, clash.against} for visit, clash in answer.context["board"].clashes]
    assert all(pairs.count(pair) == 1 for pair in pairs)


def test_a_person_with_too_many_hours_a_day_is_told(client, office_manager, installer, other_installer):
    plan = planned(installer)
    services.visit_add(
        plan=plan,
        seen=plan.revision,
        title="Delivery",
        day=MONDAY,
        clock=datetime.time(16, 30),
        minutes=60,
        people=[installer],
        by=office_manager,
        at=BEFORE,
    )
    client.force_login(office_manager)

    assert "Ivo has 9:00 h of work on Mon Jun 1; the working day has 8:00 h." in told(client)


def test_a_day_off_and_a_holiday_and_a_weekend_are_told(client, office_manager, installer):
    plan = planned(installer)
    services.day_off_set(person=installer, first_on=MONDAY, last_on=MONDAY)
    visit = visits(plan)[-1]
    saturday = datetime.date(2026, 6, 13)
    services.visit_move(visit=visit, seen=plan.revision, day=saturday, by=office_manager, at=BEFORE)
    calendar_set(hours=None, holidays={MONDAY + DAY: "Founders’ day"}, seen=0, by=office_manager)
    client.force_login(office_manager)

    sentences = told(client)

    assert "Ivo has Mon Jun 1 off." in sentences
    assert "Sat Jun 13 is no working day." in sentences
    assert "Tue Jun 2 is a holiday (Founders’ day)." in sentences


def test_a_flood_test_that_is_full_on_a_closed_day_is_told(
    client, office_manager, installer, other_installer
):
    plan = planned(installer, other_installer)
    fill = visits(plan)[1]
    friday = MONDAY + 4 * DAY
    services.visit_move(visit=fill, seen=plan.revision, day=friday, by=office_manager, at=BEFORE)
    client.force_login(office_manager)

    (sentence,) = [one for one in told(client) if "flood test" in one]

    assert sentence == (
        "The flood test is full on Sat Jun 6 at 9:00 AM, a closed day: "
        "somebody has to come and read it, or the water stands longer."
    )


def test_work_in_a_cure_and_too_many_hours_are_told(client, office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    move = {"by": office_manager, "at": BEFORE}
    services.visit_move(visit=visits(plan)[4], seen=plan.revision, day=MONDAY + 8 * DAY, **move)
    plan.refresh_from_db()
    services.visit_move(visit=visits(plan)[0], seen=plan.revision, day=MONDAY + 8 * DAY, **move)
    plan.refresh_from_db()
    evening = datetime.time(12)
    services.visit_move(
        visit=plan.visits.get(position=0),
        seen=plan.revision,
        day=MONDAY + 8 * DAY,
        clock=evening,
        **move,
    )
    client.force_login(office_manager)

    sentences = told(client)

    assert any(
        one.startswith("mortar runs until") and one.endswith("this begins before.") for one in sentences
    )
    assert "12:30 PM–8:30 PM lies outside the working day, 8:00 AM–4:30 PM." in sentences


def form_of(visit, **changes):
    plan = Plan.objects.get(pk=visit.plan_id)
    start = visit.starts_at.astimezone(ZONE)
    people = list(visit.people.filter(left_at=None).values_list("person", flat=True))
    return {
        "day": visit.day.isoformat(),
        "clock": f"{start:%H:%M}",
        "people": people,
        "seen": plan.revision,
    } | changes


def test_a_form_shows_what_would_follow_before_it_stores(client, office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    fill = visits(plan)[1]
    client.force_login(office_manager)
    address = reverse("schedule:visit", args=[fill.pk])
    wanted = form_of(fill, day="2026-06-04")

    page = text_of(client.post(address, wanted | {"act": "look"}))
    assert (
        "Tile setting, checks and tests: from Thu Jun 4, 9:00 AM–4:30 PM to Fri Jun 5, 9:00 AM–4:30 PM"
        in page
    )
    assert visits(plan)[1].day == MONDAY + 2 * DAY

    answer = client.post(address, wanted | {"act": "store"}, follow=True)
    assert "Moved along: Tile setting, checks and tests: from Thu Jun 4" in text_of(answer)
    assert visits(plan)[1].day == MONDAY + 3 * DAY
    assert "Undo it" in text_of(calendar(client))


def test_a_look_stores_nothing_and_says_what_does_not_fit(client, office_manager, installer):
    plan, other = planned(installer), planned(installer, starts_on=MONDAY + 28 * DAY)
    visit = visits(plan)[0]
    client.force_login(office_manager)
    wanted = {"day": (MONDAY + 28 * DAY).isoformat(), "seen": plan.revision}

    page = text_of(client.post(reverse("schedule:look", args=[visit.pk]), wanted))

    assert f"Ivo is on job {other.job.number} at the same time" in page
    assert "Store it" in page
    assert visits(plan)[0].day == MONDAY


def test_a_move_that_cannot_be_keeps_what_was_typed(client, office_manager, installer, other_installer):
    plan = planned(installer, other_installer)
    grout = visits(plan)[4]
    client.force_login(office_manager)

    answer = client.post(
        reverse("schedule:visit", args=[grout.pk]), form_of(grout, day="2026-06-05", act="store")
    )

    page = text_of(answer)
    assert "mortar, until Sat Jun 6, 10:00 AM. It can begin on Mon Jun 8, 8:00 AM." in page
    assert 'value="2026-06-05"' in answer.content.decode()


def test_the_second_of_two_is_told_and_their_second_try_counts(client, office_manager, owner, installer):
    plan = planned(installer)
    first, second = visits(plan)[0], visits(plan)[-1]
    client.force_login(owner)
    stale = form_of(second, day="2026-07-20", act="store")
    services.visit_move(visit=first, seen=plan.revision, day=MONDAY + DAY, by=office_manager, at=BEFORE)

    answer = client.post(reverse("schedule:visit", args=[second.pk]), stale)

    page = answer.content.decode()
    assert "Priya has changed this plan since you looked at it: moved a visit" in text_of(answer)
    assert 'value="2026-07-20"' in page
    seen = re.search(r'name="seen" value="(\d+)"', page)[1]
    client.post(reverse("schedule:visit", args=[second.pk]), stale | {"seen": seen})
    second.refresh_from_db()
    assert second.day == datetime.date(2026, 7, 20)


def test_a_job_page_shows_visits_waits_and_what_happened(client, office_manager, installer):
    plan = planned(installer)
    client.force_login(office_manager)

    page = text_of(client.get(reverse("schedule:job", args=[plan.job_id])))

    assert "Mon Jun 1, 8:00 AM–4:30 PM" in page
    assert "flood test until" in page
    assert "planned from the sequence" in page


def test_an_installer_reads_their_jobs_plan_without_the_offices_forms(client, installer):
    plan = planned(installer)
    client.force_login(installer)

    page = text_of(client.get(reverse("schedule:job", args=[plan.job_id])))

    assert "Mon Jun 1, 8:00 AM–4:30 PM" in page
    assert "Move" not in page
    assert "Plan the visits" not in page


def test_a_job_that_nobody_planned_can_be_planned_from_its_page(client, office_manager, installer):
    job = budgeted_job(installer, stage="scheduled", with_budget=False)
    client.force_login(office_manager)
    assert "Plan it" in text_of(calendar(client))

    client.post(reverse("schedule:make", args=[job.pk]), {"start": "2026-06-03", "seen": 0})

    assert Job.objects.get(pk=job.pk).plan.visits.get().day == datetime.date(2026, 6, 3)


def test_the_first_page_names_todays_visits(client, installer, office_manager):
    planned(installer)
    with time_machine.travel(datetime.datetime(2026, 6, 1, 14, tzinfo=datetime.UTC), tick=False):
        for person in (installer, office_manager):
            client.force_login(person)
            page = text_of(client.get(reverse("home")))
            assert "Visits today and this week" in page
            assert "today, 8:00 AM–4:30 PM" in page


def test_what_a_person_does_on_a_day_is_one_call(installer, other_installer, django_assert_num_queries):
    plan = planned(installer)
    planned(other_installer)

    with django_assert_num_queries(2):
        (visit,) = visits_of(installer, MONDAY)
        assert visit.plan.job.site.street
        assert [row.person for row in visit.people.all()] == [installer]
    assert visit == visits(plan)[0]


def queries(client, **options):
    calendar(client, **options)
    with CaptureQueriesContext(connection) as captured:
        answer = calendar(client, **options)
    assert answer.status_code == 200
    return len(captured), "\n".join(one["sql"][:200] for one in captured.captured_queries)


@pytest.mark.parametrize("options", [{}, {"by": "jobs"}, {"span": "month", "by": "jobs"}])
def test_the_calendar_takes_as_many_queries_for_two_jobs_as_for_twenty(
    client, office_manager, installer, options
):
    client.force_login(office_manager)
    for _number in range(2):
        planned(installer)
    few, _sql = queries(client, **options)
    for _number in range(18):
        planned(installer)
    many, sql = queries(client, **options)

    assert few == many, sql


def test_two_hundred_jobs_take_under_fifteen_queries(client, office_manager):
    crews = [UserFactory.create(role="installer", first_name=f"P{number}") for number in range(20)]
    for number in range(200):
        planned(crews[number % 20], starts_on=MONDAY + (number % 10) * DAY)
    assert User.objects.filter(role="installer").count() == 20
    client.force_login(office_manager)

    count, sql = queries(client, by="jobs")

    assert count < 15, sql


@pytest.mark.parametrize("key", ["9" * 30, "abc", "-1"])
def test_a_person_that_cannot_be_is_refused_beside_the_field(client, office_manager, installer, key):
    plan = planned(installer)
    visit = visits(plan)[0]
    client.force_login(office_manager)

    answer = client.post(
        reverse("schedule:visit", args=[visit.pk]), form_of(visit, people=[key], act="store")
    )

    assert answer.status_code == 200
    assert "people" in answer.context["form"].errors

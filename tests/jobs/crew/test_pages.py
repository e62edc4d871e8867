"""The crew's pages as the server makes them: what they show, in a fixed number of queries."""

import datetime
import json
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.crew.models import LookAt, Mark, PhoneAct
from jobs.crew.phone import PAGES
from jobs.inspections.models import Hold
from jobs.schedule.models import Plan, Visit, VisitPerson
from tests.accessibility.conftest import findings
from tests.jobs.inspections.factories import HOUR, pass_all
from tests.jobs.inspections.factories import job as small_job
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db


def queries(client, address):
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return len(asked)


def acted(job, person, kind="cut", **values):
    now = timezone.now()
    filled = {"outcome": "done", "messages": [], "fields": {}} | values
    return PhoneAct.objects.create(
        key=uuid.uuid4(), person=person, job=job, kind=kind, made_at=now, at=now, recorded_at=now, **filled
    )


def test_today_asks_as_much_for_twenty_jobs_as_for_two(client, installer):
    client.force_login(installer)
    for number in range(2):
        small_job(crew=(installer,), number=5000 + number)
    two = queries(client, reverse("crew:today"))
    for number in range(18):
        small_job(crew=(installer,), number=6000 + number)

    assert queries(client, reverse("crew:today")) == two


def test_the_cut_list_asks_as_much_for_twenty_ticks_as_for_two(client, installer):
    job = sold_job(crew=(installer,))
    client.force_login(installer)

    def tick(times):
        for _ in range(times):
            act = acted(job, installer)
            Mark.objects.create(
                act=act, job=job, subject="cut", ref="A", state="done", by=installer, at=act.at
            )

    tick(2)
    two = queries(client, reverse("crew:cuts", args=[job.pk]))
    tick(18)

    assert queries(client, reverse("crew:cuts", args=[job.pk])) == two


def test_the_list_to_look_at_asks_as_much_for_twenty_as_for_two(client, installer, office_manager):
    job = small_job(crew=(installer,))
    client.force_login(office_manager)

    def left(times):
        for _ in range(times):
            act = acted(job, installer, "hours", outcome="refused", messages=["No."])
            LookAt.objects.create(act=act, job=job, why="refused", made_at=timezone.now())

    left(2)
    two = queries(client, reverse("crew:look-at"))
    left(18)

    assert queries(client, reverse("crew:look-at")) == two


def test_jobs_stand_under_the_day_that_they_start(client, installer):
    today = timezone.localdate()
    for number, days in ((1, -3), (2, 0), (3, 5)):
        small_job(
            crew=(installer,),
            number=number,
            starts_on=today + datetime.timedelta(days=days),
            stage="scheduled",
        )
    small_job(number=4)
    client.force_login(installer)

    jobs = client.get(reverse("crew:today")).context["jobs"]

    assert [card.job.number for card in jobs.today] == [1, 2]
    assert [card.job.number for card in jobs.coming] == [3]
    assert jobs.undated == []


def test_the_newest_tick_by_the_hour_it_was_made_holds_not_the_one_sent_last(client, installer):
    job = sold_job(crew=(installer,))
    noon = timezone.now()
    for hours, state in ((0, "done"), (-2, "undone")):
        act = acted(job, installer)
        at = noon + datetime.timedelta(hours=hours)
        Mark.objects.create(act=act, job=job, subject="cut", ref="A", state=state, by=installer, at=at)
    client.force_login(installer)

    rolls = client.get(reverse("crew:cuts", args=[job.pk])).context["rolls"]

    piece = next(one for roll in rolls for one in roll["pieces"] if one["key"] == "A")
    assert piece["mark"].state == "done"


def test_open_time_and_cure_of_a_batch_are_those_of_the_frozen_data_sheet(client, installer):
    job = sold_job(crew=(installer,))
    client.force_login(installer)
    frozen = job.quote.snapshot["work"]["takeoff"]

    batches = client.get(reverse("crew:batches", args=[job.pk])).context["batches"]

    # The price list of the tests: 15 min to embed, tile after 2 h.
    assert [one["open_minutes"] for one in batches] == [15] * len(frozen["batches"])
    assert {one["cure_minutes"] for one in batches} == {120}
    assert "data sheet" in batches[0]["cure_source"]


def test_a_check_in_the_sequence_is_shown_as_passed_once_the_record_says_so(
    client, installer, office_manager
):
    job = sold_job(crew=(installer,))
    client.force_login(installer)

    def passed():
        days = client.get(reverse("crew:steps", args=[job.pk])).context["days"]
        checks = [task for day in days for task in day["tasks"] if task["by_record"]]
        return {task["key"].split(".")[0]: task["passed"] for task in checks}

    assert not any(passed().values())
    pass_all(job, installer, Hold.SUBSTRATE)

    found = passed()
    assert found.pop("accept_substrate")
    assert found
    assert not any(found.values())


def test_the_worker_the_manifest_and_the_pages_say_how_they_are_kept(client, installer):
    worker = client.get(reverse("crew:worker"))
    assert worker["Content-Type"].startswith("text/javascript")
    assert "no-store" in worker["Cache-Control"] or "no-cache" in worker["Cache-Control"]
    manifest = json.loads(client.get(reverse("crew:manifest")).content)
    assert manifest["scope"] == manifest["start_url"] == "/crew/"
    assert {icon["sizes"] for icon in manifest["icons"]} >= {"192x192", "512x512"}
    client.force_login(installer)
    page = client.get(reverse("crew:today"))
    assert page["X-Crew-Person"] == str(installer.pk)
    # The policy of the site holds here too: no script in the page but data.
    assert "script-src 'self'" in page["Content-Security-Policy"]
    assert page.content.count(b"<script>") == 0


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_checker_of_accessibility_finds_nothing_serious(browse, installer, language):
    installer.language = language
    installer.save()
    job = sold_job(crew=(installer,))
    page = browse(installer, width=390, height=844)
    said = []
    for address in [
        *(reverse(f"crew:{name}", args=[job.pk]) for name in PAGES),
        *(reverse(f"crew:{name}") for name in ("today", "waiting", "offline")),
    ]:
        page.goto(address)
        page.locator("body[data-ready]").wait_for()
        said += [
            f"{address}: {one['impact']} {one['id']} {one['nodes'][0]['html'][:200]}"
            for one in findings(page)
            if one["impact"] in {"serious", "critical"} or one["id"] in {"heading-order", "region"}
        ]

    assert said == []


def test_a_visit_puts_a_job_on_its_day_and_a_cure_day_takes_it_off(client, installer, other_installer):
    today = timezone.localdate()
    noon = timezone.now()
    jobs = [
        small_job(crew=(installer,), number=number, starts_on=today - datetime.timedelta(days=1))
        for number in (1, 2, 3)
    ]
    for job, days, who in ((jobs[0], 2, installer), (jobs[1], 0, installer), (jobs[2], 0, other_installer)):
        plan = Plan.objects.create(job=job)
        at = noon + datetime.timedelta(days=days)
        times = {"day": today + datetime.timedelta(days=days), "starts_at": at, "ends_at": at + HOUR}
        visit = Visit.objects.create(
            plan=plan, position=1, minutes=60, made_at=noon, changed_at=noon, title="Membrane", **times
        )
        VisitPerson.objects.create(visit=visit, person=who)
    client.force_login(installer)

    answer = client.get(reverse("crew:today"))

    # The third has started, and nobody planned this installer's visits: it stays on the list.
    assert [card.job.number for card in answer.context["jobs"].today] == [2, 3]
    assert [card.job.number for card in answer.context["jobs"].coming] == [1]
    assert "Membrane" in answer.content.decode()

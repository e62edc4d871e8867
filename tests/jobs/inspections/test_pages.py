"""The inspection pages as the crew and the office use them."""

import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from contracting.documents.models import DocumentRequest
from contracting.staff.home import sections_for
from jobs.inspections import services
from jobs.inspections.models import CheckRecord, CorrectiveAction, FloodStart, Hold, HoldPointOverride
from jobs.inspections.selectors import checks_of

from .factories import HOUR, INCH, check, inspected, job, pass_all, planned_job, record, shower

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(client, installer):
    """A job with *installer* on it, who has signed in."""
    client.force_login(installer)
    return planned_job(crew=(installer,))


def text_of(page) -> str:
    return re.sub(r"\s+", " ", page.content.decode())


def plan_url(of) -> str:
    return reverse("inspections:plan", args=[of.pk])


# --- Recording --------------------------------------------------------------------------------------------


def test_the_next_check_is_the_first_thing_on_the_page(client, site):
    page = text_of(client.get(plan_url(site)))

    assert page.index("Next check") < page.index("In the way of") < page.index("tap-list")
    assert re.search(r'id="next-heading">Clean and sound<', page)


def test_a_reading_is_typed_as_people_write_lengths(client, site):
    planned = check(site, "flat_long")

    client.post(
        planned.get_absolute_url(),
        {"key": uuid.uuid4(), "reading": "3/32", "instrument": "straightedge"},
    )

    found = CheckRecord.objects.get()
    assert found.reading == 23_813  # 2.38125 mm, half up to 0.0001 mm
    assert found.reading_typed == "3/32"
    assert found.passed


def test_a_wrong_reading_says_what_was_read_and_loses_nothing(client, site):
    planned = check(site, "flat_long")

    page = client.post(
        planned.get_absolute_url(),
        {"key": uuid.uuid4(), "reading": "1O", "instrument": "long ruler", "note": "by the door"},
    )

    assert page.status_code == 200
    assert "reading" in page.context["form"].errors
    assert "long ruler" in text_of(page)
    assert "by the door" in text_of(page)
    assert not CheckRecord.objects.exists()


def test_a_share_is_typed_in_per_cent(client, site, installer):
    pass_all(site, installer, Hold.SUBSTRATE, Hold.MEMBRANE)
    start = FloodStart.objects.create(
        planned=check(site, "flood"),
        level=2 * INCH,
        started_at=timezone.now() - 24 * HOUR,
        laid_at=timezone.now() - 50 * HOUR,
        is_cold=False,
        stands_seconds=86_400,
        instrument="rule",
        by=installer,
        recorded_at=timezone.now() - 24 * HOUR,
    )
    services.flood_test_end(
        start=start, by=installer, key=uuid.uuid4(), level=2 * INCH, level_typed="2", leak_seen=False,
        instrument="rule",
    )  # fmt: skip
    planned = check(site, "coverage")

    page = client.post(
        planned.get_absolute_url(),
        {"key": uuid.uuid4(), "reading": "94.5", "instrument": "grid"},
        follow=True,
    )

    assert CheckRecord.objects.latest("pk").reading == 9450
    assert "94.5 % was read; the limit is at least 95 %." in text_of(page)


def test_a_moment_is_read_in_the_sites_time(client, site, time_machine):
    time_machine.move_to("2026-06-10T16:00:00Z", tick=False)
    planned = check(site, "laid")

    client.post(
        planned.get_absolute_url(), {"key": uuid.uuid4(), "laid_at": "2026-06-10T08:40", "is_cold": "no"}
    )

    assert CheckRecord.objects.get().laid_at.isoformat() == "2026-06-10T13:40:00+00:00"


def test_a_form_sent_twice_is_recorded_once(client, site):
    planned = check(site, "side_laps")
    sent = {"key": uuid.uuid4(), "reading": "1", "instrument": "tape"}

    answers = [client.post(planned.get_absolute_url(), sent) for _ in range(3)]

    assert [answer.status_code for answer in answers] == [302] * 3
    assert CheckRecord.objects.count() == 1


def test_a_form_sent_again_with_other_values_gets_a_new_key_and_keeps_them(client, site):
    planned = check(site, "side_laps")
    key = str(uuid.uuid4())
    client.post(planned.get_absolute_url(), {"key": key, "reading": "2", "instrument": "tape"})

    page = client.post(planned.get_absolute_url(), {"key": key, "reading": "2 1/2", "instrument": "tape"})
    form = page.context["form"]
    again = client.post(planned.get_absolute_url(), form.data)

    assert "with other values" in text_of(page)
    assert form["reading"].value() == "2 1/2"
    assert again.status_code == 302
    assert CheckRecord.objects.count() == 2


@pytest.mark.parametrize("key", ["", "not-a-key"])
def test_a_form_without_its_key_is_refused_in_words(client, site, key):
    page = client.post(
        check(site, "side_laps").get_absolute_url(), {"key": key, "reading": "2", "instrument": "tape"}
    )

    assert "This form was not complete." in text_of(page)
    assert not CheckRecord.objects.exists()


def test_from_failure_to_reinspection(client, site):
    planned = check(site, "side_laps")
    url = planned.get_absolute_url()
    client.post(url, {"key": uuid.uuid4(), "reading": "1 3/4", "instrument": "tape"})
    refused = client.post(url, {"key": uuid.uuid4(), "reading": "2", "instrument": "tape"})
    found = planned.non_conformances.get()
    act = reverse("inspections:non-conformance", args=[site.pk, found.pk])
    sent = {"key": uuid.uuid4(), "text": "Strip bonded over the seam."}
    client.post(act, sent)
    client.post(act, sent)
    client.post(url, {"key": uuid.uuid4(), "reading": "2", "instrument": "tape"})
    page = text_of(client.get(reverse("inspections:non-conformances", args=[site.pk])))

    assert refused.status_code == 200
    assert CorrectiveAction.objects.count() == 1
    assert "by a passed re-inspection" in page
    assert checks_of(site).by_pk[planned.pk].passed


def test_a_correction_strikes_the_old_record_through(client, site, installer):
    old = record(check(site, "side_laps"), installer)
    url = reverse("inspections:correct", args=[site.pk, old.planned_id, old.pk])

    client.post(
        url, {"key": uuid.uuid4(), "reading": "2 1/2", "instrument": "tape", "reason": "Read 2 1/2, wrote 2."}
    )
    page = text_of(client.get(old.planned.get_absolute_url()))

    assert 'class="record gone"' in page
    assert "Corrected: Read 2 1/2, wrote 2." in page


def test_a_flood_test_from_fill_to_reading(client, site, installer, time_machine):
    time_machine.move_to("2026-06-10T16:00:00Z", tick=False)
    pass_all(site, installer, Hold.SUBSTRATE, Hold.MEMBRANE)
    planned = check(site, "flood")
    client.post(
        reverse("inspections:flood-start", args=[site.pk, planned.pk]),
        {"key": uuid.uuid4(), "level": "2 1/4", "instrument": "rule", "started_at": "2026-06-10T10:50"},
    )
    waiting = text_of(client.get(plan_url(site)))
    start = FloodStart.objects.get()
    time_machine.move_to("2026-06-11T16:00:00Z", tick=False)
    due = text_of(client.get(plan_url(site)))
    client.post(
        reverse("inspections:flood-end", args=[site.pk, planned.pk, start.pk]),
        {
            "key": uuid.uuid4(),
            "level": "2 1/4",
            "leak_seen": "no",
            "instrument": "rule",
            "ended_at": "2026-06-11T10:55",
        },
    )

    assert "Read it at 10:50 AM on Thu Jun 11" in waiting
    assert "Read the level now" in due
    assert CheckRecord.objects.latest("pk").stood_seconds == 24 * 3600 + 300
    assert checks_of(site).by_pk[planned.pk].passed


# --- Rights -----------------------------------------------------------------------------------------------


def test_an_installer_sees_only_jobs_they_are_on(client, site, other_installer):
    assert client.get(plan_url(site)).status_code == 200
    client.force_login(other_installer)

    assert client.get(plan_url(site)).status_code == 404
    planned = check(site, "side_laps")
    answer = client.post(
        planned.get_absolute_url(), {"key": uuid.uuid4(), "reading": "2", "instrument": "tape"}
    )
    assert answer.status_code == 404
    assert not CheckRecord.objects.exists()


def test_a_check_of_another_job_is_not_found_under_this_one(client, installer):
    mine = planned_job(crew=(installer,))
    other = planned_job(number=4002)
    client.force_login(installer)

    page = client.get(reverse("inspections:check", args=[mine.pk, check(other, "sound").pk]))

    assert page.status_code == 404


def test_only_the_office_is_offered_an_override_and_a_paper(client, site, office_manager):
    crew = text_of(client.get(plan_url(site)))
    client.force_login(office_manager)
    office = text_of(client.get(plan_url(site)))

    assert "Override with a reason" not in crew
    assert "Record as PDF" not in crew
    assert "Override with a reason" in office


def test_an_override_shows_for_ever(client, site, installer, office_manager):
    client.force_login(office_manager)
    client.post(
        reverse("inspections:override", args=[site.pk, "membrane"]),
        {"key": uuid.uuid4(), "reason": "The builder checked the slab."},
    )
    client.force_login(installer)
    page = text_of(client.get(plan_url(site)))

    assert HoldPointOverride.objects.count() == 1
    assert "Nothing stands in the way of laying membrane." in page
    assert "The builder checked the slab." in page


def test_the_page_of_a_job_without_a_plan_offers_to_make_it(client, office_manager):
    made = job()
    client.force_login(office_manager)

    page = text_of(client.get(plan_url(made)))

    assert "Make the inspection plan" in page
    assert client.get(reverse("inspections:override", args=[made.pk, "nothing-such"])).status_code == 404


# --- Queries ----------------------------------------------------------------------------------------------


def queries(client, url) -> int:
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(url).status_code == 200
    return len(caught)


def test_the_page_takes_as_many_queries_for_twenty_rooms_as_for_two(client, office_manager):
    client.force_login(office_manager)
    small = planned_job(*(shower(f"r{n}", f"Bath {n}") for n in range(2)))
    large = planned_job(*(shower(f"r{n}", f"Bath {n}") for n in range(20)), number=4002)
    for made in (small, large):
        pass_all(made, office_manager, Hold.SUBSTRATE, Hold.MEMBRANE, skip=("bubbles",))
        for planned in checks_of(made).states:
            if planned.planned.key == "bubbles":
                record(planned.planned, office_manager, answer=False, note="air")

    counts = [queries(client, plan_url(made)) for made in (small, large)]

    assert counts[0] == counts[1]
    assert counts[0] <= 20
    url = reverse("inspections:check", args=[large.pk, check(large, "bubbles").pk])
    assert queries(client, url) <= 20


def test_the_first_page_takes_as_many_queries_for_many_as_for_few(office_manager):
    def count() -> int:
        with CaptureQueriesContext(connection) as caught:
            sections_for(office_manager)
        return len(caught)

    inspected()
    few = count()
    for number in range(4010, 4016):
        record(check(planned_job(number=number), "side_laps"), office_manager, reading=INCH)

    assert count() == few


def test_the_first_page_says_what_waits(office_manager, other_installer):
    inspected()

    [section] = [one for one in sections_for(office_manager) if one.heading == "Inspections waiting"]

    assert [item.title for item in section.items] == ["Read the flood test", "Side laps failed"]
    assert "Inspections waiting" not in [one.heading for one in sections_for(other_installer)]


# --- Paper ------------------------------------------------------------------------------------------------


def test_the_record_as_a_document(client, office_manager):
    made = inspected()[0]
    client.force_login(office_manager)
    url = reverse("inspections:paper", args=[made])

    first, second = client.post(url), client.post(url)

    document = DocumentRequest.objects.get()
    assert first.url == second.url == document.get_absolute_url()
    assert (document.kind, document.audience) == ("inspection-record", "customer")
    assert document.filename == "inspection-record-4001.pdf"


def test_the_pages_of_the_record(pango, office_manager):
    import io

    from pypdf import PdfReader

    from contracting.documents.rendering import render
    from jobs.inspections.papers import KIND, record_snapshot
    from jobs.work.models import Job

    made = Job.objects.select_related("site").get(pk=inspected()[0])
    services.hold_override(
        job=made,
        step=checks_of(made).next_step,
        reason="The owner moves in tonight.",
        by=office_manager,
        key=uuid.uuid4(),
    )
    snapshot = record_snapshot(checks_of(made), language="en")
    pdf = render(KIND, snapshot).pdf
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))

    for part in (
        "Inspection record",
        "Marigold Ferry",
        "1″ was read; the limit is at least 2″.",
        "ANSI A108.02 4.2.2",
        "The owner moves in tonight.",
        "Water in at",
    ):
        assert part in text, part
    assert "$" not in text
    assert "cents" not in str(snapshot)
    assert render(KIND, snapshot).pdf == pdf

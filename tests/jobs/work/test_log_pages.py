"""The pages of the daily log: what a crew may see and do, and that nothing typed is lost."""

import re
import uuid

import pytest
from django.urls import reverse

from jobs.work.daily.forms import MinutesField
from jobs.work.models import CostEntry, DayNote, DeliveryEntry, HoursEntry
from tests.jobs.margins import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(installer, other_installer, office_manager):
    factories.pay()
    return factories.job(installer, other_installer, stage="tile")


def post(client, name, job, *more, **values):
    values = {"day": "2026-06-01", "key": str(uuid.uuid4())} | values
    return client.post(reverse(f"work:{name}", args=[job.pk, *more]), values)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("7:30", 450),
        ("7.5", 450),
        ("7,5", 450),
        ("7 h 30", 450),
        ("7h30", 450),
        ("7 h", 420),
        ("8", 480),
        ("45 min", 45),
        ("90min", 90),
        ("0:05", 5),
        ("24", 1440),
    ],
)
def test_time_as_people_write_it(text, minutes):
    assert MinutesField().clean(text) == minutes


@pytest.mark.parametrize("text", ["0", "25", "7:75", "soon", "-1", "1441 min", "7:30:10"])
def test_a_time_that_is_none_is_refused_with_what_was_read(text):
    with pytest.raises(Exception, match=re.escape(f"Read “{text}”")):
        MinutesField().clean(text)


def test_an_installer_logs_their_own_hours_and_sees_no_money(client, installer, job, office_manager):
    factories.services.cost_log(
        act=factories.act(job, office_manager), step="tile", what="Secret skip", amount_cents=12345
    )
    client.force_login(installer)
    answer = post(client, "log-hours", job, step="tile", minutes="7:30")
    assert answer.status_code == 302
    post(client, "log-delivery", job, material_key="m2", packs_millionths="15", lot_numbers="L 1")

    page = client.get(reverse("work:log", args=[job.pk])).content.decode()

    entry = HoursEntry.objects.get(job=job)
    assert (entry.person, entry.minutes, entry.cost_cents) == (installer, 450, 30000)
    assert "7:30" in page
    assert "L 1" in page
    for secret in ("$", "300.00", "Secret skip", "invoice"):
        assert secret not in page
    assert "cost_cents" not in client.get(reverse("work:log-delivery", args=[job.pk])).content.decode()


def test_an_installer_cannot_log_for_somebody_else_or_a_cost(client, installer, other_installer, job):
    client.force_login(installer)
    post(client, "log-hours", job, step="tile", minutes="1", person=other_installer.pk)
    post(client, "log-delivery", job, material_key="m2", packs_millionths="1", cost_cents="5")

    assert HoursEntry.objects.get(job=job).person == installer
    assert not DeliveryEntry.objects.get(job=job).is_cost_confirmed
    assert post(client, "log-cost", job, step="tile", what="x", amount_cents="1").status_code == 403


def test_the_form_keeps_what_was_typed_and_says_what_was_read(client, installer, job):
    client.force_login(installer)
    answer = post(client, "log-hours", job, step="tile", minutes="half a day", note="rain")

    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Read “half a day”: expected a time such as 7:30." in page
    assert 'value="half a day"' in page
    assert 'value="rain"' in page


def test_pressing_twice_logs_once(client, installer, job):
    client.force_login(installer)
    key = str(uuid.uuid4())
    for _ in range(2):
        assert post(client, "log-hours", job, step="tile", minutes="8", key=key).status_code == 302

    assert HoursEntry.objects.count() == 1


def test_a_correction_keeps_what_was_written_in_sight(client, installer, job):
    client.force_login(installer)
    post(client, "log-hours", job, step="tile", minutes="8")
    first = HoursEntry.objects.get()
    post(client, "log-hours-correct", job, first.pk, step="grout", minutes="7")
    second = HoursEntry.objects.get(supersedes=first)

    page = client.get(reverse("work:log-hours-correct", args=[job.pk, second.pk])).content.decode()
    assert "Tile setting 8:00" in page
    assert "Grout 7:00" in page

    post(client, "log-hours-correct", job, second.pk, strike="1")
    assert HoursEntry.objects.get(supersedes=second).minutes == 0
    again = post(client, "log-hours-correct", job, second.pk, step="tile", minutes="1")
    assert "Somebody has corrected this entry already" in again.content.decode()


def test_the_office_enters_the_invoice(client, installer, office_manager, job):
    client.force_login(installer)
    post(client, "log-delivery", job, material_key="m2", packs_millionths="15", lot_numbers="L 1")
    first = DeliveryEntry.objects.get()
    client.force_login(office_manager)
    assert "enter the invoice" in client.get(reverse("work:log", args=[job.pk])).content.decode()

    post(
        client,
        "log-delivery-correct",
        job,
        first.pk,
        material_key="m2",
        packs_millionths="15",
        lot_numbers="L 1",
        cost_cents="480.00",
    )

    assert DeliveryEntry.objects.get(supersedes=first).cost_cents == 48000
    assert "enter the invoice" not in client.get(reverse("work:log", args=[job.pk])).content.decode()


def test_costs_progress_notes_and_what_goes_back(client, office_manager, job):
    client.force_login(office_manager)
    post(client, "log-cost", job, step="tile", what="Blade", amount_cents="40")
    post(client, "log-progress", job, step="tile", done_basis_points="30")
    post(client, "log-note", job, kind="delay", text="Water was off", minutes="1:30")
    post(client, "log-delivery", job, material_key="m2", packs_millionths="30", is_return="on")
    bad = post(client, "log-note", job, kind="visitor", text="Owner", minutes="1:30")

    page = client.get(reverse("work:log", args=[job.pk])).content.decode()
    assert CostEntry.objects.get().amount_cents == 4000
    assert DayNote.objects.get().minutes == 90
    assert "sent back" in page
    assert "Time is lost by a delay" in bad.content.decode()


def test_somebody_elses_entry_is_not_there(client, installer, other_installer, job):
    client.force_login(installer)
    post(client, "log-hours", job, step="tile", minutes="8")
    entry = HoursEntry.objects.get()
    client.force_login(other_installer)

    assert client.get(reverse("work:log-hours-correct", args=[job.pk, entry.pk])).status_code == 404


@pytest.mark.parametrize("key", ["", "x"])
def test_a_broken_key_is_said_and_stores_nothing(client, office_manager, job, key):
    client.force_login(office_manager)

    assert post(client, "log-hours", job, step="tile", minutes="1", key=key).status_code == 200
    assert post(client, "log-hours-repeat", job, key=key).status_code == 302
    assert not HoursEntry.objects.exists()


def test_the_log_reads_as_many_queries_for_many_entries(
    client, office_manager, installer, job, django_assert_max_num_queries
):
    client.force_login(office_manager)
    counts = []
    for number in (2, 20):
        while HoursEntry.objects.count() < number:
            post(client, "log-hours", job, step="tile", minutes="0:10", person=installer.pk)
            post(client, "log-note", job, kind="other", text="Note")
            post(client, "log-delivery", job, material_key="m2", packs_millionths="1")
        with django_assert_max_num_queries(15) as counted:
            client.get(reverse("work:log", args=[job.pk]))
        counts.append(len(counted))

    assert counts[0] == counts[1]

"""The owner's pages: figures that open, entries behind them, the CSV, and how many queries they take."""

import csv
import io

import pytest
from django.urls import reverse

from jobs.margins import workings
from jobs.margins.page import job_page
from jobs.margins.selectors import budget_of
from jobs.margins.standing import standing_of
from jobs.work.daily import services
from jobs.work.models import Job
from tests.jobs.margins import factories
from tests.jobs.margins.factories import DAY, act

pytestmark = pytest.mark.django_db


def test_the_split_on_the_page_is_the_split_and_each_part_can_be_worked_again():
    job, _entries = factories.logged_job()
    found = job_page(job, budget_of(job), DAY.replace(day=3))
    split = standing_of(job).split

    shown = {part.key: part.figure for part in found.parts}
    assert {key: int(figure.value * 100) for key, figure in shown.items()} == {
        "rate": split.rate,
        "hours": split.hours,
        "quantity": split.quantity,
        "price": split.price,
        "scope": split.scope,
    }
    assert found.whole == split.whole == found.row.moved_cents
    for figure in [*shown.values(), *found.figures, *found.value]:
        assert figure.evaluate() == figure.value
    # Mon 1 June to Wed 3 June: three of five planned days have begun.
    assert found.planned_days == (3, 5)


def test_the_figures_are_those_by_hand():
    job, _entries = factories.logged_job()
    found = job_page(job, budget_of(job), DAY)
    by_key = {figure.key: int(figure.value * 100) for figure in found.figures}

    # Labour: 7:30 h of tile at 40.00; 31 boxes at 30.00; 260.00 for the skip.
    assert by_key["actual"] == 30000 + 93000 + 26000
    # Waterproofing and demolition lie behind: 400 + 500 + 200; tile 30 % of 800, and its 30 boxes.
    assert by_key["earned"] == 40000 + 50000 + 20000 + 24000 + 90000
    assert by_key["margin-now"] == 415000 - 149000 - (280000 - 224000) - 28000
    assert by_key["quoted-margin"] == 107000


@pytest.mark.parametrize("width", [2, 20])
def test_the_list_takes_the_same_queries_however_many_jobs(
    client, owner, width, django_assert_max_num_queries
):
    factories.pay()
    for _number in range(width):
        factories.job(stage="tile")
    client.force_login(owner)

    with django_assert_max_num_queries(8) as counted:
        page = client.get(reverse("margins:margins")).content.decode()

    assert page.count('<th scope="row"><span><a') == width
    assert len(counted) == 6


def test_a_jobs_page_takes_the_same_queries_however_long_its_log(
    client, owner, installer, django_assert_max_num_queries
):
    factories.pay()
    job = factories.job(installer, stage="tile")
    client.force_login(owner)
    counts = []
    for number in (2, 12):
        for minute in range(number):
            services.hours_log(act=act(job, installer), person=installer, step="tile", minutes=1 + minute)
        with django_assert_max_num_queries(20) as counted:
            client.get(reverse("margins:job", args=[job.pk]))
        counts.append(len(counted))

    assert counts[0] == counts[1]


def test_the_csv_has_every_job_and_runs_no_formula(client, owner):
    job, _entries = factories.logged_job()
    Job.objects.filter(pk=job.pk).update(customer_name="=1+1")
    client.force_login(owner)
    text = b"".join(client.get(reverse("margins:export")).streaming_content).decode("utf-8-sig")

    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 1
    assert rows[0]["Customer"] == "'=1+1"
    assert rows[0]["Price"] == "4150.00"
    assert rows[0]["Actual cost"] == "1490.00"
    assert rows[0]["Margin now"] == "1820.00"


def test_the_entries_behind_a_figure(client, owner):
    job, entries = factories.logged_job()
    client.force_login(owner)
    address = reverse("margins:entries", args=[job.pk])

    hours = client.get(address, {"step": "tile"}).content.decode()
    deliveries = client.get(address, {"kind": "deliveries", "material": "m2"}).content.decode()
    everything = client.get(address).content.decode()

    assert reverse("work:log-hours-correct", args=[job.pk, entries["hours"].pk]) in hours
    assert "Skip, second load" not in hours
    assert "L 77" in deliveries
    assert "Skip, second load" in everything
    assert "Nothing is logged here yet" in client.get(address, {"step": "grout"}).content.decode()


@pytest.mark.parametrize(
    "query", ["?sort=nonsense", "?page=99999", "?stage=x&show=y&q=9999999999", "?sort=-"]
)
def test_an_odd_address_is_no_error(client, owner, query):
    factories.job()
    client.force_login(owner)

    assert client.get(reverse("margins:margins") + query).status_code == 200


def test_a_job_without_a_budget_is_not_there(client, owner):
    client.force_login(owner)

    assert client.get(reverse("margins:job", args=[factories.job(with_budget=False).pk])).status_code == 404
    assert "No open job has a budget yet" in client.get(reverse("margins:margins")).content.decode()


def test_names_of_elements():
    job, _entries = factories.logged_job()
    names = {str(workings.element_name(one, {"m2": "Tile"})) for one in standing_of(job).elements}

    assert {"Tile setting: labour", "Tile", "Demolition: other costs"} <= names


def test_the_owners_first_page_names_what_wants_looking_at(client, owner, office_manager):
    client.force_login(owner)
    assert "below the quote" not in client.get(reverse("home")).content.decode()
    job, _entries = factories.logged_job()
    services.cost_log(
        act=act(job, office_manager), step="tile", what="A new floor under it", amount_cents=150000
    )

    page = client.get(reverse("home")).content.decode()
    assert "?show=falling" in page
    assert "Jobs with costs still open" in page
    client.force_login(office_manager)
    assert "?show=falling" not in client.get(reverse("home")).content.decode()

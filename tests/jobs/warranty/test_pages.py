"""The office's pages: issuing from a job, the list, the owner's terms."""

import pytest
from django.urls import reverse

from jobs.warranty.models import WarrantyRecord, WarrantyTerms
from jobs.work.models import Stage
from tests.contracting.factories import UserFactory
from tests.jobs.inspections.factories import shower
from tests.jobs.work.factories import job as really_sold_job

from .factories import DAY, inspected_job, issued, job_under_way

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client, office_manager):
    client.force_login(office_manager)
    return client


def test_a_job_that_is_ready_offers_the_record_and_gives_it(office):
    job = inspected_job(is_measured=False)
    page = office.get(reverse("warranty:job", args=[job.pk])).content.decode()
    assert "Complete the job and issue its warranty record" in page

    answer = office.post(reverse("warranty:issue", args=[job.pk]), follow=True)

    record = WarrantyRecord.objects.get()
    page = answer.content.decode()
    assert f"Warranty record {record.number} is issued." in page
    assert "in force" in page
    assert record.snapshot["record"]["verify_at"] == "http://testserver/verify/"


def test_a_job_that_is_not_says_what_stands_in_the_way(office):
    job = job_under_way(shower(), stage=Stage.TILE)

    page = office.get(reverse("warranty:job", args=[job.pk])).content.decode()
    refused = office.post(reverse("warranty:issue", args=[job.pk]), follow=True).content.decode()

    for shown in (page, refused):
        assert "This stands in the way of the warranty record" in shown
        assert "its record is issued from the punch list on" in shown
        assert "still to be checked" in shown
    assert not WarrantyRecord.objects.exists()


def test_a_record_is_replaced_with_a_reason_and_both_are_shown(office):
    old = issued()
    address = reverse("warranty:replace", args=[old.pk])

    refused = office.post(address, {"reason": "no"})
    done = office.post(address, {"reason": "The lot number was misread."}, follow=True)

    assert "Give the reason in a sentence" in refused.content.decode()
    assert "no</textarea>" in refused.content.decode()
    new = WarrantyRecord.objects.get(supersedes=old)
    assert f"replaced by {new.number}" in done.content.decode()
    assert "The lot number was misread." in done.content.decode()


def test_an_installer_of_the_job_does_not_issue_its_record(client, installer):
    job = inspected_job(is_measured=False, crew=(installer,))
    client.force_login(installer)

    assert client.get(reverse("warranty:job", args=[job.pk])).status_code == 403
    assert client.post(reverse("warranty:issue", args=[job.pk])).status_code == 403
    assert not WarrantyRecord.objects.exists()


def test_the_jobs_page_leads_to_its_record(office):
    job = really_sold_job(by=UserFactory.create())

    page = office.get(job.get_absolute_url()).content.decode()

    assert reverse("warranty:job", args=[job.pk]) in page


def test_the_list_finds_by_number_customer_and_job(office):
    first, second = issued(4001), issued(4002)

    def found(text):
        page = office.get(reverse("warranty:records"), {"q": text}).content.decode()
        return [record.number for record in (first, second) if f">{record.number}<" in page]

    assert found("") == [first.number, second.number]
    assert found(second.number) == [second.number]
    assert found("marigold") == [first.number, second.number]
    assert found("4002") == [second.number]
    assert found("nobody") == []


@pytest.mark.parametrize("count", [2, 12])
def test_the_list_takes_the_same_queries_for_few_and_for_many(office, count, django_assert_num_queries):
    for number in range(count):
        issued(4001 + number)
    office.get(reverse("warranty:records"))

    # Session, person, count, rows.
    with django_assert_num_queries(4):
        office.get(reverse("warranty:records"))


def test_an_empty_list_says_what_to_do(office):
    assert "No record yet." in office.get(reverse("warranty:records")).content.decode()


def test_the_owner_writes_terms_and_is_told_that_the_first_ones_are_not_theirs(client, owner):
    client.force_login(owner)
    address = reverse("warranty:terms")
    assert "not yours yet" in client.get(address).content.decode()

    client.post(
        address, {"starts_on": "2026-06-01", "years": "5", "terms": "We stand by it.", "care": "Dry it."}
    )

    row = WarrantyTerms.objects.get()
    assert (row.starts_on, row.years, row.terms, row.care) == (DAY, 5, "We stand by it.", "Dry it.")
    page = client.get(address).content.decode()
    assert "not yours yet" not in page
    assert "We stand by it." in page


def test_terms_that_are_refused_lose_nothing(client, owner):
    client.force_login(owner)
    told = {"starts_on": "2026-06-01", "years": "500", "terms": "We stand by it.", "care": "Dry it."}

    page = client.post(reverse("warranty:terms"), told).content.decode()

    assert "less than or equal to 50" in page
    assert "We stand by it." in page
    assert 'value="500"' in page
    assert not WarrantyTerms.objects.exists()

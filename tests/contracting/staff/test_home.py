"""The first page: each role's parts, in order, with what to do when there is nothing."""

import datetime

import pytest
from django.urls import reverse

from contracting.staff import first_steps, home
from contracting.staff.models import CompanyProfile, LabourCost
from contracting.staff.policies import CREW, OFFICE
from estimates.pricelists.models import Price
from tests.contracting.factories import CustomerFactory
from tests.estimates.pricelists.factories import MaterialFactory

pytestmark = pytest.mark.django_db
DAY = datetime.date(2026, 1, 1)


@pytest.fixture(autouse=True)
def _parts(monkeypatch):
    monkeypatch.setattr(home, "_parts", [])
    later = home.Section("Jobs coming", items=[home.Item("3 Hall bath", "/jobs/3/", "two rooms", "Thu")])
    sooner = home.Section(
        "Quotes waiting", empty="No quote waits for a signature.", figures=[home.Figure("Quoted", "$ 900")]
    )
    home.register(home.Part(CREW, 20, lambda user: later))
    home.register(home.Part(OFFICE, 10, lambda user: sooner))
    home.register(home.Part(OFFICE, 30, lambda user: None))


def test_the_office_sees_its_parts_in_order(client, office_manager):
    client.force_login(office_manager)
    page = client.get(reverse("home")).content.decode()

    assert page.index("Quotes waiting") < page.index("No quote waits") < page.index("Jobs coming")
    assert '<a href="/jobs/3/">3 Hall bath</a>' in page


def test_an_installer_sees_no_part_of_the_office(client, installer):
    client.force_login(installer)
    page = client.get(reverse("home")).content.decode()

    assert "Jobs coming" in page
    assert "Quotes waiting" not in page
    assert "$" not in page


def test_a_page_with_nothing_says_what_to_do(client, office_manager, monkeypatch):
    monkeypatch.setattr(home, "_parts", [])
    client.force_login(office_manager)

    assert "Add a customer and measure a room to begin." in client.get(reverse("home")).content.decode()


def test_a_new_company_is_told_its_first_steps_until_they_are_done(owner, office_manager):
    CompanyProfile.objects.all().delete()
    LabourCost.objects.all().delete()

    def names(user):
        section = first_steps.section(user)
        return [] if section is None else [item.title for item in section.items]

    assert names(owner) == [
        "Company’s name and address",
        "What an hour of work costs you",
        "What you buy, and at what price",
        "Your first customer",
    ]
    # The company's name is the owner's to give.
    assert "Company’s name and address" not in names(office_manager)

    CustomerFactory()
    Price.objects.create(material=MaterialFactory(), starts_on=DAY, cents=100)
    LabourCost.objects.create(starts_on=DAY, pay_cents_per_hour=3000, burden_basis_points=2500)
    CompanyProfile.objects.create(pk=1, name="Heron Tile (invented)")

    assert names(owner) == []
    assert first_steps.section(office_manager) is None

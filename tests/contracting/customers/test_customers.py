"""Customers, contacts and sites: pages, refusals, constraints, counts of queries."""

import pytest
from django.db import IntegrityError, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contracting.customers.models import Contact, Customer, Site
from tests.contracting.factories import CustomerFactory, SiteFactory

pytestmark = pytest.mark.django_db

SITE = {
    "name": "Lake cabin",
    "street": "4 Shore Road",
    "units": "inch",
    "time_zone": "America/Chicago",
    "tax_base": "materials",
    "tax_basis_points": "8.25",
    "travel_minutes": "25",
}


def test_the_office_adds_a_customer_a_site_and_a_contact(client, office_manager):
    client.force_login(office_manager)

    client.post(reverse("customers:customer-new"), {"name": "Marigold Ferry", "language": "es"})
    customer = Customer.objects.get()
    client.post(reverse("customers:site-new", args=[customer.pk]), SITE)
    client.post(reverse("customers:contact-new", args=[customer.pk]), {"name": "Oren", "part": "caretaker"})
    page = client.get(customer.get_absolute_url())

    assert customer.language == "es"
    assert Site.objects.get().tax_basis_points == 825
    assert b"Lake cabin" in page.content
    assert b"caretaker" in page.content


def test_nothing_typed_is_lost_when_a_site_is_refused(client, office_manager):
    client.force_login(office_manager)
    customer = CustomerFactory()

    page = client.post(
        reverse("customers:site-new", args=[customer.pk]),
        SITE | {"time_zone": "America/Nowhere", "tax_basis_points": "8.255", "access_notes": "Key under pot"},
    )

    text = page.content.decode()
    assert not Site.objects.exists()
    assert "Read “America/Nowhere”: expected a time zone" in text
    assert "Read “8.255”: at most two decimals are kept." in text
    assert "Key under pot" in text


def test_a_tax_base_without_a_rate_is_refused_beside_the_rate(client, office_manager):
    client.force_login(office_manager)

    page = client.post(
        reverse("customers:site-new", args=[CustomerFactory().pk]), SITE | {"tax_basis_points": ""}
    )

    assert page.context["form"].errors["tax_basis_points"] == ["Say the rate, or choose no sales tax."]


def test_a_rate_without_a_tax_base_is_refused_beside_the_base(client, office_manager):
    client.force_login(office_manager)

    page = client.post(
        reverse("customers:site-new", args=[CustomerFactory().pk]), SITE | {"tax_base": "none"}
    )

    assert page.context["form"].errors["tax_base"] == [
        "A rate is given: say what is taxed, or clear the rate."
    ]
    assert not Site.objects.exists()


def test_the_same_site_name_twice_is_refused_in_words(client, office_manager):
    client.force_login(office_manager)
    site = SiteFactory(name="Lake cabin")

    page = client.post(reverse("customers:site-new", args=[site.customer.pk]), SITE)

    assert page.status_code == 200
    assert Site.objects.count() == 1
    assert "already exists" in page.content.decode()


def test_a_customer_with_a_site_cannot_be_removed(client, office_manager):
    client.force_login(office_manager)
    site = SiteFactory()

    page = client.post(reverse("customers:customer-remove", args=[site.customer.pk]), follow=True)

    assert Customer.objects.count() == 1
    assert "there is work on record" in page.content.decode()


def test_contacts_and_empty_customers_can_be_removed(client, office_manager):
    client.force_login(office_manager)
    contact = Contact.objects.create(customer=CustomerFactory(), name="Oren")

    client.post(reverse("customers:contact-remove", args=[contact.pk]))
    client.post(reverse("customers:customer-remove", args=[contact.customer.pk]))

    assert not Customer.objects.exists()


@pytest.mark.parametrize("text", ["harb", "12 Elm", "555-0199"])
def test_a_customer_is_found_by_name_street_or_phone(client, office_manager, text):
    client.force_login(office_manager)
    SiteFactory(customer__name="Harbour Inn", customer__phone="555-0199", street="12 Elm Way")
    CustomerFactory(name="Somebody else")

    page = client.get(reverse("customers:customers"), {"q": text})

    assert [customer.name for customer in page.context["page"]] == ["Harbour Inn"]


@pytest.mark.parametrize(
    "broken",
    [
        {"units": "cubit"},
        {"tax_base": "some"},
        {"tax_basis_points": 5001},
    ],
)
def test_the_database_refuses_what_no_site_can_be(broken):
    with pytest.raises(IntegrityError), transaction.atomic():
        SiteFactory(**broken)


def test_the_database_refuses_a_customer_without_a_name():
    with pytest.raises(IntegrityError), transaction.atomic():
        CustomerFactory(name="")


def test_the_list_asks_as_often_for_twenty_customers_as_for_two(client, office_manager):
    from django.db import connection

    client.force_login(office_manager)
    counts = []
    for number in (2, 18):
        SiteFactory.create_batch(number)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get(reverse("customers:customers"))
        counts.append(len(asked))

    assert counts[0] == counts[1] <= 8


def test_a_first_site_begins_where_the_bill_goes_and_a_next_one_like_the_last(client, office_manager):
    client.force_login(office_manager)
    owner = CustomerFactory.create(billing_address="14 Larch Row\nMarlow Falls")
    address = reverse("customers:site-new", args=[owner.pk])

    assert 'value="14 Larch Row"' in client.get(address).content.decode()
    SiteFactory.create(
        customer=owner,
        street="9 Mill",
        city="Marlow Falls",
        units="metric",
        tax_base="materials",
        tax_basis_points=825,
    )
    page = client.get(address).content.decode()

    assert 'value="14 Larch Row"' not in page
    assert 'value="9 Mill"' not in page
    assert 'value="Marlow Falls"' in page
    assert 'value="8.25"' in page
    assert '<option value="metric" selected>' in page

"""The company's paper: asked for on the company page, the same row for the same company."""

import pytest
from django.urls import reverse

from contracting.documents.models import DocumentRequest
from contracting.documents.rendering import render_html
from contracting.staff import demo
from contracting.staff.models import User

pytestmark = pytest.mark.django_db


def test_the_office_asks_for_the_paper_and_gets_one_document(client, office_manager):
    demo.load_company()
    client.force_login(office_manager)

    first = client.post(reverse("staff:letterhead"))
    again = client.post(reverse("staff:letterhead"))

    document = DocumentRequest.objects.get()
    assert first.url == again.url == document.get_absolute_url()
    html = render_html(document.kind, document.snapshot)
    assert "Quill &amp; Venn Tile" in html
    assert "The deposit is due at signing" in html


def test_the_demo_company_is_loaded_once_and_keeps_what_was_changed(db):
    people = demo.load_company()
    people["sam"].first_name = "Samuel"
    people["sam"].save()
    demo.load_company()

    assert User.objects.count() == len(demo.PEOPLE)
    assert User.objects.get(username="sam").first_name == "Samuel"
    assert User.objects.get(username="office").check_password(demo.PASSWORD)


def test_the_demo_leaves_the_database_of_a_real_company_alone(db):
    assert not demo.is_somebody_elses_database()
    User.objects.create(username="somebody")
    assert demo.is_somebody_elses_database()


def test_the_first_account_of_an_installation_is_its_owner(db):
    assert User.objects.create_superuser("first", "", "secret-of-the-first").is_owner

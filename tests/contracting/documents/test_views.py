"""The progress page, the file by permission, and trying again."""

import pytest
from django.urls import reverse

from contracting.documents import services
from contracting.documents.models import DocumentRequest
from contracting.documents.rendering import STAGES, RenderedDocument

from .conftest import SNAPSHOT

pytestmark = pytest.mark.django_db


def ask(audience="office"):
    return services.document_request(
        kind="sample", snapshot=SNAPSHOT | {"for": audience}, subject="Plan", audience=audience, by=None
    )


def done(audience="office"):
    document = services.document_claim(pk=ask(audience).pk)
    services.document_finish(document=document, rendered=RenderedDocument(b"%PDF-1.7 invented", 3))
    return DocumentRequest.objects.get(pk=document.pk)


def test_while_it_waits_the_page_asks_again_with_and_without_script(client, office_manager):
    client.force_login(office_manager)
    document = services.document_claim(pk=ask().pk)
    services.document_progress(document=document, stage=STAGES[1], percent=30)

    page = client.get(document.get_absolute_url()).content.decode()

    assert 'hx-trigger="every 1s"' in page
    assert '<noscript><meta http-equiv="refresh" content="2">' in page
    assert "Laying out the pages" in page
    assert "30 %" in page


def test_the_poll_gets_the_middle_of_the_page_only_and_stops_when_it_is_done(client, office_manager):
    client.force_login(office_manager)
    document = done()

    answer = client.get(document.get_absolute_url(), headers={"HX-Request": "true"})

    text = answer.content.decode()
    assert "<html" not in text
    assert "hx-trigger" not in text
    assert reverse("documents:download", args=[document.pk]) in text
    assert "HX-Request" in answer["Vary"]


def test_a_failure_says_why_and_can_be_tried_again(client, office_manager):
    client.force_login(office_manager)
    document = services.document_claim(pk=ask().pk)
    services.document_fail(document=document, sentence="The drawing is missing.")

    page = client.get(document.get_absolute_url()).content.decode()
    again = client.post(reverse("documents:retry", args=[document.pk]), follow=True)

    assert "The drawing is missing." in page
    assert b"Waiting for its turn" in again.content


def test_the_file_comes_with_its_name_its_hash_and_no_guessing(client, office_manager):
    client.force_login(office_manager)
    document = done()
    address = reverse("documents:download", args=[document.pk])

    answer = client.get(address)
    kept = client.get(address + "?keep")
    unchanged = client.get(address, headers={"If-None-Match": f'"{document.sha256}"'})

    assert b"".join(answer.streaming_content) == b"%PDF-1.7 invented"
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="Plan_of_the_hall_bath.pdf"'
    assert kept["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["ETag"] == f'"{document.sha256}"'
    assert "private" in answer["Cache-Control"]
    assert unchanged.status_code == 304
    b"".join(kept.streaming_content)


@pytest.mark.parametrize(("audience", "expected"), [("crew", 200), ("office", 404), ("customer", 404)])
def test_an_installer_gets_what_is_for_the_crew_and_is_not_told_of_the_rest(
    client, installer, audience, expected
):
    client.force_login(installer)
    document = done(audience)

    file = client.get(reverse("documents:download", args=[document.pk]))
    page = client.get(document.get_absolute_url())
    retried = client.post(reverse("documents:retry", args=[document.pk]))

    assert [file.status_code, page.status_code] == [expected, expected]
    assert retried.status_code == (302 if expected == 200 else 404)


def test_a_document_that_is_not_done_has_no_file(client, owner):
    client.force_login(owner)
    assert client.get(reverse("documents:download", args=[ask().pk])).status_code == 404


def test_a_file_lost_from_the_store_is_a_404_and_not_a_500(client, owner, settings, tmp_path):
    client.force_login(owner)
    document = done()
    settings.MEDIA_ROOT = tmp_path / "elsewhere"

    assert client.get(reverse("documents:download", args=[document.pk])).status_code == 404


@pytest.mark.parametrize(
    ("came_from", "way_back"),
    [
        ("http://testserver/jobs/7/?part=plan", 'href="/jobs/7/?part=plan"'),
        ("http://elsewhere.example/jobs/7/", None),
        ("//testserver//elsewhere.example/", None),
        ("", None),
    ],
)
def test_the_page_leads_back_to_where_one_came_from(client, office_manager, came_from, way_back):
    client.force_login(office_manager)

    page = client.get(done().get_absolute_url(), headers={"Referer": came_from}).content.decode()

    assert ('<p class="trail">' in page) is bool(way_back)
    assert way_back is None or way_back in page


def test_its_file_is_the_first_thing_to_do_on_its_own_page_only(client, office_manager):
    client.force_login(office_manager)
    document = done()
    asked = {"HX-Request": "true"}

    def kind(at):
        answer = client.get(document.get_absolute_url(), headers=asked | {"HX-Current-URL": at})
        return answer.content.decode().split('class="btn')[1].split('"')[0]

    assert kind(f"http://testserver{document.get_absolute_url()}") == ""
    assert kind("http://testserver/invoices/3/") == " quiet"

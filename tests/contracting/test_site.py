"""The site as a whole: health, error pages, headers, settings."""

import datetime
import os
import secrets
import subprocess
import sys
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import RequestFactory
from django.urls import path, reverse
from django.utils import formats, translation

from contracting import urls
from contracting.money import money_text, percent_text
from contracting.staff.checks import every_view_is_marked
from contracting.staff.policies import everyone_allowed

ENVIRONMENT = {
    name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LEDGERBOARD_VAR"}
}


def unmarked(request):
    return HttpResponse("the till")


@everyone_allowed
def broken(request):
    raise RuntimeError


urlpatterns = [*urls.urlpatterns, path("till/", unmarked), path("broken/", broken)]


def manage(*arguments, **environment):
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        env=ENVIRONMENT | environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_health_check_needs_no_sign_in(client, db):
    assert client.get("/health/").content == b"ok"


def _many_files(count):
    return {"photos": [SimpleUploadedFile(f"{number}.jpg", b"x") for number in range(count)]}


@pytest.mark.parametrize(
    ("language", "posted", "sentence"),
    [
        ("en", _many_files(101), "More than 100 files came at once, so none of them was kept."),
        ("es", _many_files(101), "Llegaron más de 100 archivos a la vez, así que no se guardó ninguno."),
        ("en", {f"field{number}": "1" for number in range(1001)}, "More fields came at once"),
        ("en", {"notes": "x" * 2_700_000}, "More text came at once than we take"),
    ],
)
def test_what_django_itself_refuses_is_told_in_a_sentence_on_our_page(
    client, office_manager, language, posted, sentence
):
    type(office_manager).objects.update(language=language)
    client.force_login(office_manager)
    answer = client.post(reverse("quotes:estimate-where"), posted)

    assert answer.status_code == 400
    page = answer.content.decode()
    assert sentence in page
    assert 'class="masthead"' in page


def test_an_address_that_cannot_be_read_is_told_in_a_sentence_too(client, db):
    answer = client.get("/sign-in/?next=%00")

    assert answer.status_code == 400
    assert "What was asked could not be read" in answer.content.decode()


@pytest.mark.urls(__name__)
def test_a_view_that_does_not_say_who_may_open_it_opens_for_nobody(client, owner):
    client.force_login(owner)
    answer = client.get("/till/")

    assert answer.status_code == 403
    assert b"the till" not in answer.content


@pytest.mark.urls(__name__)
def test_the_system_check_names_that_view():
    (error,) = every_view_is_marked()

    assert "till/" in error.msg


def test_every_view_of_the_site_says_who_may_open_it():
    assert every_view_is_marked() == []


@pytest.mark.urls(__name__)
def test_what_breaks_gives_a_calm_page_in_our_look(client, db):
    client.raise_request_exception = False
    answer = client.get("/broken/")

    assert answer.status_code == 500
    assert b"That was our fault, not yours." in answer.content


def test_an_address_with_nothing_gives_a_calm_page(client, owner):
    client.force_login(owner)
    answer = client.get("/nothing/here/")

    assert answer.status_code == 404
    assert b"There is nothing at this address" in answer.content


def test_an_office_page_gives_an_installer_a_calm_refusal(client, installer):
    client.force_login(installer)
    answer = client.get(reverse("staff:company"))

    assert answer.status_code == 403
    assert b"This page is for another role" in answer.content


def test_nothing_from_outside_may_run_in_a_page(client, db):
    policy = client.get(reverse("staff:sign-in"))["Content-Security-Policy"]

    assert "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy


def test_a_real_installation_refuses_to_start_without_a_secret_key():
    answer = manage("check")

    assert answer.returncode != 0
    assert "SECRET_KEY" in answer.stderr


def test_a_real_installation_passes_the_deployment_check():
    answer = manage("check", "--deploy", "--fail-level", "WARNING", SECRET_KEY=secrets.token_urlsafe(60))

    assert answer.returncode == 0, answer.stderr


@pytest.mark.parametrize("value", ["maybe", "2"])
def test_a_setting_that_cannot_be_read_is_named(value):
    answer = manage("check", DEBUG=value, SECRET_KEY="x" * 60)

    assert answer.returncode != 0
    assert "DEBUG" in answer.stderr


def test_no_page_of_a_real_installation_is_served_without_tls():
    program = (
        "import django; django.setup(); from django.test import Client;"
        "answer = Client().get('/sign-in/'); print(answer.status_code, answer['Location'])"
    )
    answer = subprocess.run(
        [sys.executable, "-c", program],
        env=ENVIRONMENT
        | {
            "DJANGO_SETTINGS_MODULE": "contracting.settings",
            "SECRET_KEY": secrets.token_urlsafe(60),
            "ALLOWED_HOSTS": "testserver",
        },
        capture_output=True,
        text=True,
        check=True,
    )

    assert answer.stdout.strip() == "301 https://testserver/sign-in/"


@pytest.mark.parametrize(
    ("cents", "currency", "written"),
    [
        (0, "USD", "$0.00"),
        (5, "USD", "$0.05"),
        (123450, "USD", "$1,234.50"),
        (-123450, "EUR", "−€1,234.50"),
        (100, "CHF", "CHF\u00a01.00"),
    ],
)
def test_money_is_written_with_its_sign_and_two_decimals(cents, currency, written):
    assert money_text(cents, currency) == written


@pytest.mark.parametrize(("points", "written"), [(0, "0"), (3000, "30"), (825, "8.25"), (4286, "42.86")])
def test_a_percentage_is_written_without_idle_noughts(points, written):
    assert percent_text(points) == written


def test_a_guarded_view_stops_strangers_without_the_middleware_too():
    from django.contrib.auth.models import AnonymousUser
    from django.core.exceptions import PermissionDenied

    from contracting.staff.views import company

    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    with pytest.raises(PermissionDenied):
        company(request)


@pytest.mark.parametrize(
    ("language", "day", "number"), [("en", "Dec 3, 2026", "1,234.5"), ("es", "3 dic 2026", "1,234.5")]
)
def test_no_date_and_no_number_can_be_misread(language, day, number):
    """03/12/2026 is two days and 1.250 two numbers, in a crew that reads English and Spanish."""
    with translation.override(language):
        assert formats.date_format(datetime.date(2026, 12, 3), "SHORT_DATE_FORMAT") == day
        assert formats.number_format(Decimal("1234.5"), force_grouping=True) == number

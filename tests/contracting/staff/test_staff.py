"""Signing in, people, pay, the company, and each person's language."""

import datetime
import re

import pytest
from django.contrib.auth.hashers import check_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contracting.staff import selectors, services
from contracting.staff.models import CompanyProfile, LabourCost, User
from tests.contracting.factories import UserFactory

pytestmark = pytest.mark.django_db
PASSWORD = "quarry-lane-14"
PERSON = {"first_name": "Imke", "username": "imke", "role": "installer", "language": "es", "is_active": "on"}
COMPANY = {
    "name": "Invented Tile",
    "ink_colour": "#204060",
    "overhead_basis_points": "12.5",
    "margin_basis_points": "32",
    "minimum_charge_cents": "350",
    "deposit_basis_points": "30",
    "validity_days": "30",
}


@pytest.fixture
def person():
    return services.person_save(
        person=User(username="imke", first_name="Imke", role="office"), password=PASSWORD
    )


def sign_in(client, name="imke", password=PASSWORD):
    return client.post(reverse("staff:sign-in"), {"username": name, "password": password})


def test_somebody_signs_in_and_out(client, person):
    assert sign_in(client).url == reverse("home")
    assert client.get(reverse("home")).status_code == 200

    client.post(reverse("staff:sign-out"))

    assert client.get(reverse("home")).url.startswith(reverse("staff:sign-in"))


def test_a_wrong_password_is_told_in_place_and_the_name_kept(client, person):
    page = sign_in(client, password="wrong").content.decode()

    assert "Please enter a correct username and password" in page
    assert 'value="imke"' in page


def test_guessing_is_stopped_and_the_right_password_then_waits_too(client, person):
    answers = [sign_in(client, password=f"guess {n}").status_code for n in range(8)]

    assert answers == [200] * 7 + [429]
    stopped = sign_in(client)
    assert stopped.status_code == 429
    assert "Too many wrong passwords" in stopped.content.decode()


def test_guessing_at_one_name_does_not_stop_another(client, person):
    UserFactory(username="zoe").set_password("x")
    for n in range(8):
        sign_in(client, name="zoe", password=f"guess {n}")

    assert sign_in(client).status_code == 302


def test_somebody_who_may_not_sign_in_does_not(client, person):
    person.is_active = False
    person.save()

    assert sign_in(client).status_code == 200


def test_the_owner_adds_a_person_who_can_then_sign_in(client, owner):
    client.force_login(owner)

    client.post(reverse("staff:person-new"), PERSON | {"password": PASSWORD})

    made = User.objects.get(username="imke")
    assert check_password(PASSWORD, made.password)
    assert (made.role, made.language) == ("installer", "es")


def test_a_weak_password_is_refused_beside_its_field_and_nothing_is_lost(client, owner):
    client.force_login(owner)

    page = client.post(reverse("staff:person-new"), PERSON | {"password": "imke"}).content.decode()

    assert "too short" in page
    assert 'value="Imke"' in page
    assert not User.objects.filter(username="imke").exists()


def test_an_empty_password_keeps_the_present_one(client, owner, person):
    client.force_login(owner)

    client.post(
        reverse("staff:person-edit", args=[person.pk]), PERSON | {"role": "owner", "last_name": "Vos"}
    )

    person.refresh_from_db()
    assert (person.role, person.last_name) == ("owner", "Vos")
    assert person.check_password(PASSWORD)


@pytest.mark.parametrize("change", [{"role": "office"}, {"is_active": False}])
def test_the_last_owner_stays(owner, change):
    for name, value in change.items():
        setattr(owner, name, value)
    with pytest.raises(ValidationError, match="is the only owner who can sign in"):
        services.person_save(person=owner)

    UserFactory(role="owner")
    services.person_save(person=owner)


def test_the_company_is_one_and_changes_for_all(client, owner):
    client.force_login(owner)
    for name in ("Invented Tile", "Invented Tile & Stone"):
        assert client.post(reverse("staff:company-edit"), COMPANY | {"name": name}).status_code == 302

    company = CompanyProfile.objects.get()
    assert (company.name, company.margin_basis_points) == ("Invented Tile & Stone", 3200)
    assert company.overhead_basis_points == 1250
    assert company.minimum_charge_cents == 35000


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("margin_basis_points", "100", "Read “100”: expected a percentage"),
        ("margin_basis_points", "a third", "Read “a third”"),
        ("ink_colour", "brown", "Write a colour as #rrggbb"),
        ("name", "", "This field is required"),
        ("validity_days", "-3", "greater than or equal to 0"),
    ],
)
def test_what_the_company_form_refuses_it_says_and_keeps(client, owner, field, typed, said):
    client.force_login(owner)

    page = client.post(
        reverse("staff:company-edit"), COMPANY | {field: typed, "terms": "Net 15 days"}
    ).content.decode()

    assert said in page
    assert "Net 15 days" in page
    assert not CompanyProfile.objects.exists()


def test_the_cost_of_an_hour_is_the_newest_that_has_started(client, office_manager):
    client.force_login(office_manager)
    for day, pay in (("2026-01-01", "32.00"), ("2026-07-01", "34.50")):
        act = {"starts_on": day, "pay_cents": pay, "burden_basis_points": "28.5"}
        assert client.post(reverse("staff:labour-cost-new"), act).status_code == 302

    assert selectors.labour_cost_on(datetime.date(2025, 12, 31)) is None
    # By hand: 32.00 * 1.285 = 41.12; 34.50 * 1.285 = 44.3325, rounded half up to 44.33.
    assert selectors.labour_cost_on(datetime.date(2026, 6, 30)).cost_cents_per_hour == 4112
    assert selectors.labour_cost_on(datetime.date(2026, 7, 1)).cost_cents_per_hour == 4433


def test_the_same_day_again_corrects_that_day():
    day = datetime.date(2026, 1, 1)
    services.labour_cost_save(starts_on=day, pay_cents=3200, burden_basis_points=0)
    services.labour_cost_save(starts_on=day, pay_cents=3300, burden_basis_points=0)

    assert [row.pay_cents_per_hour for row in selectors.labour_costs()] == [3300]


def test_each_person_reads_in_the_language_they_chose(client, installer, monkeypatch):
    client.force_login(installer)

    client.post(reverse("staff:preferences"), {"language": "es"})
    page = client.get(reverse("home"))

    installer.refresh_from_db()
    assert installer.language == "es"
    assert '<html lang="es">' in page.content.decode()
    assert page["Content-Language"] == "es"


def test_a_stranger_reads_in_the_language_of_the_browser(client):
    page = client.get(reverse("staff:sign-in"), headers={"Accept-Language": "es-MX,es;q=0.9"})

    assert '<html lang="es">' in page.content.decode()


def test_somebody_changes_their_own_password(client, person):
    client.force_login(person)
    new = "fourteen-kilns"
    act = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}

    assert client.post(reverse("staff:password"), act).status_code == 302

    person.refresh_from_db()
    assert person.check_password(new)
    assert client.get(reverse("home")).status_code == 200


def test_the_company_page_asks_as_often_for_twenty_people_as_for_two(
    client, office_manager, django_assert_num_queries
):
    from django.db import connection

    client.force_login(office_manager)
    UserFactory.create_batch(2)
    with CaptureQueriesContext(connection) as few:
        client.get(reverse("staff:company"))
    UserFactory.create_batch(18)
    with CaptureQueriesContext(connection) as many:
        client.get(reverse("staff:company"))

    assert len(many) == len(few), [query["sql"] for query in many]


@pytest.mark.parametrize(
    ("model", "values", "name"),
    [
        (User, {"username": "x", "role": "cook"}, "user_role_known"),
        (
            LabourCost,
            {"starts_on": "2026-01-01", "pay_cents_per_hour": 0, "burden_basis_points": 0},
            "labour_pay_positive",
        ),
        (
            LabourCost,
            {"starts_on": "2026-01-01", "pay_cents_per_hour": 1, "burden_basis_points": 30001},
            "labour_burden_at_most_triple",
        ),
        (CompanyProfile, {"pk": 2}, "one_company"),
        (CompanyProfile, {"pk": 1, "margin_basis_points": 10000}, "company_margin_below_all"),
        (CompanyProfile, {"pk": 1, "deposit_basis_points": 10001}, "company_deposit_at_most_all"),
    ],
)
def test_the_database_refuses_what_cannot_be(model, values, name):
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        model.objects.bulk_create([model(**values)])


def test_the_day_of_a_new_cost_stands_in_the_field_in_every_language(client, office_manager):
    type(office_manager).objects.update(language="es")
    client.force_login(office_manager)

    page = client.get(reverse("staff:labour-cost-new")).content.decode()

    # A browser's date field shows nothing but ISO dates.
    assert re.search(r'type="date"[^>]*value="\d{4}-\d\d-\d\d"|value="\d{4}-\d\d-\d\d"[^>]*type="date"', page)

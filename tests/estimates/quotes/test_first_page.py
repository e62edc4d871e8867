"""The first page's part about estimates and quotes, by role."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from estimates.quotes.services import (
    quote_accept_electronically,
    quote_decline_electronically,
    quote_issue,
)
from tests.estimates.quotes.factories import AT, estimate_of, ready, repair_quote

pytestmark = pytest.mark.django_db


def test_an_estimate_is_to_be_finished_until_it_is_issued(client, office_manager):
    client.force_login(office_manager)
    estimate = ready()
    before = client.get(reverse("home")).content.decode()

    quote = quote_issue(estimate=estimate, by=office_manager, at=AT)
    after = client.get(reverse("home")).content.decode()

    assert str(estimate) in before
    assert "No quote waits for a signature." in before
    assert "No estimate waits to be finished." in after
    assert quote.number in after
    assert "Signed this month" not in after


def test_what_customers_signed_or_declined_is_told_for_two_weeks(client, office_manager, time_machine):
    time_machine.move_to(AT)
    client.force_login(office_manager)
    quiet = client.get(reverse("home")).content.decode()
    declined = repair_quote()
    quote_decline_electronically(quote=declined, reason="Too dear for the hall bath", at=AT)
    signed = repair_quote()
    quote_accept_electronically(quote=signed, name="Marigold Ferry", at=AT)

    soon = client.get(reverse("home")).content.decode()
    time_machine.move_to(AT + datetime.timedelta(days=15))
    later = client.get(reverse("home")).content.decode()

    assert "Answers of the last two weeks" not in quiet
    assert "declined: “Too dear for the hall bath”" in soon
    assert signed.number in soon
    assert "Answers of the last two weeks" not in later


def test_the_owner_also_sees_the_sums(client, owner):
    client.force_login(owner)
    quote = quote_issue(estimate=ready(), by=owner, at=AT)

    page = client.get(reverse("home")).content.decode()

    # The price is frozen in the quote; its own tests hold it against sums by hand.
    assert f"${quote.price_cents // 100:,}.{quote.price_cents % 100:02}" in page
    assert "$0.00" in page


def test_an_installer_sees_none_of_it(client, installer, owner):
    quote = quote_issue(estimate=ready(), by=owner, at=AT)
    client.force_login(installer)

    page = client.get(reverse("home")).content.decode()

    assert quote.number not in page
    assert "$" not in page


def test_the_first_page_asks_as_often_for_six_estimates_as_for_two(client, owner):
    client.force_login(owner)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(reverse("home")).status_code == 200
        return [query["sql"] for query in captured]

    ready()
    estimate_of()
    few = queries()
    for _ in range(4):
        estimate_of()

    assert len(queries()) == len(few), few

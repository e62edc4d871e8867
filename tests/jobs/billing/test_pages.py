"""The pages of billing: the next invoice in two clicks, refusals in place, and few queries."""

import uuid

import pytest
from django.urls import reverse

from contracting.staff import home
from jobs.billing import selectors
from jobs.billing.models import Account, Invoice, Payment
from jobs.margins.models import Ledger
from jobs.margins.selectors import JobMargin, margins, summary
from jobs.work.models import Job
from tests.estimates.quotes.changes.factories import line, signed, today

from .factories import credit, days_ago, invoice, job, pay

pytestmark = pytest.mark.django_db


def test_the_next_payment_is_filled_in_and_issued(client, office_manager):
    made = job()
    client.force_login(office_manager)
    page = client.get(reverse("billing:new", args=[made.pk])).content.decode()
    assert 'value="103.92"' in page
    posted = {
        "key": str(uuid.uuid4()), "part-0": "103.92", "part-1": "", "issued_on": today().isoformat(),
        "due_on": today().isoformat(),
    }  # fmt: skip
    answer = client.post(reverse("billing:new", args=[made.pk]), posted)
    found = Invoice.objects.get()
    assert answer.url == found.get_absolute_url()
    # The same page sent twice is one invoice.
    client.post(reverse("billing:new", args=[made.pk]), posted | {"part-0": "50"})
    assert Invoice.objects.count() == 1
    assert "$103.92" in client.get(answer.url).content.decode()


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"part-0": "103.93"}, "More than is left of this payment"),
        ({"part-0": ""}, "Say what is invoiced"),
        ({"part-0": "lots"}, "expected an amount such as"),
        ({"issued_on": "2999-01-01"}, "not issued on a day to come"),
        ({"due_on": "2020-01-01"}, "cannot be due before"),
        ({"key": "x"}, "Not saved yet"),
    ],
)
def test_what_cannot_be_invoiced_is_told_in_place(client, office_manager, values, sentence):
    made = job()
    client.force_login(office_manager)
    posted = {
        "key": str(uuid.uuid4()), "part-0": "5", "part-1": "", "issued_on": today().isoformat(),
        "due_on": today().isoformat(),
    }  # fmt: skip
    page = client.post(reverse("billing:new", args=[made.pk]), posted | values).content.decode()
    assert sentence in page
    assert not Invoice.objects.exists()


def test_money_comes_is_corrected_and_struck_out(client, office_manager):
    found = invoice(job())
    client.force_login(office_manager)
    where = reverse("billing:pay", args=[found.pk])
    assert 'value="103.92"' in client.get(where).content.decode()
    posted = {"amount": "50", "received_on": today().isoformat(), "way": "card", "reference": "A 1"}
    client.post(where, posted | {"key": str(uuid.uuid4())})
    page = client.post(where, posted | {"amount": "60", "key": str(uuid.uuid4())}).content.decode()
    assert "$53.92 is open on this invoice" in page
    first = Payment.objects.get()
    again = reverse("billing:correct", args=[found.pk, first.pk])
    client.post(again, posted | {"amount": "0", "key": str(uuid.uuid4())})
    assert Account.objects.get().received_cents == 0
    assert client.get(again).status_code == 404
    page = client.get(found.get_absolute_url()).content.decode()
    assert "corrected" in page


def test_credit_terms_and_release_by_their_pages(client, office_manager):
    made = job()
    client.force_login(office_manager)
    client.post(reverse("billing:terms", args=[made.pk]), {"retainage_basis_points": "10", "due_days": "30"})
    found = invoice(made)
    assert found.retained_cents == 1_039
    answer = client.post(reverse("billing:release", args=[made.pk]), {"key": str(uuid.uuid4())})
    assert Invoice.objects.get(kind="release").get_absolute_url() == answer.url
    page = client.post(
        reverse("billing:credit", args=[found.pk]), {"key": str(uuid.uuid4()), "amount": "999"}
    )
    assert "This field is required" in page.content.decode()
    client.post(
        reverse("billing:credit", args=[found.pk]),
        {"key": str(uuid.uuid4()), "amount": "", "reason": "Too early."},
    )
    note = Invoice.objects.get(kind="credit")
    assert "Too early." in client.get(note.get_absolute_url()).content.decode()


def test_the_list_shows_what_is_open_and_finds_it(client, office_manager):
    first, second = invoice(job()), invoice(job(), issued_on=days_ago(1), due_on=days_ago(1))
    pay(first, first.payable_cents)
    client.force_login(office_manager)
    page = client.get(reverse("billing:invoices")).content.decode()
    assert str(second) in page
    assert f">{first}<" not in page
    for text in (str(first), str(first.number), first.job.title):
        page = client.get(reverse("billing:invoices"), {"q": text, "show": "all"}).content.decode()
        assert f">{first}<" in page


def test_the_first_page_says_what_is_late_and_what_to_invoice(office_manager):
    ready = job()
    late = invoice(job(), issued_on=days_ago(2), due_on=days_ago(2))
    section = next(one for one in home.sections_for(office_manager) if one.heading == "Invoices")
    assert [item.url for item in section.items] == [
        late.get_absolute_url(),
        reverse("billing:job", args=[ready.pk]),
    ]


def test_the_customer_s_page_shows_what_their_contracts_come_to(
    client, office_manager, django_assert_num_queries
):
    made = job()
    signed(made.quote, line(price_cents=10_000))
    pay(invoice(made), 5_000)
    job()
    client.force_login(office_manager)
    with django_assert_num_queries(8):
        page = client.get(made.site.customer.get_absolute_url()).content.decode()
    # By hand: 346.40 as quoted and 108.25 of change.
    assert "$454.65" in page
    assert "received $50.00 of $103.92 invoiced" in page
    assert page.count("invoiced</td>") == 1


@pytest.mark.parametrize("count", [2, 12])
def test_pages_take_the_same_queries_however_many(client, office_manager, count, django_assert_num_queries):
    made = job()
    for at in range(count):
        found = invoice(made, amounts={"stage-1": 100 + at})
        pay(found, 50)
        pay(found, 10)
        credit(found, 20)
        signed(made.quote, line(price_cents=1_000))
    client.force_login(office_manager)
    with django_assert_num_queries(7):
        client.get(reverse("billing:invoices"))
    with django_assert_num_queries(12):
        client.get(reverse("billing:job", args=[made.pk]))
    with django_assert_num_queries(5):
        client.get(found.get_absolute_url())


def test_the_owner_s_list_shows_what_is_invoiced_and_received(client, owner):
    made, other = job(), job()
    signed(made.quote, line(price_cents=10_000))
    found = invoice(made)
    pay(found, 5_000)
    client.force_login(owner)

    [row] = [JobMargin(one.job, one) for one in margins(text=str(made.number)) if one.job_id == made.pk]
    # By hand: the price is 320.00 and 100.00 of change; of the deposit of 103.92, 96.00 are before tax.
    assert (row.invoiced_cents, row.to_invoice_cents, row.received_cents) == (9_600, 32_400, 5_000)
    totals, _bands = summary(margins(stage=""))
    assert (totals.invoiced_cents, totals.received_cents) == (9_600, 5_000)
    assert totals.to_invoice_cents == 32_400 + 32_000
    for sort in ("invoiced", "-to-invoice", "received"):
        assert len(margins(sort=sort)) == 2
    assert [one.job for one in margins(sort="-invoiced")] == [made, other]
    Job.objects.filter(pk=other.pk).update(stage="cancelled")
    assert [one.job for one in margins(stage="", show="to-invoice")] == [made]
    lines = b"".join(client.get(reverse("margins:export")).streaming_content).decode().splitlines()
    assert "Invoiced,To invoice,Received with sales tax" in lines[0]
    assert "96.00,324.00,50.00" in lines[1]
    page = client.get(reverse("margins:job", args=[made.pk])).content.decode()
    assert "$324.00 to invoice" in page
    assert Ledger.objects.get(job=made).price_cents == 42_000
    assert selectors.contract_of(made).total_cents == 34_640 + 10_825

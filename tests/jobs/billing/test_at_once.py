"""Many invoice one job at once: never more than the contract, and the numbers run on."""

import uuid

import pytest
from django.core.exceptions import ValidationError

from jobs.billing import selectors, services
from jobs.billing.models import Account, Invoice, Payment
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.signing.test_at_once import at_once, crowd

from .factories import invoice, job, pay

pytestmark = pytest.mark.django_db(transaction=True)


def fresh(pk: int) -> Job:
    return Job.objects.select_related("quote", "site__customer").get(pk=pk)


def test_the_contract_is_never_passed_and_no_number_is_lost():
    made, by = job(), UserFactory()
    part = 10_392 // 5  # five fit into the deposit

    def issue(number: int) -> object:
        return services.invoice_issue(job=fresh(made.pk), amounts={"stage-1": part}, by=by, key=uuid.uuid4())

    found = at_once(issue, crowd())

    assert sum(isinstance(one, Invoice) for one in found) == 5
    assert all(isinstance(one, Invoice | ValidationError) for one in found), found
    numbers = sorted(Invoice.objects.values_list("number", flat=True))
    assert numbers == list(range(numbers[0], numbers[0] + 5))
    assert (
        Account.objects.get(job=made).invoiced_cents == selectors.contract_of(made).invoiced_cents == part * 5
    )


def test_one_press_sent_a_hundred_times_is_one_invoice():
    made, by, key = job(), UserFactory(), uuid.uuid4()

    def issue(number: int) -> object:
        return services.invoice_issue(job=fresh(made.pk), amounts={"stage-1": 500}, by=by, key=key).pk

    assert len(set(at_once(issue, crowd()))) == 1
    assert Invoice.objects.count() == 1


def test_paid_by_many_at_once_never_more_than_is_open():
    found, by = invoice(job()), UserFactory()

    def come(number: int) -> object:
        return pay(Invoice.objects.get(pk=found.pk), 4_000, by=by)

    done = at_once(come, 8)

    assert sum(isinstance(one, Payment) for one in done) == 2
    assert Account.objects.get().received_cents == 8_000


def test_a_hundred_at_once_on_postgresql(again_on_postgresql):
    again_on_postgresql(3)

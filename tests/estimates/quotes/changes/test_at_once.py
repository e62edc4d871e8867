"""A hundred people press the button at once: one signature, and the budget grows once.

As with a quote: on SQLite fewer of them, and a run on SQLite starts the hundred on a PostgreSQL of its own.
"""

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from contracting.documents.models import DocumentRequest
from estimates.quotes.changes import services
from estimates.quotes.changes.models import ChangeAcceptance, ChangeOrder, ChangeVisit
from estimates.quotes.changes.signing import CHANGE
from estimates.quotes.signing.policies import link_for_token
from jobs.margins.models import BudgetChange, BudgetStep, Ledger
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.signing.test_at_once import at_once, crowd

from .factories import draft, issued, job_of_lines, line, now, refuse, sent, sign, today

pytestmark = pytest.mark.django_db(transaction=True)


def test_everybody_presses_at_once_and_the_budget_grows_once():
    job = job_of_lines()
    before = Ledger.objects.get(job=job)
    _link, token = sent(issued(job.quote))
    posted = {"consents": "on", "kind": "typed", "drawing": ""}

    def press(number: int) -> object:
        address = reverse("change-signing:sign", args=[token])
        answer = Client().post(address, posted | {"name": f"Ada {number}"})
        return answer.status_code, answer.headers.get("Location")

    found = at_once(press, crowd())

    assert set(found) == {(302, reverse("change-signing:order", args=[token]))}
    assert ChangeOrder.objects.get().signed_name == ChangeAcceptance.objects.get().name
    assert BudgetChange.objects.count() == 1
    assert BudgetStep.objects.filter(change__isnull=False).count() == 1
    assert Ledger.objects.get(job=job).price_cents - before.price_cents == 35_000
    assert DocumentRequest.objects.filter(kind="signed-change-order").count() == 1
    assert ChangeVisit.objects.filter(what="accepted").count() == 1


def test_many_changes_of_one_contract_signed_at_once_all_count():
    job = job_of_lines()
    before = Ledger.objects.get(job=job)
    tokens = [sent(issued(job.quote, line(price_cents=1_000 * at)))[1] for at in range(1, 9)]

    found = at_once(lambda number: sign(link_for_token(CHANGE, tokens[number])), 8)

    assert all(isinstance(one, ChangeAcceptance) for one in found), found
    # By hand: 10 + 20 + ... + 80.
    assert Ledger.objects.get(job=job).price_cents - before.price_cents == 36_000
    assert BudgetChange.objects.count() == 8


def test_deductions_signed_at_once_never_take_more_than_the_contract():
    job = job_of_lines()
    taken = job.quote.total_cents * 2 // 5
    tokens = [sent(issued(job.quote, line(sign=-1, price_cents=taken)))[1] for _ in range(6)]

    found = at_once(lambda number: sign(link_for_token(CHANGE, tokens[number])), 6)

    # Two fifths fit twice.
    assert sum(isinstance(one, ChangeAcceptance) for one in found) == 2
    assert sum(isinstance(one, ValidationError) for one in found) == 4


def test_issued_at_once_the_numbers_run_without_gap_or_double():
    job = job_of_lines()
    drafts = [draft(job.quote) for _ in range(8)]
    by = UserFactory()

    def issue(number: int) -> object:
        order = ChangeOrder.objects.select_related("quote").get(pk=drafts[number // 2].pk)
        return services.change_issue(order=order, by=by, at=now())

    found = at_once(issue, 16)

    assert sum(isinstance(one, ChangeOrder) for one in found) == 8, found
    assert sum(isinstance(one, services.DraftChangedError) for one in found) == 8, found
    numbers = ChangeOrder.objects.order_by("sequence").values_list("sequence", flat=True)
    assert list(numbers) == list(range(1, 9))


def test_signed_and_answered_otherwise_at_the_same_moment_one_answer_stands():
    order = issued(job_of_lines().quote)
    _link, token = sent(order)
    by = UserFactory()

    def fresh() -> ChangeOrder:
        return ChangeOrder.objects.select_related("quote").get(pk=order.pk)

    acts = [
        lambda: sign(link_for_token(CHANGE, token)),
        lambda: refuse(link_for_token(CHANGE, token)),
        lambda: services.change_withdraw(order=fresh(), note="", by=by),
        lambda: services.change_accept_on_paper(order=fresh(), name="Ada", signed_on=today(), by=by),
    ]
    found = at_once(lambda number: acts[number % len(acts)](), 8)

    assert all(not isinstance(one, Exception) or isinstance(one, ValidationError) for one in found), found
    status = ChangeOrder.objects.get().status
    assert BudgetChange.objects.count() == (status == "accepted")


def test_a_hundred_at_once_on_postgresql(again_on_postgresql):
    again_on_postgresql(5)

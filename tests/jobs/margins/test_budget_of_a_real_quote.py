"""From a measured bath to the budget of its job: every cent of the quote is in it, and nothing else."""

import pytest

from estimates.quotes.models import Quote
from estimates.quotes.services import quote_accept_on_paper, quote_issue
from jobs.margins.models import Budget, Ledger
from jobs.margins.standing import standing_of
from jobs.work.services import job_from_quote
from tests.estimates.quotes import factories

pytestmark = pytest.mark.django_db


def test_the_budget_holds_every_cent_of_the_quote(office_manager):
    estimate = factories.ready(travel_cents=4500)
    quote = quote_issue(estimate=estimate, by=office_manager, at=factories.AT)
    quote_accept_on_paper(
        quote=quote, name="A. Customer", signed_on=factories.DAY, by=office_manager, at=factories.AT
    )
    job = job_from_quote(quote=Quote.objects.get(pk=quote.pk), by=office_manager)
    again = job_from_quote(quote=Quote.objects.get(pk=quote.pk), by=office_manager)

    assert again == job
    budget, kept = Budget.objects.get(job=job), Ledger.objects.get(job=job)
    office = quote.snapshot["office"]
    assert kept.quoted_cost_cents == kept.budget_cents == office["cost_cents"] > 0
    assert kept.quoted_cost_cents + kept.overhead_cents == quote.cost_cents
    assert kept.price_cents == quote.price_cents == sum(row.price_cents for row in budget.steps.all())
    assert standing_of(job).margin_cents == quote.price_cents - quote.cost_cents
    needs = quote.snapshot["work"]["materials"]
    assert {row.material_key for row in budget.materials.all()} == {need["key"] for need in needs}
    assert all(row.packs_millionths % 10**6 == 0 for row in budget.materials.all())
    assert (budget.work_days or 0) >= 1

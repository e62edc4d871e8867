"""A change order from draft to budget: what stands, what is refused, what stays frozen."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction

from contracting.documents.models import DocumentRequest
from contracting.documents.rendering import render_html
from estimates.quotes.changes import selectors, services
from estimates.quotes.changes.models import ChangeAcceptance, ChangeLine, ChangeOrder, ChangeVisit
from estimates.quotes.models import Quote
from estimates.quotes.signing import services as signing
from jobs.margins.models import BudgetChange, BudgetMaterial, Ledger
from jobs.margins.standing import standing_of
from jobs.work import papers
from tests.contracting.factories import UserFactory

from . import factories
from .factories import draft, issued, job_of_lines, line, now, refuse, sent, sign, signed, today

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return job_of_lines(tax_base="everything", tax_basis_points=825)


def test_what_a_change_comes_to(job):
    order = draft(job.quote, line(), line(sign=-1, text="No accent band", price_cents=12_050, minutes=60))

    # By hand: 350.00 - 120.50 = 229.50; 8.25 % of it 18.93375, half up 18.93.
    assert (order.price_cents, order.tax_cents, order.total_cents) == (22_950, 1_893, 24_843)
    # 2 h and less 1 h at 30.00 and 32.06 % burden: 79.24 - 39.62; other costs 80.00 - 80.00.
    assert order.cost_cents == 7_924 - 3_962


def test_issued_it_is_numbered_frozen_and_printed(job):
    first, second = issued(job.quote), issued(job.quote, line(text="A bench"))

    assert [one.number for one in (first, second)] == [f"{job.quote.number} CO-1", f"{job.quote.number} CO-2"]
    assert first.document.kind == "change-order"
    paper = first.snapshot["paper"]
    assert paper["before_cents"] == job.quote.total_cents
    assert paper["after_cents"] == job.quote.total_cents + 37_888
    assert sum(one["cents"] for one in paper["payments"]) == paper["after_cents"]
    # What the customer reads holds no cost and no hours.
    html = render_html("change-order", paper)
    assert "$350.00" in html
    for secret in ("80.00", "79.24", "minutes"):
        assert secret not in html


def test_numbers_have_no_gap_when_an_issue_fails(job):
    empty = services.change_start(quote=job.quote, title="Nothing", reason="No reason.", by=UserFactory())
    with pytest.raises(ValidationError, match="nothing in this change order"):
        services.change_issue(order=empty, by=UserFactory(), at=now())
    assert issued(job.quote).sequence == 1


def test_signed_on_paper_it_adds_to_the_budget_once(job):
    before = Ledger.objects.get(job=job)
    order = signed(job.quote)

    after = Ledger.objects.get(job=job)
    # Price 350.00; cost 2 h at 39.618 and 80.00. Before sales tax, as all of a budget.
    assert after.price_cents - before.price_cents == 35_000
    assert after.budget_cents - before.budget_cents == 7_924 + 8_000
    standing = standing_of(job, after)
    # Nothing is done yet, so the whole way from the quoted margin is the change's own: scope.
    assert standing.split.whole == standing.split.scope == 35_000 - 15_924
    change = BudgetChange.objects.get()
    assert (change.key, change.work_days, change.title) == (order.key, 1, "CO-1 A niche")
    with pytest.raises(ValidationError, match="signed already"):
        services.change_accept_on_paper(
            order=ChangeOrder.objects.get(pk=order.pk), name="Ada", signed_on=today(), by=UserFactory()
        )
    assert BudgetChange.objects.count() == 1


def test_a_deduction_takes_from_price_and_budget(job):
    before = Ledger.objects.get(job=job)
    signed(job.quote, line(sign=-1, price_cents=10_000, minutes=60, other_cents=500))

    after = Ledger.objects.get(job=job)
    assert after.price_cents - before.price_cents == -10_000
    assert after.budget_cents - before.budget_cents == -3_962 - 500


def test_no_change_takes_away_more_than_the_contract(job):
    with pytest.raises(ValidationError, match="more than the contract"):
        issued(job.quote, line(sign=-1, price_cents=job.quote.total_cents + 1))
    # Two that do not fit together: the second cannot be signed.
    half = line(sign=-1, price_cents=20_000), line(sign=-1, price_cents=20_000)
    orders = [issued(job.quote, one) for one in half]
    accept = {"name": "Ada", "signed_on": today(), "by": UserFactory()}
    services.change_accept_on_paper(order=orders[0], **accept)
    with pytest.raises(ValidationError, match="more than the contract"), transaction.atomic():
        services.change_accept_on_paper(order=orders[1], **accept)
    assert ChangeOrder.objects.get(pk=orders[1].pk).status == "issued"


def test_a_change_needs_a_signed_quote(job):
    Quote.objects.filter(pk=job.quote.pk).update(status="issued")
    job.quote.refresh_from_db()
    with pytest.raises(ValidationError, match="signed quote"):
        services.change_start(quote=job.quote, title="A", reason="B", by=UserFactory())


def test_of_two_editors_the_second_is_told(job):
    order = draft(job.quote)
    values = {"title": "A", "reason": "B", "work_days": 0, "pay_when": "done"}
    mine = ChangeOrder.objects.select_related("quote").get(pk=order.pk)
    services.change_save(order=order, revision=order.revision, values=values, lines=[line()])
    with pytest.raises(services.DraftChangedError):
        services.change_save(order=mine, revision=mine.revision, values=values, lines=[line()])


def test_an_issued_change_is_frozen_by_the_database(job):
    order = issued(job.quote)
    money = {"price_cents": 1, "total_cents": 1, "tax_cents": 0}
    for values in (money, {"title": "Other"}, {"snapshot": {}}):
        with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
            ChangeOrder.objects.filter(pk=order.pk).update(**values)
    values = {"title": "A", "reason": "B", "work_days": 0, "pay_when": "done"}
    with pytest.raises(services.DraftChangedError):
        services.change_save(order=order, revision=order.revision, values=values, lines=[])
    with pytest.raises(ValidationError, match="draft"):
        services.change_discard(order=order)


@pytest.mark.parametrize(
    "values",
    [
        {"status": "lost"},
        {"pay_when": "never"},
        {"tax_cents": 5},
        {"title": ""},
        {"work_days": 400},
        {"status": "accepted"},
    ],
)
def test_the_database_keeps_each_promise_of_a_change(job, values):
    order = draft(job.quote)
    with pytest.raises(IntegrityError), transaction.atomic():
        ChangeOrder.objects.filter(pk=order.pk).update(**values)


@pytest.mark.parametrize(
    "values",
    [
        {"text": ""},
        {"sign": 0},
        {"quantity_millionths": 0},
        {"price_cents": 10**11},
        {"material_key": "m1", "packs_millionths": 0},
    ],
)
def test_the_database_keeps_each_promise_of_a_line(job, values):
    order = draft(job.quote)
    with pytest.raises(IntegrityError), transaction.atomic():
        ChangeLine.objects.filter(order=order).update(**values)


def test_declined_with_a_reason_and_revised_by_a_new_one(job):
    order = issued(job.quote)
    with pytest.raises(ValidationError, match="why"):
        services.change_decline(order=order, declined_on=today(), reason=" ", by=UserFactory())
    services.change_decline(order=order, declined_on=today(), reason="Too dear.", by=UserFactory())

    again = services.change_revise(order=order, by=UserFactory())
    assert services.change_revise(order=order, by=UserFactory()) == again
    assert [one.text for one in again.lines.all()] == ["Niche in the shower wall"]
    made = services.change_issue(order=again, by=UserFactory(), at=now())
    order.refresh_from_db()
    assert (order.status, order.answer_note) == ("superseded", "Too dear.")
    assert made.snapshot["paper"]["replaces"] == order.number
    assert made.sequence == 2


def test_a_signed_change_is_not_revised_and_one_that_was_signed_is_not_replaced(job):
    order = issued(job.quote)
    again = services.change_revise(order=order, by=UserFactory())
    services.change_accept_on_paper(order=order, name="Ada", signed_on=today(), by=UserFactory())
    with pytest.raises(ValidationError, match="not signed"):
        services.change_revise(order=order, by=UserFactory())
    with pytest.raises(ValidationError, match="signed or replaced"):
        services.change_issue(order=again, by=UserFactory(), at=now())


def test_the_days_of_an_answer_have_to_be_possible(job):
    order = issued(job.quote)
    for day in (today() - datetime.timedelta(days=5), today() + datetime.timedelta(days=2)):
        with pytest.raises(ValidationError, match="expected a day from the issue"):
            services.change_accept_on_paper(order=order, name="Ada", signed_on=day, by=UserFactory())


def test_named_materials_join_the_purchase_list_and_hours_the_crew_s_page():
    job = factories.job_of_rooms()
    tile = next(one for one in job.quote.snapshot["work"]["materials"] if one["role"] == "tile")
    extra = line(
        text="Tile the hearth as well",
        material_key=tile["key"],
        material_name=tile["name"],
        pack_label=tile["pack"],
        packs_millionths=2_000_000,
        material_cents=9_000,
    )
    before = BudgetMaterial.objects.get(budget__job=job, material_key=tile["key"])
    signed(job.quote, extra)

    now_listed = {one["key"]: one for one in papers.work_of(job)["materials"]}
    assert float(now_listed[tile["key"]]["packs"]) == float(tile["packs"]) + 2
    rows = BudgetMaterial.objects.filter(budget__job=job, material_key=tile["key"]).exclude(pk=before.pk)
    assert [(row.packs_millionths, row.cost_cents) for row in rows] == [(2_000_000, 9_000)]
    [change] = papers.work_of(job)["changes"]
    assert change["lines"][0]["minutes"] == 120
    assert "cents" not in str(change)


# --- By a private link ------------------------------------------------------------------------------------


def test_signed_by_a_link_with_the_evidence(job):
    link, _token = sent(issued(job.quote))
    acceptance = sign(link)

    assert sign(link, name="Somebody else") == acceptance
    order = ChangeOrder.objects.get()
    assert (order.status, order.signed_name, order.recorded_by) == ("accepted", "Ada Lowell", None)
    assert acceptance.paper_sha256 == signing.paper_sha256(order)
    assert "covers change order" in acceptance.consent_text
    assert acceptance.document.kind == "signed-change-order"
    assert "Ada Lowell" in render_html("signed-change-order", acceptance.document.snapshot)
    assert BudgetChange.objects.count() == 1
    assert ChangeVisit.objects.filter(what="accepted").count() == 1
    with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
        ChangeAcceptance.objects.update(name="Eve")


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"consents": False}, "Agree to sign electronically"),
        ({"name": " "}, "full name"),
        ({"kind": "drawn", "drawing": "M1 1"}, "could not be read"),
    ],
)
def test_what_is_not_complete_is_not_signed(job, values, sentence):
    link, _token = sent(issued(job.quote))
    with pytest.raises(ValidationError, match=sentence):
        sign(link, **values)
    assert not ChangeAcceptance.objects.exists()


def test_a_closed_link_and_a_past_day_sign_nothing(job):
    order = issued(job.quote)
    link, _token = sent(order)
    signing.link_revoke(link=link, by=UserFactory())
    with pytest.raises(ValidationError, match="closed"):
        sign(link)
    other, _token = sent(order)
    with pytest.raises(ValidationError, match="closed"):
        sign(other, at=now() + datetime.timedelta(days=60))
    refuse(other)
    assert ChangeOrder.objects.get().answer_note == "No."
    with pytest.raises(ValidationError, match="still valid"):
        sent(ChangeOrder.objects.get())


def test_only_the_hash_of_a_token_is_kept(job):
    link, token = sent(issued(job.quote))
    assert token not in str(vars(link))
    assert len(token) >= 43


def test_the_contract_sum_counts_signed_changes_only(job):
    signed(job.quote)
    issued(job.quote, line(price_cents=10_000))
    draft(job.quote, line(price_cents=99_000))
    found = selectors.contract_sum(job.quote, selectors.orders_of(job.quote))

    # By hand: 350.00 and 8.25 %, 28.875 half up 28.88; 100.00 and 8.25.
    assert (found.changed_cents, found.waiting_cents) == (37_888, 10_825)
    assert found.total_cents == job.quote.total_cents + 37_888
    assert sum(stage.cents for stage in selectors.payments_of(job.quote)) == found.total_cents


def test_its_paper_is_made_again_from_what_was_frozen(job):
    order = issued(job.quote)
    DocumentRequest.objects.filter(pk=order.document_id).delete()
    order.refresh_from_db()
    assert order.document is None
    document = services.change_paper_again(order=order, by=UserFactory())
    assert document.snapshot == order.snapshot["paper"]

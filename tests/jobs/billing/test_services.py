"""Invoices from the signed payments to the last cent: numbers, credits, retainage, payments."""

import datetime
import random
import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction

from contracting.documents.rendering import render_html
from jobs.billing import selectors, services
from jobs.billing.models import Account, Invoice, InvoiceLine, Payment
from jobs.billing.selectors import State
from jobs.work.models import Job
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.changes.factories import line, signed, today
from tests.jobs.inspections.factories import job as another_job

from .factories import credit, days_ago, invoice, job, pay

pytestmark = pytest.mark.django_db


def standing(found: Invoice, on: datetime.date | None = None):
    row = selectors.with_sums(Invoice.objects.filter(pk=found.pk)).get()
    return selectors.standing(row, on or today())


@pytest.fixture
def made():
    return job()


def test_the_contract_by_hand(made):
    """200.00 of cost, 12 % overhead, 30 % margin: 320.00; 8.25 % is 26.40. Deposit 30 % of 346.40."""
    contract = selectors.contract_of(made)
    assert (contract.total_cents, contract.tax_cents) == (34_640, 2_640)
    assert [(row.stage.key, row.stage.cents) for row in contract.rows] == [
        ("stage-1", 10_392),
        ("balance", 24_248),
    ]


def test_deposit_and_balance_make_the_contract_exactly(made):
    first, second = invoice(made), invoice(made)

    # By hand: 26.40 x 103.92 / 346.40 = 7.92; the rest of the tax is 18.48.
    assert (first.total_cents, first.tax_cents, first.price_cents) == (10_392, 792, 9_600)
    assert (second.total_cents, second.tax_cents, second.price_cents) == (24_248, 1_848, 22_400)
    account = Account.objects.get(job=made)
    assert (account.invoiced_cents, account.invoiced_price_cents) == (34_640, 32_000)
    with pytest.raises(ValidationError, match="More than is left"):
        invoice(made, amounts={"balance": 1})


def test_numbers_run_without_a_gap_and_a_refusal_takes_none(made):
    numbers = [invoice(made, amounts={"stage-1": 1_000}).number]
    for refused in ({"stage-1": 99_999_999}, {}, {"nothing": 5}, {"balance": -5}):
        with pytest.raises(ValidationError), transaction.atomic():
            invoice(made, amounts=refused)
    numbers.append(invoice(made, amounts={"stage-1": 1_000}).number)
    numbers.append(credit(Invoice.objects.get(number=numbers[0])).number)
    numbers.append(invoice(made, amounts={"balance": 700}).number)
    assert numbers == list(range(numbers[0], numbers[0] + 4))


def test_pressed_twice_it_is_one_invoice(made):
    key = uuid.uuid4()
    assert invoice(made, key=key) == invoice(made, amounts={"stage-1": 10_392}, key=key)
    assert Invoice.objects.count() == 1


def test_a_form_sent_again_with_other_values_is_refused_and_not_called_recorded(made):
    """Somebody goes back in the browser and types the next one into the old form."""
    key, other = uuid.uuid4(), uuid.uuid4()
    found = invoice(made, amounts={"stage-1": 5_000}, key=key)
    paid = pay(found, 1_000, key=other)

    with pytest.raises(ValidationError, match="with other values"):
        invoice(made, amounts={"stage-1": 5_000, "balance": 5}, key=key)
    with pytest.raises(ValidationError, match="with other values"):
        services.retainage_release(job=made, by=UserFactory(), key=key)
    with pytest.raises(ValidationError, match="with other values"):
        credit(found, 100, key=key)
    with pytest.raises(ValidationError, match="with other values"):
        pay(found, 500, key=other)
    with pytest.raises(ValidationError, match="with other values"):
        pay(invoice(made, amounts={"stage-1": 1_000}), 1_000, key=other)
    assert pay(found, 1_000, key=other) == paid


def test_a_key_of_one_job_makes_nothing_of_another(made):
    key = uuid.uuid4()
    invoice(made, amounts={"stage-1": 5_000}, key=key)
    by = UserFactory()

    with pytest.raises(ValidationError, match="with other values"):
        services.invoice_issue(job=another_job(), amounts={"stage-1": 5_000}, by=by, key=key)


def test_a_signed_change_adds_to_what_can_be_invoiced(made):
    invoice(made)
    invoice(made)
    signed(made.quote, line(price_cents=10_000), pay_when="done")
    rows = {row.stage.key: row.rest_cents for row in selectors.contract_of(made).rows if row.rest_cents}
    # By hand: 100.00 and 8.25 % of it.
    assert list(rows.values()) == [10_825]
    last = invoice(made)
    assert (last.price_cents, last.tax_cents) == (10_000, 825)
    assert last.snapshot["changes"][0]["cents"] == 10_825
    assert selectors.contract_of(made).rest_cents == 0


def test_a_small_invoice_after_a_taxed_change_has_a_tax_of_its_own_size():
    """Labour of 324.68 bears no tax where materials alone do; then material for 200.00 is added."""
    made = job(tax_base="materials")
    invoice(made)
    signed(made.quote, line(price_cents=20_000, is_material=True))
    contract = selectors.contract_of(made)

    small = invoice(made, amounts={"balance": 100})
    while selectors.contract_of(made).rest_cents:
        last = invoice(made)

    # By hand: 8.25 % of 200.00 is 16.50, on 536.50 less 96.00 invoiced: 16.50 x 1 / 440.50 = 0.037, so 0.04.
    assert (contract.total_cents, contract.tax_cents) == (53_650, 1_650)
    assert (small.total_cents, small.tax_cents) == (100, 4)
    assert small.tax_cents + last.tax_cents == 1_650


def test_a_deduction_after_all_is_invoiced_asks_for_a_credit_note(made):
    invoice(made)
    second = invoice(made)
    signed(made.quote, line(sign=-1, price_cents=10_000))
    assert selectors.contract_of(made).rest_cents == -10_825
    note = credit(second, 10_825, reason="The bench was left out.")
    contract = selectors.contract_of(made)
    assert contract.rest_cents == 0
    # The tax of all that stands invoiced is the contract's own.
    assert contract.invoiced_tax_cents == contract.tax_cents
    assert (note.kind, note.credits, note.total_cents) == ("credit", second, -10_825)


def test_a_credit_note_takes_back_and_can_be_invoiced_again(made):
    first = invoice(made)
    with pytest.raises(ValidationError, match="why"):
        credit(first, reason=" ")
    with pytest.raises(ValidationError, match="up to"):
        credit(first, first.total_cents + 1)
    part = credit(first, 3_333)
    rest = credit(first)
    assert part.total_cents + rest.total_cents == -first.total_cents
    assert part.tax_cents + rest.tax_cents == -first.tax_cents
    with pytest.raises(ValidationError):
        credit(first)
    with pytest.raises(ValidationError, match="Only an invoice"):
        credit(part)
    assert standing(first).state is State.CREDITED
    assert invoice(made).total_cents == first.total_cents


def test_retainage_is_held_and_released(made):
    services.terms_set(job=made, retainage_basis_points=1000, due_days=30)
    first, second = invoice(made), invoice(made)
    # By hand: 10 % of 103.92 is 10.392, so 10.39; of 242.48 it is 24.248, so 24.25.
    assert (first.retained_cents, second.retained_cents) == (1_039, 2_425)
    assert first.payable_cents == 10_392 - 1_039
    assert Account.objects.get(job=made).retained_cents == 3_464
    assert first.due_on == first.issued_on + datetime.timedelta(days=30)

    key = uuid.uuid4()
    by = UserFactory()
    release = services.retainage_release(job=made, by=by, key=key)
    assert services.retainage_release(job=made, by=by, key=key) == release
    assert (release.kind, release.total_cents, release.payable_cents) == ("release", 0, 3_464)
    assert Account.objects.get(job=made).retained_cents == 0
    with pytest.raises(ValidationError, match="Nothing is held back"):
        services.retainage_release(job=made, by=by, key=uuid.uuid4())
    # All that is to be paid is the contract.
    assert sum(one.payable_cents for one in Invoice.objects.all()) == 34_640


def test_a_credit_note_gives_back_its_share_of_the_retainage(made):
    services.terms_set(job=made, retainage_basis_points=1000, due_days=14)
    first = invoice(made)
    credit(first)
    assert standing(first).open_cents == 0
    assert Account.objects.get(job=made).retained_cents == 0


def test_open_partly_paid_and_overdue(made):
    found = invoice(made)
    assert standing(found).state is State.OPEN
    pay(found, 4_000)
    assert (standing(found).state, standing(found).open_cents) == (State.PARTLY, 6_392)
    late = standing(found, found.due_on + datetime.timedelta(days=3))
    assert (late.state, late.days_late) == (State.OVERDUE, 3)
    pay(found, 6_392)
    assert standing(found, found.due_on + datetime.timedelta(days=3)).state is State.PAID
    assert Account.objects.get(job=made).received_cents == 10_392


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"cents": 10_393}, "is open on this invoice"),
        ({"cents": 0}, "how much came"),
        ({"cents": -5}, "is open on this invoice"),
        ({"cents": 5, "received_on": datetime.date(2020, 1, 1)}, "from the issue"),
        ({"cents": 5, "received_on": datetime.date(2999, 1, 1)}, "from the issue"),
    ],
)
def test_a_payment_that_cannot_be_is_refused_in_words(made, values, sentence):
    found = invoice(made)
    given = dict(values)
    with pytest.raises(ValidationError) as refused:
        pay(found, given.pop("cents"), **given)
    assert sentence in " ".join(refused.value.messages)


def test_a_payment_is_corrected_by_superseding_it(made):
    found = invoice(made)
    first = pay(found, 1_000)
    second = pay(found, 2_000, supersedes=first)
    assert standing(found).paid_cents == 2_000
    with pytest.raises(ValidationError, match="corrected already"):
        pay(found, 3_000, supersedes=first)
    pay(found, 0, supersedes=second)
    assert standing(found).paid_cents == 0
    assert Payment.objects.count() == 3
    key = uuid.uuid4()
    assert pay(found, 10, key=key) == pay(found, 10, key=key)
    assert Payment.objects.count() == 4


def test_a_payment_recorded_too_large_is_corrected_after_a_credit_note_too(made):
    found = invoice(made)
    wrong = pay(found, 10_392)
    credit(found)

    right = pay(found, 5_000, supersedes=wrong)

    assert standing(found).open_cents == -5_000
    with pytest.raises(ValidationError):
        pay(found, 5_001, supersedes=right)


def test_what_was_paid_and_credited_is_paid_back(made):
    found = invoice(made)
    pay(found, 10_392)
    credit(found)
    assert (standing(found).state, standing(found).open_cents) == (State.TO_REFUND, -10_392)
    with pytest.raises(ValidationError, match="to be paid back"):
        pay(found, -10_393)
    pay(found, -10_392, way="transfer")
    assert standing(found).open_cents == 0
    assert Account.objects.get(job=made).received_cents == 0


def test_an_invoice_is_not_issued_tomorrow_nor_due_before_it_is_issued(made):
    with pytest.raises(ValidationError, match="a day to come"):
        invoice(made, issued_on=today() + datetime.timedelta(days=2))
    with pytest.raises(ValidationError, match="before it is issued"):
        invoice(made, issued_on=today(), due_on=days_ago(1))


def test_the_paper_says_what_the_contract_comes_to(made):
    services.terms_set(job=made, retainage_basis_points=1000, due_days=14)
    found = invoice(made)
    html = render_html("invoice", found.snapshot)
    for amount in ("$103.92", "$7.92", "$96.00", "−$10.39", "$93.53", "$346.40", "$242.48"):
        assert amount in html, amount
    assert "$320.00" not in html  # no cost and no margin: the price of the whole is the contract's
    assert "200.00" not in html
    note = credit(found, reason="Sent too early.")
    assert "Sent too early." in render_html("invoice", note.snapshot)
    assert found.document.kind == "invoice"
    assert found.document.filename == f"INV-{found.number}.pdf"


def test_the_database_keeps_what_was_issued_and_paid(made):
    found = invoice(made)
    pay(found, 500)
    acts = [
        lambda: Invoice.objects.filter(pk=found.pk).update(total_cents=1, price_cents=1, tax_cents=0),
        lambda: Invoice.objects.filter(pk=found.pk).update(due_on=days_ago(-90)),
        lambda: InvoiceLine.objects.update(cents=1),
        lambda: Payment.objects.update(amount_cents=1),
    ]
    for act in acts:
        with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
            act()
    Invoice.objects.filter(pk=found.pk).update(document=None)


@pytest.mark.parametrize(
    "values",
    [
        {"kind": "other"},
        {"total_cents": 0, "price_cents": 0, "tax_cents": 0},
        {"total_cents": 5},
        {"retained_cents": 999_999},
        {"due_on": datetime.date(2000, 1, 1)},
        {"kind": "credit", "total_cents": -5, "price_cents": -5, "tax_cents": 0},
    ],
)
def test_the_database_keeps_each_promise_of_an_invoice(made, values):
    found = invoice(made)
    found.pk = None
    given = {"key": uuid.uuid4(), "number": 999_999, "credits": None} | values
    for name, value in given.items():
        setattr(found, name, value)
    with pytest.raises(IntegrityError), transaction.atomic():
        found.save(force_insert=True)


def test_the_totals_are_those_added_up_again(made):
    """A long way of invoices, credits and payments: the account keeps what the rows say."""
    chance = random.Random(11)
    services.terms_set(job=made, retainage_basis_points=750, due_days=14)
    for _ in range(40):
        open_rows = [row for row in selectors.contract_of(made).rows if row.rest_cents > 0]
        invoices = list(Invoice.objects.filter(kind="invoice"))
        what = chance.random()
        if what < 0.5 and open_rows:
            row = chance.choice(open_rows)
            invoice(made, amounts={row.stage.key: chance.randint(1, row.rest_cents)})
        elif what < 0.65 and invoices:
            found = chance.choice(invoices)
            left = services._left(found)["total"]
            if left:
                credit(found, chance.randint(1, left))
        elif invoices:
            found = chance.choice(invoices)
            rest = standing(found).open_cents
            if rest > 0:
                pay(found, chance.randint(1, rest))
    account = Account.objects.get(job=made)
    contract = selectors.contract_of(made)
    assert account.invoiced_cents == contract.invoiced_cents <= contract.total_cents
    assert account.retained_cents == contract.retained_cents >= 0
    paid = sum(one.amount_cents for one in Payment.objects.filter(superseded_by=None))
    assert account.received_cents == paid
    while selectors.contract_of(made).rest_cents:
        invoice(made)
    done = selectors.contract_of(made)
    assert (done.invoiced_cents, done.invoiced_tax_cents) == (done.total_cents, done.tax_cents)


def test_ages_and_what_is_ready():
    made = job()
    assert [account.job for account in selectors.ready_to_invoice()] == [made]
    found = invoice(made, issued_on=days_ago(2), due_on=days_ago(2))
    assert [one.invoice for one in selectors.overdue(today())] == [found]
    ages = selectors.ages(found.due_on + datetime.timedelta(days=45))
    assert [(age.days, age.cents) for age in ages if age.count] == [((31, 60), 10_392)]
    assert not selectors.ready_to_invoice()
    Job.objects.filter(pk=made.pk).update(stage="complete", starts_on=days_ago(3))
    assert [account.job for account in selectors.ready_to_invoice()] == [made]

"""A discount takes off the price and never off the cost, and the tax on materials falls with it."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from contracting.documents.rendering import render_html
from estimates.quotes import services
from estimates.quotes.models import Estimate, EstimateLine
from estimates.quotes.pricing import Asked, Detail, HandLine, Kind, TaxBase, Terms, price
from jobs.margins.services import plan_of
from tests.contracting.factories import UserFactory

from .factories import AT, company, estimate_of

D = Decimal


def lines(*amounts: tuple[str, bool]) -> Asked:
    """Hand-written lines of a price each, costing half of it; True: a material."""
    hand = tuple(
        HandLine(str(at), "", "tile", f"Line {at}", D(1), "", D(amount) / 2, D(amount), is_material)
        for at, (amount, is_material) in enumerate(amounts)
    )
    return Asked(rooms=(), hand=hand)


def terms(**values: object) -> Terms:
    given = {"tax_base": TaxBase.MATERIALS, "tax_rate": D("0.0825")} | values
    return Terms("USD", None, overhead=D(0), profit=D(0), **given)  # type: ignore[arg-type]


def off(priced) -> list[int]:
    return [line.price_cents for line in priced.lines if line.kind is Kind.DISCOUNT]


def test_ten_per_cent_by_hand():
    """Materials 200.00 and work 333.35: 20.00 and 33.335, half up 33.34. Tax: 8.25 % of 180.00 is 14.85.

    A document-level allowance lowers the taxable amount of its category (EN 16931, BR-CO-13 and BR-S-08).
    """
    priced = price(lines(("200.00", True), ("333.35", False)), terms(discount=D("0.1")))

    assert off(priced) == [-2000, -3334]
    assert priced.price_cents == 20000 + 33335 - 5334
    assert priced.tax_cents == 1485
    # The cost is what it was: half of the prices.
    assert priced.cost_cents == 10000 + 16668


def test_an_amount_by_hand():
    """50.00 off 200.00 of material and 300.00 of work: two fifths and three fifths."""
    priced = price(lines(("200.00", True), ("300.00", False)), terms(discount_amount=D(50)))

    assert off(priced) == [-2000, -3000]
    assert priced.tax_cents == 1485  # 8.25 % of 180.00


def test_the_minimum_charge_holds_after_it():
    priced = price(lines(("500.00", False)), terms(discount=D("0.5"), minimum_charge=D(400)))
    assert priced.price_cents == 40000


def test_more_than_the_whole_price_is_a_problem():
    priced = price(lines(("50.00", False)), terms(discount_amount=D(60)))
    assert [problem.key for problem in priced.problems] == ["discount"]
    assert priced.price_cents == 0


@given(
    st.lists(st.tuples(st.integers(1, 10**6), st.booleans()), min_size=1, max_size=6),
    st.integers(0, 10_000),
    st.sampled_from(list(TaxBase)),
)
def test_totals_tax_and_every_detail_still_sum(amounts, basis_points, base):
    asked = lines(*((str(D(cents) / 100), is_material) for cents, is_material in amounts))
    priced = price(asked, terms(discount=D(basis_points) / 10_000, tax_base=base))

    assert priced.price_cents == sum(line.price_cents for line in priced.lines) >= 0
    assert sum(line.tax_cents for line in priced.lines) == priced.tax_cents
    for detail in Detail:
        assert sum(shown.price_cents for shown in priced.shown(detail)) == priced.price_cents
    for line in priced.lines:
        assert line.price_working.evaluate() == D(line.price_cents) / 100
    whole = sum(cents for cents, _is_material in amounts)
    # Two parts, each rounded once: at most a cent off the exact share.
    assert abs(-sum(off(priced)) * 10_000 - whole * basis_points) <= 10_000


@pytest.mark.django_db
@pytest.mark.parametrize("detail", ["sum", "room", "step", "line"])
def test_the_quote_shows_it_and_the_budget_keeps_its_cost(detail):
    company()
    estimate = estimate_of(0, detail=detail, discount_basis_points=1000, discount_reason="Returning customer")
    EstimateLine.objects.create(estimate=estimate, step="tile", text="Reset three tiles", cost_cents=20_000)
    quote = services.quote_issue(estimate=Estimate.objects.get(pk=estimate.pk), by=UserFactory(), at=AT)

    # By hand: 320.00 less 32.00.
    assert quote.price_cents == 28_800
    html = render_html("quote", quote.snapshot["paper"])
    assert "Discount: Returning customer" in html
    assert "−$32.00" in html
    plan = plan_of(quote.snapshot)
    assert sum(part.price_cents for part in plan.steps.values()) == 28_800
    assert sum(part.other_cents for part in plan.steps.values()) == 20_000


@pytest.mark.django_db
def test_one_discount_at_a_time(client, office_manager):
    company()
    estimate = estimate_of(0)
    with pytest.raises(IntegrityError), transaction.atomic():
        Estimate.objects.filter(pk=estimate.pk).update(discount_basis_points=500, discount_cents=500)
    estimate.discount_basis_points, estimate.discount_cents = 500, 500
    with pytest.raises(ValidationError):
        estimate.full_clean()
    client.force_login(office_manager)
    page = client.post(
        reverse("quotes:estimate", args=[estimate.pk]),
        {"revision": estimate.revision, "discount_basis_points": "5", "discount_cents": "5"},
    ).content.decode()
    assert "Give a percentage or an amount off, not both." in page


@pytest.mark.django_db
def test_every_line_shows_one_discount_though_materials_and_labour_are_taxed_apart():
    company()
    estimate = estimate_of(0, detail="line", discount_basis_points=1000, discount_reason="Returning customer")
    rows = (("Tile from the yard", 10_000, True), ("Reset three tiles", 20_000, False))
    for text, cents, is_material in rows:
        EstimateLine.objects.create(
            estimate=estimate, step="tile", text=text, cost_cents=cents, is_material=is_material
        )
    quote = services.quote_issue(estimate=Estimate.objects.get(pk=estimate.pk), by=UserFactory(), at=AT)

    # By hand: 160.00 and 320.00, less 48.00 together.
    html = render_html("quote", quote.snapshot["paper"])
    assert quote.price_cents == 43_200
    assert html.count("Discount: Returning customer") == 1
    assert "−$48.00" in html
    shown = [line["cents"] for group in quote.snapshot["paper"]["groups"] for line in group["lines"]]
    assert sum(shown) == 43_200

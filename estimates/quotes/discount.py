"""A discount: off the price and never off the cost. Materials and all else are lowered by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Origin, Round, Working

from .pricing_model import DISCOUNT_STEP, WHOLE_JOB, Kind, Line, Problem, Terms, step_label
from .profit import cents, money, shared


def discount_lines(lines: Sequence[Line], terms: Terms, problems: list[Problem]) -> list[Line]:
    """Return what is taken off *lines* as negative lines of price alone, or nothing.

    A fraction is taken of the materials and of the rest, each rounded once; an amount is shared between them
    by their prices, to the cent. More than the whole price is a problem, and takes off the whole.
    """
    materials = sum(line.price_cents for line in lines if line.is_material)
    rest = sum(line.price_cents for line in lines if not line.is_material)
    whole = materials + rest
    if not whole or not (terms.discount or terms.discount_amount):
        return []
    asked = cents(terms.discount_amount)
    if asked > whole or terms.discount > 1:
        text = phrase(gettext_noop("The discount is more than the whole price."))
        problems.append(Problem("discount", text))
    amounts = shared(min(asked, whole), [Decimal(materials), Decimal(rest)])
    parts = ((True, materials, amounts[0]), (False, rest, amounts[1]))
    return [
        line
        for is_material, price, amount in parts
        if (line := _line(price, amount, terms, is_material=is_material)).price_cents
    ]


def _line(price_cents: int, amount_cents: int, terms: Terms, *, is_material: bool) -> Line:
    label = _label(terms)
    key = "discount:materials" if is_material else "discount:rest"
    work = Working(f"price:{key}", label)
    if is_material:
        lowered = phrase(gettext_noop("Price of all materials"))
    else:
        lowered = phrase(gettext_noop("Price of all else"))
    work.given("S", lowered, money(price_cents), terms.currency, Origin.COMPUTED)
    if terms.discount:
        work.given("d", step_label(DISCOUNT_STEP), min(terms.discount, Decimal(1)), "", Origin.ENTERED)
        off = work.step("P", label, "0 - S * d", terms.currency, Round.HALF_UP, 2)
    else:
        share = phrase(gettext_noop("Its share of the discount, by price"))
        work.given("a", share, money(amount_cents), terms.currency, Origin.COMPUTED)
        off = work.step("P", label, "0 - a", terms.currency, Round.HALF_UP, 2)
    nothing = Working(f"cost:{key}", label)
    nothing.given("c", phrase(gettext_noop("Cost")), Decimal(0), terms.currency, Origin.COMPUTED)
    return Line(
        key=key,
        room=WHOLE_JOB,
        step=DISCOUNT_STEP,
        kind=Kind.DISCOUNT,
        label=label,
        quantity=None,
        unit="",
        cost_cents=0,
        full_cost_cents=0,
        price_cents=cents(off),
        cost_working=nothing.figure(),
        price_working=work.figure(),
        is_material=is_material,
        has_fixed_price=True,
    )


def _label(terms: Terms) -> Phrase:
    if terms.discount_reason:
        return phrase(gettext_noop("Discount: {reason}"), reason=terms.discount_reason)
    return step_label(DISCOUNT_STEP)

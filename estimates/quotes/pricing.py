"""From quantities and hours to a price. Pure: no database, no clock; money in is Decimal, out whole cents.

How a price comes about:

- A material costs its packs (rounded up once for the whole job) at the price of a pack on the quote's date;
  that cost is shared among the rooms by the exact quantity each needs (:func:`~.profit.shared`).
- Labour costs its hours at pay plus burden. Other costs are amounts that were entered.
- Cost with overhead is cost * (1 + overhead). The price is that over (1 - margin), or times (1 + markup).
- Each of a line's three amounts is rounded once, half up, to the cent. Every total is a sum of such lines,
  so all four ways of showing a price give the same total.
- A discount takes a share or an amount off the prices and never off the cost: materials and the rest by
  themselves, each rounded once, so that the tax on materials falls with them (:mod:`~.discount`).
- Sales tax is one multiplication over the taxed prices, rounded once (EN 16931, BR-CO-17), and is then
  shared out over those lines. The balance of the payment schedule keeps the odd cent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Figure, Origin, Round, Working

from .costs import hand_line, labour_lines, material_lines, other_line
from .discount import discount_lines
from .pricing_model import (
    MINIMUM_STEP,
    PERMITS_STEP,
    STEP_OF_ROLE,
    STEPS,
    WHOLE_JOB,
    Asked,
    Bought,
    Changed,
    Detail,
    HandLine,
    Kind,
    Labour,
    Line,
    OtherCost,
    Payment,
    Priced,
    Problem,
    ProfitRule,
    Shown,
    Stage,
    TaxBase,
    Terms,
    Worked,
    step_label,
    step_order,
)
from .profit import cents, check_margin, money, shared

__all__ = [
    "MINIMUM_STEP",
    "PERMITS_STEP",
    "STEPS",
    "STEP_OF_ROLE",
    "WHOLE_JOB",
    "Asked",
    "Bought",
    "Changed",
    "Detail",
    "HandLine",
    "Kind",
    "Labour",
    "Line",
    "OtherCost",
    "Payment",
    "Priced",
    "Problem",
    "ProfitRule",
    "Shown",
    "Stage",
    "TaxBase",
    "Terms",
    "Worked",
    "payments",
    "price",
    "step_label",
]


def price(asked: Asked, terms: Terms) -> Priced:
    """Price everything in *asked* by *terms*.

    Raises:
        DomainError: a margin of 100 % or more (``price.margin-all``).
    """
    if terms.profit_rule is ProfitRule.MARGIN:
        check_margin(terms.profit)
    problems: list[Problem] = []
    lines = [
        *material_lines(asked, terms, problems),
        *labour_lines(asked, terms, problems),
        *(other_line(other, terms) for other in asked.other if other.cost),
        *(hand_line(hand, terms) for hand in asked.hand),
    ]
    lines = [_with_price(line, terms, asked.prices) for line in _ordered(lines, asked.rooms)]
    lines += discount_lines(lines, terms, problems)
    lines += _minimum(lines, terms)
    lines, taxed, tax = _taxed(lines, terms)
    total = sum(line.price_cents for line in lines) + cents(tax.value)
    return Priced(
        lines=tuple(lines),
        cost_cents=sum(line.cost_cents for line in lines),
        full_cost_cents=sum(line.full_cost_cents for line in lines),
        price_cents=sum(line.price_cents for line in lines),
        tax_cents=cents(tax.value),
        taxed_cents=taxed,
        tax_working=tax,
        payments=payments(total, terms),
        problems=tuple(problems),
        rooms=asked.rooms,
    )


def payments(total_cents: int, terms: Terms) -> tuple[Payment, ...]:
    """Return deposit, stages and balance; the balance is what remains, odd cents included.

    >>> terms = Terms("USD", None, Decimal(0), Decimal(0), deposit=Decimal("0.3333"))
    >>> [payment.cents for payment in payments(10001, terms)]
    [3333, 6668]
    """
    parts = [(phrase(gettext_noop("On acceptance")), terms.deposit)]
    parts += [(Phrase("{due}", {"due": stage.due}), stage.share) for stage in terms.stages]
    due = [Payment(label, cents(money(total_cents) * share)) for label, share in parts if share]
    # Each part is rounded, so together they can pass the total by a cent; the last part gives it back.
    over = sum(payment.cents for payment in due) - total_cents
    if due and over > 0:
        due[-1] = replace(due[-1], cents=due[-1].cents - over)
    rest = total_cents - sum(payment.cents for payment in due)
    if rest:
        due.append(Payment(phrase(gettext_noop("On completion")), rest))
    return tuple(due)


def _with_price(line: Line, terms: Terms, changes: Mapping[str, Changed]) -> Line:
    work = Working(f"price:{line.key}", phrase(gettext_noop("Price of {line}"), line=line.label))
    currency = terms.currency
    work.given("c", phrase(gettext_noop("Cost")), money(line.cost_cents), currency, Origin.COMPUTED)
    work.given("v", phrase(gettext_noop("Overhead on cost")), terms.overhead, "", Origin.ENTERED)
    full = work.step(
        "C", phrase(gettext_noop("Cost with overhead")), "c * (1 + v)", currency, Round.HALF_UP, 2
    )
    line = replace(line, full_cost_cents=cents(full))
    changed = changes.get(line.key)
    if changed:
        source = phrase(gettext_noop("set by hand: {reason}"), reason=changed.reason)
        work.given(
            "a", phrase(gettext_noop("Price set by hand")), changed.value, currency, Origin.ENTERED, source
        )
        amount = work.step("P", phrase(gettext_noop("Price")), "a", currency, Round.HALF_UP, 2)
        line = replace(line, changed=(*line.changed, changed.reason))
    elif line.has_fixed_price:
        return line
    elif terms.profit_rule is ProfitRule.MARGIN:
        work.given("m", phrase(gettext_noop("Margin of the price")), terms.profit, "", Origin.ENTERED)
        amount = work.step("P", phrase(gettext_noop("Price")), "C / (1 - m)", currency, Round.HALF_UP, 2)
    else:
        work.given("u", phrase(gettext_noop("Markup on cost")), terms.profit, "", Origin.ENTERED)
        amount = work.step("P", phrase(gettext_noop("Price")), "C * (1 + u)", currency, Round.HALF_UP, 2)
    return replace(line, price_cents=cents(amount), price_working=work.figure())


def _minimum(lines: Sequence[Line], terms: Terms) -> list[Line]:
    """Return the line that lifts the job to the minimum charge, or nothing."""
    reached = money(sum(line.price_cents for line in lines))
    if not lines or reached >= terms.minimum_charge:
        return []
    work = Working("price:minimum", step_label(MINIMUM_STEP))
    work.given("M", step_label(MINIMUM_STEP), terms.minimum_charge, terms.currency, Origin.ENTERED)
    work.given("S", phrase(gettext_noop("Sum of all lines")), reached, terms.currency, Origin.COMPUTED)
    lift = work.step(
        "P", phrase(gettext_noop("Lift to the minimum")), "M - S", terms.currency, Round.HALF_UP, 2
    )
    nothing = Working("cost:minimum", step_label(MINIMUM_STEP))
    nothing.given("c", phrase(gettext_noop("Cost")), Decimal(0), terms.currency, Origin.COMPUTED)
    return [
        Line(
            key="minimum",
            room=WHOLE_JOB,
            step=MINIMUM_STEP,
            kind=Kind.MINIMUM,
            label=step_label(MINIMUM_STEP),
            quantity=None,
            unit="",
            cost_cents=0,
            full_cost_cents=0,
            price_cents=cents(lift),
            cost_working=nothing.figure(),
            price_working=work.figure(),
        )
    ]


def _taxed(lines: Sequence[Line], terms: Terms) -> tuple[list[Line], int, Figure]:
    """Return the lines with their part of the tax, the taxed sum in cents, and the tax's working."""
    is_taxed = [
        terms.tax_base is TaxBase.EVERYTHING or (terms.tax_base is TaxBase.MATERIALS and line.is_material)
        for line in lines
    ]
    taxed = sum(line.price_cents for line, yes in zip(lines, is_taxed, strict=True) if yes)
    labels = {
        TaxBase.NONE: phrase(gettext_noop("Taxed: nothing")),
        TaxBase.MATERIALS: phrase(gettext_noop("Taxed: the prices of all materials")),
        TaxBase.EVERYTHING: phrase(gettext_noop("Taxed: the whole price")),
    }
    work = Working("tax", phrase(gettext_noop("Sales tax")))
    work.given("B", labels[terms.tax_base], money(taxed), terms.currency, Origin.COMPUTED)
    work.given("r", phrase(gettext_noop("Sales tax rate")), terms.tax_rate, "", Origin.ENTERED)
    tax = work.step("t", phrase(gettext_noop("Sales tax")), "B * r", terms.currency, Round.HALF_UP, 2)
    # A discount has lowered the taxed sum; no line carries less than nothing of the tax.
    weights = [
        Decimal(max(line.price_cents, 0) if yes else 0) for line, yes in zip(lines, is_taxed, strict=True)
    ]
    parts = shared(cents(tax), weights) if lines else []
    return (
        [replace(line, tax_cents=part) for line, part in zip(lines, parts, strict=True)],
        taxed,
        work.figure(),
    )


def _ordered(lines: Sequence[Line], rooms: tuple[tuple[str, str], ...]) -> list[Line]:
    room_rank = {key: number for number, (key, _) in enumerate(rooms)}
    step_rank = {step: number for number, step in enumerate(step_order(lines))}
    kinds = list(Kind)
    return sorted(
        lines,
        key=lambda line: (
            room_rank.get(line.room, len(room_rank)),
            step_rank[line.step],
            kinds.index(line.kind),
        ),
    )

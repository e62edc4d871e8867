"""Margin and markup, and how an amount is shared out in whole cents. Pure arithmetic.

margin = (price - cost) / price and markup = (price - cost) / cost, so the same price has both: a markup of
25 % is a margin of 20 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from contracting.money import half_up
from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import gettext_noop, phrase

CENT = Decimal("0.01")
ONE = Decimal(1)


def cents(amount: Decimal) -> int:
    """Return *amount* (in the currency) as whole cents, half up.

    >>> cents(Decimal("61.68825"))
    6169
    """
    return half_up(amount * 100)


def money(amount_cents: int) -> Decimal:
    """Return whole cents as an amount in the currency with two decimals."""
    return Decimal(amount_cents).scaleb(-2)


def margin_of(price: Decimal, cost: Decimal) -> Decimal | None:
    """Return the margin as a fraction of the price; None when nothing is asked for."""
    return (price - cost) / price if price else None


def markup_of(price: Decimal, cost: Decimal) -> Decimal | None:
    """Return the markup as a fraction of the cost; None when it costs nothing."""
    return (price - cost) / cost if cost else None


def markup_for_margin(margin: Decimal) -> Decimal:
    """Return the markup that gives *margin* (both fractions).

    Raises:
        DomainError: rule ``price.margin-all``: at a margin of 100 % the price would be without end.

    >>> markup_for_margin(Decimal("0.2"))
    Decimal('0.25')
    """
    check_margin(margin)
    return margin / (ONE - margin)


def margin_for_markup(markup: Decimal) -> Decimal:
    """Return the margin that *markup* gives (both fractions, markup >= 0).

    >>> margin_for_markup(Decimal("0.25"))
    Decimal('0.2')
    """
    return markup / (ONE + markup)


def check_margin(margin: Decimal) -> None:
    """Refuse a margin of the whole price or more (rule ``price.margin-all``)."""
    if margin >= ONE:
        raise DomainError(
            phrase(
                gettext_noop(
                    "A margin of {percent} % leaves no price that covers the cost; say less than 100 %."
                ),
                percent=f"{margin * 100:f}",
            ),
            rule="price.margin-all",
            margin=margin,
        )


def shared(total_cents: int, weights: Sequence[Decimal]) -> list[int]:
    """Share whole cents by *weights*; the parts sum to the total exactly.

    Largest remainder: each gets the whole cents of its exact share, and the cents left over go one by one
    to the largest remainders, the earlier of equals first. Without any weight the first gets all.

    Args:
        total_cents: >= 0.
        weights: each >= 0, at least one of them.

    >>> shared(100, [Decimal(1), Decimal(1), Decimal(1)])
    [34, 33, 33]
    """
    whole = sum(weights, Decimal(0))
    if not whole:
        return [total_cents] + [0] * (len(weights) - 1)
    # Scaled to whole numbers, since quotients such as 1/3 would leave a remainder to chance.
    exponent = min(int(weight.as_tuple().exponent) for weight in weights)
    scaled = [int(weight.scaleb(-exponent)) if exponent < 0 else int(weight) for weight in weights]
    denominator = sum(scaled)
    parts = [total_cents * part // denominator for part in scaled]
    remainders = [total_cents * part % denominator for part in scaled]
    order = sorted(range(len(parts)), key=lambda index: (-remainders[index], index))
    for index in order[: total_cents - sum(parts)]:
        parts[index] += 1
    return parts

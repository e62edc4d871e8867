"""A change order's money, and what the contract comes to with it. Pure: whole cents in, whole cents out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from contracting.money import half_up

MILLION = 10**6
BALANCE = "balance"
# What the last payment is called in a quote (``pricing.payments``).
ON_COMPLETION = "On completion"


@dataclass(frozen=True)
class Sums:
    """What a change adds (above nothing) or takes away: price, the taxed part of it, tax, cost, minutes."""

    price_cents: int = 0
    taxed_cents: int = 0
    tax_cents: int = 0
    cost_cents: int = 0
    minutes: int = 0

    @property
    def total_cents(self) -> int:
        return self.price_cents + self.tax_cents


@dataclass(frozen=True)
class Stage:
    """A payment of the contract: *key* names it for good, *due* is a stored phrase."""

    key: str
    due: Mapping[str, Any]
    cents: int


def amount_cents(sign: int, quantity_millionths: int, each_cents: int) -> int:
    """Return a line's signed amount, rounded once.

    >>> amount_cents(-1, 2_500_000, 1999)
    -4998
    """
    return sign * half_up(Decimal(quantity_millionths) * each_cents / MILLION)


def labour_cost_cents(minutes: int, labour: Mapping[str, Any] | None) -> int:
    """Return what *minutes* cost at the frozen pay and burden of a quote's terms.

    >>> labour_cost_cents(90, {"pay": "30.00", "burden": "0.3206"})
    5943
    """
    if labour is None:
        return 0
    hour = Decimal(labour["pay"]) * (1 + Decimal(labour["burden"])) * 100
    return half_up(hour * minutes / 60)


def tax_on(taxed_cents: int, basis_points: int) -> int:
    """Return the sales tax on a signed taxed sum: one multiplication, rounded once (EN 16931, BR-CO-17).

    >>> tax_on(-10006, 825)
    -825
    """
    return half_up(Decimal(taxed_cents) * basis_points / 10_000)


def taxed_part(price_cents: int, tax_base: str, *, is_material: bool) -> int:
    """Return how much of a line's price is taxed by the site's rule."""
    return price_cents if tax_base == "everything" or (tax_base == "materials" and is_material) else 0


def schedule(stages: Sequence[Stage], changes: Iterable[tuple[str, Stage]]) -> list[Stage]:
    """Return the payments of a contract with its signed changes; they sum to the contract.

    Args:
        stages: those of the quote, the balance last (:func:`stages_of` sees to it).
        changes: (``balance``, ``signing`` or ``done``; the change as a stage), in the order of signing.

    An addition is paid with the balance or as a payment of its own, as agreed; a deduction always comes off
    the balance, and what is more than the balance off the payments before it.
    """
    changes = list(changes)
    *early, balance = stages
    added = sum(one.cents for when, one in changes if when == "balance" and one.cents > 0)
    own = [one for when, one in changes if when != "balance" and one.cents > 0]
    less = -sum(one.cents for _when, one in changes if one.cents < 0)
    found = [*early, *own, replace(balance, cents=balance.cents + added)]
    for at in reversed(range(len(found))):
        off = min(less, max(found[at].cents, 0))
        found[at] = replace(found[at], cents=found[at].cents - off)
        less -= off
    return [stage for stage in found if stage.cents or stage.key == BALANCE]


def stages_of(paper: Mapping[str, Any]) -> list[Stage]:
    """Return the payments that a quote's frozen paper lists; the balance is last, even if nothing is left."""
    payments = list(paper["payments"])
    found = [Stage(f"stage-{at}", one["due"], one["cents"]) for at, one in enumerate(payments, 1)]
    if found and payments[-1]["due"]["message"] == ON_COMPLETION:
        found[-1] = replace(found[-1], key=BALANCE)
    else:
        found.append(Stage(BALANCE, {"message": ON_COMPLETION, "parameters": {}}, 0))
    return found

"""Why a margin moved: earned budget less actual cost, split into parts that sum to it to the cent. Pure.

Standard costing, as every management accounting text has it: a labour variance parts into rate (actual hours
at budget pay, less what was paid) and hours (hours earned less hours used, at budget pay); a material
variance into price and quantity likewise. Each part is the difference of two whole-cent amounts that share
the middle one, so no rounding is left over. What has no budget of its own is scope; what is spent on
callbacks after the job was complete, which no quote foresees, is a part of its own.

How much of a budget is earned (all of it once the step is finished):

- labour: the share of the step the crew reports; without a report, time used counts as done, up to the
  budget, so that a running step gives no false alarm and an overrun shows as soon as it happens;
- material and other costs: at the point of cost, up to the budget, since a pallet is bought before it is
  laid (EIA-748 lets material be earned when received; from memory);
- a budget below nothing, which is what a signed change took away: by the same share as the budget around it,
  or more would be earned than there is to do (:func:`with_deductions`; own rule, no source).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from estimates.quotes.pricing_model import CALLBACK_STEP

ALL_DONE = 10_000


@dataclass(frozen=True)
class Split:
    """Parts of a variance in whole cents; above nothing is money gained, below it money lost."""

    rate: int = 0
    hours: int = 0
    quantity: int = 0
    price: int = 0
    scope: int = 0
    callbacks: int = 0

    @property
    def whole(self) -> int:
        return self.rate + self.hours + self.quantity + self.price + self.scope + self.callbacks

    def __add__(self, other: Split) -> Split:
        return Split(
            self.rate + other.rate,
            self.hours + other.hours,
            self.quantity + other.quantity,
            self.price + other.price,
            self.scope + other.scope,
            self.callbacks + other.callbacks,
        )


@dataclass(frozen=True)
class Labour:
    """Time on one trade step. *done*: the share reported, in basis points, or None without a report.

    *deducted_cents*, here and below: what of a budget below nothing is earned by now.
    """

    step: str
    budget_minutes: int
    budget_cents: int
    minutes: int
    cost_cents: int
    done: int | None = None
    is_finished: bool = False
    deducted_cents: int = 0

    @property
    def earned_cents(self) -> int:
        if self.is_finished or self.done == ALL_DONE:
            return self.budget_cents
        if self.budget_cents < 0:
            return self.deducted_cents
        if self.done is not None:
            return quotient(self.budget_cents * self.done, ALL_DONE)
        if self.budget_minutes <= 0:
            return 0
        return quotient(min(self.minutes, self.budget_minutes) * self.budget_cents, self.budget_minutes)

    @property
    def split(self) -> Split:
        if self.step == CALLBACK_STEP:
            return Split(callbacks=self.earned_cents - self.cost_cents)
        if self.budget_minutes <= 0:
            return Split(scope=self.earned_cents - self.cost_cents)
        at_budget_pay = quotient(self.minutes * self.budget_cents, self.budget_minutes)
        return Split(rate=at_budget_pay - self.cost_cents, hours=self.earned_cents - at_budget_pay)


@dataclass(frozen=True)
class Material:
    """Packs of one material, in millionths of a pack."""

    key: str
    step: str
    budget_packs: int
    budget_cents: int
    packs: int
    cost_cents: int
    is_finished: bool = False
    deducted_cents: int = 0

    @property
    def earned_cents(self) -> int:
        if self.is_finished:
            return self.budget_cents
        if self.budget_cents < 0:
            return self.deducted_cents
        if self.budget_packs <= 0:
            return 0
        received = min(max(self.packs, 0), self.budget_packs)
        return quotient(received * self.budget_cents, self.budget_packs)

    @property
    def split(self) -> Split:
        if self.step == CALLBACK_STEP:
            return Split(callbacks=self.earned_cents - self.cost_cents)
        if self.budget_packs <= 0:
            return Split(scope=self.earned_cents - self.cost_cents)
        at_budget_price = quotient(self.packs * self.budget_cents, self.budget_packs)
        return Split(quantity=self.earned_cents - at_budget_price, price=at_budget_price - self.cost_cents)


@dataclass(frozen=True)
class Other:
    """Other costs under one trade step: an amount was foreseen (its variance is price) or not (scope)."""

    step: str
    budget_cents: int
    cost_cents: int
    is_finished: bool = False
    deducted_cents: int = 0

    @property
    def earned_cents(self) -> int:
        if self.is_finished:
            return self.budget_cents
        if self.budget_cents < 0:
            return self.deducted_cents
        return max(0, min(self.cost_cents, self.budget_cents))

    @property
    def split(self) -> Split:
        difference = self.earned_cents - self.cost_cents
        if self.step == CALLBACK_STEP:
            return Split(callbacks=difference)
        return Split(price=difference) if self.budget_cents > 0 else Split(scope=difference)


Element = Labour | Material | Other


def with_deductions(elements: Iterable[Element], group: Callable[[Element], str]) -> list[Element]:
    """Return *elements*, each budget below nothing earned by the share that the rest of its group is.

    Where a group has no other budget there is nothing to wait for, and all of it is earned.
    """
    elements = list(elements)
    budget: dict[str, int] = defaultdict(int)
    done: dict[str, int] = defaultdict(int)
    for one in elements:
        if one.budget_cents > 0:
            budget[group(one)] += one.budget_cents
            done[group(one)] += one.earned_cents
    return [
        replace(one, deducted_cents=_share(one.budget_cents, done[group(one)], budget[group(one)]))
        if one.budget_cents < 0
        else one
        for one in elements
    ]


def _share(whole: int, part: int, of: int) -> int:
    return quotient(whole * part, of) if of else whole


@dataclass(frozen=True)
class Standing:
    """A whole job: everything it was to cost and did, and the money around it, in whole cents.

    *overhead_cents* is held at what the quote put on top of cost. *quoted_...* are those of the quote;
    *price_cents* includes signed changes, as do the elements' budgets.
    """

    elements: tuple[Element, ...]
    quoted_price_cents: int
    quoted_cost_cents: int
    overhead_cents: int
    price_cents: int

    @property
    def budget_cents(self) -> int:
        return sum(element.budget_cents for element in self.elements)

    @property
    def earned_cents(self) -> int:
        return sum(element.earned_cents for element in self.elements)

    @property
    def actual_cents(self) -> int:
        return sum(element.cost_cents for element in self.elements)

    @property
    def quoted_margin_cents(self) -> int:
        return self.quoted_price_cents - self.quoted_cost_cents - self.overhead_cents

    @property
    def margin_cents(self) -> int:
        """The margin now: what is left when everything that remains goes as budgeted."""
        remaining = self.budget_cents - self.earned_cents
        return self.price_cents - self.actual_cents - remaining - self.overhead_cents

    @property
    def split(self) -> Split:
        """The whole way from the quoted margin to the margin now; its parts sum to it exactly."""
        changes = (self.price_cents - self.quoted_price_cents) - (self.budget_cents - self.quoted_cost_cents)
        return total(element.split for element in self.elements) + Split(scope=changes)


def total(splits: Iterable[Split]) -> Split:
    """Return the sum of *splits*, part by part."""
    whole = Split()
    for split in splits:
        whole += split
    return whole


def quotient(numerator: int, denominator: int) -> int:
    """Return numerator / denominator rounded half up (by magnitude) to a whole number; *denominator* > 0.

    >>> quotient(7, 2), quotient(-7, 2), quotient(1, 3)
    (4, -4, 0)
    """
    whole = (2 * abs(numerator) + denominator) // (2 * denominator)
    return whole if numerator >= 0 else -whole

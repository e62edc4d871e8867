"""What the owner's pages read. The list reads one row a job; nothing here adds up the log."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import (
    BigIntegerField,
    Case,
    Expression,
    F,
    FloatField,
    Q,
    QuerySet,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce, NullIf

from jobs.billing.models import Account
from jobs.work.daily.listeners import Planned
from jobs.work.models import CostEntry, DeliveryEntry, HoursEntry, Job, Stage
from jobs.work.selectors import OPEN_STAGES

from .models import Budget, BudgetMaterial, Ledger
from .standing import PHASES, PHASES_BEHIND
from .variance import quotient

# What the list can be sorted by, as the address says it; a minus before it turns it round.
SORTS: Mapping[str, str] = {
    "number": "job__number",
    "customer": "job__customer_name",
    "price": "price_cents",
    "quoted": "quoted_fraction",
    "budget": "budget_cents",
    "actual": "actual_sum",
    "done": "done_fraction",
    "now": "now_fraction",
    "forecast": "forecast_fraction",
    "moved": "moved_sum",
    "invoiced": "invoiced_sum",
    "to-invoice": "to_invoice_sum",
    "received": "received_sum",
}


@dataclass(frozen=True)
class JobMargin:
    """A job's money as the list shows it, in whole cents; fractions are of the price. Exact, in integers."""

    job: Job
    ledger: Ledger

    @property
    def earned_cents(self) -> int:
        behind = PHASES_BEHIND.get(self.job.stage, ())
        return sum(
            getattr(self.ledger, f"{phase}_budget_cents" if phase in behind else f"{phase}_earned_cents")
            for phase in PHASES
        )

    @property
    def actual_cents(self) -> int:
        return self.ledger.actual_cents

    @property
    def quoted_margin_cents(self) -> int:
        kept = self.ledger
        return kept.quoted_price_cents - kept.quoted_cost_cents - kept.overhead_cents

    @property
    def margin_cents(self) -> int:
        """The margin when everything that remains goes as budgeted."""
        remaining = self.ledger.budget_cents - self.earned_cents
        return self.ledger.price_cents - self.actual_cents - remaining - self.ledger.overhead_cents

    @property
    def forecast_cost_cents(self) -> int:
        """The cost at completion when the rest costs as the work so far did (EAC by CPI)."""
        earned, actual = self.earned_cents, self.actual_cents
        if earned > 0 and actual > 0:
            return quotient(self.ledger.budget_cents * actual, earned)
        return actual + self.ledger.budget_cents - earned

    @property
    def forecast_margin_cents(self) -> int:
        return self.ledger.price_cents - self.forecast_cost_cents - self.ledger.overhead_cents

    @property
    def moved_cents(self) -> int:
        return self.margin_cents - self.quoted_margin_cents

    @property
    def invoiced_cents(self) -> int:
        """What is invoiced, before sales tax, credit notes taken off."""
        return self._account.invoiced_price_cents

    @property
    def to_invoice_cents(self) -> int:
        """What of the price, signed changes included, is not invoiced yet; before sales tax."""
        return self.ledger.price_cents - self.invoiced_cents

    @property
    def received_cents(self) -> int:
        """What the customer has paid, with sales tax."""
        return self._account.received_cents

    @property
    def retained_cents(self) -> int:
        """What is invoiced and held back, with sales tax."""
        return self._account.retained_cents

    @property
    def _account(self) -> Account:
        return getattr(self.job, "account", None) or Account(job=self.job)

    @property
    def done(self) -> Decimal | None:
        return _fraction(self.earned_cents, self.ledger.budget_cents)

    @property
    def quoted_fraction(self) -> Decimal | None:
        return _fraction(self.quoted_margin_cents, self.ledger.quoted_price_cents)

    @property
    def now_fraction(self) -> Decimal | None:
        return _fraction(self.margin_cents, self.ledger.price_cents)

    @property
    def forecast_fraction(self) -> Decimal | None:
        return _fraction(self.forecast_margin_cents, self.ledger.price_cents)

    @property
    def is_falling(self) -> bool:
        return self.forecast_margin_cents < self.quoted_margin_cents


@dataclass(frozen=True)
class Totals:
    """The sums of a list of jobs."""

    count: int
    price_cents: int
    quoted_margin_cents: int
    actual_cents: int
    margin_cents: int
    forecast_margin_cents: int
    open_cost_count: int
    invoiced_cents: int
    received_cents: int

    @property
    def to_invoice_cents(self) -> int:
        return self.price_cents - self.invoiced_cents


def _fraction(part: int, whole: int) -> Decimal | None:
    return Decimal(part) / whole if whole else None


def margins(
    *, text: str = "", stage: str = "open", show: str = "", sort: str = "-number"
) -> QuerySet[Ledger]:
    """Return the running totals of all jobs with a budget, filtered and sorted.

    Args:
        text: in title, customer or number.
        stage: ``open``, ``""`` (all but cancelled) or a stage.
        show: ``falling`` (forecast below quote), ``loss`` (forecast below nothing), ``unsure`` (costs open),
            ``to-invoice`` (not all of the price is invoiced).
        sort: a key of :data:`SORTS`, with a minus for the largest first.
    """
    # The accounts in a query of their own: joined, they would be read for every job before the page is cut.
    budgeted = Ledger.objects.filter(job__budget__isnull=False).select_related("job")
    found: Any = _with_figures(budgeted.prefetch_related("job__account"))
    if stage == "open":
        found = found.filter(job__stage__in=OPEN_STAGES)
    elif stage in Stage.values:
        found = found.filter(job__stage=stage)
    else:
        found = found.exclude(job__stage=Stage.CANCELLED)
    if text:
        match = Q(job__title__icontains=text) | Q(job__customer_name__icontains=text)
        is_number = text.isdecimal() and len(text) < 10
        found = found.filter(match | Q(job__number=int(text)) if is_number else match)
    if show == "falling":
        found = found.filter(forecast_sum__lt=F("quoted_sum"))
    elif show == "loss":
        found = found.filter(forecast_sum__lt=0)
    elif show == "unsure":
        found = found.filter(open_cost_count__gt=0)
    elif show == "to-invoice":
        found = found.filter(to_invoice_sum__gt=0)
    name = SORTS.get(sort.lstrip("-"), SORTS["number"])
    order = F(name).desc(nulls_last=True) if sort.startswith("-") else F(name).asc(nulls_last=True)
    ordered: QuerySet[Ledger] = found.order_by(order, "-job__number")
    return ordered


# The bands of the list's chart: each from the bound before it up to its own, as fractions of the price.
BOUNDS = (0.0, 0.1, 0.2, 0.3, 0.4)
# Margins are printed to a tenth of a per cent, and a job lies in the band of what is printed of it: 29.99 %
# reads 30.0 %, a quote's price being whole cents. A loss is a loss, however small.
PRINTED = 0.0005


def summary(found: QuerySet[Ledger]) -> tuple[Totals, list[tuple[int, int]]]:
    """Return the sums over a list, and how many jobs lie in each band by quote and by forecast; one query.

    The forecast's sum is rounded once.
    """
    names = ("price_cents", "quoted_price_cents", "open_cost_count")
    figures = found.order_by().values(*names, **{name: F(name) for name in FIGURES})
    inner, parameters = figures.query.sql_with_params()
    # In SQL by hand, since Django's aggregate spells each figure out again in every sum and count: the
    # planner then works it out dozens of times a row, and building the query takes longer than running it.
    wanted = ", ".join([*_SUMS, *_counts("quoted_sum", "quoted_price_cents"), *_counts("forecast_sum")])
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {wanted} FROM ({inner}) AS figures", parameters)  # noqa: S608 - own names
        row = cursor.fetchone()
    count, price, quoted, actual, now, forecast, unsure, invoiced, received, *bands = (
        value or 0 for value in row
    )
    totals = Totals(
        count=count,
        price_cents=int(price),
        quoted_margin_cents=int(quoted),
        actual_cents=int(actual),
        margin_cents=int(now),
        forecast_margin_cents=round(forecast),
        open_cost_count=int(unsure),
        invoiced_cents=int(invoiced),
        received_cents=int(received),
    )
    half = len(BOUNDS) + 1
    return totals, list(zip(bands[:half], bands[half:], strict=True))


_SUMS = (
    "COUNT(*)",
    "SUM(price_cents)",
    "SUM(quoted_sum)",
    "SUM(actual_sum)",
    "SUM(now_sum)",
    "SUM(forecast_sum)",
    "SUM(open_cost_count)",
    "SUM(invoiced_sum)",
    "SUM(received_sum)",
)
FIGURES = ("quoted_sum", "actual_sum", "now_sum", "forecast_sum", "invoiced_sum", "received_sum")


def _counts(margin: str, price: str = "price_cents") -> Iterator[str]:
    """Yield a count for each band of :data:`BOUNDS`; a job without a price lies in none."""
    for low, high in itertools.pairwise([None, *BOUNDS, None]):
        inside = [f"{price} > 0"]
        inside += [] if low is None else [f"{margin} >= {price} * {_edge(low)}"]
        inside += [] if high is None else [f"{margin} < {price} * {_edge(high)}"]
        yield f"COUNT(*) FILTER (WHERE {' AND '.join(inside)})"


def _edge(bound: float) -> float:
    return bound - PRINTED if bound else bound


def _with_figures(found: QuerySet[Ledger]) -> Any:
    """Add what can be sorted and filtered by; :class:`JobMargin` is the exact word on each."""
    whole = BigIntegerField()
    return (
        found.alias(
            actual_sum=F("labour_cents") + F("material_cents") + F("other_cents"),
            earned_sum=Case(
                *(When(job__stage=stage, then=_earned(behind)) for stage, behind in PHASES_BEHIND.items()),
                default=_earned(()),
                output_field=whole,
            ),
            quoted_sum=F("quoted_price_cents") - F("quoted_cost_cents") - F("overhead_cents"),
            invoiced_sum=Coalesce(F("job__account__invoiced_price_cents"), Value(0, output_field=whole)),
            received_sum=Coalesce(F("job__account__received_cents"), Value(0, output_field=whole)),
        )
        .alias(
            now_sum=F("price_cents")
            - F("actual_sum")
            - F("budget_cents")
            + F("earned_sum")
            - F("overhead_cents"),
            forecast_sum=Cast(F("price_cents") - F("overhead_cents"), FloatField())
            - Case(
                When(
                    earned_sum__gt=0,
                    actual_sum__gt=0,
                    then=_real("budget_cents") * _real("actual_sum") / _real("earned_sum"),
                ),
                default=Cast(F("actual_sum") + F("budget_cents") - F("earned_sum"), FloatField()),
                output_field=FloatField(),
            ),
        )
        .alias(
            moved_sum=F("now_sum") - F("quoted_sum"),
            to_invoice_sum=F("price_cents") - F("invoiced_sum"),
            quoted_fraction=_real("quoted_sum") / _real(NullIf(F("quoted_price_cents"), Value(0))),
            now_fraction=_real("now_sum") / _real(NullIf(F("price_cents"), Value(0))),
            forecast_fraction=F("forecast_sum") / _real(NullIf(F("price_cents"), Value(0))),
            done_fraction=_real("earned_sum") / _real(NullIf(F("budget_cents"), Value(0))),
        )
    )


def _earned(behind: tuple[str, ...]) -> Any:
    names = (f"{phase}_budget_cents" if phase in behind else f"{phase}_earned_cents" for phase in PHASES)
    whole: Any = Value(0, output_field=BigIntegerField())
    for name in names:
        whole = whole + F(name)
    return whole


def _real(value: str | Expression) -> Cast:
    return Cast(F(value) if isinstance(value, str) else value, FloatField())


def budget_of(job: Job) -> Budget | None:
    """Return the budget with its steps, materials and changes."""
    return Budget.objects.filter(job=job).prefetch_related("steps", "materials", "changes").first()


def purchase_list(job: Job) -> list[Planned]:
    """Return what *job* is to buy by its budget, changes included, in the order of the quote."""
    rows: dict[str, Planned] = {}
    for row in BudgetMaterial.objects.filter(budget__job=job).order_by("pk"):
        known = rows.get(row.material_key)
        rows[row.material_key] = Planned(
            row.material_key,
            known.name if known else row.name,
            known.pack_label if known else row.pack_label,
            known.step if known else row.step,
            row.packs_millionths + (known.packs_millionths if known else 0),
            row.cost_cents + (known.cost_cents if known else 0),
        )
    return [row for row in rows.values() if row.packs_millionths > 0]


def hours_behind(job: Job, step: str = "") -> QuerySet[HoursEntry]:
    """Return the hours that count towards *job*, or towards one of its trade steps."""
    found = HoursEntry.objects.filter(job=job, superseded_by=None, minutes__gt=0)
    return (found.filter(step=step) if step else found).select_related("person", "by").order_by("day", "pk")


def deliveries_behind(job: Job, material_key: str = "") -> QuerySet[DeliveryEntry]:
    """Return the deliveries that count towards *job*, or towards one of its materials."""
    found = DeliveryEntry.objects.filter(job=job, superseded_by=None).exclude(packs_millionths=0)
    found = found.filter(material_key=material_key) if material_key else found
    return found.select_related("by").order_by("day", "pk")


def costs_behind(job: Job, step: str = "") -> QuerySet[CostEntry]:
    """Return the other costs that count towards *job*, or towards one of its trade steps."""
    found = CostEntry.objects.filter(job=job, superseded_by=None, amount_cents__gt=0)
    return (found.filter(step=step) if step else found).select_related("by").order_by("day", "pk")


def working_days(first: datetime.date, last: datetime.date) -> int:
    """Return the days from Monday to Friday from *first* to *last*, both counted.

    >>> working_days(datetime.date(2026, 6, 4), datetime.date(2026, 6, 9))
    4
    """
    if last < first:
        return 0
    weeks, rest = divmod((last - first).days + 1, 7)
    return weeks * 5 + sum((first.weekday() + day) % 7 < 5 for day in range(rest))

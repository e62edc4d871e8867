"""The running totals of a job: moved by each entry of its log, in the entry's own transaction.

The caller of :func:`entered` holds a transaction. The ledger's row is the lock: it is taken first, so two
people who log on one job at once are added up one after the other.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import chain

from django.db import transaction
from django.db.models import Count, Max, Q, Sum

from jobs.work.models import (
    CostEntry,
    DayNote,
    DeliveryEntry,
    HoursEntry,
    Job,
    LogEntry,
    ProgressEntry,
)

from .models import Budget, BudgetStep, Ledger, LedgerMaterial, LedgerStep
from .standing import PHASES, elements_of, phase_of
from .variance import Element, Labour, Material, Other, quotient

BATCH = 500
# Columns that are sums of other rows; the last two are counted from the entries themselves.
SUMS = [
    "quoted_price_cents",
    "quoted_cost_cents",
    "overhead_cents",
    "price_cents",
    "budget_cents",
    "minutes",
    "labour_cents",
    "material_cents",
    "other_cents",
    *(f"{phase}_{part}_cents" for phase in PHASES for part in ("budget", "earned")),
    "open_cost_count",
    "last_day",
]


def entered(entry: LogEntry, before: LogEntry | None) -> None:
    """Add a new entry to its job's totals; *before* is the one it supersedes, which counts no more."""
    ledger = _locked([entry.job_id])[0]
    if before is not None:
        _post(ledger, before, -1)
    _post(ledger, entry, 1)
    if isinstance(entry, ProgressEntry):
        _put_progress(entry.job_id, entry.step)
    ledger.last_day = max(filter(None, (ledger.last_day, entry.day)))
    _refresh([ledger])


def refresh(job: Job) -> None:
    """Work out the totals that follow from budget and ledger, after the budget has changed."""
    ledgers = _locked([job.pk])
    for (pk, step), share in _progress([job.pk]).items():
        LedgerStep.objects.filter(job=pk, step=step).update(done_basis_points=share)
    _refresh(ledgers)


@transaction.atomic
def rebuild(job_ids: Sequence[int]) -> None:
    """Add the totals of jobs up again from the entries; the result equals what :func:`entered` keeps."""
    for first in range(0, len(job_ids), BATCH):
        batch = list(job_ids[first : first + BATCH])
        ledgers = _locked(batch)
        LedgerStep.objects.filter(job__in=batch).delete()
        LedgerMaterial.objects.filter(job__in=batch).delete()
        LedgerStep.objects.bulk_create(_steps_from_entries(batch))
        LedgerMaterial.objects.bulk_create(_materials_from_entries(batch))
        _recount(ledgers, batch)
        _refresh(ledgers)


def _locked(job_ids: Sequence[int]) -> list[Ledger]:
    Ledger.objects.bulk_create([Ledger(job_id=pk) for pk in job_ids], ignore_conflicts=True)
    # PostgreSQL locks the rows here; on SQLite the whole transaction is the only writer.
    return list(Ledger.objects.select_for_update().filter(job__in=job_ids).order_by("job"))


def _post(ledger: Ledger, entry: LogEntry, sign: int) -> None:
    match entry:
        case HoursEntry():
            _post_step(entry, minutes=sign * entry.minutes, labour_cents=sign * entry.cost_cents)
            ledger.open_cost_count += sign * (entry.minutes > 0 and entry.pay_cents_per_hour is None)
        case CostEntry():
            _post_step(entry, other_cents=sign * entry.amount_cents)
        case DeliveryEntry():
            row, _ = LedgerMaterial.objects.get_or_create(
                job_id=entry.job_id,
                material_key=entry.material_key,
                defaults={"name": entry.material_name, "step": entry.step},
            )
            row.packs_millionths += sign * entry.packs_millionths
            row.cost_cents += sign * entry.cost_cents
            row.save(update_fields=["packs_millionths", "cost_cents"])
            ledger.open_cost_count += sign * (entry.packs_millionths != 0 and not entry.is_cost_confirmed)


def _post_step(entry: HoursEntry | CostEntry, **amounts: int) -> None:
    row, _ = LedgerStep.objects.get_or_create(job_id=entry.job_id, step=entry.step)
    for name, amount in amounts.items():
        setattr(row, name, getattr(row, name) + amount)
    row.save(update_fields=list(amounts))


def _put_progress(job_id: int, step: str) -> None:
    share = _progress([job_id]).get((job_id, step))
    LedgerStep.objects.update_or_create(job_id=job_id, step=step, defaults={"done_basis_points": share})


def _progress(job_ids: Sequence[int]) -> dict[tuple[int, str], int]:
    """Return the share last reported of each job's steps: the newest day's word, and on a day the last.

    What a change has added to a step since was not spoken of, so it is not done: the share is of all there
    is now.
    """
    rows = ProgressEntry.objects.filter(job__in=job_ids, superseded_by=None).order_by("day", "pk")
    words = {(row.job_id, row.step): row for row in rows}
    parts: dict[tuple[int, str], list[tuple[datetime.date | None, int]]] = defaultdict(list)
    budget = BudgetStep.objects.filter(budget__job__in=job_ids).order_by()
    for pk, step, agreed_on, cents in budget.values_list(
        "budget__job", "step", "change__agreed_on", "labour_cents"
    ):
        parts[pk, step].append((agreed_on, cents))
    return {key: _share_of_all(row, parts.get(key, ())) for key, row in words.items()}


def _share_of_all(word: ProgressEntry, parts: Iterable[tuple[datetime.date | None, int]]) -> int:
    parts = list(parts)
    now = sum(cents for _agreed_on, cents in parts)
    then = sum(cents for agreed_on, cents in parts if agreed_on is None or agreed_on <= word.day)
    if now <= then or now <= 0:
        return word.done_basis_points
    return quotient(word.done_basis_points * max(then, 0), now)


def _refresh(ledgers: Sequence[Ledger]) -> None:
    """Write everything of the ledgers' rows that is a sum of other rows."""
    ids = [ledger.job_id for ledger in ledgers]
    budgets = {
        budget.job_id: budget
        for budget in Budget.objects.filter(job__in=ids).prefetch_related("changes", "steps")
    }
    elements = elements_of(ids)
    for ledger in ledgers:
        if ledger.job_id in budgets:
            _put_quoted(ledger, budgets[ledger.job_id])
        _put_sums(ledger, elements[ledger.job_id])
    if len(ledgers) == 1:
        ledgers[0].save(update_fields=SUMS)
    else:
        # An upsert: bulk_update's CASE of every row and column takes many times as long.
        Ledger.objects.bulk_create(
            ledgers, update_conflicts=True, unique_fields=["job"], update_fields=SUMS, batch_size=BATCH
        )


def _put_quoted(ledger: Ledger, budget: Budget) -> None:
    first = [row for row in budget.steps.all() if row.change_id is None]
    ledger.quoted_price_cents = budget.price_cents
    ledger.quoted_cost_cents = sum(row.labour_cents + row.material_cents + row.other_cents for row in first)
    ledger.overhead_cents = budget.overhead_cents
    ledger.price_cents = budget.price_cents + sum(change.price_cents for change in budget.changes.all())


def _put_sums(ledger: Ledger, found: Sequence[Element]) -> None:
    ledger.budget_cents = sum(element.budget_cents for element in found)
    labour = [element for element in found if isinstance(element, Labour)]
    ledger.minutes = sum(element.minutes for element in labour)
    ledger.labour_cents = sum(element.cost_cents for element in labour)
    ledger.material_cents = sum(element.cost_cents for element in found if isinstance(element, Material))
    ledger.other_cents = sum(element.cost_cents for element in found if isinstance(element, Other))
    for phase in PHASES:
        own = [element for element in found if phase_of(element.step) == phase]
        setattr(ledger, f"{phase}_budget_cents", sum(element.budget_cents for element in own))
        setattr(ledger, f"{phase}_earned_cents", sum(element.earned_cents for element in own))


def _steps_from_entries(job_ids: Sequence[int]) -> Iterable[LedgerStep]:
    rows: dict[tuple[int, str], LedgerStep] = {}

    def row_of(job_id: int, step: str) -> LedgerStep:
        return rows.setdefault((job_id, step), LedgerStep(job_id=job_id, step=step))

    # Superseded rows make a step's row as well, with nothing in it, as they did when they were entered.
    counts = Q(superseded_by=None)
    hours = HoursEntry.objects.filter(job__in=job_ids).order_by().values("job", "step")
    for found in hours.annotate(
        m=Sum("minutes", filter=counts, default=0), c=Sum("cost_cents", filter=counts, default=0)
    ):
        row = row_of(found["job"], found["step"])
        row.minutes, row.labour_cents = int(found["m"]), int(found["c"])
    costs = CostEntry.objects.filter(job__in=job_ids).order_by().values("job", "step")
    for spent in costs.annotate(c=Sum("amount_cents", filter=counts, default=0)):
        row_of(spent["job"], spent["step"]).other_cents = int(spent["c"])
    for (job_id, step), share in _progress(job_ids).items():
        row_of(job_id, step).done_basis_points = share
    return rows.values()


def _materials_from_entries(job_ids: Sequence[int]) -> Iterable[LedgerMaterial]:
    rows: dict[tuple[int, str], LedgerMaterial] = {}
    entries = DeliveryEntry.objects.filter(job__in=job_ids).select_related("superseded_by").order_by("pk")
    for entry in entries.iterator(chunk_size=5000):
        row = rows.setdefault(
            (entry.job_id, entry.material_key),
            LedgerMaterial(
                job_id=entry.job_id,
                material_key=entry.material_key,
                name=entry.material_name,
                step=entry.step,
            ),
        )
        if not hasattr(entry, "superseded_by"):
            row.packs_millionths += entry.packs_millionths
            row.cost_cents += entry.cost_cents
    return rows.values()


def _recount(ledgers: Sequence[Ledger], job_ids: Sequence[int]) -> None:
    """Count the entries whose cost is open, and find the last day of each job's log."""
    counts: dict[int, int] = defaultdict(int)
    hours = HoursEntry.objects.filter(pay_cents_per_hour=None, minutes__gt=0)
    deliveries = DeliveryEntry.objects.filter(is_cost_confirmed=False).exclude(packs_millionths=0)
    for open_ones in (hours, deliveries):
        own = open_ones.filter(job__in=job_ids, superseded_by=None).order_by().values("job")
        for found in own.annotate(count=Count("pk")):
            counts[found["job"]] += found["count"]
    kinds = (HoursEntry, DeliveryEntry, CostEntry, ProgressEntry, DayNote)
    days = chain.from_iterable(
        kind._default_manager.filter(job__in=job_ids).order_by().values_list("job").annotate(day=Max("day"))
        for kind in kinds
    )
    last = dict(sorted(days, key=lambda found: found[1]))
    for ledger in ledgers:
        ledger.open_cost_count = counts[ledger.job_id]
        ledger.last_day = last.get(ledger.job_id)

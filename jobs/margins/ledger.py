"""The running totals of a job: moved by each entry of its log, in the entry's own transaction.

The caller of :func:`entered` holds a transaction. The ledger's row is the lock: it is taken first, so two
people who log on one job at once are added up one after the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from django.db import transaction
from django.db.models import Max, Q, Sum

from jobs.work.models import (
    CostEntry,
    DayNote,
    DeliveryEntry,
    HoursEntry,
    Job,
    LogEntry,
    ProgressEntry,
    Stage,
)

from .models import Budget, BudgetMaterial, BudgetStep, Ledger, LedgerMaterial, LedgerStep
from .variance import ALL_DONE, Element, Labour, Material, Other, Standing

SUBSTRATE, MEMBRANE, TILE, PUNCH = "substrate", "membrane", "tile", "punch"
PHASES = (SUBSTRATE, MEMBRANE, TILE, PUNCH)
# The stage of a job in which a trade step is done; a step not named here ends with the job.
PHASE_OF_STEP = {
    "protection": SUBSTRATE,
    "demolition": SUBSTRATE,
    "preparation": SUBSTRATE,
    "backer": SUBSTRATE,
    "waterproofing": MEMBRANE,
    "testing": MEMBRANE,
    "tile": TILE,
    "grout": TILE,
    "joints": TILE,
}
# The phases that lie behind a job in each stage. A stage before the work, or a cancelled job, has none.
PHASES_BEHIND: dict[str, tuple[str, ...]] = {
    Stage.MEMBRANE: (SUBSTRATE,),
    Stage.TILE: (SUBSTRATE, MEMBRANE),
    Stage.PUNCH: (SUBSTRATE, MEMBRANE, TILE),
    Stage.COMPLETE: PHASES,
}


def phase_of(step: str) -> str:
    """Return the stage of a job in which *step* is done."""
    return PHASE_OF_STEP.get(step, PUNCH)


def entered(entry: LogEntry, before: LogEntry | None) -> None:
    """Add a new entry to its job's totals; *before* is the one it supersedes, which counts no more."""
    ledger = _locked(entry.job_id)
    if before is not None:
        _post(ledger, before, -1)
    _post(ledger, entry, 1)
    if isinstance(entry, ProgressEntry):
        _put_progress(entry.job_id, entry.step)
    ledger.last_day = max(filter(None, (ledger.last_day, entry.day)))
    _refresh(ledger)


def refresh(job: Job) -> None:
    """Work out the totals that follow from budget and ledger, after the budget has changed."""
    _refresh(_locked(job.pk))


@transaction.atomic
def rebuild(job_ids: Sequence[int]) -> None:
    """Add the totals of jobs up again from the entries; the result equals what :func:`entered` keeps."""
    for job_id in job_ids:
        ledger = _locked(job_id)
        LedgerStep.objects.filter(job_id=job_id).delete()
        LedgerMaterial.objects.filter(job_id=job_id).delete()
        LedgerStep.objects.bulk_create(_steps_from_entries(job_id))
        LedgerMaterial.objects.bulk_create(_materials_from_entries(job_id))
        hours = HoursEntry.objects.filter(job_id=job_id, superseded_by=None)
        deliveries = DeliveryEntry.objects.filter(job_id=job_id, superseded_by=None)
        ledger.open_cost_count = (
            hours.filter(pay_cents_per_hour=None, minutes__gt=0).count()
            + deliveries.filter(is_cost_confirmed=False).exclude(packs_millionths=0).count()
        )
        kinds = (HoursEntry, DeliveryEntry, CostEntry, ProgressEntry, DayNote)
        days = [
            kind._default_manager.filter(job_id=job_id).aggregate(day=Max("day"))["day"] for kind in kinds
        ]
        ledger.last_day = max(filter(None, days), default=None)
        _refresh(ledger)


def standing(job: Job, ledger: Ledger | None = None) -> Standing:
    """Return where *job* stands in every element; four queries."""
    ledger = ledger or Ledger.objects.filter(job=job).first() or Ledger(job=job)
    return Standing(
        elements=tuple(elements(job.pk, PHASES_BEHIND.get(job.stage, ()))),
        quoted_price_cents=ledger.quoted_price_cents,
        quoted_cost_cents=ledger.quoted_cost_cents,
        overhead_cents=ledger.overhead_cents,
        price_cents=ledger.price_cents,
    )


def elements(job_id: int, phases_behind: Sequence[str] = ()) -> list[Element]:
    """Return every trade step's labour and other costs, and every material, budget beside actual."""
    budgeted = BudgetStep.objects.filter(budget__job_id=job_id).order_by().values("step")
    # PostgreSQL sums big integers to decimals, so every sum is made whole again.
    steps = {
        row["step"]: _Step(int(row["m"]), int(row["labour"]), int(row["other"]))
        for row in budgeted.annotate(m=Sum("minutes"), labour=Sum("labour_cents"), other=Sum("other_cents"))
    }
    used = {row.step: row for row in LedgerStep.objects.filter(job_id=job_id)}
    bought = BudgetMaterial.objects.filter(budget__job_id=job_id).order_by().values("material_key")
    budgets = {
        row["material_key"]: _Bought(row["at"], int(row["packs"]), int(row["cost"]))
        for row in bought.annotate(packs=Sum("packs_millionths"), cost=Sum("cost_cents"), at=Max("step"))
    }
    found: list[Element] = []
    for step in sorted({*steps, *used}):
        budget = steps.get(step, _Step(0, 0, 0))
        have = used.get(step) or LedgerStep(step=step)
        over = phase_of(step) in phases_behind or have.done_basis_points == ALL_DONE
        found.append(
            Labour(
                step,
                budget.minutes,
                budget.labour,
                have.minutes,
                have.labour_cents,
                have.done_basis_points,
                over,
            )
        )
        found.append(Other(step, budget.other, have.other_cents, over))
    received = {row.material_key: row for row in LedgerMaterial.objects.filter(job_id=job_id)}
    for key in sorted({*budgets, *received}):
        came = received.get(key) or LedgerMaterial()
        foreseen = budgets.get(key) or _Bought(came.step, 0, 0)
        done = used[foreseen.step].done_basis_points if foreseen.step in used else None
        over = phase_of(foreseen.step) in phases_behind or done == ALL_DONE
        found.append(
            Material(
                key,
                foreseen.step,
                foreseen.packs,
                foreseen.cents,
                came.packs_millionths,
                came.cost_cents,
                over,
            )
        )
    return found


class _Step(NamedTuple):
    minutes: int
    labour: int
    other: int


class _Bought(NamedTuple):
    step: str
    packs: int
    cents: int


def _locked(job_id: int) -> Ledger:
    Ledger.objects.get_or_create(job_id=job_id)
    # PostgreSQL locks the row here; on SQLite the whole transaction is the only writer.
    return Ledger.objects.select_for_update().get(job_id=job_id)


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
    share = _progress(job_id).get(step)
    LedgerStep.objects.update_or_create(job_id=job_id, step=step, defaults={"done_basis_points": share})


def _progress(job_id: int) -> dict[str, int]:
    """Return the share last reported of each step: the newest day counts, and on a day the last entry."""
    rows = ProgressEntry.objects.filter(job_id=job_id, superseded_by=None).order_by("day", "pk")
    return dict(rows.values_list("step", "done_basis_points"))


def _refresh(ledger: Ledger) -> None:
    """Write everything of the ledger's row that is a sum of other rows."""
    budget = Budget.objects.filter(job_id=ledger.job_id).prefetch_related("changes", "steps").first()
    found = elements(ledger.job_id)
    if budget is not None:
        first = [row for row in budget.steps.all() if row.change_id is None]
        ledger.quoted_price_cents = budget.price_cents
        ledger.quoted_cost_cents = sum(
            row.labour_cents + row.material_cents + row.other_cents for row in first
        )
        ledger.overhead_cents = budget.overhead_cents
        ledger.price_cents = budget.price_cents + sum(change.price_cents for change in budget.changes.all())
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
    ledger.save()


def _steps_from_entries(job_id: int) -> list[LedgerStep]:
    rows: dict[str, LedgerStep] = {}

    def row_of(step: str) -> LedgerStep:
        return rows.setdefault(step, LedgerStep(job_id=job_id, step=step))

    # Superseded rows make a step's row as well, with nothing in it, as they did when they were entered.
    counts = Q(superseded_by=None)
    hours = HoursEntry.objects.filter(job_id=job_id).order_by().values("step")
    for found in hours.annotate(
        m=Sum("minutes", filter=counts, default=0), c=Sum("cost_cents", filter=counts, default=0)
    ):
        row_of(found["step"]).minutes, row_of(found["step"]).labour_cents = int(found["m"]), int(found["c"])
    costs = CostEntry.objects.filter(job_id=job_id).order_by().values("step")
    for spent in costs.annotate(c=Sum("amount_cents", filter=counts, default=0)):
        row_of(spent["step"]).other_cents = int(spent["c"])
    for step, share in _progress(job_id).items():
        row_of(step).done_basis_points = share
    return [rows[step] for step in sorted(rows)]


def _materials_from_entries(job_id: int) -> list[LedgerMaterial]:
    rows: dict[str, LedgerMaterial] = {}
    entries = DeliveryEntry.objects.filter(job_id=job_id).select_related("superseded_by").order_by("pk")
    for entry in entries:
        row = rows.setdefault(
            entry.material_key,
            LedgerMaterial(
                job_id=job_id, material_key=entry.material_key, name=entry.material_name, step=entry.step
            ),
        )
        if not hasattr(entry, "superseded_by"):
            row.packs_millionths += entry.packs_millionths
            row.cost_cents += entry.cost_cents
    return list(rows.values())

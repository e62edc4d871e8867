"""Reading where jobs stand: every trade step and material, its budget beside what it has cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from django.db.models import Max, Sum

from jobs.work.models import Job, Stage

from .models import BudgetMaterial, BudgetStep, Ledger, LedgerMaterial, LedgerStep
from .variance import ALL_DONE, Element, Labour, Material, Other, Standing, with_deductions

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


def standing_of(job: Job, ledger: Ledger | None = None) -> Standing:
    """Return where *job* stands in every element; four queries beside its ledger's."""
    ledger = ledger or Ledger.objects.filter(job=job).first() or Ledger(job=job)
    return Standing(
        elements=tuple(elements_of([job.pk], PHASES_BEHIND.get(job.stage, ()))[job.pk]),
        quoted_price_cents=ledger.quoted_price_cents,
        quoted_cost_cents=ledger.quoted_cost_cents,
        overhead_cents=ledger.overhead_cents,
        price_cents=ledger.price_cents,
    )


class _Step(NamedTuple):
    minutes: int = 0
    labour: int = 0
    other: int = 0


class _Bought(NamedTuple):
    step: str
    packs: int = 0
    cents: int = 0


def elements_of(job_ids: Sequence[int], phases_behind: Sequence[str] = ()) -> Mapping[int, list[Element]]:
    """Return every trade step's labour and other costs, and every material, of each job; four queries."""
    budgeted: dict[int, dict[str, _Step]] = defaultdict(dict)
    rows = BudgetStep.objects.filter(budget__job__in=job_ids).order_by().values("budget__job", "step")
    # PostgreSQL sums big integers to decimals, so every sum is made whole again.
    for row in rows.annotate(m=Sum("minutes"), labour=Sum("labour_cents"), other=Sum("other_cents")):
        parts = _Step(int(row["m"]), int(row["labour"]), int(row["other"]))
        budgeted[row["budget__job"]][row["step"]] = parts
    bought: dict[int, dict[str, _Bought]] = defaultdict(dict)
    lists = BudgetMaterial.objects.filter(budget__job__in=job_ids).order_by()
    for one in lists.values("budget__job", "material_key").annotate(
        packs=Sum("packs_millionths"), cost=Sum("cost_cents"), at=Max("step")
    ):
        planned = _Bought(one["at"], int(one["packs"]), int(one["cost"]))
        bought[one["budget__job"]][one["material_key"]] = planned
    used: dict[int, dict[str, LedgerStep]] = defaultdict(dict)
    for step in LedgerStep.objects.filter(job__in=job_ids).order_by():
        used[step.job_id][step.step] = step
    came: dict[int, dict[str, LedgerMaterial]] = defaultdict(dict)
    for material in LedgerMaterial.objects.filter(job__in=job_ids).order_by():
        came[material.job_id][material.material_key] = material
    return {
        pk: with_deductions(
            [
                *_by_step(budgeted[pk], used[pk], phases_behind),
                *_by_material(bought[pk], came[pk], used[pk], phases_behind),
            ],
            # By phase, since the list counts a phase behind as done without looking at its steps.
            group=lambda element: phase_of(element.step),
        )
        for pk in job_ids
    }


def _by_step(
    budgeted: Mapping[str, _Step], used: Mapping[str, LedgerStep], phases_behind: Sequence[str]
) -> list[Element]:
    found: list[Element] = []
    for step in sorted({*budgeted, *used}):
        budget = budgeted.get(step, _Step())
        have = used.get(step) or LedgerStep(step=step)
        is_over = _is_over(step, have.done_basis_points, phases_behind)
        labour = Labour(
            step=step,
            budget_minutes=budget.minutes,
            budget_cents=budget.labour,
            minutes=have.minutes,
            cost_cents=have.labour_cents,
            done=have.done_basis_points,
            is_finished=is_over,
        )
        found += [labour, Other(step, budget.other, have.other_cents, is_over)]
    return found


def _by_material(
    bought: Mapping[str, _Bought],
    came: Mapping[str, LedgerMaterial],
    used: Mapping[str, LedgerStep],
    phases_behind: Sequence[str],
) -> list[Element]:
    found: list[Element] = []
    for key in sorted({*bought, *came}):
        received = came.get(key) or LedgerMaterial()
        planned = bought.get(key) or _Bought(received.step)
        done = used[planned.step].done_basis_points if planned.step in used else None
        found.append(
            Material(
                key=key,
                step=planned.step,
                budget_packs=planned.packs,
                budget_cents=planned.cents,
                packs=received.packs_millionths,
                cost_cents=received.cost_cents,
                is_finished=_is_over(planned.step, done, phases_behind),
            )
        )
    return found


def _is_over(step: str, done: int | None, phases_behind: Sequence[str]) -> bool:
    return phase_of(step) in phases_behind or done == ALL_DONE

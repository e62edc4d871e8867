"""The cheapest set of rolls for all pieces, with a proven bound beside it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from .bounds import cover_bound, strip_bound
from .greedy import Load, first_plan, length_used, plan_cost
from .layout import lay_out
from .model import CutPlan, CutSettings, Piece, RollKind
from .sizes import Job, as_mm, read_job


def plan_cuts(
    pieces: Sequence[Piece], roll_kinds: Sequence[RollKind], settings: CutSettings | None = None
) -> CutPlan:
    """Choose the rolls to take and cut all pieces from them for the least cents.

    Among plans of that cost, the one that uses least length of the rolls bought. The same input gives the
    same plan; only a search that runs into its time limit may stop at another place on another machine.

    Raises:
        DomainError: a size, price or setting is impossible, a piece fits no roll, or the rolls on offer
            do not hold all pieces (rules ``cutting.*``).
    """
    settings = settings or CutSettings()
    job = read_job(pieces, roll_kinds, settings)
    if not pieces:
        return CutPlan((), 0, 0, Decimal(0), True, "nothing to cut", Decimal(0), Decimal(0), Decimal(0))
    loads = first_plan(job)
    if loads is None:
        raise _too_few_rolls()
    bound = cover_bound(job, plan_cost(loads, job.stocks))
    return finish(job, loads, bound, 0, "filled in order of size", pieces, roll_kinds, settings)


def _too_few_rolls() -> DomainError:
    return DomainError(
        phrase(
            gettext_noop(
                "The rolls on offer do not hold all pieces: more are needed than the numbers available."
            )
        ),
        rule="cutting.too-few-rolls",
    )


def finish(
    job: Job,
    loads: Sequence[Load],
    bound: int,
    length_bound: int,
    method: str,
    pieces: Sequence[Piece],
    kinds: Sequence[RollKind],
    settings: CutSettings,
) -> CutPlan:
    """Write the plan down in millimetres and cents."""
    ordered = sorted(loads, key=lambda load: (not job.stocks[load[0]].is_stock, load[0]))
    rolls = lay_out(ordered, job, pieces, kinds, settings)
    cost = plan_cost(loads, job.stocks)
    taken = sum(kinds[k].width_mm * kinds[k].length_mm for k, _ in loads)
    used = sum(p.across_mm * p.along_mm for p in pieces)
    if len({s.width for s in job.stocks}) == 1 and len(loads) == 1:
        length_bound = max(length_bound, strip_bound(job.shapes, job.stocks[0].width))
    return CutPlan(
        rolls=rolls,
        cost_cents=cost,
        bound_cents=bound,
        gap=(Decimal(cost - bound) / cost).quantize(Decimal("0.0001")) if cost else Decimal(0),
        proven=cost == bound,
        method=method,
        area_used_fraction=(Decimal(used) / taken).quantize(Decimal("0.0001")),
        length_used_mm=as_mm(length_used(loads, job.stocks)),
        length_bound_mm=as_mm(length_bound),
    )

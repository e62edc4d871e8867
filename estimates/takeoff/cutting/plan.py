"""The cheapest set of rolls for all pieces, with a proven bound beside it.

How it is found: pieces become full-width sections (``strip``: blocks joined upward with a budget of waste,
after Wang 1983, ``pool``; large jobs by ``remake``, ``scatter`` and ``peel``), sections are loaded onto rolls
(``lengths``: column generation after Gilmore & Gomory 1961), shelf and widths are mixed in ``rolls``. Where
rolls of several widths are on offer, sets of whole rolls are tried, the cheapest first (``sets``,
``fullness``, ``fitting``): on random ten-room houses their bound was mostly met by a longer search, while
plans that price length were up to 17 % over it.
How it is proved: one linear programme over slices of all rolls (``slices``) and one for each set, ready-made
shares of the width (``bounds``), column generation on an easier task (``relax``), and searches that left
nothing out (``pool``); every bound on cents is exact integer arithmetic.

The linear programmes go to HiGHS through ``highspy``: it is the smallest of the solvers measured (8 MB
installed, OR-Tools with what it needs 240 MB) and keeps a programme warm from round to round, which is what
column generation needs. Measured on one core of a modest machine: a ten-room house's programme over all ways
of laying is solved in about 20 ms; published one-dimensional instances take 0.15 s (median) and 1 s (most)
to their optimum, where plain CP-SAT assignment proved 1 of 16 in 8 s and plain arc flow 5 of 16.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import combinations

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from .bounds import cover_bound
from .effort import Effort
from .fullness import fullness
from .greedy import Load, first_plan, length_used, plan_cost, score
from .layout import lay_out
from .model import CutPlan, CutSettings, Piece, RollKind
from .rolls import Hint, RollSearch, loads_of
from .sets import are_sets
from .sizes import Job, as_mm, read_job
from .slices import job_programme
from .strip import StripSearch

# Of more kinds of roll than this, not all choices among them are tried.
_MOST_KINDS = 4


def plan_cuts(
    pieces: Sequence[Piece],
    roll_kinds: Sequence[RollKind],
    settings: CutSettings | None = None,
    hint: Hint | None = None,
) -> CutPlan:
    """Choose the rolls to take and cut all pieces from them for the least cents.

    Among plans of that cost, the one that uses least length of the rolls bought. The same input gives the
    same plan; only a search that the clock ends before its work limit may stop at another place on another
    machine. *hint*: sections that another search found, to be tried first.

    Raises:
        DomainError: a size, price or setting is impossible, a piece fits no roll, or the rolls on offer
            do not hold all pieces (rules ``cutting.*``).
    """
    settings = settings or CutSettings()
    job = read_job(pieces, roll_kinds, settings)
    if not pieces:
        return CutPlan(
            (),
            0,
            0,
            Decimal(0),
            True,
            phrase(gettext_noop("Nothing to cut")),
            Decimal(0),
            Decimal(0),
            Decimal(0),
        )
    plan = _planned(job, hint, pieces, roll_kinds, settings)
    if hint is not None and hint.loads:
        return plan
    # Whoever found sections before tries fewer kinds of roll as well, each with sections of its own.
    for kinds in _fewer(roll_kinds) if hint is None else _without_shelf(roll_kinds):
        if plan.proven:
            break
        if _may_be_cheaper(plan, pieces, kinds, settings):
            few = read_job(pieces, kinds, settings)
            plan = cheaper(plan, _planned(few, hint, pieces, kinds, settings))
    return plan


def _planned(
    job: Job,
    hint: Hint | None,
    pieces: Sequence[Piece],
    roll_kinds: Sequence[RollKind],
    settings: CutSettings,
) -> CutPlan:
    effort = Effort(settings.time_limit_s, settings.work_limit)
    search = _searched(job, hint, effort)
    length_bound = 0
    if search.is_done and len(search.best) == 1:
        length_bound = _shorten(search, effort)
    return _written(search, length_bound, pieces, roll_kinds, settings)


def _fewer(kinds: Sequence[RollKind]) -> Iterator[list[RollKind]]:
    """Yield choices of fewer kinds of roll to plan with again.

    The shelf, or many kinds, may lead a search astray; having them must never make the plan dearer. Rolls of
    one width are chosen among well enough by their lengths (:mod:`.lengths`).
    """
    yield from _without_shelf(kinds)
    shelf = [kind for kind in kinds if kind.is_stock]
    bought = [kind for kind in kinds if not kind.is_stock]
    if 1 < len(bought) <= _MOST_KINDS and len({kind.width_mm for kind in bought}) > 1:
        for count in range(1, len(bought)):
            for few in combinations(bought, count):
                yield [*shelf, *few]


def _without_shelf(kinds: Sequence[RollKind]) -> Iterator[list[RollKind]]:
    bought = [kind for kind in kinds if not kind.is_stock]
    if 0 < len(bought) < len(kinds):
        yield bought


def _may_be_cheaper(
    plan: CutPlan, pieces: Sequence[Piece], kinds: Sequence[RollKind], settings: CutSettings
) -> bool:
    """Whether *kinds* alone hold all pieces, and nothing proves that this costs as much as *plan*."""
    try:
        job = read_job(pieces, kinds, settings)
    except DomainError:
        return False
    return first_plan(job) is not None and cover_bound(job, plan.cost_cents) < plan.cost_cents


def _searched(job: Job, hint: Hint | None, effort: Effort) -> RollSearch:
    """Return the search that was done."""
    start = loads_of(hint, job.shapes) if hint is not None and hint.loads else first_plan(job)
    if start is None:
        raise _too_few_rolls()
    cost = plan_cost(start, job.stocks)
    if hint is not None and hint.loads and cost <= hint.least:
        return RollSearch(job, start, hint.least, None, None, hint)
    programme = job_programme(job.shapes, job.stocks)
    full = fullness(programme) if are_sets(job.stocks) else None
    bound = cover_bound(job, cost, programme, full)
    search = RollSearch(job, start, bound, programme, full, hint)
    search.run(effort)
    return search


def cheaper(plan: CutPlan, other: CutPlan) -> CutPlan:
    """Return *plan*, or *other* where it costs less; the bound of *other*, made from fewer kinds, is void."""
    if other.cost_cents >= plan.cost_cents:
        return plan
    bound = min(plan.bound_cents, other.cost_cents)
    gap = (Decimal(other.cost_cents - bound) / other.cost_cents).quantize(Decimal("0.0001"))
    return replace(other, bound_cents=bound, gap=gap, proven=bound == other.cost_cents)


def _shorten(search: RollSearch, effort: Effort) -> int:
    """Use the least length of the only roll of the plan; return the proven least length."""
    job = search.job
    kind, _ = search.best[0]
    stock = job.stocks[kind]
    strip = StripSearch(job.shapes, stock.width, stock.length)
    strip.run(effort)
    found: list[Load] = [(kind, strip.sections)]
    if strip.length <= stock.length and score(found, job.stocks) < score(search.best, job.stocks):
        search.best, search.method = found, phrase(gettext_noop("Shortest roll, searched in full"))
    return strip.bound


def _too_few_rolls() -> DomainError:
    return DomainError(
        phrase(
            gettext_noop(
                "The rolls on offer do not hold all pieces: more are needed than the numbers available."
            )
        ),
        rule="cutting.too-few-rolls",
    )


def _written(
    search: RollSearch,
    length_bound: int,
    pieces: Sequence[Piece],
    kinds: Sequence[RollKind],
    settings: CutSettings,
) -> CutPlan:
    """Write the plan down in millimetres and cents."""
    job, loads, bound = search.job, search.best, search.bound
    ordered = sorted(loads, key=lambda load: (not job.stocks[load[0]].is_stock, load[0]))
    cost = plan_cost(loads, job.stocks)
    bound = min(bound, cost)
    taken = sum(kinds[k].width_mm * kinds[k].length_mm for k, _ in loads)
    used = sum(p.across_mm * p.along_mm for p in pieces)
    return CutPlan(
        rolls=lay_out(ordered, job, pieces, kinds, settings),
        cost_cents=cost,
        bound_cents=bound,
        gap=(Decimal(cost - bound) / cost).quantize(Decimal("0.0001")) if cost else Decimal(0),
        proven=cost == bound,
        method=search.method,
        area_used_fraction=(Decimal(used) / taken).quantize(Decimal("0.0001")),
        length_used_mm=as_mm(length_used(loads, job.stocks)),
        length_bound_mm=as_mm(length_bound),
    )

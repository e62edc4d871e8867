"""What the rolls must cost at least when long pieces do not pair up well on them.

A share of the width (see :mod:`.bounds`) of one whole means that nothing with a share lies beside the
piece: such pieces are lengths to be cut from the rolls one after another. All others count as volume,
broken into crumbs so small that hardly any is lost at the end of a roll; one crumb a roll is given away,
since that is what a roll can lose. Column generation bounds the cost of this easier task from below.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd

from .bounds import least_cost, lifted, width_weights
from .effort import Effort
from .lengths import Lengths, LengthSearch
from .sizes import Job, Shape
from .slices import job_programme

_CRUMBS_PER_ROLL = 400
_MOST_FAMILIES = 6


def relaxed_bound(job: Job, bound: int, limit: int, effort: Effort) -> int:
    """Return cents, at least *bound*, that no plan undercuts; *limit* is the cost of a plan known."""
    if any(s.cost == 0 and s.available < 0 for s in job.stocks):
        return bound
    shapes = lifted(job)
    width = max(s.width for s in job.stocks)
    families = [
        [x * s.along for x, s in zip(shares, shapes, strict=True)] for shares in width_weights(shapes, width)
    ]
    programme = job_programme(shapes, job.stocks)
    whole = programme.slice_worth(width)
    if whole:
        families.append([Fraction(programme.worth((s.across, s.along, s.may_turn)), whole) for s in shapes])
    families.sort(key=lambda worths: -sum(x * s.count for x, s in zip(worths, shapes, strict=True)))
    one_width = len({s.width for s in job.stocks}) == 1
    for worths in families[:_MOST_FAMILIES]:
        if bound >= limit or effort.is_over:
            break
        is_plain = all(x == Fraction(s.area, width) for x, s in zip(worths, shapes, strict=True))
        if is_plain and not one_width:
            continue
        task = _task(job, shapes, worths, limit)
        if task is None:
            continue
        search = LengthSearch(
            task,
            [],
            bound,
            lambda supply, need, most: least_cost(job.stocks, supply, need, most),
            effort.share(0.5),
            limit=limit,
        )
        search.prove()
        bound = max(bound, min(search.bound, limit))
    return bound


def _task(job: Job, shapes: Sequence[Shape], worths: Sequence[Fraction], limit: int) -> Lengths | None:
    whole: dict[int, int] = {}
    volume = Fraction(0)
    for worth, shape in zip(worths, shapes, strict=True):
        if worth == shape.along and not shape.may_turn:
            whole[shape.along] = whole.get(shape.along, 0) + shape.count
        else:
            volume += worth * shape.count
    if not whole:
        return None
    dearest = min(s.cost for s in job.stocks if s.cost) if any(s.cost for s in job.stocks) else 1
    rolls = limit // dearest + sum(s.available for s in job.stocks if s.cost == 0)
    capacities = [s.length for s in job.stocks]
    unit = gcd(*whole, *capacities)
    crumb = unit * max(1, max(capacities) // (_CRUMBS_PER_ROLL * unit))
    count = int(volume / crumb) - rolls
    if count > 0:
        whole[crumb] = whole.get(crumb, 0) + count
    lengths = sorted((length for length in whole if length <= max(capacities)), reverse=True)
    return Lengths(
        tuple(lengths),
        tuple(whole[length] for length in lengths),
        tuple(capacities),
        tuple(s.cost for s in job.stocks),
        tuple(s.available for s in job.stocks),
    )

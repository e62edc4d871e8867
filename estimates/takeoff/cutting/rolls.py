"""Choosing the rolls: sections cut from strips, then sections loaded onto rolls.

Rolls of one width are planned in two steps: pieces are joined to full-width sections that use least length
(:mod:`.strip`), and the sections are lengths to be cut from rolls (:mod:`.lengths`). Rolls of several
widths, and the shelf, are planned by keeping the best-filled rolls of one width and planning the rest
again on another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf

from .blocks import Block, renamed
from .bounds import least_cost, lone_shapes
from .effort import Effort
from .greedy import Load, fill_roll, first_plan, plan_cost, score, shrink_rolls
from .lengths import Lengths, LengthSearch
from .relax import relaxed_bound
from .sizes import Job, Shape, Stock, subset
from .strip import StripSearch

_WORK_PER_ROUND = 20_000


@dataclass
class _Loaded:
    """Rolls with their sections, and the least cents that rolls for these sections cost."""

    loads: list[Load]
    bound: int


def load_sections(
    sections: Sequence[Block], stocks: Sequence[Stock], kinds: Sequence[int], effort: Effort, bound: int
) -> _Loaded | None:
    """Load *sections* onto the cheapest rolls of *kinds* (all of one width), or None if they do not fit."""
    by_length: dict[int, list[Block]] = {}
    for section in sections:
        by_length.setdefault(section.along, []).append(section)
    lengths = sorted(by_length, reverse=True)
    offered = [stocks[k] for k in kinds]
    if lengths[0] > max(s.length for s in offered):
        return None
    shapes = [Shape(1, length, len(by_length[length])) for length in lengths]
    narrow = [Stock(1, s.length, s.cost, s.available, s.is_stock, s.trim) for s in offered]
    start = first_plan(Job(tuple(shapes), (), tuple(narrow), 0))
    if start is None:
        return None
    task = Lengths(
        tuple(lengths),
        tuple(s.count for s in shapes),
        tuple(s.length for s in offered),
        tuple(s.cost for s in offered),
        tuple(s.available for s in offered),
    )
    search = LengthSearch(
        task,
        [(kind, _counted(load)) for kind, load in start],
        bound,
        lambda supply, need, limit: least_cost(offered, supply, need, limit),
        effort,
    )
    search.run()
    piles = {length: iter(by_length[length]) for length in lengths}
    loads: list[Load] = []
    for kind, load in search.best:
        taken = [b for i, n in load.items() for b in _next(piles[lengths[i]], n)]
        if taken:
            loads.append((kinds[kind], taken))
    return _Loaded(loads, search.bound)


def _next(pile: Iterator[Block], count: int) -> Iterator[Block]:
    """Yield up to *count* blocks; loads may hold more of a length than is left to cut."""
    for _ in range(count):
        block = next(pile, None)
        if block is not None:
            yield block


def _counted(blocks: Sequence[Block]) -> dict[int, int]:
    counts: dict[int, int] = {}
    for block in blocks:
        counts[block.shape] = counts.get(block.shape, 0) + 1
    return counts


@dataclass
class _Trial:
    """The pieces *left* after *before* was loaded, to be cut from rolls of *kinds* (of one width)."""

    before: list[Load]
    left: list[int]
    kinds: list[int]
    strip: StripSearch | None = None
    index: list[int] = field(default_factory=list)
    loaded: float = inf


class RollSearch:
    """Plans a job on all its rolls.

    Attributes:
        best: the cheapest plan found (None until one is).
        bound: proven least cents.
    """

    def __init__(self, job: Job, start: list[Load], bound: int) -> None:
        self.job = job
        self.best = start
        self.bound = bound
        self.method = "filled in order of size"
        widths = {s.width for s in job.stocks if s.available != 0}
        self.groups = [
            [k for k, s in enumerate(job.stocks) if s.width == width and s.available != 0]
            for width in sorted(widths, reverse=True)
        ]

    def run(self, effort: Effort) -> None:
        """Plan on each width, with and without the shelf; mix widths; search on where it may still pay."""
        limit = plan_cost(self.best, self.job.stocks)
        counts = [s.count for s in self.job.shapes]
        trials = [_Trial([], counts, group) for group in self.groups]
        if len(self.groups) == 1 and all(lone_shapes(self.job.shapes, self.job.stocks[0].width)):
            self._search_on(trials[0], effort)
        else:
            self.bound = relaxed_bound(self.job, self.bound, limit, effort.share(0.2))
        if self.is_done:
            return
        shelf_loads, left = self._fill_shelf(counts)
        if shelf_loads and any(left):
            trials += [_Trial(shelf_loads, left, group) for group in self.groups]
        for trial in trials:
            self._search_on(trial, effort.share(0.3 / len(trials)))
        self._mix(effort.share(0.4))
        while not self.is_done and not effort.is_over:
            hopeful = [trial for trial in trials if trial.strip is not None and not trial.strip.is_done]
            if not hopeful:
                return
            effort.spend(_WORK_PER_ROUND)
            for trial in hopeful:
                self._search_on(trial, effort.share(0.5 / len(hopeful)))

    def _search_on(self, trial: _Trial, effort: Effort) -> None:
        """Shorten the sections of a trial and load them, if that may still make the plan cheaper."""
        if self.is_done or effort.is_over:
            return
        job = self.job
        if trial.strip is None:
            shapes, trial.index = subset(job.shapes, trial.left)
            trial.strip = self._strip(shapes, trial.kinds)
            if trial.strip is None:
                return
        strip = trial.strip
        strip.run(effort.share(0.8))
        if len(self.groups) == 1 and not trial.before:
            limit = plan_cost(self.best, job.stocks)
            need = least_cost(job.stocks, [s.length for s in job.stocks], strip.bound, limit)
            self.bound = max(self.bound, need)
        if strip.length < trial.loaded and not self.is_done:
            trial.loaded = strip.length
            sections = [renamed(block, trial.index) for block in strip.sections]
            is_whole = len(self.groups) == 1 and not trial.before
            search = load_sections(sections, job.stocks, trial.kinds, effort, self.bound if is_whole else 0)
            if search is None:
                return
            self._take(trial.before, search.loads, "sections on rolls")
            if is_whole and strip.all_alone:
                self.bound = max(self.bound, search.bound)

    def _strip(self, shapes: Sequence[Shape], kinds: Sequence[int]) -> StripSearch | None:
        """Return a search for sections on rolls of one width, or None if a piece does not go on them."""
        stocks = self.job.stocks
        width = stocks[kinds[0]].width
        longest = max(stocks[k].length for k in kinds)
        for s in shapes:
            turned = s.may_turn and s.along <= width and s.across <= longest
            if not turned and not (s.across <= width and s.along <= longest):
                return None
        return StripSearch(shapes, width, longest)

    @property
    def is_done(self) -> bool:
        return plan_cost(self.best, self.job.stocks) <= self.bound

    def _take(self, before: Sequence[Load], loads: list[Load] | None, method: str) -> None:
        if loads is None:
            return
        stocks = self.job.stocks
        plan = shrink_rolls([*before, *loads], stocks)
        taken = [0] * len(stocks)
        for kind, _ in plan:
            taken[kind] += 1
        if any(0 <= s.available < n for s, n in zip(stocks, taken, strict=True)):
            return
        if score(plan, stocks) < score(self.best, stocks):
            self.best, self.method = plan, method

    def _fill_shelf(self, counts: Sequence[int]) -> tuple[list[Load], list[int]]:
        """Fill the offcuts on the shelf, the smallest first."""
        stocks = self.job.stocks
        left = list(counts)
        loads: list[Load] = []
        shelf = [k for k, s in enumerate(stocks) if s.is_stock]
        for kind in sorted(shelf, key=lambda k: (stocks[k].width * stocks[k].length, k)):
            for _ in range(stocks[kind].available):
                sections = fill_roll(self.job.shapes, left, stocks[kind].width, stocks[kind].length)
                if not sections:
                    break
                loads.append((kind, sections))
        return loads, left

    def _plan_width(self, left: Sequence[int], kinds: Sequence[int], effort: Effort) -> list[Load] | None:
        """Plan the pieces *left* on rolls of one width, or return None if they do not go on them."""
        shapes, index = subset(self.job.shapes, left)
        if not shapes:
            return []
        strip = self._strip(shapes, kinds)
        if strip is None:
            return None
        strip.run(effort.share(0.6))
        sections = [renamed(block, index) for block in strip.sections]
        search = load_sections(sections, self.job.stocks, kinds, effort, 0)
        return None if search is None else search.loads

    def _mix(self, effort: Effort) -> None:
        """Keep the best-filled rolls of the best plan and plan what the others hold on each width."""
        stocks = self.job.stocks
        improved = True
        while improved and not self.is_done and not effort.is_over:
            improved = False
            before = score(self.best, stocks)
            filled = sorted(self.best, key=lambda load: -_use(load, stocks))
            for keep in range(len(filled) - 1, 0, -1):
                left = [0] * len(self.job.shapes)
                for _, sections in filled[keep:]:
                    for section in sections:
                        for piece in section.leaves():
                            left[piece.shape] += 1
                for group in self.groups:
                    if self.is_done or effort.is_over:
                        return
                    self._take(
                        filled[:keep], self._plan_width(left, group, effort.share(0.1)), "mixed widths"
                    )
                if score(self.best, stocks) < before:
                    improved = True
                    break


def _use(load: Load, stocks: Sequence[Stock]) -> float:
    kind, sections = load
    area = sum(piece.across * piece.along for section in sections for piece in section.leaves())
    return area / (stocks[kind].width * stocks[kind].length)

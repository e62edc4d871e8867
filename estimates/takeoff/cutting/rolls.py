"""Choosing the rolls: sections cut from strips, then sections loaded onto rolls.

Rolls of one width are planned in two steps: pieces are joined to full-width sections that use least length
(:mod:`.strip`), and the sections are lengths to be cut from rolls (:mod:`.lengths`). Rolls of several
widths, and the shelf, are planned by keeping the best-filled rolls of one width and planning the rest
again on another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf

from ..phrases import Phrase, gettext_noop, phrase
from .blocks import Block, renamed
from .bounds import least_cost, least_for_sections, lone_shapes
from .effort import Effort
from .fill import Cloth
from .fitting import WORK_PER_LOOK, WORK_PER_STEP, Fit, race
from .fullness import Fullness
from .greedy import Load, fill_roll, first_plan, plan_cost, score, shrink_rolls
from .lengths import Lengths, LengthSearch
from .relax import relaxed_bound
from .remake import Remaker
from .sizes import Job, Shape, Stock, subset
from .slices import Size, SliceProgramme
from .strip import StripSearch

_WORK_PER_ROUND = 20_000
# How a plan was found, for the person who reads it.
_IN_ORDER = phrase(gettext_noop("Rolls filled in order of size"))
_REMADE = phrase(gettext_noop("Drops made anew until they lose least"))
_ON_ROLLS = phrase(gettext_noop("Drops joined from the pieces up, then shared out to the rolls"))
_BY_SETS = phrase(gettext_noop("Sets of rolls tried, the cheapest first"))
_MIXED = phrase(gettext_noop("Rolls of several widths mixed"))
# Jobs of more pieces begin with sections made anew; its work in the pairs of blocks that effort counts.
_MANY = 40
_HEAT = 1.5e-4
_STEPS = 1_500


@dataclass(frozen=True)
class Hint:
    """What another search found; a leaf's *shape* is the number of its size.

    *sections*: roll width and block, yet to be put on rolls; or *loads*: a whole plan. *least*: cents
    that every plan costs at least, proven.
    """

    sizes: tuple[Size, ...]
    sections: tuple[tuple[int, Block], ...] = ()
    loads: tuple[tuple[int, tuple[Block, ...]], ...] = ()
    least: int = 0


def cloths(programme: SliceProgramme, stocks: Sequence[Stock]) -> list[Cloth] | None:
    """Return what sections are cut from at will, or None if a piece goes only on rolls that are limited."""
    found = [
        Cloth(width, rate, max(s.length for s in stocks if s.width == width and s.available < 0))
        for width, rate in programme.rates.items()
    ]
    for size in programme.most:
        if not any(a <= c.width and b <= c.longest for a, b in programme.lies(size) for c in found):
            return None
    return found or None


def _numbers(sizes: Sequence[Size], shapes: Sequence[Shape]) -> list[int]:
    """Return for each size the number of the shape that has it, or -1."""
    at = {(s.across, s.along, s.may_turn): i for i, s in enumerate(shapes)}
    return [at.get(size, -1) for size in sizes]


def loads_of(found: Fit | Hint, shapes: Sequence[Shape]) -> list[Load]:
    """Return the plan that was found, its leaves numbered as *shapes*."""
    index = _numbers(found.sizes, shapes)
    return [(kind, [renamed(block, index) for block in blocks]) for kind, blocks in found.loads]


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

    def __init__(
        self,
        job: Job,
        start: list[Load],
        bound: int,
        programme: SliceProgramme | None,
        full: Fullness | None = None,
        hint: Hint | None = None,
    ) -> None:
        """*programme*: of the job's pieces, solved (None: nothing is searched); *full*: for sets of rolls."""
        self.job = job
        self._programme = programme
        self._full = full
        self._hint = hint
        self.best = start
        self.bound = bound
        self.method = _BY_SETS if hint is not None and hint.loads else _IN_ORDER
        widths = {s.width for s in job.stocks if s.available != 0}
        self.groups = [
            [k for k, s in enumerate(job.stocks) if s.width == width and s.available != 0]
            for width in sorted(widths, reverse=True)
        ]

    def run(self, effort: Effort) -> None:
        """Plan on each width, with and without the shelf; mix widths; search on where it may still pay."""
        counts = [s.count for s in self.job.shapes]
        if self._hint is not None and self._hint.loads:
            if self.is_done or sum(counts) > _MANY:
                return
        elif self._hint is not None:
            self._take_sections(self._hint, effort.share(0.3))
        elif self._full is not None:
            self._race(self._full, effort.share(0.5))
        elif not self.is_done and sum(counts) > _MANY:
            self._remake(effort.share(0.4))
        limit = plan_cost(self.best, self.job.stocks)
        trials = [_Trial([], counts, group) for group in self.groups]
        if len(self.groups) == 1 and all(lone_shapes(self.job.shapes, self.job.stocks[0].width)):
            self._search_on(trials[0], effort)
        elif not self.is_done:
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

    def _race(self, full: Fullness, effort: Effort) -> None:
        """Try sets of rolls of several widths, the cheapest first."""
        if self.is_done:
            return
        found = race(full, self.bound, plan_cost(self.best, self.job.stocks), effort)
        self.bound = max(self.bound, found.floor)
        if found.best is not None:
            self._take([], loads_of(found.best.fit(), self.job.shapes), _BY_SETS)

    def _take_sections(self, hint: Hint, effort: Effort) -> None:
        """Load sections that were found before."""
        index = _numbers(hint.sizes, self.job.shapes)
        self._load_all([(width, renamed(block, index)) for width, block in hint.sections], effort)

    def _load_all(self, sections: Sequence[tuple[int, Block]], effort: Effort) -> bool:
        """Load sections of all widths; return whether the plan became better."""
        widths = {self.job.stocks[group[0]].width for group in self.groups}
        if any(across not in widths for across, _ in sections):
            return False
        loads: list[Load] = []
        for group in self.groups:
            width = self.job.stocks[group[0]].width
            mine = [block for across, block in sections if across == width]
            if mine:
                bound = self.bound if len(mine) == len(sections) else 0
                found = load_sections(mine, self.job.stocks, group, effort, bound)
                if found is None:
                    return False
                loads += found.loads
        before = score(self.best, self.job.stocks)
        self._take([], loads, _REMADE)
        return score(self.best, self.job.stocks) < before

    def _remake(self, effort: Effort) -> None:
        """Make sections anew as long as the rolls they need cost more than they must at least."""
        job, programme = self.job, self._programme
        assert programme is not None
        stuff = cloths(programme, job.stocks)
        if stuff is None:
            return
        pieces = {i: s.count for i, s in enumerate(job.shapes)}
        search = Remaker(job.shapes, stuff, programme.values, [], pieces, [])
        heat, is_better, tried = _HEAT * search.best_cost, True, inf
        for step in range(_STEPS):
            if is_better and search.best_cost < tried * 0.9995:
                lengths: Counter[int] = Counter()
                for made in search.best:
                    lengths[stuff[made.section.cloth].width] += made.section.block.along
                now = plan_cost(self.best, job.stocks)
                if least_for_sections(job.stocks, lengths, now) < now:
                    tried = search.best_cost
                    self._load_all(
                        [(stuff[m.section.cloth].width, m.section.block) for m in search.best], effort
                    )
            if self.is_done or effort.is_over:
                break
            before = search.work
            is_better = search.step(heat * (1 - step / _STEPS))
            effort.spend(WORK_PER_STEP + WORK_PER_LOOK * (search.work - before))
        self._load_all([(stuff[m.section.cloth].width, m.section.block) for m in search.best], effort)

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
            self._take(trial.before, search.loads, _ON_ROLLS)
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

    def _take(self, before: Sequence[Load], loads: list[Load] | None, method: Phrase) -> None:
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
                    self._take(filled[:keep], self._plan_width(left, group, effort.share(0.1)), _MIXED)
                if score(self.best, stocks) < before:
                    improved = True
                    break


def _use(load: Load, stocks: Sequence[Stock]) -> float:
    kind, sections = load
    area = sum(piece.across * piece.along for section in sections for piece in section.leaves())
    return area / (stocks[kind].width * stocks[kind].length)

"""Cutting pieces from one strip of given width so that the least length is used."""

from __future__ import annotations

from collections.abc import Sequence
from math import gcd

from .blocks import Block, leaf, renamed
from .bounds import lone_shapes, strip_bound
from .effort import Effort
from .greedy import fill_roll
from .peel import Pass, peel
from .pool import Pool
from .scatter import Scatter, mend
from .sizes import Shape

_CAPS = (150, 300, 600, 1_200, 2_400, 4_800, 9_600, 20_000, 40_000, 80_000)
_MANY = 45
_SOON_SEARCHED = 22
_STARTS = 60
# Counted for every try, so that tries that end at once do not go on for ever.
_WORK_PER_TRY = 20_000
_FEW_SECTIONS = 5
# Blocks kept on a level, and the share of the effort, where the bound leaves so little waste for its area.
_TIGHT = 0.005
_TIGHT_CAPS = (1_000, 4_000)
_TIGHT_SHARE = 0.4


class StripSearch:
    """Looks for the shortest strip.

    Attributes:
        sections: the best found, one behind the other.
        length: their length.
        bound: proven least length.
    """

    def __init__(self, shapes: Sequence[Shape], width: int, longest: int | None = None) -> None:
        """No section may be longer than *longest*."""
        lone = lone_shapes(shapes, width)
        self._alone = [
            leaf(i, s.across, s.along) for i, s in enumerate(shapes) if lone[i] for _ in range(s.count)
        ]
        self._alone_length = sum(b.along for b in self._alone)
        self._index = [i for i in range(len(shapes)) if not lone[i]]
        rest = [shapes[i] for i in self._index]
        # Sizes are counted in what they have in common, so that every length tried is one that can be.
        self._units = units = _common(rest)
        rest = [Shape(s.across // units[0], s.along // units[1], s.count, s.may_turn) for s in rest]
        width //= units[0]
        self._longest = None if longest is None else longest // units[1]
        self.log: list[tuple[int, int, str]] = []
        self._pool = Pool(rest, width) if rest else None
        self._bound = self._pool.fill_along.next_sum(strip_bound(rest, width)) if self._pool else 0
        self._best = _greedy(rest, width, self._longest)
        self._length = sum(b.along for b in self._best)
        self._passes = self._round = 0

    @property
    def length(self) -> int:
        return self._alone_length + self._length * self._units[1]

    @property
    def bound(self) -> int:
        return self._alone_length + self._bound * self._units[1]

    @property
    def sections(self) -> list[Block]:
        return self._alone + [renamed(block, self._index, self._units) for block in self._best]

    @property
    def all_alone(self) -> bool:
        """Whether every piece takes its length alone."""
        return self._pool is None

    @property
    def is_done(self) -> bool:
        return self._length <= self._bound

    def run(self, effort: Effort) -> None:
        """Search in full with more and more blocks kept, and in between mend and peel.

        May be called again to search on.
        """
        pool = self._pool
        if pool is None:
            return
        if not self._passes and not self._round and not self.is_done:
            self._scatter(pool, effort)
            self._try_tight(pool, effort.share(_TIGHT_SHARE))
        while not self.is_done and not effort.is_over:
            before = effort.spent
            effort.spend(_WORK_PER_TRY)
            cap = _CAPS[min(self._round, len(_CAPS) - 1)]
            if pool.pieces <= _MANY or self._round > 3:
                self._search(pool, cap, effort)
            if effort.is_over:
                return
            self._round += 1
            cost = effort.spent - before
            tries, share = (4, 1.5) if pool.pieces <= _SOON_SEARCHED else (8, 2.5)
            while not self.is_done and not effort.is_over:
                if tries <= 0 and effort.spent - before > share * cost:
                    break
                self._improve(pool, effort)
                tries -= 1

    def _try_tight(self, pool: Pool, effort: Effort) -> None:
        """Try the bound at once where it leaves hardly any waste, since few blocks waste so little."""
        for cap in _TIGHT_CAPS:
            bound = -1
            while bound < self._bound and not self.is_done and not effort.is_over:
                bound = self._bound
                if pool.width * bound - pool.area > _TIGHT * pool.area:
                    return
                self._try(pool, bound, cap, effort)

    def _scatter(self, pool: Pool, effort: Effort) -> None:
        scatter = Scatter(pool.shapes, pool.width, self._longest, 1)
        share = effort.share(0.15)
        for number in range(_STARTS):
            if share.is_over or self.is_done:
                return
            sections = scatter.plan((0.0, 0.1, 0.2, 0.4)[number % 4] if number else 0.0, share)
            if sum(b.along for b in sections) < self._length:
                self._take(sections)

    def _improve(self, pool: Pool, effort: Effort) -> None:
        """Peel in one of four tries when the strip has few sections, else in one of eight; else mend."""
        number = self._passes
        self._passes += 1
        effort.spend(_WORK_PER_TRY)
        if number % 8 == 0 or (number % 2 == 0 and len(self._best) < _FEW_SECTIONS):
            self._peel(pool, number // 2, effort)
            return
        sections = mend(self._best, pool.shapes, pool.width, self._longest, number, effort)
        if sections is not None:
            self._take(sections)

    def _take(self, sections: list[Block]) -> None:
        self._best = sections
        self._length = sum(b.along for b in sections)
        self.log.append((self._length, 0, "better"))

    def _search(self, pool: Pool, cap: int, effort: Effort) -> None:
        """Try the middle of the span between bound and best, then just under the best, with this *cap*.

        Every second time the bound itself is tried first: little waste is allowed there, so that it is
        soon reached or soon proven out of reach.
        """
        if self._round % 2 == 0:
            self._try(pool, self._bound, cap, effort)
        while not self.is_done and not effort.is_over:
            middle = (self._bound + self._length) // 2
            if middle < self._length - 1 and self._round < 4 and self._try(pool, middle, cap, effort):
                continue
            if effort.is_over or not self._try(pool, self._length - 1, cap, effort):
                return

    def _peel(self, pool: Pool, number: int, effort: Effort) -> None:
        few = (24, 18, 12, 21)[number % 4]
        if pool.pieces <= few:
            few = max(6, pool.pieces * 2 // 3)
        how = Pass(number, few, (200, 100, 400)[number % 3], self._longest is None or number % 2 == 1)
        slack = (self._length - self._bound) * (0, 1, 2)[number // 2 % 3] // 4
        block = peel(pool.shapes, pool.width, self._bound + slack, self._length, how, effort)
        if block is not None:
            self._accept(block)

    def _accept(self, block: Block) -> bool:
        sections = list(block.parts) if block.join == "behind" else [block]
        if self._longest is not None and max(b.along for b in sections) > self._longest:
            return False
        self._take(sections)
        return True

    def _try(self, pool: Pool, length: int, cap: int, effort: Effort) -> bool:
        length = max(self._bound, pool.fill_along.last_sum(length))
        block = pool.build(length, cap, effort)
        self.log.append((length, cap, "found" if block else ("no" if pool.is_complete else "?")))
        if block is not None:
            return self._accept(block)
        if pool.is_complete:
            self._bound = max(self._bound, pool.fill_along.next_sum(length + 1))
        return False


def _common(shapes: Sequence[Shape]) -> tuple[int, int]:
    """Return the units that all sizes across, and all sizes along, are multiples of."""
    if not shapes:
        return 1, 1
    across, along = gcd(*(s.across for s in shapes)), gcd(*(s.along for s in shapes))
    if any(s.may_turn for s in shapes):
        across = along = gcd(across, along)
    return across, along


def _greedy(shapes: Sequence[Shape], width: int, longest: int | None) -> list[Block]:
    """Sections filled in order of size, each no longer than *longest*."""
    left = [s.count for s in shapes]
    sections = fill_roll(shapes, left, width, 1 << 60 if longest is None else longest)
    while any(left):
        sections += fill_roll(shapes, left, width, longest or 0)
    return sections

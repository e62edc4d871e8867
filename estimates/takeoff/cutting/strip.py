"""Cutting pieces from one strip of given width so that the least length is used."""

from __future__ import annotations

from collections.abc import Sequence

from .blocks import Block, leaf
from .bounds import lone_shapes, strip_bound
from .effort import Effort
from .greedy import fill_roll
from .pool import Pool
from .sizes import Shape

_CAPS = (150, 600, 2_400, 9_600, 40_000, 160_000)


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
        self.log: list[tuple[int, int, str]] = []
        self._pool = Pool(rest, width) if rest else None
        self._bound = self._pool.fill_along.next_sum(strip_bound(rest, width)) if self._pool else 0
        self._best = _greedy(rest, width, longest)
        self._length = sum(b.along for b in self._best)
        self._longest = longest

    @property
    def length(self) -> int:
        return self._alone_length + self._length

    @property
    def bound(self) -> int:
        return self._alone_length + self._bound

    @property
    def sections(self) -> list[Block]:
        return self._alone + [renamed(block, self._index) for block in self._best]

    @property
    def is_done(self) -> bool:
        return self._length <= self._bound

    def run(self, effort: Effort) -> None:
        """Halve the span between bound and best again and again, each time with more blocks kept."""
        pool = self._pool
        if pool is None:
            return
        for cap in _CAPS:
            low = probe = self._bound
            while low < self._length and not effort.is_over:
                if not self._try(pool, probe, cap, effort):
                    low = pool.fill_along.next_sum(probe + 1)
                low = max(low, self._bound)
                probe = min(max(low, (low + self._length - 1) // 2), self._length - 1)
            if self.is_done or effort.is_over:
                return

    def _try(self, pool: Pool, length: int, cap: int, effort: Effort) -> bool:
        block = pool.build(length, cap, effort)
        self.log.append((length, cap, "found" if block else ("no" if pool.is_complete else "?")))
        if block is not None:
            sections = list(block.parts) if block.join == "behind" else [block]
            if self._longest is not None and max(b.along for b in sections) > self._longest:
                return False
            self._best = sections
            self._length = block.along
            return True
        if pool.is_complete:
            self._bound = max(self._bound, pool.fill_along.next_sum(length + 1))
        return False


def _greedy(shapes: Sequence[Shape], width: int, longest: int | None) -> list[Block]:
    """Sections filled in order of size, each no longer than *longest*."""
    left = [s.count for s in shapes]
    sections = fill_roll(shapes, left, width, 1 << 60 if longest is None else longest)
    while any(left):
        sections += fill_roll(shapes, left, width, longest or 0)
    return sections


def renamed(block: Block, index: Sequence[int]) -> Block:
    """Return the block with the numbers of its shapes looked up in *index*."""
    if block.join == "piece":
        return leaf(index[block.shape], block.across, block.along, block.turned)
    return Block(block.across, block.along, block.join, tuple(renamed(p, index) for p in block.parts))

"""Many quick plans by chance, and mending a plan a few sections at a time."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence

from .blocks import Block, behind, beside, leaf, renamed
from .effort import Effort
from .pool import Pool
from .sizes import Shape, subset

# One placement of the quick plan costs about as much as this many pairs of blocks (see effort).
_WORK_PER_WAY = 25


class Scatter:
    """Fills sections from a corner, the largest or best-fitting piece first, with some chance."""

    def __init__(self, shapes: Sequence[Shape], width: int, longest: int | None, seed: int) -> None:
        self._shapes = shapes
        self._width = width
        self._longest = longest
        self._chance = random.Random(seed)  # noqa: S311 - a search, not a secret
        ways = [leaf(i, s.across, s.along) for i, s in enumerate(shapes)]
        ways += [leaf(i, s.along, s.across, turned=True) for i, s in enumerate(shapes) if s.may_turn]
        most = longest if longest is not None else max(b.along for b in ways)
        self._ways = sorted(
            (b for b in ways if b.across <= width and b.along <= most),
            key=lambda b: (-b.along, -b.across, b.shape),
        )
        self._scans = 0

    def plan(self, noise: float, effort: Effort) -> list[Block]:
        """Return sections that hold all pieces; *noise* 0 always gives the same."""
        left = [s.count for s in self._shapes]
        sections = []
        self._scans = 0
        while (anchor := next((b for b in self._ways if left[b.shape]), None)) is not None:
            left[anchor.shape] -= 1
            rest = self._fill(self._width - anchor.across, anchor.along, left, noise)
            sections.append(anchor if rest is None else beside((anchor, rest)))
        effort.spend(self._scans * len(self._ways) * _WORK_PER_WAY)
        return sections

    def _fill(self, across: int, along: int, left: list[int], noise: float) -> Block | None:
        """Fill a rectangle from its corner; None if nothing fits."""
        self._scans += 1
        best, best_score = None, -1.0
        whole = across * along
        for way in self._ways:
            if way.across <= across and way.along <= along and left[way.shape]:
                score = way.across * way.along / whole
                if way.across == across:
                    score += 0.3
                if way.along == along:
                    score += 0.3
                if noise:
                    score += noise * self._chance.random()
                if score > best_score:
                    best, best_score = way, score
        if best is None:
            return None
        left[best.shape] -= 1
        wide, deep = across - best.across, along - best.along
        if wide * along > across * deep:
            above = self._fill(best.across, deep, left, noise) if deep else None
            column = best if above is None else behind((best, above))
            right = self._fill(wide, along, left, noise) if wide else None
            return column if right is None else beside((column, right))
        right = self._fill(wide, best.along, left, noise) if wide else None
        row = best if right is None else beside((best, right))
        above = self._fill(across, deep, left, noise) if deep else None
        return row if above is None else behind((row, above))


def mend(
    sections: Sequence[Block],
    shapes: Sequence[Shape],
    width: int,
    longest: int | None,
    number: int,
    effort: Effort,
) -> list[Block] | None:
    """Search the pieces of a few wasteful sections in full; return shorter sections, or None."""
    chance = random.Random(number)  # noqa: S311 - a search, not a secret
    most = (10, 14, 18, 8, 22)[number % 5]
    waste = [
        (width * b.along - sum(p.across * p.along for p in b.leaves())) * (0.3 + chance.random())
        for b in sections
    ]
    order = sorted(range(len(sections)), key=lambda i: -waste[i])
    needs: Counter[int] = Counter()
    chosen: list[int] = []
    for i in order:
        pieces = Counter(p.shape for p in sections[i].leaves())
        if sum(needs.values()) + sum(pieces.values()) <= most:
            needs.update(pieces)
            chosen.append(i)
    if not needs:
        return None
    now = sum(sections[i].along for i in chosen)
    rest, index = subset(shapes, [needs[i] for i in range(len(shapes))])
    pool = Pool(rest, width, number)
    if -(-pool.area // width) >= now:
        return None
    block = pool.build(now - 1, (80, 160, 320)[number // 5 % 3], effort)
    if block is None:
        return None
    fresh = [renamed(part, index) for part in (block.parts if block.join == "behind" else (block,))]
    if longest is not None and max(b.along for b in fresh) > longest:
        return None
    return [b for i, b in enumerate(sections) if i not in set(chosen)] + fresh

"""All blocks that waste little: joined from pieces upward, a whole level at a time.

After Wang (1983): to cut a strip of known length, the waste inside all blocks together must not exceed
the strip's area less that of the pieces. So start from the pieces and join any two blocks, beside or
behind each other, whose pieces suffice and whose waste stays within that budget. If no block holds all
pieces in the end and nothing was left out on the way, the length is proven impossible.

Added to Wang's rule: the waste that a block forces *around* it counts as well (width beside it or length
behind it that no sum of pieces fills exactly), and a block no smaller either way than another with the same
pieces is dropped. Levels go by number of pieces; all joins between two levels are made at once with NumPy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import gcd

import numpy as np
from numpy.typing import NDArray

from .blocks import Block, behind, beside, leaf
from .effort import Effort
from .sizes import Shape

Ints = NDArray[np.int64]

_PAIRS_AT_ONCE = 1 << 20
# What a join costs before the first pair, measured in pairs.
_WORK_PER_JOIN = 4_500
_WORD_BITS = 62
_MOST_SUMS = 40_000
_MOST_STEPS = 1_000_000


class Fill:
    """How much of a length sums of the given sizes can fill at most."""

    def __init__(self, sizes: Sequence[int], top: int) -> None:
        unit = gcd(*sizes)
        steps = top // unit
        self.sums: Ints | None = None
        if steps > _MOST_STEPS:
            return
        # Bit n of a whole number stands for the sum n, so that adding a size is a shift.
        sums, within = 1, (1 << (steps + 1)) - 1
        for size in sizes:
            sums |= (sums << (size // unit)) & within
        if sums.bit_count() <= _MOST_SUMS:
            octets = np.frombuffer(sums.to_bytes(steps // 8 + 1, "little"), dtype=np.uint8)
            self.sums = np.flatnonzero(np.unpackbits(octets, bitorder="little")).astype(np.int64) * unit

    def unused(self, room: Ints) -> Ints:
        """Return the part of each *room* that must stay empty (0 where there are too many sums to tell)."""
        if self.sums is None:
            return np.zeros_like(room)
        return room - self.sums[np.searchsorted(self.sums, room, side="right") - 1]

    def last_sum(self, size: int) -> int:
        """Return the greatest sum that is no more than *size*, or *size* if it is not known."""
        if self.sums is None:
            return size
        return int(self.sums[np.searchsorted(self.sums, size, side="right") - 1])

    def next_sum(self, size: int) -> int:
        """Return the least sum that is no less than *size*, or *size* if it is not known."""
        if self.sums is None:
            return size
        at = int(np.searchsorted(self.sums, size))
        return int(self.sums[at]) if at < len(self.sums) else size


@dataclass
class Level:
    """Blocks with the same number of pieces, as columns; *parents* are (level, row, level, row, join)."""

    across: Ints
    along: Ints
    area: Ints
    lead: NDArray[np.int32]
    keys: tuple[Ints, ...]
    parents: NDArray[np.int32]
    waste: Ints = field(init=False)
    forced: Ints = field(init=False)
    order: tuple[NDArray[np.int32], NDArray[np.int32]] = field(init=False)
    ranked: tuple[Ints, Ints] = field(init=False)
    shifted: tuple[tuple[Ints, ...], ...] = field(init=False)

    def __len__(self) -> int:
        return len(self.across)

    def take(self, rows: NDArray[np.intp]) -> Level:
        """Return only these rows."""
        return Level(
            self.across[rows],
            self.along[rows],
            self.area[rows],
            self.lead[rows],
            tuple(key[rows] for key in self.keys),
            self.parents[rows],
        )


def _concatenate(levels: Sequence[Level]) -> Level:
    return Level(
        np.concatenate([x.across for x in levels]),
        np.concatenate([x.along for x in levels]),
        np.concatenate([x.area for x in levels]),
        np.concatenate([x.lead for x in levels]),
        tuple(np.concatenate(columns) for columns in zip(*(x.keys for x in levels), strict=True)),
        np.concatenate([x.parents for x in levels]),
    )


class Keys:
    """Which pieces a block holds, as numbers in bit fields; too many of one show in a guard bit."""

    def __init__(self, counts: Sequence[int]) -> None:
        self.fields: list[tuple[int, int]] = []
        biases, guards = [0], [0]
        at = 0
        for count in counts:
            bits = count.bit_length() + 1
            if at + bits > _WORD_BITS:
                biases.append(0)
                guards.append(0)
                at = 0
            biases[-1] |= ((1 << (bits - 1)) - 1 - count) << at
            guards[-1] |= 1 << (at + bits - 1)
            self.fields.append((len(biases) - 1, at))
            at += bits
        self.biases, self.guards = biases, guards

    def of_shapes(self) -> tuple[Ints, ...]:
        """Return the keys of the single pieces."""
        keys = tuple(np.zeros(len(self.fields), dtype=np.int64) for _ in self.biases)
        for row, (word, at) in enumerate(self.fields):
            keys[word][row] = 1 << at
        return keys

    def hashed(self, keys: Sequence[Ints]) -> NDArray[np.uint64]:
        """Return one number for each key (the odds of two keys sharing one are about one in 10**9)."""
        mixed = np.zeros(len(keys[0]), dtype=np.uint64)
        for key in keys:
            mixed = (mixed ^ key.astype(np.uint64)) * np.uint64(0x9E3779B97F4A7C15)
            mixed ^= mixed >> np.uint64(29)
        return mixed


class Pool:
    """Blocks for a strip of *width*, built for one length at a time."""

    def __init__(self, shapes: Sequence[Shape], width: int, seed: int = 1, spread: float = 0.0) -> None:
        self.shapes = shapes
        self.width = width
        self.pieces = sum(s.count for s in shapes)
        self.area = sum(s.area * s.count for s in shapes)
        self.keys = Keys([s.count for s in shapes])
        self.levels: list[Level] = []
        self.noise = 1e-4
        self.spread = spread
        self._lead = np.argsort(np.argsort([-s.area for s in shapes], kind="stable")).astype(np.int32)
        self._random = np.random.default_rng(seed)
        across = [s.across for s in shapes for _ in range(s.count)]
        along = [s.along for s in shapes for _ in range(s.count)]
        if any(s.may_turn for s in shapes):
            turned = [s for s in shapes if s.may_turn for _ in range(s.count)]
            across += [s.along for s in turned]
            along += [s.across for s in turned]
        self.fill_across = Fill(across, width)
        self.fill_along = Fill(along, sum(along))
        self.is_complete = True

    def build(self, length: int, cap: int, effort: Effort, most_pieces: int | None = None) -> Block | None:
        """Return a block of all pieces no longer than *length*, or None.

        At most *cap* blocks, those with the least waste for their size, are kept on a level. None is a
        proof that there is no such block when *is_complete* is true afterwards.
        """
        budget = self.width * length - self.area
        self.length, self.is_complete = length, True
        self.levels = []
        if budget < 0:
            return None
        self._budget = budget
        self.levels = [self._pieces()]
        top = min(self.pieces, most_pieces or self.pieces)
        limit = budget
        for count in range(2, top + 1):
            level, limit = self._next_level(count, cap, limit, effort)
            if effort.is_over:
                self.is_complete = False
                return None
            self.levels.append(level)
        last = self.levels[-1]
        if top == self.pieces and len(last):
            return self.block(top, int(np.argmin(last.along)))
        return None

    def block(self, count: int, row: int) -> Block:
        """Return the block of *count* pieces in this *row* of its level."""
        level = self.levels[count - 1]
        first, row_a, second, row_b, join = (int(x) for x in level.parents[row])
        if count == 1:
            shape = self.shapes[row_a]
            turned = bool(join)
            sides = (shape.along, shape.across) if turned else (shape.across, shape.along)
            return leaf(row_a, *sides, turned=turned)
        parts = (self.block(first, row_a), self.block(second, row_b))
        return beside(parts) if join == 0 else behind(parts)

    def _pieces(self) -> Level:
        rows = [(i, 0) for i in range(len(self.shapes))]
        rows += [(i, 1) for i, s in enumerate(self.shapes) if s.may_turn]
        shapes = [self.shapes[i] for i, _ in rows]
        across = np.array([s.along if t else s.across for s, (_, t) in zip(shapes, rows, strict=True)])
        along = np.array([s.across if t else s.along for s, (_, t) in zip(shapes, rows, strict=True)])
        parents = np.zeros((len(rows), 5), dtype=np.int32)
        parents[:, 1] = [i for i, _ in rows]
        parents[:, 4] = [t for _, t in rows]
        keys = tuple(key[parents[:, 1]] for key in self.keys.of_shapes())
        lead = self._lead[parents[:, 1]]
        level = Level(across.astype(np.int64), along.astype(np.int64), across * along, lead, keys, parents)
        fits = (level.across <= self.width) & (level.along <= self.length)
        level = level.take(np.flatnonzero(fits))
        self._finish(level)
        return level

    def _forced(self, across: Ints, along: Ints, area: Ints) -> Ints:
        """Waste inside a block, beside it and behind it; the three areas are apart from one another."""
        beside_it = self.fill_across.unused(self.width - across)
        behind_it = self.fill_along.unused(self.length - along)
        forced: Ints = across * along - area + along * beside_it + across * behind_it
        return forced

    def _finish(self, level: Level) -> None:
        level.waste = level.across * level.along - level.area
        level.forced = self._forced(level.across, level.along, level.area)
        by_along = np.lexsort((level.across, level.along))
        by_across = np.lexsort((level.along, level.across))
        level.order = (by_along.astype(np.int32), by_across.astype(np.int32))
        level.ranked = (level.along[by_along], level.across[by_across])
        biased = [key + bias for key, bias in zip(level.keys, self.keys.biases, strict=True)]
        level.shifted = tuple(tuple(key[order] for key in biased) for order in level.order)

    def _next_level(self, count: int, cap: int, limit: int, effort: Effort) -> tuple[Level, int]:
        """Join all levels that add up to *count* pieces.

        Joins wasting more than *limit* are not even looked at; the limit grows until *cap* is reached.
        """
        last = count == self.pieces
        limit = self._budget if last else limit
        while True:
            found: list[Level] = []
            for one in range(1, count // 2 + 1):
                other = count - one
                for join in (0, 1):
                    found += self._join(one, other, join, limit, effort)
                    if one != other:
                        found += self._join(other, one, join, limit, effort)
                    if effort.is_over:
                        return self._none(), limit
            level = self._best_of(_concatenate(found)) if found else self._none()
            if limit >= self._budget or len(level) >= cap:
                break
            limit = min(self._budget, 3 * limit + self._budget // 50 + 1)
        self._finish(level)
        if limit < self._budget:
            self.is_complete = False
        if len(level) > cap and not last:
            self.is_complete = False
            rows = self._pick(level, cap)
            worst = int(level.forced[rows].max())
            level = level.take(rows)
            self._finish(level)
            limit = min(limit, worst + worst // 4 + 1)
        return level, limit

    def _pick(self, level: Level, cap: int) -> NDArray[np.intp]:
        """Choose *cap* rows with little waste: *spread* of them evenly over the largest pieces they hold."""
        score = level.forced / level.area + self._random.random(len(level)) * self.noise
        evenly = int(cap * self.spread)
        rows = (
            np.argpartition(score, cap - 1)[: cap - evenly]
            if evenly == 0
            else np.argsort(score)[: cap - evenly]
        )
        if evenly:
            order = np.lexsort((score, level.lead))
            lead = level.lead[order]
            first = np.searchsorted(lead, lead)
            rank = np.empty(len(order), dtype=np.int64)
            rank[order] = np.arange(len(order)) - first
            rank[rows] = len(order)
            rows = np.concatenate((rows, np.lexsort((score, rank))[:evenly]))
        rows.sort()
        return rows

    def _none(self) -> Level:
        no = np.zeros(0, dtype=np.int64)
        level = Level(
            no,
            no,
            no,
            no.astype(np.int32),
            tuple(no for _ in self.keys.biases),
            np.zeros((0, 5), dtype=np.int32),
        )
        self._finish(level)
        return level

    def _best_of(self, level: Level) -> Level:
        """Drop blocks that are no smaller either way than another block of the same pieces."""
        _, group = np.unique(self.keys.hashed(level.keys), return_inverse=True)
        order = np.lexsort((level.along, level.across, group))
        spread = int(level.along.max()) + 1
        along = level.along[order] - group[order] * spread
        least = np.minimum.accumulate(along)
        keep = np.ones(len(order), dtype=bool)
        keep[1:] = along[1:] < least[:-1]
        return level.take(order[keep])

    def _join(self, one: int, other: int, join: int, limit: int, effort: Effort) -> list[Level]:
        """Join blocks of two levels where the first is no longer (or wider) than the second.

        Sorted by the side they share, the second blocks that waste little beside a first one are a run.
        """
        a, b = self.levels[one - 1], self.levels[other - 1]
        if not len(a) or not len(b):
            return []
        side, order = a.ranked[join], a.order[join]
        added = a.across if join == 0 else a.along
        room = ((limit - a.waste) // added)[order]
        start = np.searchsorted(b.ranked[join], side, side="left" if one <= other else "right")
        end = np.searchsorted(b.ranked[join], side + room, side="right")
        runs = np.maximum(end - start, 0)
        totals = np.cumsum(runs)
        effort.spend(int(totals[-1]) + _WORK_PER_JOIN)
        found = []
        first = 0
        while first < len(runs):
            done = int(totals[first - 1]) if first else 0
            last = max(first + 1, int(np.searchsorted(totals, done + _PAIRS_AT_ONCE, side="right")))
            if totals[last - 1] > done:
                level = self._pairs((one, other, join), slice(first, last), start, runs, limit)
                if level is not None:
                    found.append(level)
            first = last
        return found

    def _pairs(
        self, how: tuple[int, int, int], rows: slice, start: Ints, runs: Ints, limit: int
    ) -> Level | None:
        one, other, join = how
        a, b = self.levels[one - 1], self.levels[other - 1]
        run = runs[rows]
        shift = start[rows] - np.cumsum(run) + run
        place = np.repeat(shift.astype(np.int32), run)
        place += np.arange(len(place), dtype=np.int32)
        row_a = np.repeat(a.order[join][rows], run)
        for word, guard in enumerate(self.keys.guards):
            both = b.shifted[join][word][place]
            both += a.keys[word][row_a]
            both &= guard
            keep = np.flatnonzero(both == 0)
            row_a, place = row_a[keep], place[keep]
        row_b = b.order[join][place]
        added = (a.across, b.across) if join == 0 else (a.along, b.along)
        size = added[0][row_a] + added[1][row_b]
        keep = np.flatnonzero(size <= (self.width if join == 0 else self.length))
        row_a, row_b, size = row_a[keep], row_b[keep], size[keep]
        shared = (b.along if join == 0 else b.across)[row_b]
        area = a.area[row_a] + b.area[row_b]
        keep = np.flatnonzero(size * shared - area <= limit)
        row_a, row_b, size, shared, area = row_a[keep], row_b[keep], size[keep], shared[keep], area[keep]
        across, along = (size, shared) if join == 0 else (shared, size)
        keep = np.flatnonzero(self._forced(across, along, area) <= limit)
        if not len(keep):
            return None
        row_a, row_b = row_a[keep], row_b[keep]
        parents = np.empty((len(keep), 5), dtype=np.int32)
        parents[:, (0, 2, 4)] = (one, other, join)
        parents[:, 1], parents[:, 3] = row_a, row_b
        keys = tuple(ka[row_a] + kb[row_b] for ka, kb in zip(a.keys, b.keys, strict=True))
        lead = np.minimum(a.lead[row_a], b.lead[row_b])
        return Level(across[keep], along[keep], area[keep], lead, keys, parents)

"""Many pieces at once: peel low-waste blocks off the strip until few enough are left to search in full.

A block that spans the width of what is left is a section; one that spans the length is a column. Either is
cut off and what is left is a smaller rectangle with fewer pieces.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .blocks import Block, behind, beside, renamed
from .effort import Effort
from .pool import Pool
from .sizes import Shape, subset


@dataclass(frozen=True)
class Pass:
    """How one pass goes: leave *few* pieces for the full search, which keeps *cap* blocks on a level.

    Blocks to peel off have at most *most* pieces.
    """

    seed: int
    few: int
    cap: int
    columns: bool
    most: int = 12


def peel(
    shapes: Sequence[Shape], width: int, aim: int, under: int, how: Pass, effort: Effort
) -> Block | None:
    """Return a block of all pieces not wider than *width* and shorter than *under*, or None.

    Blocks are peeled off as if the strip were *aim* long.
    """
    chance = random.Random(how.seed)  # noqa: S311 - a search, not a secret
    left = [s.count for s in shapes]
    length = aim
    peeled: list[tuple[str, Block]] = []
    while sum(left) > how.few:
        rest, index = subset(shapes, left)
        pool = Pool(rest, width, chance.randrange(1 << 30), 0.5 * (how.seed % 2))
        length = max(length, -(-pool.area // width))
        pool.build(length, how.cap * 3 // 5, effort, most_pieces=min(how.most, sum(left) - 1))
        if effort.is_over:
            return None
        taken = _spanning(pool, width, length, chance, how, sum(left) - how.few)
        if not taken:
            break
        for join, block in taken:
            if join == "behind":
                length -= block.along
            else:
                width -= block.across
            for piece in block.leaves():
                left[index[piece.shape]] -= 1
            peeled.append((join, renamed(block, index)))
    spare = under - 1 - aim + length
    core = _search(shapes, left, width, length, spare, how.cap, effort, chance.randrange(1 << 30))
    if core is None:
        return None
    for join, block in reversed(peeled):
        core = behind((core, block)) if join == "behind" else beside((core, block))
    return core if core.along < under else None


def _spanning(
    pool: Pool, width: int, length: int, chance: random.Random, how: Pass, most: int
) -> list[tuple[str, Block]]:
    """Choose blocks that span the width, or the length, with the least waste; all of one kind."""
    found: list[tuple[float, str, int, int]] = []
    for count, level in enumerate(pool.levels, start=1):
        if not len(level):
            continue
        for join, whole in (("behind", width * level.along), ("beside", length * level.across)):
            if join == "beside" and not how.columns:
                continue
            share = (whole - level.area) / whole
            for row in np.argsort(share, kind="stable")[:40]:
                # A little chance, and many pieces rather than few.
                score = float(share[row]) + 0.01 * chance.random() - 0.0005 * count
                found.append((score, join, count, int(row)))
    found.sort()
    fair = max(0.0, 1 - pool.area / (width * length))
    good = [entry for entry in found if entry[0] <= max(1.2 * fair, 0.02)]
    chosen: list[tuple[str, Block]] = []
    room = [s.count for s in pool.shapes]
    span = pieces = 0
    for _, join, count, row in good or found[:1]:
        if (chosen and join != chosen[0][0]) or pieces > most // 3:
            continue
        block = pool.block(count, row)
        size, most_size = (block.along, length) if join == "behind" else (block.across, width)
        needs = Counter(piece.shape for piece in block.leaves())
        if span + size >= most_size or any(room[i] < n for i, n in needs.items()):
            continue
        for i, n in needs.items():
            room[i] -= n
        span, pieces = span + size, pieces + count
        chosen.append((join, block))
    return chosen


def _search(
    shapes: Sequence[Shape],
    left: Sequence[int],
    width: int,
    length: int,
    most: int,
    cap: int,
    effort: Effort,
    seed: int,
) -> Block | None:
    """Find a block of the pieces left from *length* to *most* long, a little longer each time."""
    rest, index = subset(shapes, left)
    pool = Pool(rest, width, seed)
    tried = max(length, -(-pool.area // width))
    step = max(1, length // 60)
    while tried <= most and not effort.is_over:
        block = pool.build(tried, cap, effort)
        if block is not None:
            return renamed(block, index)
        tried = min(tried + step, most) if tried < most else most + 1
        step += step // 2
    return None

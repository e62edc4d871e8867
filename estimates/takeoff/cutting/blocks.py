"""Blocks: rectangles that straight edge-to-edge cuts take apart into pieces.

A block is a piece, or blocks beside each other (parted by a cut along the roll), or blocks behind each
other (parted by a cut across). Sizes are in units and include one kerf on each far side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Block:
    """*shape* is the index of the piece's shape for a leaf, else -1; *turned* is for leaves only."""

    across: int
    along: int
    join: Literal["piece", "beside", "behind"]
    parts: tuple[Block, ...] = ()
    shape: int = -1
    turned: bool = False

    def leaves(self) -> Iterator[Block]:
        """Yield the pieces of the block."""
        todo = [self]
        while todo:
            block = todo.pop()
            if block.join == "piece":
                yield block
            else:
                todo.extend(block.parts)


def leaf(shape: int, across: int, along: int, turned: bool = False) -> Block:
    """Return the block that is one piece."""
    return Block(across, along, "piece", (), shape, turned)


def beside(parts: Iterable[Block]) -> Block:
    """Join blocks next to each other across the roll."""
    flat = tuple(_flatten(parts, "beside"))
    if len(flat) == 1:
        return flat[0]
    return Block(sum(b.across for b in flat), max(b.along for b in flat), "beside", flat)


def behind(parts: Iterable[Block]) -> Block:
    """Join blocks one behind the other along the roll."""
    flat = tuple(_flatten(parts, "behind"))
    if len(flat) == 1:
        return flat[0]
    return Block(max(b.across for b in flat), sum(b.along for b in flat), "behind", flat)


def _flatten(parts: Iterable[Block], join: str) -> Iterator[Block]:
    for part in parts:
        if part.join == join:
            yield from part.parts
        else:
            yield part


def renamed(block: Block, index: Sequence[int], units: tuple[int, int] = (1, 1)) -> Block:
    """Return the block with its shapes looked up in *index* and its sizes multiplied by *units*."""
    across, along = block.across * units[0], block.along * units[1]
    if block.join == "piece":
        return leaf(index[block.shape], across, along, block.turned)
    return Block(across, along, block.join, tuple(renamed(p, index, units) for p in block.parts))

"""From blocks to places, cuts in cutting order and the offcuts worth keeping."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from .blocks import Block
from .model import Cut, CutRoll, CutSettings, Direction, Offcut, Piece, Placed, RollKind
from .sizes import Job, as_mm, ceil_units, floor_units


@dataclass
class _Bench:
    """The roll on the bench while it is taken apart; sizes here are true sizes, without kerf."""

    number: int
    kerf: int
    keep: tuple[int, int]
    names: list[Iterator[Piece]]
    placed: list[Placed] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    offcuts: list[Offcut] = field(default_factory=list)

    def cut(self, direction: Direction, x: int, y: int, length: int) -> None:
        self.cuts.append(Cut(len(self.cuts) + 1, direction, as_mm(x), as_mm(y), as_mm(length)))

    def leave(self, x: int, y: int, across: int, along: int) -> None:
        if across >= self.keep[0] and along >= self.keep[1] and across > 0 and along > 0:
            self.offcuts.append(Offcut(self.number, as_mm(x), as_mm(y), as_mm(across), as_mm(along)))

    def take_apart(self, block: Block, x: int, y: int, across: int, along: int) -> None:
        """Cut *block* out of the rectangle at (*x*, *y*) and then into its pieces."""
        own_across, own_along = block.across - self.kerf, block.along - self.kerf
        spare_across = max(0, across - own_across - self.kerf)
        spare_along = max(0, along - own_along - self.kerf)
        # Whichever cut comes first decides which of the two leftovers is the longer one.
        if across * spare_along >= along * spare_across:
            along = self._part_along(x, y, across, along, own_along)
            across = self._part_across(x, y, across, along, own_across)
        else:
            across = self._part_across(x, y, across, along, own_across)
            along = self._part_along(x, y, across, along, own_along)
        if block.join == "piece":
            piece = next(self.names[block.shape])
            self.placed.append(
                Placed(piece.key, self.number, as_mm(x), as_mm(y), as_mm(across), as_mm(along), block.turned)
            )
            return
        for part in block.parts[:-1]:
            if block.join == "beside":
                width = part.across - self.kerf
                self.cut("along", x + width, y, along)
                self.take_apart(part, x, y, width, along)
                x, across = x + part.across, across - part.across
            else:
                length = part.along - self.kerf
                self.cut("across", x, y + length, across)
                self.take_apart(part, x, y, across, length)
                y, along = y + part.along, along - part.along
        self.take_apart(block.parts[-1], x, y, across, along)

    def _part_along(self, x: int, y: int, across: int, along: int, wanted: int) -> int:
        if along > wanted:
            self.cut("across", x, y + wanted, across)
            self.leave(x, y + wanted + self.kerf, across, along - wanted - self.kerf)
        return wanted

    def _part_across(self, x: int, y: int, across: int, along: int, wanted: int) -> int:
        if across > wanted:
            self.cut("along", x + wanted, y, along)
            self.leave(x + wanted + self.kerf, y, across - wanted - self.kerf, along)
        return wanted


def lay_out(
    loads: Sequence[tuple[int, Sequence[Block]]],
    job: Job,
    pieces: Sequence[Piece],
    kinds: Sequence[RollKind],
    settings: CutSettings,
) -> tuple[CutRoll, ...]:
    """Return the rolls with places, cuts and offcuts.

    Args:
        loads: for each roll the index of its kind and its blocks in order from the start of the roll.
    """
    names = [iter([pieces[i] for i in who]) for who in job.members]
    keep = (ceil_units(settings.keep_across_mm), ceil_units(settings.keep_along_mm))
    rolls = []
    for number, (kind, sections) in enumerate(loads, start=1):
        stock = job.stocks[kind]
        bench = _Bench(number, job.kerf, keep, names)
        width = stock.width - job.kerf
        end = floor_units(kinds[kind].length_mm)
        y = stock.trim
        if y:
            bench.cut("across", 0, y, width)
        for section in sections:
            length = section.along - job.kerf
            if y + length < end:
                bench.cut("across", 0, y + length, width)
            bench.take_apart(section, 0, y, width, length)
            y += section.along
        bench.leave(0, y, width, end - y)
        rolls.append(
            CutRoll(
                kinds[kind].key,
                number,
                as_mm(y - job.kerf if sections else y),
                tuple(bench.placed),
                tuple(bench.cuts),
                tuple(bench.offcuts),
            )
        )
    return tuple(rolls)

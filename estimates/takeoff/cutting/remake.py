"""Making a few sections anew, again and again, and with them the way that a face is laid.

The search behind plans of large jobs: some sections that lose much are undone, with some that their pieces
would go well with and loose strips to fill up with; now and then a face whose pieces lie there is laid
another way; then the pieces are filled into sections again (:mod:`.fill`). What costs no more is kept, and at
first now and then what costs a little more (Kirkpatrick, Gelatt & Vecchi 1983).
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp

from .fill import Cloth, Filler, Section
from .sizes import Shape

# How often a face is laid another way, and how often any sections are undone rather than related ones.
_SWITCHES = 0.4
_ANY = 0.4
_COUNTS = (2, 3, 4, 6, 8)
_SHARES = (0.0, 0.3, 0.8)
_PARTNERS = (1, 2, 3, 4)
# A piece alone in its section is loose if no longer than the widest roll over this.
_SMALL = 5


@dataclass(frozen=True, slots=True)
class Made:
    """A section with the pieces it holds, by shape; *is_loose*: it is one small piece."""

    section: Section
    cost: float
    holds: Mapping[int, int]
    loss: float
    is_loose: bool


class Remaker:
    """Looks for cheap sections for faces that may each be laid in several ways.

    Attributes:
        best: the cheapest sections found.
        best_choice: for each row of ways the one that these are for.
        best_cost: what they cost, in what the cloths' rates are in, with *worth* for each piece.
        best_excess: the part of it that is not for sections but for their not fitting.
    """

    def __init__(
        self,
        shapes: Sequence[Shape],
        cloths: Sequence[Cloth],
        prices: Mapping[int, float],
        rows: Sequence[Sequence[Mapping[int, int]]],
        fixed: Mapping[int, int],
        choice: Sequence[int],
        worth: float = 0.0,
        seed: int = 1,
    ) -> None:
        """*rows*: for each face its ways, each how many of which shape; *worth*: cost per piece."""
        self.shapes = shapes
        self.cloths = cloths
        self.rows = rows
        self._choice = list(choice)
        self._worth = worth
        self._filler = Filler(shapes, cloths, prices)
        self._chance = random.Random(seed)  # noqa: S311 - a search, not a secret
        self._open = [at for at, row in enumerate(rows) if len(row) > 1]
        left = [0] * len(shapes)
        for way in (fixed, *(row[chosen] for row, chosen in zip(rows, choice, strict=True))):
            for shape, count in way.items():
                left[shape] += count
        order = sorted((i for i, n in enumerate(left) if n), key=lambda i: -shapes[i].area)
        self._small = max(cloth.width for cloth in cloths) // _SMALL
        self._made = [self._read(section) for section in self._filler.plan(order, left)]
        self._excess = self._excess_of(self._made)
        self._cost = self._excess + sum(made.cost for made in self._made)
        self.best = list(self._made)
        self.best_choice = list(self._choice)
        self.best_cost = self._cost
        self.best_excess = self._excess

    def value_pieces(self, worth: float) -> None:
        """Go on from the best, with *worth* for each piece."""
        self._worth = worth
        self._made = [self._read(made.section) for made in self.best]
        self.best = list(self._made)
        self._choice = list(self.best_choice)
        self._excess = self._excess_of(self._made)
        self._cost = self.best_cost = self._excess + sum(made.cost for made in self._made)
        self.best_excess = self._excess

    def _fill(self, order: Sequence[int], left: list[int]) -> list[Section]:
        return self._filler.plan(order, left)

    def _excess_of(self, made: Sequence[Made]) -> float:
        """Return what is added to the cost of all sections together (nothing, where rolls are no matter)."""
        return 0.0

    @property
    def work(self) -> int:
        return self._filler.work

    def _read(self, section: Section) -> Made:
        holds: dict[int, int] = {}
        for piece in section.block.leaves():
            holds[piece.shape] = holds.get(piece.shape, 0) + 1
        count = sum(holds.values())
        rate = self.cloths[section.cloth].rate
        is_loose = count == 1 and section.block.along <= self._small
        cost = rate * section.block.along + self._worth * count
        return Made(section, cost, holds, max(0.0, section.loss), is_loose)

    def step(self, heat: float) -> bool:
        """Make a few sections anew; return whether they are now cheaper than the best before.

        *heat*: what sections may cost more, about, and still be kept.
        """
        chance, shapes = self._chance, self.shapes
        out = self._any() if chance.random() < _ANY else self._related()
        share = chance.choice(_SHARES)
        if share:
            out.update(at for at, m in enumerate(self._made) if m.is_loose and chance.random() < share)
        have: dict[int, int] = {}
        for at in out:
            _add(have, self._made[at].holds)
        switch = self._switched(out, have) if self._open and chance.random() < _SWITCHES else None
        left = [0] * len(shapes)
        for shape, count in have.items():
            left[shape] = count
        noise, tilt = chance.choice((0.0, 0.2, 0.5, 1.0)), chance.choice((1.0, 1.0, 0.5, 0.0))
        order = sorted(
            (i for i, n in have.items() if n),
            key=lambda i: -shapes[i].along * shapes[i].across ** tilt * (1 + noise * chance.random()),
        )
        fresh = [self._read(section) for section in self._fill(order, left)]
        change = sum(made.cost for made in fresh) - sum(self._made[at].cost for at in out)
        made = [one for at, one in enumerate(self._made) if at not in out] + fresh
        excess = self._excess_of(made)
        change += excess - self._excess
        if change > 0 and (heat <= 0 or chance.random() >= exp(-change / heat)):
            return False
        self._made, self._excess = made, excess
        self._cost += change
        if switch is not None:
            self._choice[switch[0]] = switch[1]
        if self._cost >= self.best_cost * (1 - 1e-9):
            return False
        self.best, self.best_choice, self.best_cost = list(self._made), list(self._choice), self._cost
        self.best_excess = self._excess
        return True

    def _any(self) -> set[int]:
        """Choose sections to undo, rather those that lose much."""
        chance, made = self._chance, self._made
        score = [(m.loss + 0.02 * m.cost * chance.random()) * chance.random() for m in made]
        count = chance.choice(_COUNTS)
        return set(sorted(range(len(made)), key=lambda at: -score[at])[:count])

    def _related(self) -> set[int]:
        """Choose a section that loses, a piece of it, and sections with pieces that lie well beside that."""
        chance, made, shapes = self._chance, self._made, self.shapes
        first = max(range(len(made)), key=lambda at: made[at].loss * chance.random())
        piece = max(made[first].holds, key=lambda i: shapes[i].area * chance.random())
        width = self.cloths[made[first].section.cloth].width
        room, along = width - shapes[piece].across, shapes[piece].along
        misfit = [
            (room - s.across) / width + 0.2 * abs(s.along - along) / max(s.along, along)
            if s.across <= room
            else 9.0
            for s in shapes
        ]
        score = [
            99.0 if m.is_loose else min(misfit[i] for i in m.holds) + 0.2 * chance.random() for m in made
        ]
        score[first] = 99.0
        partners = sorted(range(len(made)), key=score.__getitem__)[: chance.choice(_PARTNERS)]
        return {first, *partners}

    def _switched(self, out: set[int], have: dict[int, int]) -> tuple[int, int]:
        """Lay one face another way: undo the sections that hold its pieces, change *have* accordingly."""
        chance = self._chance
        row = chance.choice(self._open)
        ways, now = self.rows[row], self._choice[row]
        other = chance.choice([at for at in range(len(ways)) if at != now])
        rest = [at for at in range(len(self._made)) if at not in out]
        chance.shuffle(rest)
        missing = {i for i, n in ways[now].items() if n > have.get(i, 0)}
        for at in rest:
            if not missing:
                break
            holds = self._made[at].holds
            if not missing.isdisjoint(holds):
                out.add(at)
                _add(have, holds)
                missing = {i for i in missing if ways[now][i] > have.get(i, 0)}
        _add(have, ways[now], -1)
        _add(have, ways[other])
        return row, other


def _add(have: dict[int, int], more: Mapping[int, int], times: int = 1) -> None:
    for shape, count in more.items():
        have[shape] = have.get(shape, 0) + times * count

"""The best load of one length: an exact bounded knapsack over whole numbers, vectorised.

Lengths are first divided by what they have in common; if they are then still too fine for the table, the
pieces are rounded up to its steps when loads are wanted (every load stays true) and down when a proof is
wanted (no load is missed).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import gcd

import numpy as np
from numpy.typing import NDArray

FINEST_PROOF = 250_000
_FINEST = 24_000
_COARSEST = 3_000
_CELLS = 600_000

Floats = NDArray[np.float64]


class Knapsack:
    """The lengths and the capacities that stay the same while values and numbers change."""

    def __init__(self, lengths: Sequence[int], capacities: Sequence[int], finest: int | None = None) -> None:
        """Use at most *finest* steps; by default as many as tables for so many lengths can be quick with."""
        unit = gcd(*lengths)
        steps = max(capacities) // unit
        if finest is None:
            affordable = _CELLS // len(lengths)
            finest = max(_COARSEST, min(_FINEST, affordable if steps > 2 * affordable else _FINEST))
        if steps > finest:
            unit = -(-max(capacities) // finest)
        self.lengths = [-(-length // unit) for length in lengths]
        self.floors = [max(1, length // unit) for length in lengths]
        self.capacities = [capacity // unit for capacity in capacities]
        self.is_exact = all(length % unit == 0 for length in lengths)
        self._top = max(self.capacities)

    def solve(self, values: Sequence[float], limits: Sequence[int]) -> Table:
        """Fill the table for *values* of the pieces, of which at most *limits* may be taken."""
        return Table(self.lengths, self._top, self.capacities, values, limits)

    def most(self, values: Sequence[int], limits: Sequence[int]) -> list[int]:
        """Return for each capacity a value no load exceeds; *values* are whole numbers, exact to 2**53."""
        row = np.zeros(self._top + 1)
        for i in sorted(range(len(values)), key=lambda i: -self.lengths[i]):
            for batch in batches(limits[i] if values[i] > 0 else 0, self._top // self.floors[i]):
                shift = batch * self.floors[i]
                np.maximum(row[shift:], row[: len(row) - shift] + float(batch * values[i]), out=row[shift:])
        return [int(row[capacity]) for capacity in self.capacities]


class Table:
    """The best value for every room; *cells* tells its size."""

    def __init__(
        self,
        lengths: Sequence[int],
        top: int,
        capacities: Sequence[int],
        values: Sequence[float],
        limits: Sequence[int],
    ) -> None:
        self._capacities = capacities
        order = [i for i in range(len(values)) if values[i] > 1e-12 and limits[i] > 0]
        self._steps: list[tuple[int, int, int]] = []
        for i in order:
            for batch in batches(limits[i], top // lengths[i]):
                self._steps.append((i, batch, batch * lengths[i]))
        self.cells = (len(self._steps) + 1) * (top + 1)
        self._rows = rows = np.zeros((len(self._steps) + 1, top + 1))
        for at, (i, batch, shift) in enumerate(self._steps):
            before, after = rows[at], rows[at + 1]
            after[:shift] = before[:shift]
            np.add(before[: top + 1 - shift], batch * values[i], out=after[shift:])
            np.maximum(after[shift:], before[shift:], out=after[shift:])

    def value(self, kind: int) -> float:
        """Return the best value of a load for the capacity numbered *kind*."""
        return float(self._rows[-1, self._capacities[kind]])

    def load(self, kind: int) -> dict[int, int]:
        """Return one best load for the capacity numbered *kind*: how many of each piece."""
        rows = self._rows
        room = self._capacities[kind]
        taken: dict[int, int] = {}
        for at in range(len(self._steps), 0, -1):
            if rows[at, room] != rows[at - 1, room]:
                i, batch, shift = self._steps[at - 1]
                taken[i] = taken.get(i, 0) + batch
                room -= shift
        return taken


def batches(limit: int, most: int) -> list[int]:
    """Return batch sizes that add up to every number from 0 to min(limit, most) and to no greater one."""
    left = min(limit, most)
    batches = []
    batch = 1
    while left > 0:
        batches.append(min(batch, left))
        left -= batches[-1]
        batch *= 2
    return batches

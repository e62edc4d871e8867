"""Cutting lengths from rolls of one width: column generation, dives and an exact bound.

Method: Gilmore & Gomory (1961). A linear programme chooses among loads of one roll; an exact knapsack
finds the loads that would make it cheaper, several a round (the rest of the pieces is loaded roll by roll
at the same values, which is a whole plan each time). Its prices, rounded to whole numbers, give the bound
by exact arithmetic. Whole numbers of rolls are found by dives: fix what the programme is sure of, generate
again for what is left, start anew with seeded choices.

The linear programmes are solved by HiGHS, which keeps them warm from round to round.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from .effort import Effort
from .knapsack import FINEST_PROOF, Knapsack, Table
from .solver import quiet_solver

_PRICE_STEPS = 1 << 22
_EPS = 1e-7
# What the steps cost, measured in the pairs of blocks that effort is counted in.
_WORK_PER_PROGRAMME = 20_000
_WORK_PER_LOAD = 100
_WORK_PER_TABLE = 5_000
_WORK_PER_CELL = 0.1
_WORK_PER_CHOICE = 50_000
_MOST_NODES = 300
_MOST_TO_CHOOSE_FROM = 250
_DIVES_BEFORE_CHOICE = 4

Load = tuple[int, dict[int, int]]


@dataclass(frozen=True)
class Lengths:
    """*lengths* with how many of each are needed; rolls by capacity, cost and number (-1: any number)."""

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    capacities: tuple[int, ...]
    costs: tuple[int, ...]
    available: tuple[int, ...]


class Master:
    """The linear programme over loads, kept warm."""

    def __init__(self, task: Lengths) -> None:
        self.task = task
        self.loads: list[Load] = []
        self._known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self._highs = highs = quiet_solver()
        highs.setOptionValue("presolve", "off")
        for count in task.counts:
            highs.addRow(float(count), highspy.kHighsInf, 0, [], [])
        self._limit_row: dict[int, int] = {}
        for kind, number in enumerate(task.available):
            if number >= 0:
                self._limit_row[kind] = len(task.counts) + len(self._limit_row)
                highs.addRow(-highspy.kHighsInf, float(number), 0, [], [])
        # Pieces may stay uncut at a high price, so that the programme can always be solved.
        dear = 10.0 * (max(task.costs) + 1)
        for row in range(len(task.counts)):
            highs.addCol(dear, 0.0, highspy.kHighsInf, 1, np.array([row], np.int32), np.ones(1))
        self._first = len(task.counts)
        self.values: list[float] = []
        self.prices: list[float] = []
        self.limit_prices: list[float] = []
        self.objective = 0.0

    def add(self, kind: int, load: dict[int, int]) -> bool:
        """Take up a load; False if it is known already."""
        key = (kind, tuple(sorted(load.items())))
        if not load or key in self._known:
            return False
        self._known.add(key)
        rows, numbers = list(load), [float(n) for n in load.values()]
        if kind in self._limit_row:
            rows.append(self._limit_row[kind])
            numbers.append(1.0)
        cost = float(self.task.costs[kind])
        self._highs.addCol(
            cost, 0.0, highspy.kHighsInf, len(rows), np.array(rows, np.int32), np.array(numbers)
        )
        self.loads.append((kind, dict(load)))
        return True

    def need(self, left: Sequence[int], rolls: Sequence[int]) -> None:
        """Set what is still to be cut and how many rolls are still there; shut loads that cut too much."""
        for row, count in enumerate(left):
            self._highs.changeRowBounds(row, float(count), highspy.kHighsInf)
        for kind, row in self._limit_row.items():
            self._highs.changeRowBounds(row, -highspy.kHighsInf, float(rolls[kind]))
        for column, (_, load) in enumerate(self.loads):
            fits = all(left[i] >= n for i, n in load.items())
            self._highs.changeColBounds(self._first + column, 0.0, highspy.kHighsInf if fits else 0.0)

    def solve(self) -> None:
        """Solve; afterwards *values* of the loads, *prices* of the pieces and *objective* are set."""
        self._highs.run()
        solution = self._highs.getSolution()
        self.values = solution.col_value[self._first :]
        rows = len(self.task.counts)
        duals = solution.row_dual
        self.prices = [max(0.0, price) for price in duals[:rows]]
        self.limit_prices = [
            duals[self._limit_row[k]] if k in self._limit_row else 0.0 for k in range(len(self.task.costs))
        ]
        self.objective = self._highs.getInfo().objective_function_value


def choose_whole(task: Lengths, loads: Sequence[Load], below: int, seconds: float) -> list[Load] | None:
    """Choose among known loads by integer programming: the cheapest plan that costs less than *below*.

    Stops after a number of nodes, so that the answer does not depend on the clock unless *seconds* run out.
    """
    solver = quiet_solver()
    for name, value in (
        ("mip_max_nodes", _MOST_NODES),
        ("time_limit", seconds),
        ("objective_bound", below - 0.5),
        ("mip_rel_gap", 0.0),
    ):
        solver.setOptionValue(name, value)
    for count in task.counts:
        solver.addRow(float(count), highspy.kHighsInf, 0, [], [])
    for number in task.available:
        solver.addRow(0.0, highspy.kHighsInf if number < 0 else float(number), 0, [], [])
    for column, (kind, load) in enumerate(loads):
        rows = np.array([*load, len(task.counts) + kind], np.int32)
        numbers = np.array([*load.values(), 1], np.float64)
        solver.addCol(float(task.costs[kind]), 0.0, highspy.kHighsInf, len(rows), rows, numbers)
        solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
    solver.run()
    values = solver.getSolution().col_value
    if len(values) != len(loads):
        return None
    chosen = [load for load, x in zip(loads, values, strict=True) for _ in range(round(x))]
    held = [sum(load.get(i, 0) for _, load in chosen) for i in range(len(task.counts))]
    taken = [sum(kind == k for kind, _ in chosen) for k in range(len(task.costs))]
    is_whole = all(h >= n for h, n in zip(held, task.counts, strict=True)) and all(
        a < 0 or t <= a for t, a in zip(taken, task.available, strict=True)
    )
    return chosen if is_whole and sum(task.costs[k] for k, _ in chosen) < below else None


class LengthSearch:
    """Looks for the cheapest rolls for the lengths of a task.

    Attributes:
        best: the cheapest plan found: loads, each one roll.
        best_cost: its cents.
        bound: proven least cents.
    """

    def __init__(
        self,
        task: Lengths,
        start: Sequence[Load],
        bound: int,
        prove: Callable[[Sequence[int], int, int], int],
        effort: Effort,
        limit: int | None = None,
        seed: int = 1,
    ) -> None:
        """Begin with the plan *start*, or with nothing but the cost of a plan known, *limit*.

        *prove* turns (supply of each kind, need, limit) into least cents, see bounds.least_cost.
        """
        self.task = task
        self.best: list[Load] = list(start)
        self.best_cost = sum(task.costs[k] for k, _ in start) if limit is None else limit
        self.bound = bound
        self.dives = 0
        self._prove = prove
        self._effort = effort
        self._random = random.Random(seed)  # noqa: S311 - a search, not a secret
        self._knapsack = Knapsack(task.lengths, task.capacities)
        self._proof = (
            self._knapsack
            if self._knapsack.is_exact
            else Knapsack(task.lengths, task.capacities, FINEST_PROOF)
        )
        self._master = Master(task)
        for kind, load in start:
            self._master.add(kind, load)

    @property
    def is_done(self) -> bool:
        return self.best_cost <= self.bound

    def run(self, most_dives: int = 60) -> None:
        """Solve the linear programme, then dive until the bound is met or the effort is spent."""
        if not self.is_done and self._many_in_one():
            self._fill_up()
        self.prove()
        while not self.is_done and self.dives < most_dives and not self._effort.is_over:
            self._dive()
            self.dives += 1
            if self.dives == _DIVES_BEFORE_CHOICE and len(self._master.loads) <= _MOST_TO_CHOOSE_FROM:
                self._choose_whole()

    def _choose_whole(self) -> None:
        if self.is_done or self._effort.is_over:
            return
        chosen = choose_whole(self.task, self._master.loads, self.best_cost, self._effort.seconds_left)
        self._effort.spend(_WORK_PER_CHOICE * len(self._master.loads))
        if chosen is not None:
            self.best, self.best_cost = chosen, sum(self.task.costs[k] for k, _ in chosen)

    def _many_in_one(self) -> bool:
        """Whether rolls hold so many pieces that filling each as full as can be tends to be best."""
        task = self.task
        whole = sum(length * count for length, count in zip(task.lengths, task.counts, strict=True))
        return max(task.capacities) * sum(task.counts) >= 5 * whole

    def _fill_up(self) -> None:
        """Fill one roll after another as full as can be, long pieces rather than short ones."""
        task = self.task
        longest = max(task.lengths)
        worth = [length * (1 + 0.02 * length / longest) for length in task.lengths]
        rest, free = list(task.counts), list(task.available)
        plan: list[Load] = []
        while any(rest) and not self._effort.is_over:
            table = self._table(worth, rest)
            offered = [k for k in range(len(free)) if free[k] and table.value(k) > 0]
            if not offered:
                return
            kind = max(offered, key=lambda k: (table.value(k) / (task.costs[k] or 1e-3), -k))
            load = table.load(kind)
            plan.append((kind, load))
            free[kind] -= free[kind] > 0
            for i, n in load.items():
                rest[i] -= n
        cost = sum(task.costs[k] for k, _ in plan)
        if not any(rest) and cost < self.best_cost:
            self.best, self.best_cost = plan, cost
            for kind, load in plan:
                self._master.add(kind, load)

    def prove(self) -> None:
        """Only raise the bound."""
        if not self.is_done:
            self._generate(list(self.task.counts), list(self.task.available), 10_000, is_root=True)

    def _generate(
        self, left: Sequence[int], rolls: Sequence[int], rounds: int, is_root: bool = False
    ) -> None:
        """Add loads until none would make the programme cheaper."""
        master = self._master
        for at in range(rounds):
            master.solve()
            self._effort.spend(_WORK_PER_PROGRAMME + _WORK_PER_LOAD * len(master.loads))
            if self.is_done or self._effort.is_over:
                return
            gain = self._add_loads(left, rolls)
            if is_root and (at % 10 == 9 or not gain):
                self._raise_bound()
            if not gain:
                return

    def _add_loads(self, left: Sequence[int], rolls: Sequence[int]) -> bool:
        """Load roll after roll at the present prices; the first loads tell whether there is a gain."""
        master, task = self._master, self.task
        rest, free = list(left), list(rolls)
        added = False
        while any(rest):
            table = self._table(master.prices, rest)
            gain, kind = max(
                (table.value(k) - cost + master.limit_prices[k], -k)
                for k, cost in enumerate(task.costs)
                if free[k] or not any(free)
            )
            kind = -kind
            if gain <= _EPS or not free[kind]:
                break
            load = table.load(kind)
            added |= master.add(kind, load)
            times = min(rest[i] // n for i, n in load.items())
            if free[kind] > 0:
                times = min(times, free[kind])
                free[kind] -= times
            for i, n in load.items():
                rest[i] -= n * times
        return added

    def _table(self, values: Sequence[float], rest: Sequence[int]) -> Table:
        table = self._knapsack.solve(values, rest)
        self._effort.spend(table.cells * _WORK_PER_CELL + _WORK_PER_TABLE)
        return table

    def _raise_bound(self) -> None:
        """Turn the present prices into a proof by exact arithmetic."""
        task, master = self.task, self._master
        scale = _PRICE_STEPS / max(max(master.prices), 1e-9)
        prices = [int(price * scale) for price in master.prices]
        supply = self._proof.most(prices, task.counts)
        need = sum(price * count for price, count in zip(prices, task.counts, strict=True))
        self.bound = max(self.bound, self._prove(supply, need, self.best_cost))

    def _dive(self) -> None:
        """Fix loads one after another until everything is cut, or the plan cannot get better."""
        task, master = self.task, self._master
        left, rolls = list(task.counts), list(task.available)
        fixed: list[Load] = []
        spent = 0
        while any(left):
            master.need(left, rolls)
            self._generate(left, rolls, 30 if fixed or self.dives else 1)
            if self._effort.is_over or spent + master.objective > self.best_cost - 0.001:
                break
            chosen = self._choose()
            if not chosen:
                break
            for column, times in chosen:
                kind, load = master.loads[column]
                times = min([times, *(left[i] // n for i, n in load.items())])
                if rolls[kind] >= 0:
                    times = min(times, rolls[kind])
                    rolls[kind] -= times
                for i, n in load.items():
                    left[i] -= n * times
                fixed += [(kind, load)] * times
                spent += task.costs[kind] * times
        if not any(left) and spent < self.best_cost:
            self.best, self.best_cost = fixed, spent
        master.need(task.counts, task.available)

    def _choose(self) -> list[tuple[int, int]]:
        """Return the loads to fix now: the whole parts, or one load that is nearly whole or drawn."""
        values = self._master.values
        whole = [(column, int(x + 1e-6)) for column, x in enumerate(values) if x > 1 - 1e-6]
        if whole:
            return whole
        part = [(x, column) for column, x in enumerate(values) if x > 1e-6]
        if not part:
            return []
        if self.dives == 0 or self._random.random() < 0.3:
            return [(max(part, key=lambda pair: (pair[0], -pair[1]))[1], 1)]
        weights = [x**2 for x, _ in part]
        return [(self._random.choices(part, weights)[0][1], 1)]

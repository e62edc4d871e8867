"""How the benchmarks measure, and the table they print."""

import os
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass(frozen=True)
class Result:
    """A line of the table: *target* and *wall* in *unit*; *cpu* is None where other processes do the work."""

    name: str
    unit: str
    target: float
    wall: float
    cpu: float | None = None

    def line(self) -> str:
        cpu = "" if self.cpu is None else f"{self.cpu:.1f}"
        best = self.wall if self.cpu is None else min(self.wall, self.cpu)
        met = "met" if self.wall < self.target else "met in cpu time" if best < self.target else "missed"
        return (
            f"{self.name:<52}{self.target:>8.0f}{self.wall:>10.1f}{cpu:>10}{self.wall / self.target:>8.2f}"
            f"{'' if self.cpu is None else f'{self.cpu / self.target:.2f}':>8}  {self.unit:<8}{met}"
        )


HEAD = f"{'':<52}{'target':>8}{'wall':>10}{'cpu':>10}{'ratio':>8}{'cpu r.':>8}"


def timed(
    name: str, target_ms: float, work: Callable[[], object], *, times: int = 7, warm: int = 1
) -> Result:
    """Return the median of *work* over *times* runs, after *warm* runs that do not count."""
    for _ in range(warm):
        work()
    walls, cpus = [], []
    for _ in range(times):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append((time.perf_counter() - wall) * 1000)
        cpus.append((time.process_time() - cpu) * 1000)
    return Result(name, "ms", target_ms, statistics.median(walls), statistics.median(cpus))


@contextmanager
def load_said() -> Iterator[None]:
    """Say how busy the machine was, since the figures mean little without it."""
    before = os.getloadavg()[0]
    yield
    print(f"\n{os.cpu_count()} cores; load {before:.1f} before and {os.getloadavg()[0]:.1f} after.")

"""How much searching is still allowed.

Effort is counted in work done, not in seconds, so that the same input gives the same plan; the clock only
ends a search that a slow or busy machine would draw out past its time limit.
"""

from __future__ import annotations

from time import perf_counter

# Candidate pairs that a modest machine examines in a second; measured, with room to spare.
WORK_PER_SECOND = 60_000_000


class Effort:
    """A budget that searches spend; parts of it can be lent out."""

    def __init__(self, seconds: float, work: float | None = None, lender: Effort | None = None) -> None:
        self._end = perf_counter() + seconds
        self._left = seconds * WORK_PER_SECOND if work is None else work
        self._lender = lender
        self.spent = 0.0

    @property
    def is_over(self) -> bool:
        """Whether the search must stop now with the best it has."""
        return (
            self._left <= 0
            or perf_counter() >= self._end
            or (self._lender is not None and self._lender.is_over)
        )

    @property
    def seconds_left(self) -> float:
        """Seconds until the clock ends the search."""
        return max(0.0, self._end - perf_counter())

    def spend(self, work: float) -> None:
        """Count work that was done."""
        self._left -= work
        self.spent += work
        if self._lender is not None:
            self._lender.spend(work)

    def share(self, part: float) -> Effort:
        """Return an effort of *part* (0 to 1) of what is left; what it spends is spent here as well."""
        seconds = max(0.0, (self._end - perf_counter()) * part)
        return Effort(seconds, max(0.0, self._left * part), self)

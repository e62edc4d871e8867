"""The critical path of activities with finish-to-start links, without calendar or crew."""

from __future__ import annotations

import graphlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..errors import DomainError
from ..phrases import gettext_noop, phrase

# Durations such as 68 2/3 are carried with 28 digits; a float smaller than this is their noise.
_NOISE = Decimal("1e-12")


@dataclass(frozen=True)
class Activity:
    """*duration* in any one unit, >= 0; *after*: keys of the activities that must be finished first."""

    key: str
    duration: Decimal
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class Times:
    """Early and late start and finish, total and free float, in the durations' unit."""

    early_start: Decimal
    early_finish: Decimal
    late_start: Decimal
    late_finish: Decimal
    total_float: Decimal
    free_float: Decimal

    @property
    def is_critical(self) -> bool:
        return self.total_float == 0


def critical_path(activities: Sequence[Activity]) -> dict[str, Times]:
    """Return the times of every activity; the project ends at the greatest early finish.

    Raises:
        DomainError: two activities of one key, an unknown predecessor, a cycle, or a negative duration
            (rules ``sequence.twice``, ``sequence.unknown``, ``sequence.cycle``, ``sequence.duration``).

    Source: the critical path method as in any text; the tests hold published tables and networkx beside it.
    """
    for activity in activities:
        if not activity.duration.is_finite() or activity.duration < 0:
            raise DomainError(
                phrase(
                    gettext_noop("The duration of “{task}” must be 0 or more (got {duration})."),
                    task=activity.key,
                    duration=str(activity.duration),
                ),
                rule="sequence.duration",
                task=activity.key,
                duration=activity.duration,
            )
    order = ordered((activity.key, activity.after) for activity in activities)
    known = {activity.key: activity for activity in activities}
    finish: dict[str, Decimal] = {}
    start: dict[str, Decimal] = {}
    followers: dict[str, list[str]] = {key: [] for key in known}
    for key in order:
        start[key] = max((finish[before] for before in known[key].after), default=Decimal(0))
        finish[key] = start[key] + known[key].duration
        for before in known[key].after:
            followers[before].append(key)
    end = max(finish.values(), default=Decimal(0))
    late: dict[str, Decimal] = {}
    result = {}
    for key in reversed(order):
        duration = known[key].duration
        late[key] = min((late[after] - known[after].duration for after in followers[key]), default=end)
        free = min((start[after] for after in followers[key]), default=end) - finish[key]
        late_start = late[key] - duration
        total = late_start - start[key]
        result[key] = Times(start[key], finish[key], late_start, late[key], _calm(total), _calm(free))
    return {activity.key: result[activity.key] for activity in activities}


def ordered(links: Iterable[tuple[str, Iterable[str]]]) -> list[str]:
    """Return the keys so that each stands after all it waits for; same input, same order.

    Raises:
        DomainError: see :func:`critical_path`.
    """
    graph: dict[str, tuple[str, ...]] = {}
    for key, after in links:
        if key in graph:
            raise DomainError(
                phrase(gettext_noop("Two tasks have the key “{task}”."), task=key),
                rule="sequence.twice",
                task=key,
            )
        graph[key] = tuple(after)
    _check_known(graph)
    try:
        return list(graphlib.TopologicalSorter(graph).static_order())
    except graphlib.CycleError as error:
        ring = [str(key) for key in error.args[1]]
        raise DomainError(
            phrase(
                gettext_noop(
                    "These tasks wait for each other in a ring: {ring}. Take one of the links away."
                ),
                ring=" → ".join(ring),
            ),
            rule="sequence.cycle",
            tasks=tuple(ring),
        ) from error


def _check_known(graph: Mapping[str, tuple[str, ...]]) -> None:
    for key, after in graph.items():
        for before in after:
            if before not in graph:
                raise DomainError(
                    phrase(
                        gettext_noop("“{task}” waits for “{before}”, which is not a task of this job."),
                        task=key,
                        before=before,
                    ),
                    rule="sequence.unknown",
                    task=key,
                    before=before,
                )


def _calm(value: Decimal) -> Decimal:
    return Decimal(0) if abs(value) < _NOISE else value

"""The sequence of a job as it was sold: its tasks, their hours, and what each waits for. No database.

It is read from the takeoff that the quote froze, and kept with the plan in a small form, so that a visit can
be moved without reading a whole quote::

    {task: {"step", "room", "label", "hours", "crew", "hold", "needs": [{"after", "cure", "hours", "label"}],
            "cure": {"cure", "hours", "label"} or None}}
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimates.takeoff.labour import Cure, Link, Task
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.units import Measure

# A wait as it is kept: a phrase of the takeoff as JSON.
Label = Mapping[str, Any]


@dataclass(frozen=True)
class Need:
    """*after* must be finished, and then *hours* run by the clock ("" of *cure*: none do)."""

    after: str
    cure: str
    hours: Decimal
    label: Label | None


@dataclass(frozen=True)
class Step:
    """A task of the network. *hours* are man-hours; *crew* is who the trade would put on it."""

    key: str
    step: str
    room: str
    label: Label
    hours: Decimal
    crew: int
    hold: str
    needs: tuple[Need, ...]
    cure: Need | None  # that nobody of ours waits for


Network = Mapping[str, Step]


def frozen_network(work: Mapping[str, Any]) -> dict[str, Any]:
    """Return the network of a quote's frozen *work*, as JSON; {} where it was sold without a sequence."""
    takeoff = work.get("takeoff") or {}
    tasks = (takeoff.get("schedule") or {}).get("tasks") or []
    rows = {row["key"]: row for row in takeoff.get("hours", [])}
    rooms = {room["key"]: room["name"] for room in takeoff.get("rooms", [])}
    own = {planned["task"]["key"]: planned["task"]["cure"] for planned in tasks}
    found = {}
    for planned in tasks:
        task = planned["task"]
        row = rows.get(task["key"])
        found[task["key"]] = {
            "step": row["step"] if row else "",
            "room": rooms.get(task["room"], ""),
            "label": task["label"] or {"message": task["key"], "parameters": {}},
            "hours": row["hours"]["value"] if row else "0",
            "crew": task["crew"] or 1,
            "hold": task.get("hold_point") or "",
            "needs": [
                *(_need(before, own.get(before)) for before in task["after"]),
                *(_need(link["after"], link["wait"]) for link in task["links"]),
            ],
            "cure": _need("", task["cure"]) if task["cure"] else None,
        }
    return found


def _need(after: str, cure: Mapping[str, Any] | None) -> dict[str, Any]:
    if cure is None or not Decimal(cure["hours"]):
        return {"after": after, "cure": "", "hours": "0", "label": None}
    return {"after": after, "cure": cure["key"], "hours": cure["hours"], "label": cure["label"]}


def network_of(kept: Mapping[str, Any]) -> Network:
    """Return the network from its JSON."""
    return {
        key: Step(
            key,
            row["step"],
            row["room"],
            row["label"],
            Decimal(row["hours"]),
            row["crew"],
            row["hold"],
            tuple(_read(need) for need in row["needs"]),
            _read(row["cure"]) if row["cure"] else None,
        )
        for key, row in kept.items()
    }


def _read(need: Mapping[str, Any]) -> Need:
    return Need(need["after"], need["cure"], Decimal(need["hours"]), need["label"])


def tasks_of(network: Network, left: Mapping[str, Decimal]) -> list[Task]:
    """Return what is *left* to do (man-hours by task) as tasks of the takeoff.

    What is done holds nobody back here; whoever places the visits looks at its cures.
    """
    return [
        Task(
            key,
            "work",
            "",
            Measure(Decimal(1), "each"),
            crew=step.crew,
            links=tuple(
                Link(need.after, Cure(need.cure, Phrase(need.cure), need.hours) if need.cure else None)
                for need in step.needs
                if need.after in left
            ),
        )
        for key, step in network.items()
        if key in left
    ]

"""Man-hours of each task, with the working."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..units import System, convert
from ..working import Figure, Origin, Working
from .rates import COMMON_PRACTICE
from .spread import ThreePoint
from .tasks import Once, Rate, Task, points


@dataclass(frozen=True)
class LabourPractice:
    """Company settings of labour (common practice, no source).

    Attributes:
        step_h: hours are rounded up to a multiple of this.
        learning: share of the hours that remains each time the count of like rooms doubles (1: no
            learning). Between 0.5 and 1.
        step_source, learning_source: what says so.
    """

    step_h: Decimal = Decimal("0.1")
    learning: Decimal = Decimal("0.95")
    step_source: Phrase = COMMON_PRACTICE
    learning_source: Phrase = COMMON_PRACTICE

    def __post_init__(self) -> None:
        if not self.learning.is_finite() or not Decimal("0.5") <= self.learning <= 1:
            raise DomainError(
                phrase(
                    gettext_noop("The learning share must lie between 0.5 and 1 (got {learning})."),
                    learning=str(self.learning),
                ),
                rule="labour.learning",
                learning=self.learning,
            )
        if not self.step_h.is_finite() or self.step_h <= 0:
            raise DomainError(
                phrase(
                    gettext_noop("Hours are rounded up to a step above 0 (got {step})."),
                    step=str(self.step_h),
                ),
                rule="labour.step",
                step=self.step_h,
            )


@dataclass(frozen=True)
class TaskHours:
    """A task with its man-hours.

    *task* has its crew filled in. *hours* is what is counted and priced (expected, rounded up); *spread*
    holds the same before rounding, as optimistic, likely and pessimistic man-hours.
    """

    task: Task
    rate: Rate
    hours: Figure
    spread: ThreePoint

    @property
    def label(self) -> Phrase:
        return self.task.label or self.rate.label


def task_hours(
    task: Task,
    rates: Mapping[str, Rate],
    system: System = System.INCH,
    practice: LabourPractice | None = None,
    *,
    with_setup: bool = True,
    repeat: int = 1,
) -> Figure:
    """Return the man-hours of *task*: set-up, and quantity by rate, factors and learning.

    Three times over (optimistic, likely, pessimistic), each at least the activity's minimum, then their
    three-point mean, rounded up to the practice's step.

    Args:
        with_setup: False when an earlier task has already paid for the set-up.
        repeat: which of several like rooms this is, from 1. The n-th costs ``L ** (ln(n) / ln(2))`` of the
            first (Wright's law, unit form: each doubling leaves the share L).

    Raises:
        DomainError: no such activity (``labour.activity``), or a quantity of another kind than the rate
            (``units.kind``).
    """
    return _hours(task, _rate_of(task, rates), system, practice or LabourPractice(), with_setup, repeat)[0]


def labour_hours(
    tasks: Sequence[Task],
    rates: Mapping[str, Rate],
    system: System = System.INCH,
    practice: LabourPractice | None = None,
) -> tuple[TaskHours, ...]:
    """Return the hours of all *tasks* of a job, in the same order.

    Set-up is counted with the first task of its activity in the room (or the job, as the rate says). Rooms
    that say they are alike (``Task.like``) get faster one after the other, in the order of the tasks.
    """
    practice = practice or LabourPractice()
    paid: set[tuple[str, str]] = set()
    rooms: dict[tuple[str, str], list[str]] = {}
    rows = []
    for task in tasks:
        rate = _rate_of(task, rates)
        place = {Once.PER_JOB: "", Once.PER_ROOM: task.room, Once.PER_TASK: task.key}[rate.setup]
        with_setup = (rate.key, place) not in paid
        if task.quantity.value:
            paid.add((rate.key, place))
        repeat = 1
        if task.like:
            known = rooms.setdefault((task.activity, task.like), [])
            if task.room not in known:
                known.append(task.room)
            repeat = known.index(task.room) + 1
        figure, spread = _hours(task, rate, system, practice, with_setup, repeat)
        rows.append(TaskHours(replace(task, crew=task.crew or rate.crew), rate, figure, spread))
    return tuple(rows)


def _rate_of(task: Task, rates: Mapping[str, Rate]) -> Rate:
    try:
        return rates[task.activity]
    except KeyError:
        raise DomainError(
            phrase(
                gettext_noop("“{task}” names the activity “{activity}”, for which no rate is set."),
                task=task.label or phrase(task.key),
                activity=task.activity,
            ),
            rule="labour.activity",
            task=task.key,
            activity=task.activity,
        ) from None


def _site_unit(unit: str, system: System) -> str:
    if unit in {"sq ft", "sq m", "sq in", "sq mm"}:
        return system.area
    if unit in {"ft", "m", "in", "mm", "cm"}:
        return system.run
    return unit


def _hours(
    task: Task, rate: Rate, system: System, practice: LabourPractice, with_setup: bool, repeat: int
) -> tuple[Figure, ThreePoint]:
    label = task.label or rate.label
    unit = _site_unit(rate.unit, system)
    working = Working(f"labour.{task.key}", label)
    try:
        quantity = task.quantity.to(unit)
    except DomainError as error:
        raise error.at(f"tasks.{task.key}.quantity") from error
    working.given("Q", phrase(gettext_noop("Quantity")), quantity, unit, Origin.COMPUTED)
    if not quantity:
        working.step("H", label, "0 * Q", "h")
        return working.figure(), ThreePoint(Decimal(0), Decimal(0), Decimal(0))
    _give_rate(working, rate, unit, with_setup)
    slowed = _give_factors(working, task) + _give_learning(working, practice, repeat)
    bounds = []
    for mark, name in (
        ("o", phrase(gettext_noop("Optimistic"))),
        ("m", phrase(gettext_noop("Likely"))),
        ("p", phrase(gettext_noop("Pessimistic"))),
    ):
        bounds.append(working.step(f"H{mark}", name, f"max(S + Q / R{mark}{slowed}, M)", "h"))
    working.step("E", phrase(gettext_noop("Expected (three-point mean)")), "(Ho + 4 * Hm + Hp) / 6", "h")
    working.given(
        "u",
        phrase(gettext_noop("Hours are rounded up to")),
        practice.step_h,
        "h",
        Origin.PRACTICE,
        practice.step_source,
    )
    working.step("H", phrase(gettext_noop("Man-hours")), "ceil(E / u) * u", "h")
    return working.figure(), points(*bounds)


def _give_rate(working: Working, rate: Rate, unit: str, with_setup: bool) -> None:
    per_hour = f"{unit}/h"
    for mark, name, value in (
        ("Ro", phrase(gettext_noop("Output of one worker, optimistic")), rate.optimistic),
        ("Rm", phrase(gettext_noop("Output of one worker, likely")), rate.likely),
        ("Rp", phrase(gettext_noop("Output of one worker, pessimistic")), rate.pessimistic),
    ):
        # In the site's own unit, so that quantity and rate can be compared by eye.
        value = convert(value, f"{rate.unit}/h", per_hour)
        working.given(mark, name, value, per_hour, rate.origin, rate.source)
    if with_setup:
        name = phrase(gettext_noop("Set-up"))
        working.given("S", name, rate.setup_h, "h", rate.origin, rate.source)
    else:
        name = phrase(gettext_noop("Set-up, already counted before"))
        working.given("S", name, 0, "h", Origin.COMPUTED)
    working.given("M", phrase(gettext_noop("Minimum")), rate.minimum_h, "h", rate.origin, rate.source)


def _give_factors(working: Working, task: Task) -> str:
    formula = ""
    for number, factor in enumerate(task.difficulty, 1):
        working.given(f"f{number}", factor.label, factor.multiplier, "", factor.origin, factor.source)
        formula += f" * f{number}"
    return formula


def _give_learning(working: Working, practice: LabourPractice, repeat: int) -> str:
    if repeat == 1 or practice.learning == 1:
        return ""
    working.given(
        "L",
        phrase(gettext_noop("Share left each time the count of like rooms doubles")),
        practice.learning,
        "",
        Origin.PRACTICE,
        practice.learning_source,
    )
    working.given("n", phrase(gettext_noop("Which of the like rooms")), repeat, "", Origin.COMPUTED)
    working.step("k", phrase(gettext_noop("Share for this room (Wright's law)")), "L ** (ln(n) / ln(2))", "")
    return " * k"

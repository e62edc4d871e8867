"""What is to be done (tasks) and how fast one worker does it (rates)."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..units import Measure, is_unit
from ..working import Origin
from .spread import ThreePoint


class Once(StrEnum):
    """How often an activity is set up for."""

    PER_JOB = "once a job"
    PER_ROOM = "once a room"
    PER_TASK = "every time"


@dataclass(frozen=True)
class Rate:
    """How much of an activity ONE worker does in an hour, and what it costs to begin.

    Attributes:
        key: the activity.
        step: the trade step it is priced under, a key of ``TRADE_STEPS``.
        unit: what is counted: ``sq ft``, ``sq m``, ``ft``, ``m``, ``each`` or ``h``.
        optimistic, likely, pessimistic: units per hour of one worker, all above 0 and FALLING, since the
            most work in an hour is the best that may happen.
        setup_h, setup: man-hours to begin, and how often that is counted.
        minimum_h: the fewest man-hours a task of this activity is counted with, its set-up included.
        crew: the usual number of workers on it.

    Raises:
        DomainError: rates not above 0 or not falling (``labour.rate``), an unknown unit (``labour.unit``),
            a negative set-up or minimum (``labour.rate``), a crew below 1 (``labour.crew``).
    """

    key: str
    label: Phrase
    step: str
    unit: str
    optimistic: Decimal
    likely: Decimal
    pessimistic: Decimal
    setup_h: Decimal
    minimum_h: Decimal
    crew: int
    source: Phrase
    setup: Once = Once.PER_ROOM
    origin: Origin = Origin.PRACTICE
    slowed_by: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        outputs = (self.optimistic, self.likely, self.pessimistic)
        finite = all(value.is_finite() for value in (*outputs, self.setup_h, self.minimum_h))
        if not finite or not self.optimistic >= self.likely >= self.pessimistic > 0:
            raise DomainError(
                phrase(
                    gettext_noop(
                        "The rates of “{activity}” must be above 0 and fall from optimistic to pessimistic "
                        "(got {optimistic}, {likely}, {pessimistic} an hour)."
                    ),
                    activity=self.label,
                    optimistic=str(self.optimistic),
                    likely=str(self.likely),
                    pessimistic=str(self.pessimistic),
                ),
                rule="labour.rate",
                activity=self.key,
                values=outputs,
            )
        if self.setup_h < 0 or self.minimum_h < 0:
            raise DomainError(
                phrase(
                    gettext_noop("The set-up and the minimum of “{activity}” must be 0 hours or more."),
                    activity=self.label,
                ),
                rule="labour.rate",
                activity=self.key,
                values=(self.setup_h, self.minimum_h),
            )
        if not is_unit(self.unit):
            raise DomainError(
                phrase(
                    gettext_noop("“{activity}” is counted in {unit}, which is not a unit known here."),
                    activity=self.label,
                    unit=self.unit,
                ),
                rule="labour.unit",
                activity=self.key,
                unit=self.unit,
            )
        check_crew(self.crew, self.label)


@dataclass(frozen=True)
class Factor:
    """Something that makes work slower (above 1) or faster (below 1); multiplies the hours."""

    key: str
    label: Phrase
    multiplier: Decimal
    origin: Origin = Origin.PRACTICE
    source: Phrase | None = None

    def __post_init__(self) -> None:
        if not self.multiplier.is_finite() or self.multiplier <= 0:
            raise DomainError(
                phrase(
                    gettext_noop("The factor “{factor}” must be above 0 (got {multiplier})."),
                    factor=self.label,
                    multiplier=str(self.multiplier),
                ),
                rule="labour.factor",
                factor=self.key,
                multiplier=self.multiplier,
            )


@dataclass(frozen=True)
class Cure:
    """A wait that runs by the clock, nights and weekends too: a cure, a test, a time to turn tacky."""

    key: str
    label: Phrase
    hours: Decimal
    origin: Origin = Origin.PRACTICE
    source: Phrase | None = None

    def __post_init__(self) -> None:
        if not self.hours.is_finite() or self.hours < 0:
            raise DomainError(
                phrase(
                    gettext_noop("The wait “{wait}” must be 0 hours or more (got {hours})."),
                    wait=self.label,
                    hours=str(self.hours),
                ),
                rule="labour.cure",
                wait=self.key,
                hours=self.hours,
            )


@dataclass(frozen=True)
class Link:
    """*after* must be finished, and then *wait* (None: nothing) run by the clock.

    Stands for the predecessor's own cure: a check may be made on a fresh bond that may not yet be tiled.
    """

    after: str
    wait: Cure | None = None


@dataclass(frozen=True)
class Task:
    """One activity in one place.

    Attributes:
        key: unique in the job.
        activity: a key of the rates.
        room: key of the room, "" for the whole job.
        quantity: how much, in a unit of the same kind as the rate's; 0 makes it a mere mark in time.
        difficulty: what slows it.
        after: tasks that must be finished, with their cure over.
        cure: what must run by the clock after this one.
        crew: workers on it; None: the rate's usual crew.
        links: tasks that must be finished with another wait than their own cure.
        surface: key of the surface, "" for the whole room.
        like: the same word for rooms so alike that the second goes faster ("" never does).
        label: what it is called; None: the rate's label.
        hold_point: the hold point that stands at its end, "" for none.
    """

    key: str
    activity: str
    room: str
    quantity: Measure
    difficulty: tuple[Factor, ...] = ()
    after: tuple[str, ...] = ()
    cure: Cure | None = None
    crew: int | None = None
    links: tuple[Link, ...] = ()
    surface: str = ""
    like: str = ""
    label: Phrase | None = None
    hold_point: str = ""

    def __post_init__(self) -> None:
        name = self.label or phrase(self.key)
        if not self.quantity.value.is_finite() or self.quantity.value < 0:
            raise DomainError(
                phrase(
                    gettext_noop("The quantity of “{task}” must be 0 or more (got {value} {unit})."),
                    task=name,
                    value=str(self.quantity.value),
                    unit=self.quantity.unit,
                ),
                rule="labour.quantity",
                task=self.key,
                quantity=self.quantity,
            )
        if not is_unit(self.quantity.unit):
            raise DomainError(
                phrase(
                    gettext_noop("“{task}” is counted in {unit}, which is not a unit known here."),
                    task=name,
                    unit=self.quantity.unit,
                ),
                rule="labour.unit",
                task=self.key,
                unit=self.quantity.unit,
            )
        if self.crew is not None:
            check_crew(self.crew, name)


def check_crew(crew: int, what: Phrase) -> None:
    """Refuse a crew of nobody (rule ``labour.crew``)."""
    if crew < 1:
        raise DomainError(
            phrase(gettext_noop("“{what}” needs at least one worker (got {crew})."), what=what, crew=crew),
            rule="labour.crew",
            crew=crew,
        )


def points(optimistic: Decimal, likely: Decimal, pessimistic: Decimal) -> ThreePoint:
    """Return hours as a three-point value; noise in the last digit never turns the order round."""
    return ThreePoint(min(optimistic, likely), likely, max(likely, pessimistic))

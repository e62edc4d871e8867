"""How far the hours of a whole job may move, as figures with their working."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist

from ..phrases import Phrase, gettext_noop, phrase
from ..sums import add_up
from ..working import Figure, Origin, Round, Working
from .hours import TaskHours
from .spread import Simulated, ThreePoint, simulate, sum_by_activity

# Enough for a standard error under a hundredth of the deviation; a page waits for them.
_DRAWS = 10_000


@dataclass(frozen=True)
class JobRange:
    """The man-hours of a job before rounding: *expected* by the three-point method, its *deviation*, and the
    hours it stays over (*low*) and under (*high*) with the chosen share; *simulated* is the same by draws."""

    expected: Figure
    deviation: Figure
    low: Figure
    high: Figure
    share: Decimal
    simulated: Simulated


def job_range(rows: Iterable[TaskHours], share: Decimal = Decimal("0.9")) -> JobRange:
    """Return the range of a job's man-hours.

    Args:
        share: how sure the one-sided bounds are, above 0.5 and below 1: 0.9 says nine jobs in ten end
            under *high*.

    The rooms of one activity move together, the activities apart (see :func:`.spread.job_spread`); the sum
    is taken as normal. The simulation agrees within the error stated at :func:`.spread.simulate`.
    """
    known = list(rows)
    labels = {row.rate.key: row.rate.label for row in known}
    points = sum_by_activity((row.rate.key, row.spread) for row in known)
    named = [(labels[key], point) for key, point in points.items()]
    expected, deviation = _expected(named), _deviation(named)
    return JobRange(
        expected,
        deviation,
        _bound(
            "labour.low", phrase(gettext_noop("Hardly fewer man-hours than")), "-", expected, deviation, share
        ),
        _bound(
            "labour.high", phrase(gettext_noop("Hardly more man-hours than")), "+", expected, deviation, share
        ),
        share,
        simulate([point for _, point in named], samples=_DRAWS),
    )


def _expected(named: list[tuple[Phrase, ThreePoint]]) -> Figure:
    label = phrase(gettext_noop("Expected man-hours, not rounded"))
    work = Working("labour.expected", label)
    for number, (name, point) in enumerate(named, 1):
        _give(work, f"o{number}", gettext_noop("{activity}, optimistic"), name, point.optimistic)
        _give(work, f"m{number}", gettext_noop("{activity}, likely"), name, point.likely)
        _give(work, f"p{number}", gettext_noop("{activity}, pessimistic"), name, point.pessimistic)
        work.step(f"e{number}", name, f"(o{number} + 4 * m{number} + p{number}) / 6", "h")
    add_up(work, [f"e{number}" for number in range(1, len(named) + 1)], "E", label, "h")
    return work.figure()


def _deviation(named: list[tuple[Phrase, ThreePoint]]) -> Figure:
    label = phrase(gettext_noop("Standard deviation of the man-hours"))
    work = Working("labour.deviation", label)
    for number, (name, point) in enumerate(named, 1):
        _give(work, f"o{number}", gettext_noop("{activity}, optimistic"), name, point.optimistic)
        _give(work, f"p{number}", gettext_noop("{activity}, pessimistic"), name, point.pessimistic)
        work.step(f"v{number}", name, f"((p{number} - o{number}) / 6) ** 2", "")
    variance = phrase(gettext_noop("Variance, in square hours"))
    add_up(work, [f"v{number}" for number in range(1, len(named) + 1)], "V", variance, "")
    work.step("s", label, "sqrt(V)", "h")
    return work.figure()


def _give(work: Working, symbol: str, message: str, activity: Phrase, value: Decimal) -> None:
    work.given(symbol, Phrase(message, {"activity": activity}), value, "h", Origin.COMPUTED)


def _bound(key: str, label: Phrase, sign: str, expected: Figure, deviation: Figure, share: Decimal) -> Figure:
    work = Working(key, label)
    work.carry("E", expected.label, expected)
    work.carry("s", deviation.label, deviation)
    z = Decimal(repr(NormalDist().inv_cdf(float(share)))).quantize(Decimal("0.0001"))
    name = phrase(
        gettext_noop("Deviations that a normal curve stays within in {share} cases of 100"),
        share=f"{share * 100:f}".rstrip("0").rstrip("."),
    )
    work.given("z", name, z, "", Origin.STANDARD, phrase(gettext_noop("normal distribution")))
    work.step("H", label, f"max(E {sign} z * s, 0)", "h", Round.HALF_UP, 1)
    return work.figure()

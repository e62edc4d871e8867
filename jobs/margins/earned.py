"""Earned value of a job, each figure with its working. Pure arithmetic; amounts in the currency.

The measures and their names are those of earned value management: CV = EV - AC, SV = EV - PV, CPI = EV / AC,
SPI = EV / PV, EAC = AC + (BAC - EV) / PF, ETC = EAC - AC, VAC = BAC - EAC, TCPI = (BAC - EV) / (BAC - AC) or
/ (EAC - AC). Sources: US Postal Service, Supplying Principles and Practices 5-4 (about.usps.com/manuals) for
EV and CV; defence acquisition slides (slideplayer.com/slide/3217182) for EAC with a performance factor.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Figure, Origin, Round, Working


class Factor(StrEnum):
    """What the cost of the remaining work is divided by."""

    ONE = "as budgeted"  # the rest goes as budgeted
    CPI = "as so far"  # the rest costs as much more as the work so far did
    CPI_SPI = "cost and time"  # and being late costs too


@dataclass(frozen=True)
class Position:
    """Where a job stands, in the currency.

    Attributes:
        budget: BAC, the budget at completion.
        earned: EV, the budget of the work done.
        actual: AC, what that work cost.
        planned: PV, the budget of the work that should be done by now; None without a plan.
    """

    budget: Decimal
    earned: Decimal
    actual: Decimal
    planned: Decimal | None = None
    currency: str = "USD"


_TERMS: Mapping[str, Phrase] = {
    "BAC": phrase(gettext_noop("Budget at completion")),
    "EV": phrase(gettext_noop("Earned value: the budget of the work done")),
    "AC": phrase(gettext_noop("Actual cost")),
    "PV": phrase(gettext_noop("Planned value: the budget of the work due by today")),
    "CPI": phrase(gettext_noop("Cost performance")),
    "SPI": phrase(gettext_noop("Time performance")),
}


def cost_variance(at: Position) -> Figure:
    """CV, in the currency: above nothing the work done cost less than its budget."""
    work = _given("cv", phrase(gettext_noop("Cost variance")), at, "EV", "AC")
    return _money(work, "CV", phrase(gettext_noop("Cost variance")), "EV - AC", at)


def schedule_variance(at: Position) -> Figure | None:
    """SV, in the currency: above nothing more is done than was due; None without a plan."""
    if at.planned is None:
        return None
    work = _given("sv", phrase(gettext_noop("Schedule variance")), at, "EV", "PV")
    return _money(work, "SV", phrase(gettext_noop("Schedule variance")), "EV - PV", at)


def cost_performance(at: Position) -> Figure | None:
    """CPI: budget earned for each unit of money spent; None before anything is spent."""
    if not at.actual:
        return None
    work = _given("cpi", _TERMS["CPI"], at, "EV", "AC")
    work.step("CPI", _TERMS["CPI"], "EV / AC", "")
    return work.figure()


def schedule_performance(at: Position) -> Figure | None:
    """SPI: work done for each unit that was due; None before anything was due."""
    if not at.planned:
        return None
    work = _given("spi", _TERMS["SPI"], at, "EV", "PV")
    work.step("SPI", _TERMS["SPI"], "EV / PV", "")
    return work.figure()


def at_completion(at: Position, factor: Factor = Factor.CPI) -> Figure:
    """EAC, in the currency to the cent.

    Where the factor cannot be formed (nothing earned or spent yet, no plan), the rest counts as budgeted.
    """
    label = phrase(gettext_noop("Cost at completion"))
    usable = _usable(at, factor)
    if usable is Factor.ONE:
        work = _given("eac", label, at, "AC", "BAC", "EV")
        return _money(work, "EAC", label, "AC + (BAC - EV)", at)
    if usable is Factor.CPI:
        work = _given("eac", label, at, "EV", "AC", "BAC")
        work.step("CPI", _TERMS["CPI"], "EV / AC", "")
        # AC + (BAC - EV) / CPI in one fraction, which is exact where EV / AC has no end.
        return _money(work, "EAC", label, "BAC * AC / EV", at)
    work = _given("eac", label, at, "EV", "AC", "PV", "BAC")
    work.step("CPI", _TERMS["CPI"], "EV / AC", "")
    work.step("SPI", _TERMS["SPI"], "EV / PV", "")
    return _money(work, "EAC", label, "AC + (BAC - EV) / (CPI * SPI)", at)


def to_complete(at: Position, factor: Factor = Factor.CPI) -> Figure:
    """ETC, in the currency: what is still to be spent."""
    label = phrase(gettext_noop("Still to spend"))
    work = Working("etc", label)
    work.carry("EAC", phrase(gettext_noop("Cost at completion")), at_completion(at, factor))
    _put(work, at, "AC")
    return _money(work, "ETC", label, "EAC - AC", at)


def variance_at_completion(at: Position, factor: Factor = Factor.CPI) -> Figure:
    """VAC, in the currency: above nothing the job ends under its budget."""
    label = phrase(gettext_noop("Variance at completion"))
    work = _given("vac", label, at, "BAC")
    work.carry("EAC", phrase(gettext_noop("Cost at completion")), at_completion(at, factor))
    return _money(work, "VAC", label, "BAC - EAC", at)


def to_complete_performance(at: Position, target: Figure | None = None) -> Figure | None:
    """TCPI: the performance the rest needs to end at the budget, or at *target* (an EAC).

    None when no money is left for the rest, or nothing is left to do.
    """
    label = phrase(gettext_noop("Performance the rest needs"))
    left = (at.budget if target is None else target.value) - at.actual
    if left <= 0 or at.budget <= at.earned:
        return None
    if target is None:
        work = _given("tcpi", label, at, "BAC", "EV", "AC")
        work.step("TCPI", label, "(BAC - EV) / (BAC - AC)", "")
    else:
        work = _given("tcpi", label, at, "BAC", "EV", "AC")
        work.carry("EAC", phrase(gettext_noop("Cost at completion")), target)
        work.step("TCPI", label, "(BAC - EV) / (EAC - AC)", "")
    return work.figure()


def share_done(at: Position) -> Figure | None:
    """The share of the work that is done, by its budget: EV / BAC, a fraction; None without a budget."""
    if not at.budget:
        return None
    label = phrase(gettext_noop("Share of the work done"))
    work = _given("done", label, at, "EV", "BAC")
    work.step("d", label, "EV / BAC", "")
    return work.figure()


def _usable(at: Position, factor: Factor) -> Factor:
    if factor is Factor.ONE or at.earned <= 0 or at.actual <= 0:
        return Factor.ONE
    return Factor.CPI if factor is Factor.CPI or not at.planned else Factor.CPI_SPI


def _given(key: str, label: Phrase, at: Position, *symbols: str) -> Working:
    work = Working(key, label)
    for symbol in symbols:
        _put(work, at, symbol)
    return work


def _put(work: Working, at: Position, symbol: str) -> None:
    values = {"BAC": at.budget, "EV": at.earned, "AC": at.actual, "PV": at.planned or Decimal(0)}
    work.given(symbol, _TERMS[symbol], values[symbol], at.currency, Origin.COMPUTED)


def _money(work: Working, symbol: str, label: Phrase, formula: str, at: Position) -> Figure:
    work.step(symbol, label, formula, at.currency, Round.HALF_UP, 2)
    return work.figure()

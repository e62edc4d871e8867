"""The figures of a job's page, each with the working that opens in place. Pure: numbers in, figures out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimates.quotes.pricing import step_label
from estimates.quotes.pricing_model import CALLBACK_STEP
from estimates.quotes.profit import money
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Figure, Origin, Round, Working

from . import earned
from .earned import Position
from .variance import Element, Labour, Material, Other, Standing

LOG = phrase(gettext_noop("daily log"))
QUOTE = phrase(gettext_noop("frozen from the quote"))
PACK = Decimal(10**6)


@dataclass(frozen=True)
class Part:
    """One part of the split: its figure, and in a sentence what it means."""

    key: str
    label: Phrase
    meaning: Phrase
    figure: Figure


def position(standing: Standing, currency: str, planned_share: Decimal | None = None) -> Position:
    """Return the earned value position; *planned_share* of the budget is due by today (None: no plan)."""
    budget = money(standing.budget_cents)
    planned = None if planned_share is None else (budget * planned_share).quantize(Decimal("0.01"))
    return Position(budget, money(standing.earned_cents), money(standing.actual_cents), planned, currency)


def earned_figures(at: Position) -> list[Figure]:
    """Return every measure of earned value that can be formed."""
    forecast = earned.at_completion(at)
    found = [
        earned.share_done(at),
        earned.cost_variance(at),
        earned.cost_performance(at),
        earned.schedule_variance(at),
        earned.schedule_performance(at),
        forecast,
        earned.to_complete(at),
        earned.variance_at_completion(at),
        earned.to_complete_performance(at),
    ]
    return [figure for figure in found if figure is not None]


def budget_figure(standing: Standing, currency: str, names: Callable[[Element], Phrase]) -> Figure:
    """The budget as the sum of what was foreseen for every step and material."""
    own = [element for element in standing.elements if element.budget_cents]
    return _sum(
        "budget", phrase(gettext_noop("Budget")), own, lambda one: one.budget_cents, names, currency, QUOTE
    )


def actual_figure(standing: Standing, currency: str, names: Callable[[Element], Phrase]) -> Figure:
    """The actual cost as the sum of what every step and material has cost."""
    own = [element for element in standing.elements if element.cost_cents]
    return _sum(
        "actual", phrase(gettext_noop("Actual cost")), own, lambda one: one.cost_cents, names, currency, LOG
    )


def earned_figure(standing: Standing, currency: str, names: Callable[[Element], Phrase]) -> Figure:
    """Earned value as the sum of what every step and material has earned, with the rule for each."""
    work = Working("earned", phrase(gettext_noop("Budget of the work done")))
    own = [element for element in standing.elements if element.earned_cents]
    for number, element in enumerate(own, 1):
        work.given(
            f"e{number}",
            names(element),
            money(element.earned_cents),
            currency,
            Origin.COMPUTED,
            _rule(element),
        )
    _total(work, "EV", work.label, [f"e{number}" for number in range(1, len(own) + 1)], currency)
    return work.figure()


def quoted_margin(standing: Standing, currency: str) -> Figure:
    """Price less cost less overhead, as quoted."""
    work = Working("quoted-margin", phrase(gettext_noop("Margin quoted")))
    work.given("P", _PRICE, money(standing.quoted_price_cents), currency, Origin.COMPUTED, QUOTE)
    work.given("C", _COST, money(standing.quoted_cost_cents), currency, Origin.COMPUTED, QUOTE)
    work.given("O", _OVERHEAD, money(standing.overhead_cents), currency, Origin.COMPUTED, QUOTE)
    work.step("M", work.label, "P - C - O", currency, Round.HALF_UP, 2)
    return work.figure()


def margin_now(standing: Standing, currency: str) -> Figure:
    """Price less what was spent, less the budget of what remains, less overhead."""
    work = Working("margin-now", phrase(gettext_noop("Margin now, the rest going as budgeted")))
    work.given(
        "P",
        phrase(gettext_noop("Price with signed changes")),
        money(standing.price_cents),
        currency,
        Origin.COMPUTED,
    )
    work.given(
        "AC", phrase(gettext_noop("Actual cost")), money(standing.actual_cents), currency, Origin.COMPUTED
    )
    work.given("BAC", phrase(gettext_noop("Budget")), money(standing.budget_cents), currency, Origin.COMPUTED)
    work.given(
        "EV",
        phrase(gettext_noop("Budget of the work done")),
        money(standing.earned_cents),
        currency,
        Origin.COMPUTED,
    )
    work.given("O", _OVERHEAD, money(standing.overhead_cents), currency, Origin.COMPUTED, QUOTE)
    work.step("M", work.label, "P - AC - (BAC - EV) - O", currency, Round.HALF_UP, 2)
    return work.figure()


def margin_forecast(standing: Standing, at: Position) -> Figure:
    """Price less the cost at completion, less overhead."""
    work = Working("margin-forecast", phrase(gettext_noop("Margin forecast, the rest going as so far")))
    work.given(
        "P",
        phrase(gettext_noop("Price with signed changes")),
        money(standing.price_cents),
        at.currency,
        Origin.COMPUTED,
    )
    work.carry("EAC", phrase(gettext_noop("Cost at completion")), earned.at_completion(at))
    work.given("O", _OVERHEAD, money(standing.overhead_cents), at.currency, Origin.COMPUTED, QUOTE)
    work.step("M", work.label, "P - EAC - O", at.currency, Round.HALF_UP, 2)
    return work.figure()


def split_parts(standing: Standing, currency: str, names: Callable[[Element], Phrase]) -> list[Part]:
    """Return the five parts of the way from the margin quoted to the margin now, and callbacks if any."""
    labour = [one for one in standing.elements if isinstance(one, Labour) and one.budget_minutes > 0]
    materials = [one for one in standing.elements if isinstance(one, Material) and one.budget_packs > 0]
    moved = [one for one in labour if one.cost_cents or one.earned_cents]
    came = [one for one in materials if one.cost_cents or one.earned_cents or one.packs]
    foreseen = [
        one
        for one in standing.elements
        if isinstance(one, Other) and one.budget_cents > 0 and (one.cost_cents or one.earned_cents)
    ]
    known = {id(one) for one in [*labour, *materials, *foreseen]}
    rest = [one for one in standing.elements if id(one) not in known and (one.cost_cents or one.earned_cents)]
    extra = [one for one in rest if one.step != CALLBACK_STEP]
    called = [one for one in rest if one.step == CALLBACK_STEP]
    parts = [
        Part("rate", _RATE, _RATE_MEANS, _rate(moved, currency, names)),
        Part("hours", _HOURS, _HOURS_MEANS, _hours(moved, currency, names)),
        Part("quantity", _QUANTITY, _QUANTITY_MEANS, _quantity(came, currency, names)),
        Part("price", _PRICES, _PRICES_MEANS, _price(came, foreseen, currency, names)),
        Part("scope", _SCOPE, _SCOPE_MEANS, _scope(standing, extra, currency, names)),
    ]
    if called:
        parts.append(Part("callbacks", _CALLBACKS, _CALLBACKS_MEANS, _callbacks(called, currency, names)))
    return parts


_PRICE = phrase(gettext_noop("Price"))
_COST = phrase(gettext_noop("Cost"))
_OVERHEAD = phrase(gettext_noop("Overhead"))
_RATE = phrase(gettext_noop("Pay rate"))
_RATE_MEANS = phrase(gettext_noop("an hour cost more or less than the quote reckoned"))
_HOURS = phrase(gettext_noop("Hours"))
_HOURS_MEANS = phrase(gettext_noop("the work took more or fewer hours, at the quote's pay"))
_QUANTITY = phrase(gettext_noop("Quantity"))
_QUANTITY_MEANS = phrase(gettext_noop("more or fewer packs were used, at the quote's price"))
_PRICES = phrase(gettext_noop("Purchase price"))
_PRICES_MEANS = phrase(gettext_noop("packs and foreseen costs were dearer or cheaper"))
_SCOPE = phrase(gettext_noop("Scope"))
_SCOPE_MEANS = phrase(gettext_noop("signed changes, and what the quote did not foresee"))
_CALLBACKS = step_label(CALLBACK_STEP)
_CALLBACKS_MEANS = phrase(gettext_noop("what the customer called us back for, after the job was complete"))
_DONE = phrase(gettext_noop("finished: all of its budget"))
_REPORTED = phrase(gettext_noop("the share of the step that was reported"))
_USED = phrase(gettext_noop("not reported yet: the time used, up to the budget"))
_DEDUCTED = phrase(gettext_noop("taken away by a signed change: by the share that the rest is done"))
_AT_COST = phrase(gettext_noop("as far as it has come, up to the budget"))


def _rule(element: Element) -> Phrase:
    if element.is_finished:
        return _DONE
    if element.budget_cents < 0:
        return _DEDUCTED
    if isinstance(element, Labour):
        return _USED if element.done is None else _REPORTED
    return _AT_COST


def _sum(
    key: str,
    label: Phrase,
    own: Sequence[Element],
    value: Callable[[Element], int],
    names: Callable[[Element], Phrase],
    currency: str,
    source: Phrase,
) -> Figure:
    work = Working(key, label)
    for number, element in enumerate(own, 1):
        work.given(f"a{number}", names(element), money(value(element)), currency, Origin.COMPUTED, source)
    _total(work, "S", label, [f"a{number}" for number in range(1, len(own) + 1)], currency)
    return work.figure()


def _total(work: Working, symbol: str, label: Phrase, parts: Sequence[str], currency: str) -> None:
    work.step(symbol, label, " + ".join(parts) or "0", currency, Round.HALF_UP, 2)


def _at_budget_pay(work: Working, element: Labour, n: int, name: Phrase, currency: str) -> None:
    work.given(
        f"m{n}",
        phrase(gettext_noop("{what}: time used"), what=name),
        element.minutes,
        "min",
        Origin.ENTERED,
        LOG,
    )
    work.given(
        f"M{n}",
        phrase(gettext_noop("{what}: time foreseen"), what=name),
        element.budget_minutes,
        "min",
        Origin.COMPUTED,
        QUOTE,
    )
    work.given(
        f"L{n}",
        phrase(gettext_noop("{what}: labour foreseen"), what=name),
        money(element.budget_cents),
        currency,
        Origin.COMPUTED,
        QUOTE,
    )
    work.step(
        f"s{n}",
        phrase(gettext_noop("{what}: time used at the quote's pay"), what=name),
        f"m{n} * L{n} / M{n}",
        currency,
        Round.HALF_UP,
        2,
    )


def _rate(own: Sequence[Labour], currency: str, names: Callable[[Element], Phrase]) -> Figure:
    work = Working("rate", _RATE)
    for n, element in enumerate(own, 1):
        _at_budget_pay(work, element, n, names(element), currency)
        _put(work, f"c{n}", gettext_noop("{what}: paid"), names(element), element.cost_cents, currency, LOG)
    _total(work, "R", _RATE, [f"(s{n} - c{n})" for n in range(1, len(own) + 1)], currency)
    return work.figure()


def _hours(own: Sequence[Labour], currency: str, names: Callable[[Element], Phrase]) -> Figure:
    work = Working("hours", _HOURS)
    for n, element in enumerate(own, 1):
        _put(
            work,
            f"e{n}",
            gettext_noop("{what}: earned"),
            names(element),
            element.earned_cents,
            currency,
            _rule(element),
        )
        _at_budget_pay(work, element, n, names(element), currency)
    _total(work, "H", _HOURS, [f"(e{n} - s{n})" for n in range(1, len(own) + 1)], currency)
    return work.figure()


def _at_budget_price(work: Working, element: Material, n: int, name: Phrase, currency: str) -> None:
    work.given(
        f"p{n}",
        phrase(gettext_noop("{what}: packs received"), what=name),
        element.packs / PACK,
        "",
        Origin.ENTERED,
        LOG,
    )
    work.given(
        f"P{n}",
        phrase(gettext_noop("{what}: packs foreseen"), what=name),
        element.budget_packs / PACK,
        "",
        Origin.COMPUTED,
        QUOTE,
    )
    _put(work, f"B{n}", gettext_noop("{what}: cost foreseen"), name, element.budget_cents, currency, QUOTE)
    work.step(
        f"s{n}",
        phrase(gettext_noop("{what}: packs received at the quote's price"), what=name),
        f"p{n} * B{n} / P{n}",
        currency,
        Round.HALF_UP,
        2,
    )


def _quantity(own: Sequence[Material], currency: str, names: Callable[[Element], Phrase]) -> Figure:
    work = Working("quantity", _QUANTITY)
    for n, element in enumerate(own, 1):
        _put(
            work,
            f"e{n}",
            gettext_noop("{what}: earned"),
            names(element),
            element.earned_cents,
            currency,
            _rule(element),
        )
        _at_budget_price(work, element, n, names(element), currency)
    _total(work, "Q", _QUANTITY, [f"(e{n} - s{n})" for n in range(1, len(own) + 1)], currency)
    return work.figure()


def _price(
    own: Sequence[Material],
    foreseen: Sequence[Other],
    currency: str,
    names: Callable[[Element], Phrase],
) -> Figure:
    work = Working("price", _PRICES)
    for n, element in enumerate(own, 1):
        _at_budget_price(work, element, n, names(element), currency)
        _put(work, f"c{n}", gettext_noop("{what}: paid"), names(element), element.cost_cents, currency, LOG)
    parts = [f"(s{n} - c{n})" for n in range(1, len(own) + 1)]
    parts += _earned_less_paid(work, foreseen, len(own), currency, names)
    _total(work, "V", _PRICES, parts, currency)
    return work.figure()


def _scope(
    standing: Standing, extra: Sequence[Element], currency: str, names: Callable[[Element], Phrase]
) -> Figure:
    work = Working("scope", _SCOPE)
    added = phrase(gettext_noop("Signed changes: added to the price"))
    cost = phrase(gettext_noop("Signed changes: added to the budget"))
    work.given(
        "A", added, money(standing.price_cents - standing.quoted_price_cents), currency, Origin.COMPUTED
    )
    work.given(
        "B", cost, money(standing.budget_cents - standing.quoted_cost_cents), currency, Origin.COMPUTED
    )
    _total(work, "X", _SCOPE, ["A - B", *_earned_less_paid(work, extra, 0, currency, names)], currency)
    return work.figure()


def _callbacks(own: Sequence[Element], currency: str, names: Callable[[Element], Phrase]) -> Figure:
    work = Working("callbacks", _CALLBACKS)
    _total(work, "K", _CALLBACKS, _earned_less_paid(work, own, 0, currency, names), currency)
    return work.figure()


def _earned_less_paid(
    work: Working, own: Sequence[Element], before: int, currency: str, names: Callable[[Element], Phrase]
) -> list[str]:
    for n, element in enumerate(own, before + 1):
        name = names(element)
        _put(
            work,
            f"e{n}",
            gettext_noop("{what}: earned"),
            name,
            element.earned_cents,
            currency,
            _rule(element),
        )
        _put(work, f"c{n}", gettext_noop("{what}: paid"), name, element.cost_cents, currency, LOG)
    return [f"(e{n} - c{n})" for n in range(before + 1, before + 1 + len(own))]


def _put(
    work: Working, symbol: str, message: str, name: Phrase, cents: int, currency: str, source: Phrase
) -> None:
    work.given(symbol, phrase(message, what=name), money(cents), currency, Origin.COMPUTED, source)


def element_name(element: Element, materials: dict[str, str]) -> Phrase:
    """Return what an element is called; *materials* maps keys to names."""
    match element:
        case Labour(step=step):
            return phrase(gettext_noop("{step}: labour"), step=step_label(step))
        case Material(key=key, step=step) if step == CALLBACK_STEP:
            what = materials.get(key, key)
            return phrase(gettext_noop("{step}: {material}"), step=step_label(step), material=what)
        case Material(key=key):
            return Phrase("{material}", {"material": materials.get(key, key)})
        case Other(step=step):
            return phrase(gettext_noop("{step}: other costs"), step=step_label(step))

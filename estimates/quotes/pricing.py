"""From quantities and hours to a price. Pure: no database, no clock; money in is Decimal, out whole cents.

How a price comes about:

- A material costs its packs (rounded up once for the whole job) at the price of a pack on the quote's date;
  that cost is shared among the rooms by the exact quantity each needs (:func:`~.profit.shared`).
- Labour costs its hours at pay plus burden. Other costs are amounts that were entered.
- Cost with overhead is cost * (1 + overhead). The price is that over (1 - margin), or times (1 + markup).
- Each of a line's three amounts is rounded once, half up, to the cent. Every total is a sum of such lines,
  so all four ways of showing a price give the same total.
- Sales tax is one multiplication over the taxed prices, rounded once (EN 16931, BR-CO-17), and is then
  shared out over those lines. The balance of the payment schedule keeps the odd cent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum

from estimates.takeoff.labour import TRADE_STEPS
from estimates.takeoff.model import Role
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Figure, Origin, Round, Working

from .profit import cents, check_margin, margin_of, markup_of, money, shared

WHOLE_JOB = ""
PERMITS_STEP = "permits"
MINIMUM_STEP = "minimum"

# The trade step a material is priced under.
STEP_OF_ROLE: Mapping[Role, str] = {
    Role.MEMBRANE: "waterproofing",
    Role.INSIDE_CORNER: "waterproofing",
    Role.OUTSIDE_CORNER: "waterproofing",
    Role.BONDING_AGENT: "waterproofing",
    Role.SEALANT: "waterproofing",
    Role.TILE: "tile",
    Role.MORTAR: "tile",
    Role.GROUT: "grout",
    Role.BACKER_BOARD: "backer",
    Role.FASTENER: "backer",
    Role.JOINT_SEALANT: "joints",
    Role.LEVELLER: "preparation",
}


# The trade's own steps, and two that only a price has.
STEPS: Mapping[str, Phrase] = {
    **TRADE_STEPS,
    PERMITS_STEP: phrase(gettext_noop("Permits and fees")),
    MINIMUM_STEP: phrase(gettext_noop("Minimum job charge")),
}


def step_label(step: str) -> Phrase:
    """Return what a trade step is called."""
    return STEPS.get(step, Phrase(step))


class Kind(StrEnum):
    MATERIAL = "material"
    LABOUR = "labour"
    OTHER = "other cost"
    HAND = "written by hand"
    MINIMUM = "minimum job charge"


class ProfitRule(StrEnum):
    MARGIN = "margin"
    MARKUP = "markup"


class TaxBase(StrEnum):
    NONE = "none"
    MATERIALS = "materials"
    EVERYTHING = "everything"


class Detail(StrEnum):
    """How much of the price the customer sees."""

    SUM = "sum"
    ROOM = "room"
    STEP = "step"
    LINE = "line"


@dataclass(frozen=True)
class Bought:
    """A material the job needs: *packs* for the whole job, *by_room* the exact quantity of each room.

    *pack_price* None: the price list has none on that day. *price_source* says which price it is.
    """

    key: str
    role: Role
    name: str
    packs: Figure
    pack_label: str
    unit: str
    by_room: tuple[tuple[str, Decimal], ...]
    pack_price: Decimal | None
    price_source: Phrase | None = None
    customer_supplied: bool = False


@dataclass(frozen=True)
class Worked:
    """Man-hours of one activity in one room."""

    room: str
    step: str
    label: Phrase
    hours: Figure


@dataclass(frozen=True)
class OtherCost:
    """An amount entered for the whole job: disposal, levelling, travel, permits."""

    key: str
    step: str
    label: Phrase
    cost: Decimal


@dataclass(frozen=True)
class HandLine:
    """A line written by hand; *price_each* None: priced by the estimate's own rule."""

    key: str
    room: str
    step: str
    text: str
    quantity: Decimal
    unit: str
    cost_each: Decimal
    price_each: Decimal | None = None
    is_material: bool = False


@dataclass(frozen=True)
class Changed:
    """A computed quantity or price set by hand, and why."""

    value: Decimal
    reason: str
    by: str = ""


@dataclass(frozen=True)
class Labour:
    """What an hour costs: pay, and the burden on it as a fraction."""

    pay: Decimal
    burden: Decimal
    source: Phrase | None = None


@dataclass(frozen=True)
class Stage:
    """A payment between deposit and balance: when it is due, and its share of the total as a fraction."""

    due: str
    share: Decimal


@dataclass(frozen=True)
class Terms:
    """How this estimate is priced. All shares are fractions; amounts are in *currency*."""

    currency: str
    labour: Labour | None
    overhead: Decimal
    profit: Decimal
    profit_rule: ProfitRule = ProfitRule.MARGIN
    minimum_charge: Decimal = Decimal(0)
    tax_base: TaxBase = TaxBase.NONE
    tax_rate: Decimal = Decimal(0)
    deposit: Decimal = Decimal(0)
    stages: tuple[Stage, ...] = ()


@dataclass(frozen=True)
class Asked:
    """Everything that is to be priced. *rooms*: (key, name) in the order of the paper.

    *quantities* and *prices* are the changes by hand: packs under ``packs:<material>``, hours under
    ``hours:<room>:<step>``, a price under its line's key.
    """

    rooms: tuple[tuple[str, str], ...]
    bought: tuple[Bought, ...] = ()
    worked: tuple[Worked, ...] = ()
    other: tuple[OtherCost, ...] = ()
    hand: tuple[HandLine, ...] = ()
    quantities: Mapping[str, Changed] = field(default_factory=dict)
    prices: Mapping[str, Changed] = field(default_factory=dict)


@dataclass(frozen=True)
class Line:
    """A priced line. *cost*, *full_cost* (with overhead), *price* and *tax* are whole cents.

    *changed* holds the reasons of quantities or prices set by hand; *price_working* and *cost_working* end
    in the very amounts above.
    """

    key: str
    room: str
    step: str
    kind: Kind
    label: Phrase
    quantity: Decimal | None
    unit: str
    cost_cents: int
    full_cost_cents: int
    price_cents: int
    cost_working: Figure
    price_working: Figure
    tax_cents: int = 0
    is_material: bool = False
    customer_supplied: bool = False
    has_fixed_price: bool = False
    changed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Problem:
    """What keeps the estimate from being issued; *key* names the material or the setting."""

    key: str
    text: Phrase


@dataclass(frozen=True)
class Shown:
    """One line of the price as the customer sees it."""

    label: Phrase
    price_cents: int
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Payment:
    due: Phrase
    cents: int


@dataclass(frozen=True)
class Priced:
    """The whole price. Totals are sums of the lines' rounded amounts; *margin* and *markup* are realised."""

    lines: tuple[Line, ...]
    cost_cents: int
    full_cost_cents: int
    price_cents: int
    tax_cents: int
    taxed_cents: int
    tax_working: Figure
    payments: tuple[Payment, ...]
    problems: tuple[Problem, ...]
    rooms: tuple[tuple[str, str], ...]

    @property
    def total_cents(self) -> int:
        return self.price_cents + self.tax_cents

    @property
    def overhead_cents(self) -> int:
        return self.full_cost_cents - self.cost_cents

    @property
    def profit_cents(self) -> int:
        return self.price_cents - self.full_cost_cents

    @property
    def margin(self) -> Decimal | None:
        return margin_of(Decimal(self.price_cents), Decimal(self.full_cost_cents))

    @property
    def markup(self) -> Decimal | None:
        return markup_of(Decimal(self.price_cents), Decimal(self.full_cost_cents))

    def shown(self, detail: Detail) -> tuple[Shown, ...]:
        """Return what the customer sees at *detail*; at every detail it sums to :attr:`price_cents`."""
        match detail:
            case Detail.SUM:
                groups = [(phrase(gettext_noop("All work and material")), list(self.lines))]
            case Detail.ROOM:
                known = {key for key, _ in self.rooms}
                groups = [
                    (Phrase("{name}", {"name": name}), [line for line in self.lines if line.room == key])
                    for key, name in self.rooms
                ]
                groups.append(
                    (
                        phrase(gettext_noop("Whole job")),
                        [line for line in self.lines if line.room not in known],
                    )
                )
            case Detail.STEP:
                groups = [
                    (step_label(step), [line for line in self.lines if line.step == step])
                    for step in dict.fromkeys(_step_order(self.lines))
                ]
            case Detail.LINE:
                groups = [(line.label, [line]) for line in self.lines]
        return tuple(
            Shown(label, sum(line.price_cents for line in lines), tuple(lines))
            for label, lines in groups
            if lines
        )


def price(asked: Asked, terms: Terms) -> Priced:
    """Price everything in *asked* by *terms*.

    Raises:
        DomainError: a margin of 100 % or more (``price.margin-all``).
    """
    if terms.profit_rule is ProfitRule.MARGIN:
        check_margin(terms.profit)
    problems: list[Problem] = []
    lines = [
        *_material_lines(asked, terms, problems),
        *_labour_lines(asked, terms, problems),
        *(_other_line(other, terms) for other in asked.other if other.cost),
        *(_hand_line(hand, terms) for hand in asked.hand),
    ]
    lines = [_with_price(line, terms, asked.prices) for line in _ordered(lines, asked.rooms)]
    lines += _minimum(lines, terms)
    lines, taxed, tax = _taxed(lines, terms)
    total = sum(line.price_cents for line in lines) + cents(tax.value)
    return Priced(
        lines=tuple(lines),
        cost_cents=sum(line.cost_cents for line in lines),
        full_cost_cents=sum(line.full_cost_cents for line in lines),
        price_cents=sum(line.price_cents for line in lines),
        tax_cents=cents(tax.value),
        taxed_cents=taxed,
        tax_working=tax,
        payments=payments(total, terms),
        problems=tuple(problems),
        rooms=asked.rooms,
    )


def payments(total_cents: int, terms: Terms) -> tuple[Payment, ...]:
    """Return deposit, stages and balance; the balance is what remains, odd cents included.

    >>> terms = Terms("USD", None, Decimal(0), Decimal(0), deposit=Decimal("0.3333"))
    >>> [payment.cents for payment in payments(10001, terms)]
    [3333, 6668]
    """
    parts = [(phrase(gettext_noop("On acceptance")), terms.deposit)]
    parts += [(Phrase("{due}", {"due": stage.due}), stage.share) for stage in terms.stages]
    due = [Payment(label, cents(money(total_cents) * share)) for label, share in parts if share]
    # Each part is rounded, so together they can pass the total by a cent; the last part gives it back.
    over = sum(payment.cents for payment in due) - total_cents
    if due and over > 0:
        due[-1] = replace(due[-1], cents=due[-1].cents - over)
    rest = total_cents - sum(payment.cents for payment in due)
    if rest:
        due.append(Payment(phrase(gettext_noop("On completion")), rest))
    return tuple(due)


# --- Cost of a line ---------------------------------------------------------------------------------------


def _material_lines(asked: Asked, terms: Terms, problems: list[Problem]) -> list[Line]:
    return [line for bought in asked.bought for line in _bought_lines(bought, asked, terms, problems)]


def _bought_lines(bought: Bought, asked: Asked, terms: Terms, problems: list[Problem]) -> list[Line]:
    if bought.pack_price is None and not bought.customer_supplied:
        problems.append(
            Problem(
                f"price:{bought.key}",
                phrase(gettext_noop("{material} has no price on that day."), material=bought.name),
            )
        )
    changed = asked.quantities.get(f"packs:{bought.key}")
    packs = changed.value if changed else bought.packs.value
    pack_price = Decimal(0) if bought.customer_supplied else bought.pack_price or Decimal(0)
    total = cents(packs * pack_price)
    rooms = bought.by_room or ((WHOLE_JOB, Decimal(1)),)
    whole = sum((quantity for _, quantity in rooms), Decimal(0))
    lines = []
    for (room, quantity), part in zip(rooms, shared(total, [quantity for _, quantity in rooms]), strict=True):
        work = Working(f"cost:{bought.key}:{room}", phrase(gettext_noop("Cost of {name}"), name=bought.name))
        _put_packs(work, bought, changed)
        _put_pack_price(work, bought, pack_price, terms.currency)
        work.step("T", phrase(gettext_noop("All packs")), "n * p", terms.currency, Round.HALF_UP, 2)
        if len(rooms) > 1:
            _put_share(work, bought, quantity, whole, part, terms.currency)
        lines.append(
            Line(
                key=f"material:{bought.key}:{room}",
                room=room,
                step=STEP_OF_ROLE[bought.role],
                kind=Kind.MATERIAL,
                label=_material_label(bought),
                quantity=quantity if bought.by_room else packs,
                unit=bought.unit if bought.by_room else bought.pack_label,
                cost_cents=part,
                full_cost_cents=0,
                price_cents=0,
                cost_working=work.figure(),
                price_working=work.figure(),
                is_material=not bought.customer_supplied,
                customer_supplied=bought.customer_supplied,
                changed=(changed.reason,) if changed else (),
            )
        )
    return lines


def _material_label(bought: Bought) -> Phrase:
    if bought.customer_supplied:
        return phrase(gettext_noop("{material} (supplied by the customer)"), material=bought.name)
    return Phrase("{material}", {"material": bought.name})


def _put_packs(work: Working, bought: Bought, changed: Changed | None) -> None:
    label = phrase(gettext_noop("Packs for the whole job"))
    if changed:
        source = phrase(gettext_noop("set by hand: {reason}"), reason=changed.reason)
        work.given("n", label, changed.value, bought.pack_label, Origin.ENTERED, source)
    else:
        work.given("n", label, bought.packs.value, bought.pack_label, Origin.COMPUTED)


def _put_pack_price(work: Working, bought: Bought, pack_price: Decimal, currency: str) -> None:
    if bought.customer_supplied:
        source: Phrase | None = phrase(gettext_noop("the customer supplies it"))
        work.given("p", phrase(gettext_noop("Price of a pack")), pack_price, currency, Origin.ENTERED, source)
    else:
        source = bought.price_source
        work.given(
            "p", phrase(gettext_noop("Price of a pack")), pack_price, currency, Origin.PRICE_LIST, source
        )


def _put_share(
    work: Working, bought: Bought, quantity: Decimal, whole: Decimal, part_cents: int, currency: str
) -> None:
    if not whole:
        work.given(
            "c", phrase(gettext_noop("This room's share")), money(part_cents), currency, Origin.COMPUTED
        )
        return
    work.given("q", phrase(gettext_noop("Needed in this room")), quantity, bought.unit, Origin.COMPUTED)
    work.given("Q", phrase(gettext_noop("Needed in all rooms")), whole, bought.unit, Origin.COMPUTED)
    base = work.step(
        "s", phrase(gettext_noop("This room's share, whole cents")), "floor(T * 100 * q / Q) / 100", currency
    )
    work.given(
        "o",
        phrase(gettext_noop("Odd cent")),
        money(part_cents) - base,
        currency,
        Origin.COMPUTED,
        phrase(gettext_noop("to the largest remainder, the earlier room first")),
    )
    work.step("c", phrase(gettext_noop("This room's share")), "s + o", currency, Round.HALF_UP, 2)


def _labour_lines(asked: Asked, terms: Terms, problems: list[Problem]) -> list[Line]:
    groups: dict[tuple[str, str], list[Worked]] = {}
    for worked in asked.worked:
        groups.setdefault((worked.room, worked.step), []).append(worked)
    if terms.labour is None and groups:
        problems.append(Problem("labour", phrase(gettext_noop("No cost of an hour is known for that day."))))
    labour = terms.labour or Labour(Decimal(0), Decimal(0))
    return [
        _labour_line(room, step, group, labour, asked.quantities.get(f"hours:{room}:{step}"), terms.currency)
        for (room, step), group in groups.items()
    ]


def _labour_line(
    room: str, step: str, group: Sequence[Worked], labour: Labour, changed: Changed | None, currency: str
) -> Line:
    work = Working(f"cost:labour:{room}:{step}", phrase(gettext_noop("Cost of labour")))
    if changed:
        source = phrase(gettext_noop("set by hand: {reason}"), reason=changed.reason)
        hours = work.given("h", phrase(gettext_noop("Hours")), changed.value, "h", Origin.ENTERED, source)
    else:
        for number, worked in enumerate(group, 1):
            work.carry(f"h{number}", worked.label, worked.hours)
        formula = " + ".join(f"h{number}" for number in range(1, len(group) + 1))
        hours = work.step("h", phrase(gettext_noop("Hours")), formula, "h")
    work.given("w", phrase(gettext_noop("Pay an hour")), labour.pay, currency, Origin.ENTERED, labour.source)
    work.given("b", phrase(gettext_noop("Burden on pay")), labour.burden, "", Origin.ENTERED, labour.source)
    cost = work.step("c", phrase(gettext_noop("Cost")), "h * w * (1 + b)", currency, Round.HALF_UP, 2)
    return Line(
        key=f"labour:{room}:{step}",
        room=room,
        step=step,
        kind=Kind.LABOUR,
        label=phrase(gettext_noop("{step}: labour"), step=step_label(step)),
        quantity=hours,
        unit="h",
        cost_cents=cents(cost),
        full_cost_cents=0,
        price_cents=0,
        cost_working=work.figure(),
        price_working=work.figure(),
        changed=(changed.reason,) if changed else (),
    )


def _other_line(other: OtherCost, terms: Terms) -> Line:
    work = Working(f"cost:other:{other.key}", other.label)
    cost = work.given("a", other.label, other.cost, terms.currency, Origin.ENTERED)
    work.step("c", phrase(gettext_noop("Cost")), "a", terms.currency, Round.HALF_UP, 2)
    return Line(
        key=f"other:{other.key}",
        room=WHOLE_JOB,
        step=other.step,
        kind=Kind.OTHER,
        label=other.label,
        quantity=None,
        unit="",
        cost_cents=cents(cost),
        full_cost_cents=0,
        price_cents=0,
        cost_working=work.figure(),
        price_working=work.figure(),
    )


def _hand_line(hand: HandLine, terms: Terms) -> Line:
    text = Phrase("{text}", {"text": hand.text})
    work = Working(f"cost:hand:{hand.key}", text)
    work.given("q", phrase(gettext_noop("Quantity")), hand.quantity, hand.unit, Origin.ENTERED)
    work.given("e", phrase(gettext_noop("Cost each")), hand.cost_each, terms.currency, Origin.ENTERED)
    cost = work.step("c", phrase(gettext_noop("Cost")), "q * e", terms.currency, Round.HALF_UP, 2)
    priced = work.figure()
    if hand.price_each is not None:
        fixed = Working(f"price:hand:{hand.key}", text)
        fixed.given("q", phrase(gettext_noop("Quantity")), hand.quantity, hand.unit, Origin.ENTERED)
        fixed.given("e", phrase(gettext_noop("Price each")), hand.price_each, terms.currency, Origin.ENTERED)
        fixed.step("P", phrase(gettext_noop("Price")), "q * e", terms.currency, Round.HALF_UP, 2)
        priced = fixed.figure()
    return Line(
        key=f"hand:{hand.key}",
        room=hand.room,
        step=hand.step,
        kind=Kind.HAND,
        label=text,
        quantity=hand.quantity,
        unit=hand.unit,
        cost_cents=cents(cost),
        full_cost_cents=0,
        price_cents=0 if hand.price_each is None else cents(priced.value),
        cost_working=work.figure(),
        price_working=priced,
        is_material=hand.is_material,
        has_fixed_price=hand.price_each is not None,
    )


# --- Price, tax -------------------------------------------------------------------------------------------


def _with_price(line: Line, terms: Terms, changes: Mapping[str, Changed]) -> Line:
    work = Working(f"price:{line.key}", phrase(gettext_noop("Price of {line}"), line=line.label))
    currency = terms.currency
    work.given("c", phrase(gettext_noop("Cost")), money(line.cost_cents), currency, Origin.COMPUTED)
    work.given("v", phrase(gettext_noop("Overhead on cost")), terms.overhead, "", Origin.ENTERED)
    full = work.step(
        "C", phrase(gettext_noop("Cost with overhead")), "c * (1 + v)", currency, Round.HALF_UP, 2
    )
    line = replace(line, full_cost_cents=cents(full))
    changed = changes.get(line.key)
    if changed:
        source = phrase(gettext_noop("set by hand: {reason}"), reason=changed.reason)
        work.given(
            "a", phrase(gettext_noop("Price set by hand")), changed.value, currency, Origin.ENTERED, source
        )
        amount = work.step("P", phrase(gettext_noop("Price")), "a", currency, Round.HALF_UP, 2)
        line = replace(line, changed=(*line.changed, changed.reason))
    elif line.has_fixed_price:
        return line
    elif terms.profit_rule is ProfitRule.MARGIN:
        work.given("m", phrase(gettext_noop("Margin of the price")), terms.profit, "", Origin.ENTERED)
        amount = work.step("P", phrase(gettext_noop("Price")), "C / (1 - m)", currency, Round.HALF_UP, 2)
    else:
        work.given("u", phrase(gettext_noop("Markup on cost")), terms.profit, "", Origin.ENTERED)
        amount = work.step("P", phrase(gettext_noop("Price")), "C * (1 + u)", currency, Round.HALF_UP, 2)
    return replace(line, price_cents=cents(amount), price_working=work.figure())


def _minimum(lines: Sequence[Line], terms: Terms) -> list[Line]:
    """Return the line that lifts the job to the minimum charge, or nothing."""
    reached = money(sum(line.price_cents for line in lines))
    if not lines or reached >= terms.minimum_charge:
        return []
    work = Working("price:minimum", step_label(MINIMUM_STEP))
    work.given("M", step_label(MINIMUM_STEP), terms.minimum_charge, terms.currency, Origin.ENTERED)
    work.given("S", phrase(gettext_noop("Sum of all lines")), reached, terms.currency, Origin.COMPUTED)
    lift = work.step(
        "P", phrase(gettext_noop("Lift to the minimum")), "M - S", terms.currency, Round.HALF_UP, 2
    )
    nothing = Working("cost:minimum", step_label(MINIMUM_STEP))
    nothing.given("c", phrase(gettext_noop("Cost")), Decimal(0), terms.currency, Origin.COMPUTED)
    return [
        Line(
            key="minimum",
            room=WHOLE_JOB,
            step=MINIMUM_STEP,
            kind=Kind.MINIMUM,
            label=step_label(MINIMUM_STEP),
            quantity=None,
            unit="",
            cost_cents=0,
            full_cost_cents=0,
            price_cents=cents(lift),
            cost_working=nothing.figure(),
            price_working=work.figure(),
        )
    ]


def _taxed(lines: Sequence[Line], terms: Terms) -> tuple[list[Line], int, Figure]:
    """Return the lines with their part of the tax, the taxed sum in cents, and the tax's working."""
    is_taxed = [
        terms.tax_base is TaxBase.EVERYTHING or (terms.tax_base is TaxBase.MATERIALS and line.is_material)
        for line in lines
    ]
    taxed = sum(line.price_cents for line, yes in zip(lines, is_taxed, strict=True) if yes)
    labels = {
        TaxBase.NONE: phrase(gettext_noop("Taxed: nothing")),
        TaxBase.MATERIALS: phrase(gettext_noop("Taxed: the prices of all materials")),
        TaxBase.EVERYTHING: phrase(gettext_noop("Taxed: the whole price")),
    }
    work = Working("tax", phrase(gettext_noop("Sales tax")))
    work.given("B", labels[terms.tax_base], money(taxed), terms.currency, Origin.COMPUTED)
    work.given("r", phrase(gettext_noop("Sales tax rate")), terms.tax_rate, "", Origin.ENTERED)
    tax = work.step("t", phrase(gettext_noop("Sales tax")), "B * r", terms.currency, Round.HALF_UP, 2)
    weights = [Decimal(line.price_cents if yes else 0) for line, yes in zip(lines, is_taxed, strict=True)]
    parts = shared(cents(tax), weights) if lines else []
    return (
        [replace(line, tax_cents=part) for line, part in zip(lines, parts, strict=True)],
        taxed,
        work.figure(),
    )


# --- Order ------------------------------------------------------------------------------------------------


def _step_order(lines: Sequence[Line]) -> list[str]:
    used = {line.step for line in lines}
    return [step for step in STEPS if step in used] + sorted(used - set(STEPS))


def _ordered(lines: Sequence[Line], rooms: tuple[tuple[str, str], ...]) -> list[Line]:
    room_order = {key: number for number, (key, _) in enumerate(rooms)}
    step_order = {step: number for number, step in enumerate(_step_order(lines))}
    kinds = list(Kind)
    return sorted(
        lines,
        key=lambda line: (
            room_order.get(line.room, len(room_order)),
            step_order[line.step],
            kinds.index(line.kind),
        ),
    )

"""What pricing is given and what it returns: plain, frozen values. Money in is Decimal, out whole cents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from estimates.takeoff.labour import TRADE_STEPS
from estimates.takeoff.model import Role
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Figure

from .profit import margin_of, markup_of

WHOLE_JOB = ""
PERMITS_STEP = "permits"
MINIMUM_STEP = "minimum"
DISCOUNT_STEP = "discount"
# What no line by hand is written under: these follow from the others.
FOLLOWING_STEPS = frozenset({MINIMUM_STEP, DISCOUNT_STEP})

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
    DISCOUNT_STEP: phrase(gettext_noop("Discount")),
    MINIMUM_STEP: phrase(gettext_noop("Minimum job charge")),
}


# What is logged on a job beside its trade steps, and never estimated: work after it is complete.
CALLBACK_STEP = "callback"
_LOGGED_ONLY: Mapping[str, Phrase] = {CALLBACK_STEP: phrase(gettext_noop("Callbacks"))}


def step_label(step: str) -> Phrase:
    """Return what a trade step is called."""
    return STEPS.get(step) or _LOGGED_ONLY.get(step, Phrase(step))


class Kind(StrEnum):
    MATERIAL = "material"
    LABOUR = "labour"
    OTHER = "other cost"
    HAND = "written by hand"
    DISCOUNT = "discount"
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
    # Off the price: a fraction of it, or an amount; why, in the office's words.
    discount: Decimal = Decimal(0)
    discount_amount: Decimal = Decimal(0)
    discount_reason: str = ""


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
        """Return what the customer sees at *detail*; at every detail it sums to :attr:`price_cents`.

        A discount stands apart and is called so, however much of the rest is shown.
        """
        lines = [line for line in self.lines if line.kind is not Kind.DISCOUNT]
        off = [line for line in self.lines if line.kind is Kind.DISCOUNT]
        match detail:
            case Detail.SUM:
                groups = [(phrase(gettext_noop("All work and material")), lines)]
            case Detail.ROOM:
                known = {key for key, _ in self.rooms}
                groups = [
                    (Phrase("{name}", {"name": name}), [line for line in lines if line.room == key])
                    for key, name in self.rooms
                ]
                groups.append(
                    (
                        phrase(gettext_noop("Whole job")),
                        [line for line in lines if line.room not in known],
                    )
                )
            case Detail.STEP:
                groups = [
                    (step_label(step), [line for line in lines if line.step == step])
                    for step in dict.fromkeys(step_order(lines))
                ]
            case Detail.LINE:
                groups = [(line.label, [line]) for line in lines]
        if off:
            groups.append((off[0].label, off))
        return tuple(
            Shown(label, sum(line.price_cents for line in lines), tuple(lines))
            for label, lines in groups
            if lines
        )


def step_order(lines: Sequence[Line]) -> list[str]:
    """Return the steps that *lines* have, in the order of the trade."""
    used = {line.step for line in lines}
    return [step for step in STEPS if step in used] + sorted(used - set(STEPS))

"""What each line costs, with its working. The price of a line is not known here yet (its cents are 0)."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.working import Origin, Round, Working

from .pricing_model import (
    STEP_OF_ROLE,
    WHOLE_JOB,
    Asked,
    Bought,
    Changed,
    HandLine,
    Kind,
    Labour,
    Line,
    OtherCost,
    Problem,
    Terms,
    Worked,
    step_label,
)
from .profit import cents, money, shared


def material_lines(asked: Asked, terms: Terms, problems: list[Problem]) -> list[Line]:
    """Return the cost of every material in every room that needs it; a missing price is a problem."""
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


def labour_lines(asked: Asked, terms: Terms, problems: list[Problem]) -> list[Line]:
    """Return the cost of labour by room and step; a missing cost of an hour is a problem."""
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


def other_line(other: OtherCost, terms: Terms) -> Line:
    """Return the line of an entered cost."""
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


def hand_line(hand: HandLine, terms: Terms) -> Line:
    """Return a hand-written line; one with a price of its own keeps it."""
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

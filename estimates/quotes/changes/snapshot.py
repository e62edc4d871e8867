"""What an issued change order freezes: its paper, what changes in the work, and what the office keeps."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from contracting.staff.selectors import company_profile
from estimates.takeoff.phrases import gettext_noop

from ..pricing import step_label
from ..snapshot import FORMAT, company_part, plain
from ..templatetags.figures import stored_phrase
from . import contract
from .contract import Stage, Sums
from .models import ChangeLine, ChangeOrder

Row = dict[str, Any]


def line_price(line: ChangeLine) -> int:
    """Return a line's signed price in whole cents."""
    return contract.amount_cents(line.sign, line.quantity_millionths, line.price_cents)


def line_labour(line: ChangeLine, labour: Row | None) -> int:
    """Return what a line's hours cost, unsigned: as entered, or at the quote's pay and burden."""
    if line.labour_cents is not None:
        return line.labour_cents
    return contract.labour_cost_cents(line.minutes, labour)


def sums_of(order: ChangeOrder, lines: Sequence[ChangeLine]) -> Sums:
    """Return what the change comes to: hand-written lines and measurements, tax rounded once."""
    paper, terms = order.quote.snapshot["paper"], order.quote.snapshot["office"]["terms"]
    base = paper["tax_base"]
    steps = order.measured.get("steps", ())
    price = sum(line_price(line) for line in lines) + sum(row["price_cents"] for row in steps)
    taxed = sum(contract.taxed_part(line_price(line), base, is_material=line.is_material) for line in lines)
    taxed += sum(_taxed_step(row, base) for row in steps)
    cost = sum(
        line.sign * (line_labour(line, terms["labour"]) + line.material_cents + line.other_cents)
        for line in lines
    )
    cost += sum(row["labour_cents"] + row["material_cents"] for row in steps)
    minutes = sum(line.sign * line.minutes for line in lines) + sum(row["minutes"] for row in steps)
    return Sums(price, taxed, contract.tax_on(taxed, paper["tax_basis_points"]), cost, minutes)


def _taxed_step(row: Row, base: str) -> int:
    return int({"everything": row["price_cents"], "materials": row["taxed_cents"]}.get(base, 0))


def paper_part(
    order: ChangeOrder,
    lines: Sequence[ChangeLine],
    *,
    number: str,
    issued_at: datetime.datetime,
    valid_until: datetime.date,
    signed: Sequence[ChangeOrder],
) -> Row:
    """Return everything the customer's pages show; *signed* are the changes that hold already."""
    frozen, sums = order.quote.snapshot["paper"], sums_of(order, lines)
    before = order.quote.total_cents + sum(one.total_cents for one in signed)
    kept = ("time_zone", "paper", "currency", "customer", "site", "tax_base", "tax_basis_points", "title")
    return {
        **{name: frozen[name] for name in kept},
        "format": FORMAT,
        "language": order.quote.site.customer.language,
        "company": company_part(company_profile()),
        "quote": f"{frozen['number']} r{frozen['revision']}",
        "number": number,
        "replaces": order.replaces.number if order.replaces else "",
        "issued_at": issued_at.isoformat(),
        "valid_until": valid_until.isoformat(),
        "what": order.title,
        "reason": order.reason,
        "lines": [_paper_line(line) for line in lines]
        + [
            {
                "label": {
                    "message": "{step}",
                    "parameters": {"step": stored_phrase(step_label(row["step"]))},
                },
                "measured": True,
                "cents": row["price_cents"],
            }
            for row in order.measured.get("steps", ())
            if row["price_cents"]
        ],
        "rooms": order.measured.get("rooms", []),
        "price_cents": sums.price_cents,
        "tax_cents": sums.tax_cents,
        "total_cents": sums.total_cents,
        "before_cents": before,
        "after_cents": before + sums.total_cents,
        "work_days": order.work_days,
        "pay_when": order.pay_when,
        "payments": [
            {"due": dict(stage.due), "cents": stage.cents}
            for stage in payments_with(order, sums.total_cents, number, signed)
            if stage.cents
        ],
        "terms": frozen["terms"],
    }


def payments_with(
    order: ChangeOrder, total_cents: int, number: str, signed: Sequence[ChangeOrder]
) -> list[Stage]:
    """Return the payments of the contract as they are once *order* is signed too."""
    changes = [(one.pay_when, change_stage(one, one.total_cents, one.number)) for one in signed]
    changes.append((order.pay_when, change_stage(order, total_cents, number)))
    return contract.schedule(contract.stages_of(order.quote.snapshot["paper"]), changes)


def change_stage(order: ChangeOrder, total_cents: int, number: str) -> Stage:
    """Return a change as a payment of its own; the sentence is stored, to be said in the reader's words."""
    if order.pay_when == ChangeOrder.PayWhen.SIGNING:
        message = gettext_noop("When change order {number} is signed")
    else:
        message = gettext_noop("When change order {number} is done")
    due = {"message": message, "parameters": {"number": number}}
    return Stage(f"change-{order.pk}", due, total_cents)


def _paper_line(line: ChangeLine) -> Row:
    return {
        "label": {"message": "{text}", "parameters": {"text": line.text}},
        "sign": line.sign,
        "quantity": plain(Decimal(line.quantity_millionths).scaleb(-6).normalize()),
        "unit": line.unit,
        "each_cents": line.price_cents,
        "cents": line_price(line),
    }


def work_part(order: ChangeOrder, lines: Sequence[ChangeLine], whole: Row | None) -> Row:
    """Return what changes for the crew, without money; *whole* is the job's work as measured now."""
    return {
        "title": order.title,
        "reason": order.reason,
        "work_days": order.work_days,
        "lines": [
            {
                "sign": line.sign,
                "text": line.text,
                "step": line.step,
                "quantity": plain(Decimal(line.quantity_millionths).scaleb(-6).normalize()),
                "unit": line.unit,
                "minutes": line.sign * line.minutes,
                "material_key": line.material_key,
                "material": line.material_name,
                "packs": plain(Decimal(line.packs_millionths).scaleb(-6).normalize()),
                "pack": line.pack_label,
            }
            for line in lines
        ],
        "rooms": order.measured.get("figures", []),
        "steps": [
            {"step": row["step"], "minutes": row["minutes"]}
            for row in order.measured.get("steps", ())
            if row["minutes"]
        ],
        "materials": [
            {name: row[name] for name in ("key", "name", "pack", "packs")}
            for row in order.measured.get("materials", ())
        ],
        "whole": whole,
    }


def office_part(order: ChangeOrder, lines: Sequence[ChangeLine]) -> Row:
    """Return what the change does to the budget: by trade step, and by material, signed."""
    labour = order.quote.snapshot["office"]["terms"]["labour"]
    steps: dict[str, Row] = {}
    materials: dict[str, Row] = {}
    for number, line in enumerate(lines, 1):
        row = _step(steps, line.step)
        row["price_cents"] += line_price(line)
        row["minutes"] += line.sign * line.minutes
        row["labour_cents"] += line.sign * line_labour(line, labour)
        row["other_cents"] += line.sign * line.other_cents
        row["material_cents"] += line.sign * line.material_cents
        if line.material_cents or line.material_key:
            # A material without a name of its own is bought as what the line says.
            _put_material(materials, line, line.material_key or f"change-{order.pk}-{number}")
    for measured in order.measured.get("steps", ()):
        row = _step(steps, measured["step"])
        for name in ("price_cents", "minutes", "labour_cents", "material_cents"):
            row[name] += measured[name]
    for one in order.measured.get("materials", ()):
        row = materials.setdefault(
            one["key"],
            {"material_key": one["key"], "name": one["name"], "pack_label": one["pack"],
             "step": one["step"], "packs_millionths": 0, "cost_cents": 0},
        )  # fmt: skip
        row["packs_millionths"] += int(Decimal(one["packs"]) * contract.MILLION)
        row["cost_cents"] += one["cost_cents"]
    bought = _by_step(steps, materials)
    return {
        "steps": list(steps.values()),
        "materials": bought,
        "measured_steps": order.measured.get("steps", []),
        "drift_cents": order.measured.get("drift_cents", 0),
        "lines": [
            {
                "text": line.text,
                "price_cents": line_price(line),
                "sign": line.sign,
                "step": line.step,
                "minutes": line.sign * line.minutes,
                "cost_cents": line.sign
                * (line_labour(line, labour) + line.material_cents + line.other_cents),
            }
            for line in lines
        ],
    }


def _step(steps: dict[str, Row], step: str) -> Row:
    names = ("minutes", "labour_cents", "material_cents", "other_cents", "price_cents")
    return steps.setdefault(step, {"step": step, **dict.fromkeys(names, 0)})


def _put_material(materials: dict[str, Row], line: ChangeLine, key: str) -> None:
    packs = line.packs_millionths or contract.MILLION
    row = materials.setdefault(
        key,
        {"material_key": key, "name": line.material_name or line.text[:160], "pack_label": line.pack_label,
         "step": line.step, "packs_millionths": 0, "cost_cents": 0},
    )  # fmt: skip
    row["packs_millionths"] += line.sign * packs
    row["cost_cents"] += line.sign * line.material_cents


def _by_step(steps: dict[str, Row], materials: dict[str, Row]) -> list[Row]:
    """Return the materials; what a line books under another step than its material moves to that step."""
    for row in steps.values():
        row["material_cents"] = 0
    for one in materials.values():
        _step(steps, one["step"])["material_cents"] += one["cost_cents"]
    return list(materials.values())

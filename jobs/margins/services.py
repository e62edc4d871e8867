"""Making a job's budget and changing it. Each call is one act and one transaction."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from contracting.money import half_up
from contracting.staff.models import User
from estimates.quotes.changes.models import ChangeOrder
from estimates.quotes.pricing import Kind
from jobs.work.models import Job

from . import ledger
from .models import Budget, BudgetChange, BudgetMaterial, BudgetStep


@dataclass
class StepPart:
    """What a trade step adds to a budget: whole minutes and whole cents."""

    step: str
    minutes: int = 0
    labour_cents: int = 0
    material_cents: int = 0
    other_cents: int = 0
    price_cents: int = 0


@dataclass
class MaterialPart:
    """Packs of a material (millionths) and what they may cost together."""

    material_key: str
    name: str
    pack_label: str
    step: str
    packs_millionths: int
    cost_cents: int


@dataclass
class Plan:
    """A budget as it is read from a quote, before it is stored."""

    steps: dict[str, StepPart] = field(default_factory=dict)
    materials: dict[str, MaterialPart] = field(default_factory=dict)

    def step(self, key: str) -> StepPart:
        return self.steps.setdefault(key, StepPart(key))


@transaction.atomic
def budget_from_quote(*, job: Job) -> Budget:
    """Freeze the budget of *job* from its accepted quote; later calls return the same one.

    Money is before sales tax. Overhead is what the quote put on top of cost, and stays that amount.
    """
    quote, snapshot = job.quote, job.quote.snapshot
    office = snapshot["office"]
    plan = plan_of(snapshot)
    days = snapshot["work"].get("takeoff") or {}
    budget, is_new = Budget.objects.get_or_create(
        job=job,
        defaults={
            "currency": quote.currency,
            "price_cents": office["price_cents"],
            "overhead_cents": office["full_cost_cents"] - office["cost_cents"],
            "work_days": len(days.get("schedule", {}).get("days_on_site", ())) or None,
            "quote_sha256": quote.sha256,
            "frozen_at": timezone.now(),
        },
    )
    if is_new:
        _add(budget, None, plan.steps.values(), plan.materials.values())
        ledger.refresh(job)
    return budget


def budget_of_new_job(*, job: Job, by: User) -> Budget:
    """Make the budget of a job that has just been made."""
    return budget_from_quote(job=job)


@transaction.atomic
def budget_change(
    *,
    job: Job,
    key: uuid.UUID,
    title: str,
    agreed_on: datetime.date,
    price_cents: int,
    work_days: int = 0,
    steps: Iterable[StepPart] = (),
    materials: Iterable[MaterialPart] = (),
) -> BudgetChange:
    """Add a signed change to the budget of *job*; the same *key* again adds nothing.

    A step's *material_cents* are to be the sum of its materials' costs, as in the quote.

    Raises:
        ValidationError: the job has no budget yet.
    """
    budget = Budget.objects.filter(job=job).first()
    if budget is None:
        raise ValidationError(_("The job has no budget yet, so a change has nothing to add to."))
    steps, materials = list(steps), list(materials)
    for part in steps:
        own = sum(one.cost_cents for one in materials if one.step == part.step)
        if own != part.material_cents:
            raise ValidationError(
                _("The materials of “%(step)s” do not add up to its amount.") % {"step": part.step}
            )
    change, is_new = BudgetChange.objects.get_or_create(
        key=key,
        defaults={
            "budget": budget,
            "title": title,
            "agreed_on": agreed_on,
            "price_cents": price_cents,
            "work_days": work_days,
        },
    )
    if is_new:
        _add(budget, change, steps, materials)
        ledger.refresh(job)
    return change


def budget_of_change(*, order: ChangeOrder, by: User) -> BudgetChange | None:
    """Add a signed change order to the budget of its job, once; before there is a job there is none.

    Money is before sales tax, as in the quote's budget.
    """
    job = Job.objects.filter(quote=order.quote_id).first()
    if job is None or order.answered_on is None:
        return None
    budget_from_quote(job=job)
    office = order.snapshot["office"]
    return budget_change(
        job=job,
        key=order.key,
        title=f"CO-{order.sequence} {order.title}",
        agreed_on=order.answered_on,
        price_cents=order.price_cents,
        work_days=order.work_days,
        steps=[StepPart(**row) for row in office["steps"]],
        materials=[MaterialPart(**row) for row in office["materials"]],
    )


def plan_of(snapshot: dict[str, Any]) -> Plan:
    """Read the budget out of a quote's frozen snapshot: the lines of its office part, by trade step."""
    plan = Plan()
    needs = {row["key"]: row for row in snapshot["work"].get("materials", ())}
    for line in snapshot["office"]["lines"]:
        part = plan.step(line["step"])
        part.price_cents += line["price_cents"]
        cost = line["cost_cents"]
        match line["kind"]:
            case Kind.LABOUR:
                part.minutes += half_up(Decimal(line["quantity"]) * 60)
                part.labour_cents += cost
            case Kind.MATERIAL:
                part.material_cents += cost
                _put_material(plan, line, needs)
            case _:
                part.other_cents += cost
    return plan


def _put_material(plan: Plan, line: dict[str, Any], needs: dict[str, dict[str, Any]]) -> None:
    _kind, key, _room = line["key"].split(":", 2)
    known = plan.materials.get(key)
    if known is not None:
        known.cost_cents += line["cost_cents"]
        return
    # The packs that were priced: they may have been set by hand, so they are read from the line's working.
    packs = next(Decimal(row["value"]) for row in line["cost_working"]["lines"] if row["symbol"] == "n")
    if packs <= 0:
        return
    need = needs.get(key, {})
    plan.materials[key] = MaterialPart(
        key,
        need.get("name", key),
        need.get("pack", ""),
        line["step"],
        half_up(packs * 10**6),
        line["cost_cents"],
    )


def _add(
    budget: Budget,
    change: BudgetChange | None,
    steps: Iterable[StepPart],
    materials: Iterable[MaterialPart],
) -> None:
    BudgetStep.objects.bulk_create(BudgetStep(budget=budget, change=change, **vars(part)) for part in steps)
    BudgetMaterial.objects.bulk_create(
        BudgetMaterial(budget=budget, change=change, **vars(part)) for part in materials
    )

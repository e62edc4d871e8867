"""What a job's margin page shows, put together from its totals, budget and figures."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from estimates.quotes.templatetags.figures import money as money_text
from estimates.quotes.templatetags.figures import say
from estimates.takeoff.labour import TRADE_STEPS
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.working import Figure
from jobs.work.models import Job

from . import selectors, workings
from .charts import Band, Fall, bands_chart, waterfall
from .models import Budget, LedgerMaterial
from .selectors import JobMargin, Totals
from .standing import standing_of
from .variance import Element, Labour, Material, Other, Split, Standing, total


@dataclass(frozen=True)
class StepRow:
    """A trade step: budget beside actual."""

    step: str
    labour: Labour
    other: Other

    @property
    def split(self) -> Split:
        return total((self.labour.split, self.other.split))


@dataclass(frozen=True)
class MaterialRow:
    """A material: packs and money, foreseen and received."""

    name: str
    pack_label: str
    material: Material


@dataclass(frozen=True)
class JobPage:
    """Everything on the page of one job."""

    job: Job
    row: JobMargin
    budget: Budget
    standing: Standing
    currency: str
    figures: list[Figure]
    value: list[Figure]
    parts: list[workings.Part]
    whole: int
    chart: str
    steps: list[StepRow]
    materials: list[MaterialRow]
    planned_days: tuple[int, int] | None


def job_page(job: Job, budget: Budget, today: datetime.date) -> JobPage:
    """Read and work out the page of *job*; about ten queries, however long its log is."""
    kept = job.ledger
    standing = standing_of(job, kept)
    currency = budget.currency
    packs = {row.material_key: row.pack_label for row in budget.materials.all()}
    names = dict(LedgerMaterial.objects.filter(job=job).values_list("material_key", "name"))
    names |= {row.material_key: row.name for row in budget.materials.all()}

    def name(element: Element) -> Phrase:
        return workings.element_name(element, names)

    days = _planned_days(job, budget, today)
    at = workings.position(standing, currency, Decimal(days[0]) / days[1] if days else None)
    parts = workings.split_parts(standing, currency, name)
    return JobPage(
        job=job,
        row=JobMargin(job, kept),
        budget=budget,
        standing=standing,
        currency=currency,
        figures=[
            workings.quoted_margin(standing, currency),
            workings.margin_now(standing, currency),
            workings.margin_forecast(standing, at),
            workings.budget_figure(standing, currency, name),
            workings.actual_figure(standing, currency, name),
            workings.earned_figure(standing, currency, name),
        ],
        value=workings.earned_figures(at),
        parts=parts,
        whole=standing.split.whole,
        chart=_fall(standing, parts, currency),
        steps=_steps(standing),
        materials=[
            MaterialRow(names.get(one.key, one.key), packs.get(one.key, ""), one)
            for one in standing.elements
            if isinstance(one, Material)
        ],
        planned_days=days,
    )


def list_chart(bands: list[Band], sums: Totals) -> str:
    """Return the list's chart, with a sentence for those who do not see it."""
    label = _(
        "Jobs by margin: how many as quoted and as forecast, %(count)d jobs. The numbers stand beside it."
    )
    return bands_chart(bands, label % {"count": sums.count})


def _planned_days(job: Job, budget: Budget, today: datetime.date) -> tuple[int, int] | None:
    """Return how many of the planned working days have begun, and how many there are."""
    if job.starts_on is None or not budget.work_days:
        return None
    planned = max(1, budget.work_days + sum(change.work_days for change in budget.changes.all()))
    return min(selectors.working_days(job.starts_on, today), planned), planned


def _steps(standing: Standing) -> list[StepRow]:
    labour = {one.step: one for one in standing.elements if isinstance(one, Labour)}
    other = {one.step: one for one in standing.elements if isinstance(one, Other)}
    rows = [StepRow(step, labour[step], other[step]) for step in labour]
    order = {step: number for number, step in enumerate(TRADE_STEPS)}
    return sorted(rows, key=lambda row: (order.get(row.step, len(order)), row.step))


def _fall(standing: Standing, parts: list[workings.Part], currency: str) -> str:
    falls = [
        Fall(_("Quoted"), standing.quoted_margin_cents, is_total=True),
        *(Fall(say(part.label), int(part.figure.value * 100)) for part in parts),
        Fall(_("Now"), standing.margin_cents, is_total=True),
    ]
    label = _("From the margin quoted, %(quoted)s, to the margin now, %(now)s: the parts stand in the table.")
    amounts = {
        "quoted": money_text(standing.quoted_margin_cents, currency),
        "now": money_text(standing.margin_cents, currency),
    }
    return waterfall(falls, label % amounts)

"""The owner's pages: all jobs by margin, one job's margin and why it moved, and the entries behind it."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from contracting.staff.policies import StaffRequest, owner_required
from jobs.work.daily.selectors import today_at
from jobs.work.models import Stage

from . import page, selectors
from .charts import Band
from .models import Ledger
from .policies import budgeted_job_for
from .selectors import JobMargin

PAGE_SIZE = 50


@require_safe
@owner_required
def margins(request: StaffRequest) -> HttpResponse:
    asked, found = _found(request)
    sums, counts = selectors.summary(found)
    paginator = Paginator(found, PAGE_SIZE)
    # The sums have counted the jobs already.
    paginator.count = sums.count
    rows = paginator.get_page(request.GET.get("page"))
    bands = _bands(counts)
    shown = {
        **asked,
        "page": rows,
        "rows": [JobMargin(row.job, row) for row in rows],
        "totals": sums,
        "bands": bands,
        "chart": page.list_chart(bands, sums),
        "columns": _columns(asked["sort"]),
        "stages": Stage.choices,
    }
    return render(request, "margins/margins.html", shown)


@require_safe
@owner_required
def export(request: StaffRequest) -> StreamingHttpResponse:
    _asked, found = _found(request)
    answer = StreamingHttpResponse(_csv_lines(found), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="margins.csv"'
    return answer


@require_safe
@owner_required
def job(request: StaffRequest, pk: int) -> HttpResponse:
    found, budget = budgeted_job_for(request.user, pk)
    return render(request, "margins/job.html", {"at": page.job_page(found, budget, today_at(found))})


@require_safe
@owner_required
def entries(request: StaffRequest, pk: int) -> HttpResponse:
    found, budget = budgeted_job_for(request.user, pk)
    step, material = request.GET.get("step", ""), request.GET.get("material", "")
    kind = request.GET.get("kind", "")
    shown: dict[str, Any] = {"job": found, "budget": budget, "step": step, "kind": kind}
    if kind in {"", "hours"} and not material:
        shown["hours"] = selectors.hours_behind(found, step)
    if kind in {"", "deliveries"} and (material or not step):
        shown["deliveries"] = selectors.deliveries_behind(found, material)
    if kind in {"", "costs"} and not material:
        shown["costs"] = selectors.costs_behind(found, step)
    return render(request, "margins/entries.html", shown)


def _found(request: StaffRequest) -> tuple[dict[str, str], QuerySet[Ledger]]:
    asked = {
        "text": request.GET.get("q", "").strip(),
        "stage": request.GET.get("stage", "open"),
        "show": request.GET.get("show", ""),
        "sort": request.GET.get("sort", "-number"),
    }
    return asked, selectors.margins(**asked)


def _bands(counts: list[tuple[int, int]]) -> list[Band]:
    edges = [f"{bound * 100:.0f}" for bound in selectors.BOUNDS]
    labels = [
        _("below 0 %"),
        *(f"{low}–{high} %" for low, high in itertools.pairwise(edges)),
        _("%(edge)s %% up") % {"edge": edges[-1]},
    ]
    return [
        Band(label, quoted, forecast, is_loss=number == 0)
        for number, (label, (quoted, forecast)) in enumerate(zip(labels, counts, strict=True))
    ]


def _columns(sort: str) -> list[dict[str, str]]:
    """Return the columns of the list: what a press on each asks for, and which way it is sorted now."""
    labels = {
        "number": _("Job"),
        "price": _("Price"),
        "quoted": _("Margin quoted"),
        "budget": _("Budget"),
        "actual": _("Actual cost"),
        "done": _("Done"),
        "now": _("Margin now"),
        "forecast": _("Forecast"),
        "moved": _("Moved"),
        "invoiced": _("Invoiced"),
        "to-invoice": _("To invoice"),
        "received": _("Received"),
    }
    columns = []
    for name, label in labels.items():
        is_own = sort.lstrip("-") == name
        way = "" if not is_own else "descending" if sort.startswith("-") else "ascending"
        # The first press shows what needs the owner first: small margins, large costs.
        first = name if name in {"quoted", "now", "forecast", "moved"} else f"-{name}"
        other = name if sort.startswith("-") else f"-{name}"
        columns.append({"name": name, "label": label, "way": way, "ask": other if is_own else first})
    return columns


class _Echo:
    """Hands each written line on instead of keeping it."""

    def write(self, line: str) -> str:
        return line


def _csv_lines(found: QuerySet[Ledger]) -> Iterator[str]:
    writer = csv.writer(_Echo())
    # A spreadsheet reads UTF-8 only with this mark.
    yield "\ufeff" + writer.writerow(
        [
            _("Job"),
            _("Title"),
            _("Customer"),
            _("Stage"),
            _("Price"),
            _("Margin quoted"),
            _("Budget"),
            _("Labour"),
            _("Material"),
            _("Other costs"),
            _("Actual cost"),
            _("Earned"),
            _("Margin now"),
            _("Cost at completion"),
            _("Margin forecast"),
            _("Invoiced"),
            _("To invoice"),
            _("Received with sales tax"),
            _("Costs still open"),
        ]
    )
    for kept in found.iterator(chunk_size=2000):
        row = JobMargin(kept.job, kept)
        amounts = [
            kept.price_cents,
            row.quoted_margin_cents,
            kept.budget_cents,
            kept.labour_cents,
            kept.material_cents,
            kept.other_cents,
            row.actual_cents,
            row.earned_cents,
            row.margin_cents,
            row.forecast_cost_cents,
            row.forecast_margin_cents,
            row.invoiced_cents,
            row.to_invoice_cents,
            row.received_cents,
        ]
        texts = [_plain(kept.job.title), _plain(kept.job.customer_name), kept.job.get_stage_display()]
        money = [f"{Decimal(cents).scaleb(-2):.2f}" for cents in amounts]
        yield writer.writerow([kept.job.number, *texts, *money, kept.open_cost_count])


def _plain(text: str) -> str:
    """Keep a spreadsheet from running text that begins like a formula."""
    return f"'{text}" if text[:1] in {"=", "+", "-", "@", "\t", "\r"} else text

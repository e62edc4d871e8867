"""What the pages of callbacks show, put together from rows, costs and rights."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Page

from contracting.forms import KeyedForm
from contracting.staff.models import User
from jobs.work import pictures
from jobs.work.daily.selectors import today_at
from jobs.work.models import Job, Stage

from ..models import Callback, CallbackState
from ..models.callback import TRANSITIONS
from . import forms, selectors
from .cover import cover_of
from .selectors import Spent


def list_page(user: User, page: Page[Callback]) -> dict[str, Any]:
    """Return a page of callbacks, and all of them by cause; costs only where *user* sees money."""
    context: dict[str, Any] = {"page": page}
    rows = selectors.by_cause(selectors.callbacks_of(user))
    context["by_cause"] = rows
    context["count"] = sum(row.count for row in rows)
    if user.sees_money:
        _put_spent(list(page.object_list))
        context["total"] = sum((row.spent for row in rows), Spent())
    return context


def job_page(job: Job, user: User) -> dict[str, Any]:
    """Return the callbacks of a job."""
    found = selectors.of_job(job)
    if user.sees_money:
        _put_spent(found)
    return {
        "job": job,
        "callbacks": found,
        "is_complete": job.stage == Stage.COMPLETE,
        "cover": cover_of(job) if job.stage == Stage.COMPLETE else None,
    }


def callback_page(callback: Callback, user: User, given: dict[str, KeyedForm]) -> dict[str, Any]:
    """Return a callback with its history, warranty, entries and the forms of what *user* may do now.

    *given*: forms that were sent and refused, by the name of their act.
    """
    cover = cover_of(callback.job)
    context: dict[str, Any] = {
        "job": callback.job,
        "callback": callback,
        "cover": cover,
        "is_within": cover.is_within(callback.reported_on),
        "cover_words": cover.words(callback) if callback.cause else "",
        "entries": selectors.entries_of(callback),
        "about": f"note:{callback.key}",
        "photos": pictures.about(callback.job, "note", callback.key),
    }
    if user.sees_money:
        context["spent"] = selectors.spent_on([callback]).get(callback.pk, Spent())
    found = _forms(callback, user) | {name: form for name, form in given.items() if form.errors}
    return context | {f"{name}_form": form for name, form in found.items()}


def suggested(callback: Callback) -> bool | None:
    """Return what the warranty's terms say of a callback."""
    return cover_of(callback.job).suggests(callback)


def _forms(callback: Callback, user: User) -> dict[str, KeyedForm]:
    open_to = TRANSITIONS[CallbackState(callback.state)]
    today = today_at(callback.job)
    found: dict[str, KeyedForm] = {}
    if CallbackState.FOUND in open_to:
        found["found"] = forms.FoundForm(prefix="found", callback=callback, today=today)
    if CallbackState.RESOLVED in open_to:
        found["resolve"] = forms.ResolveForm(prefix="resolve", today=today)
    if CallbackState.REPORTED in open_to:
        found["reopen"] = forms.ReopenForm(prefix="reopen")
    if user.sees_money and CallbackState.PLANNED in open_to:
        found["plan"] = forms.PlanForm(prefix="plan", callback=callback)
    if user.sees_money and callback.state in {CallbackState.FOUND, CallbackState.RESOLVED}:
        found["decide"] = forms.DecideForm(prefix="decide", suggested=suggested(callback))
    return found


def _put_spent(callbacks: list[Callback]) -> None:
    spent = selectors.spent_on(callbacks)
    for one in callbacks:
        one.spent = spent.get(one.pk, Spent())  # type: ignore[attr-defined]

"""What the pages of a punch list show, put together from items, plans and rights."""

from __future__ import annotations

import datetime
from typing import Any

from contracting.forms import KeyedForm
from contracting.staff.models import User
from jobs.work import pictures
from jobs.work.models import Job, Stage

from . import forms, selectors
from .models import TRANSITIONS, UNACCEPTED, ItemState, PunchItem
from .plans import plans_of


def list_page(job: Job, today: datetime.date) -> dict[str, Any]:
    """Return the whole list of *job*: on its plans, and by what is next; six queries."""
    items = selectors.listed(selectors.items_of(job))
    for item in items.all:
        describe(item, today)
    plans = [plan for plan in plans_of(job) if plan.drawing]
    return {
        "job": job,
        "items": items,
        "plans": [{"plan": plan, "drawing": plan.marked(items.all)} for plan in plans],
        "overrides": list(selectors.overrides_of(job)),
        "hindrances": selectors.hindrances(job, Stage.COMPLETE),
        "is_closed": job.stage in {Stage.COMPLETE, Stage.CANCELLED},
        "today": today,
    }


def item_page(
    item: PunchItem, user: User, given: dict[str, KeyedForm], today: datetime.date
) -> dict[str, Any]:
    """Return an item with its plan, its history and the forms of what *user* may do now.

    *given*: forms that were sent and refused, by the name of their act.
    """
    describe(item, today)
    plan = next((one for one in plans_of(item.job) if one.key == item.room_key and one.drawing), None)
    context: dict[str, Any] = {"job": item.job, "item": item, "plan": plan, "today": today}
    context |= {"about": f"punch:{item.pk}", "photos": pictures.about(item.job, "punch", item.pk)}
    if plan is not None:
        context["drawing"] = plan.marked([item])
        if item.across is not None and item.down is not None:
            context["from_left"], context["from_top"] = plan.place(item.across, item.down)
    return context | {f"{name}_form": form for name, form in _forms(item, user, given).items()}


def describe(item: PunchItem, today: datetime.date) -> None:
    """Put to *item* what a list says about it: how late it is, and the newest word on it."""
    item.due_words = selectors.due_words(item, today)  # type: ignore[attr-defined]
    item.mended = selectors.latest(item, "mended")  # type: ignore[attr-defined]
    item.rejected = selectors.latest(item, "rejected")  # type: ignore[attr-defined]
    item.last = selectors.latest(item, "mended", "accepted", "rejected", "withdrawn")  # type: ignore[attr-defined]


def _forms(item: PunchItem, user: User, given: dict[str, KeyedForm]) -> dict[str, KeyedForm]:
    open_to = TRANSITIONS[ItemState(item.state)]
    found: dict[str, KeyedForm] = {}
    if ItemState.MENDED in open_to:
        found["mend"] = given.get("mend") or forms.MendForm(prefix="mend")
    if user.sees_money:
        if ItemState.ACCEPTED in open_to:
            found["accept"] = given.get("accept") or forms.AcceptForm(prefix="accept")
        if ItemState.REJECTED in open_to:
            found["reject"] = given.get("reject") or forms.RejectForm(prefix="reject")
        if ItemState.WITHDRAWN in open_to:
            found["withdraw"] = given.get("withdraw") or forms.WithdrawForm(prefix="withdraw")
        if item.state in UNACCEPTED:
            found["assign"] = given.get("assign") or forms.AssignForm(prefix="assign", item=item, user=user)
    # A form that somebody else's act has overtaken is shown all the same: what was typed is not lost.
    return found | {name: form for name, form in given.items() if form.errors}

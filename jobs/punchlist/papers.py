"""The customer's sign-off list: every item of a punch list with its place, and a line to sign. No money."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import override

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request
from contracting.staff.models import User
from jobs.work.models import Job, JobPaper

from . import selectors
from .models import TO_MEND, ItemState, PunchItem
from .plans import plans_of

KIND = "punch-list"


@transaction.atomic
def sign_off_request(*, job: Job, by: User) -> DocumentRequest:
    """Ask for the sign-off list as it stands now, in the language of who asks."""
    with override(by.language):
        document = document_request(
            kind=KIND,
            snapshot=_snapshot(job, by),
            subject=_("Job %(number)d, punch list") % {"number": job.number},
            audience=Audience.CUSTOMER,
            by=by,
        )
    JobPaper.objects.get_or_create(document=document, defaults={"job": job})
    return document


def register() -> None:
    """Make the list known to the documents app."""
    registry.register(
        KIND,
        template="punchlist/sign_off_paper.html",
        context=paper_context,
        filename=lambda snapshot: f"job-{snapshot['job']['number']}-punch-list.pdf",
    )


def paper_context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the template is given, from the snapshot and nothing else."""
    plans = [
        # Our own SVG, made when the list was asked for.
        {**plan, "drawing": mark_safe(plan["drawing"])}  # noqa: S308
        for plan in snapshot["plans"]
    ]
    return {**snapshot, "plans": plans}


def _snapshot(job: Job, by: User) -> dict[str, Any]:
    items = [item for item in selectors.items_of(job) if item.state != ItemState.WITHDRAWN]
    marked = {item.room_key for item in items if item.across is not None}
    paper = job.quote.snapshot["paper"]
    return {
        "language": by.language,
        "time_zone": job.site.time_zone,
        "company": paper["company"],
        "site": paper["site"],
        "job": {"number": job.number, "title": job.title, "customer": job.customer_name},
        "plans": [
            {"name": plan.name, "drawing": str(plan.marked(items))}
            for plan in plans_of(job)
            if plan.key in marked
        ],
        "items": [_item(item) for item in items],
        "open_count": sum(item.state in TO_MEND for item in items),
    }


def _item(item: PunchItem) -> dict[str, Any]:
    accepted = selectors.latest(item, "accepted") if item.state == ItemState.ACCEPTED else None
    mended = selectors.latest(item, "mended")
    return {
        "number": item.number,
        "text": item.text,
        "room": item.room_name,
        "place": item.place,
        "state": item.state,
        "done": mended.note if mended and item.state != ItemState.REJECTED else "",
        "accepted_on": accepted.at if accepted else "",
        "accepted_by": (accepted.customer or str(accepted.by)) if accepted else "",
    }

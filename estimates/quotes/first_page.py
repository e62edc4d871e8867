"""The first page's part about estimates and quotes: what to finish, what was answered, what waits; sums."""

import datetime

from django.db.models import QuerySet, Sum
from django.urls import reverse
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from contracting.money import money_text
from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import OFFICE, OWNER
from contracting.staff.selectors import company_profile

from .changes.selectors import orders_answered
from .models import ChangeOrder, Estimate, Quote
from .selectors import estimates_matching, quotes_answered, quotes_matching

SHOWN = 8
LATELY = datetime.timedelta(days=14)


def register() -> None:
    """Show the office its estimates and quotes, and the owner their sums."""
    home.register(home.Part(roles=OFFICE, order=10, section=to_finish))
    home.register(home.Part(roles=OFFICE, order=12, section=answered))
    home.register(home.Part(roles=OFFICE, order=20, section=to_sign))
    home.register(home.Part(roles=OWNER, order=90, section=sums))


def to_finish(user: User) -> home.Section:
    """Return the estimates that have not been issued, the newest first."""
    items = [
        home.Item(
            title=str(estimate),
            url=estimate.get_absolute_url(),
            detail=f"{estimate.site.customer.name} · {estimate.site.street}",
            when=formats.date_format(timezone.localtime(estimate.changed_at), "SHORT_DATE_FORMAT"),
        )
        for estimate in estimates_matching(status=Estimate.Status.DRAFT)[:SHOWN]
    ]
    return home.Section(
        heading=_("Estimates to finish"),
        items=items,
        empty=_("No estimate waits to be finished."),
        more=(_("All estimates"), reverse("quotes:estimates")),
        first_step=(_("New estimate"), reverse("quotes:estimate-where")),
    )


def answered(user: User) -> home.Section | None:
    """Return what customers signed or declined lately, the latest first; None when nobody did."""
    since = timezone.localdate() - LATELY
    papers: list[Quote | ChangeOrder] = [
        *quotes_answered(since=since, limit=SHOWN),
        *orders_answered(since=since, limit=SHOWN),
    ]
    papers.sort(key=lambda paper: paper.answered_on or since, reverse=True)
    items = [_answer(paper) for paper in papers[:SHOWN]]
    return home.Section(heading=_("Answers of the last two weeks"), items=items) if items else None


def _answer(paper: Quote | ChangeOrder) -> home.Item:
    customer = paper.quote.customer_name if isinstance(paper, ChangeOrder) else paper.customer_name
    said = paper.get_status_display()
    if paper.status == Quote.Status.DECLINED and paper.answer_note:
        said = _("{answer}: “{reason}”").format(answer=said, reason=paper.answer_note)
    return home.Item(
        title=f"{paper.number} {paper.title}",
        url=paper.get_absolute_url(),
        detail=f"{customer} · {money_text(paper.total_cents, paper.currency)} · {said}",
        when=formats.date_format(paper.answered_on or "", "SHORT_DATE_FORMAT"),
    )


def to_sign(user: User) -> home.Section:
    """Return the quotes that customers have and have not answered, the first to run out first."""
    items = [
        home.Item(
            title=f"{quote.number} {quote.title}",
            url=quote.get_absolute_url(),
            detail=f"{quote.customer_name} · {money_text(quote.total_cents, quote.currency)}",
            when=_("valid until {day}").format(
                day=formats.date_format(quote.valid_until, "SHORT_DATE_FORMAT")
            ),
        )
        for quote in quotes_matching(status=Quote.Status.ISSUED).order_by("valid_until", "pk")[:SHOWN]
    ]
    return home.Section(
        heading=_("Quotes waiting for a signature"),
        items=items,
        empty=_("No quote waits for a signature."),
        more=(_("All quotes"), reverse("quotes:quotes")),
    )


def sums(user: User) -> home.Section:
    """Return what is out with customers, and what has been signed since the first of the month."""
    currency = company_profile().currency
    first = timezone.localdate().replace(day=1)
    waiting = quotes_matching(status=Quote.Status.ISSUED)
    signed = quotes_matching(status=Quote.Status.ACCEPTED).filter(answered_on__gte=first)

    def total(quotes: QuerySet[Quote]) -> str:
        return money_text(quotes.aggregate(sum=Sum("price_cents"))["sum"] or 0, currency)

    return home.Section(
        heading=_("Before tax"),
        figures=[
            home.Figure(_("Waiting for a signature"), total(waiting), reverse("quotes:quotes")),
            home.Figure(_("Signed this month"), total(signed), reverse("quotes:quotes")),
        ],
    )

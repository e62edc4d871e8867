"""What happens to a quote: it is issued, answered, withdrawn, followed by a revision, and it expires."""

from __future__ import annotations

import datetime
import hashlib
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import canonical_json, document_request
from contracting.staff.models import User
from estimates.stock.services import offcuts_promise

from .calculation import Calculation, calculate
from .drawings import drawings_in_other_languages, room_plans
from .estimate_services import EditConflictError, number_next
from .models import Estimate, Quote
from .snapshot import in_paper_language, office_part, paper_part, work_part

DOCUMENT_KIND = "quote"


def quote_issue(*, estimate: Estimate, by: User, at: datetime.datetime) -> Quote:
    """Freeze the estimate as a numbered quote, or as the next revision of its quote, and ask for the paper.

    When the quote that stands says the very same already (somebody pressed twice), that one is returned.

    The takeoff and the drawings are worked out before the transaction begins, so that no lock is held while
    they are computed; the estimate's revision is checked inside it.

    Raises:
        ValidationError: something keeps it from being issued, or its last quote is accepted already.
        EditConflictError: somebody saved the estimate in the meantime.
    """
    reader = translation.get_language() or settings.LANGUAGE_CODE
    with in_paper_language(estimate):
        found = calculate(estimate)
        with translation.override(reader):
            _check_issuable(found)
        plans = room_plans(found)
        translated = drawings_in_other_languages(found)
        with transaction.atomic():
            return _freeze(found, plans, translated, by, at)


def _check_issuable(found: Calculation) -> None:
    if found.error is not None:
        raise ValidationError(found.error.reason.render(_), code="takeoff")
    if found.problems:
        raise ValidationError([problem.text.render(_) for problem in found.problems])
    if not found.can_be_issued:
        raise ValidationError(_("There is nothing to quote yet: add a measured room or a line."))
    if not found.company.name:
        raise ValidationError(_("The company has no name yet, and a quote is issued in its name."))


def _freeze(
    found: Calculation,
    plans: dict[str, dict[str, Any]],
    translated: dict[str, dict[str, Any]],
    by: User,
    at: datetime.datetime,
) -> Quote:
    estimate = found.estimate
    assert found.priced is not None
    # The conditional update is the lock: whoever saves or issues at the same time finds another revision.
    claimed = Estimate.objects.filter(
        pk=estimate.pk, revision=estimate.revision, status__in=_sources(Estimate.Status.ISSUED)
    ).update(status=Estimate.Status.ISSUED)
    if not claimed:
        if Estimate.objects.get(pk=estimate.pk).status == Estimate.Status.WON:
            raise ValidationError(_("The customer has accepted; what changes now is a change to the job."))
        raise EditConflictError([])
    local = at.astimezone(ZoneInfo(estimate.site.time_zone))
    valid_until = local.date() + datetime.timedelta(days=estimate.valid_days)
    standing = estimate.quotes.filter(status=Quote.Status.ISSUED).first()
    if standing is not None and _says_the_same(standing, found, plans, valid_until):
        return standing
    number, revision = _supersede(estimate)
    paper = paper_part(found, plans, number=number, revision=revision, issued_at=at, valid_until=valid_until)
    snapshot = {"paper": paper, "work": work_part(found, plans, translated), "office": office_part(found)}
    site = paper["site"]
    quote = Quote(
        estimate=estimate,
        site=estimate.site,
        number=number,
        revision=revision,
        title=estimate.title,
        customer_name=paper["customer"]["name"],
        site_name=", ".join(part for part in (site["name"], site["street"]) if part),
        currency=paper["currency"],
        price_cents=found.priced.price_cents,
        tax_cents=found.priced.tax_cents,
        total_cents=found.priced.total_cents,
        cost_cents=found.priced.full_cost_cents,
        issued_at=at,
        issued_by=by,
        valid_until=valid_until,
        estimate_revision=estimate.revision,
        snapshot=snapshot,
        sha256=hashlib.sha256(canonical_json(snapshot).encode()).hexdigest(),
        document=_paper(paper, by),
    )
    quote.full_clean(exclude=["document"])
    quote.save(force_insert=True)
    offcuts_promise(quote=quote, keys=found.takeoff.stock_used if found.takeoff else ())
    estimate.status = Estimate.Status.ISSUED
    return quote


def _says_the_same(
    quote: Quote, found: Calculation, plans: dict[str, dict[str, Any]], valid_until: datetime.date
) -> bool:
    paper = paper_part(
        found,
        plans,
        number=quote.number,
        revision=quote.revision,
        issued_at=quote.issued_at,
        valid_until=valid_until,
    )
    before = quote.snapshot["paper"]
    return canonical_json({**paper, "issued_at": ""}) == canonical_json({**before, "issued_at": ""})


def _sources(target: str) -> list[str]:
    return [source for source, targets in Estimate.TRANSITIONS.items() if target in targets]


def _supersede(estimate: Estimate) -> tuple[str, int]:
    """Put the estimate's earlier quotes aside; return number and revision of the next."""
    last = estimate.quotes.defer("snapshot").order_by("-revision").first()
    if last is None:
        return f"Q-{number_next('quote')}", 1
    open_states = [old for old, new in Quote.TRANSITIONS.items() if Quote.Status.SUPERSEDED in new]
    estimate.quotes.filter(status__in=open_states).update(status=Quote.Status.SUPERSEDED)
    return last.number, last.revision + 1


def _paper(paper: dict[str, Any], by: User) -> DocumentRequest:
    subject = _("Quote %(number)s, revision %(revision)d") % paper
    return document_request(
        kind=DOCUMENT_KIND, snapshot=paper, subject=subject, audience=Audience.CUSTOMER, by=by
    )


@transaction.atomic
def quote_paper_again(*, quote: Quote, by: User) -> DocumentRequest:
    """Ask for the paper of a quote whose document is gone; the same snapshot gives the same pages."""
    document = _paper(quote.snapshot["paper"], by)
    Quote.objects.filter(pk=quote.pk).update(document=document)
    return document


@transaction.atomic
def quote_accept_on_paper(
    *, quote: Quote, name: str, signed_on: datetime.date, by: User, at: datetime.datetime | None = None
) -> Quote:
    """Record that the customer signed the paper. The job is made from it by ``jobs.work``.

    Raises:
        ValidationError: no name, a day before the issue or to come, or a quote that cannot be accepted.
    """
    if not name.strip():
        raise ValidationError({"name": _("Write the name that stands under the signature.")})
    _check_day(quote, signed_on, "signed_on", at)
    return _accept(quote, name.strip()[:120], signed_on, by, at)


@transaction.atomic
def quote_accept_electronically(*, quote: Quote, name: str, at: datetime.datetime) -> Quote:
    """Accept an issued quote that the customer signs at *at*; ``signing`` keeps the evidence.

    Raises:
        ValidationError: it is not open any more, or its last day has passed where the site is.
    """
    return _accept(quote, name, _day_to_sign(quote, at), None, at)


def _accept(
    quote: Quote, name: str, signed_on: datetime.date, by: User | None, at: datetime.datetime | None
) -> Quote:
    # The estimate first, as issuing does, so that the two never wait for each other.
    Estimate.objects.filter(pk=quote.estimate_id).update(status=Estimate.Status.WON)
    return _move(quote, Quote.Status.ACCEPTED, by=by, at=at, signed_name=name, answered_on=signed_on)


def _day_to_sign(quote: Quote, at: datetime.datetime) -> datetime.date:
    """Return the day it is where the site was when the quote was issued; refuse one that is too late."""
    day = at.astimezone(ZoneInfo(quote.snapshot["paper"]["time_zone"])).date()
    if quote.status == Quote.Status.EXPIRED or day > quote.valid_until:
        raise ValidationError(_("This quote is not valid any more; ask for a new one."), code="status")
    return day


@transaction.atomic
def quote_decline(
    *, quote: Quote, declined_on: datetime.date, note: str, by: User, at: datetime.datetime | None = None
) -> Quote:
    """Record that the customer said no; the estimate can be changed and issued again.

    Raises:
        ValidationError: a day before the issue or to come, or a quote that cannot be declined.
    """
    _check_day(quote, declined_on, "declined_on", at)
    return _decline(quote, declined_on, note, by, at)


@transaction.atomic
def quote_decline_electronically(*, quote: Quote, reason: str, at: datetime.datetime) -> Quote:
    """Record that the customer said no by a private link, with the reason.

    Raises:
        ValidationError: it is not open any more, or its last day has passed where the site is.
    """
    return _decline(quote, _day_to_sign(quote, at), reason, None, at)


def _decline(
    quote: Quote, day: datetime.date, note: str, by: User | None, at: datetime.datetime | None
) -> Quote:
    Estimate.objects.filter(pk=quote.estimate_id, status=Estimate.Status.ISSUED).update(
        status=Estimate.Status.LOST
    )
    return _move(quote, Quote.Status.DECLINED, by=by, at=at, answered_on=day, answer_note=note.strip()[:300])


@transaction.atomic
def quote_withdraw(*, quote: Quote, note: str, by: User, at: datetime.datetime | None = None) -> Quote:
    """Take an open quote back; it stays on record as it was.

    Raises:
        ValidationError: it is not open any more.
    """
    return _move(quote, Quote.Status.WITHDRAWN, by=by, at=at, answer_note=note.strip()[:300])


@transaction.atomic
def quotes_expire(*, at: datetime.datetime) -> int:
    """Mark every open quote whose last day is over where its site is at *at*; return how many."""
    count = 0
    open_ones = Quote.objects.filter(status=Quote.Status.ISSUED)
    for zone in open_ones.order_by().values_list("site__time_zone", flat=True).distinct():
        today = at.astimezone(ZoneInfo(zone)).date()
        late = open_ones.filter(site__time_zone=zone, valid_until__lt=today)
        count += late.update(status=Quote.Status.EXPIRED)
    return count


def _move(
    quote: Quote, status: Quote.Status, *, by: User | None, at: datetime.datetime | None, **values: Any
) -> Quote:
    """Change the status if nobody was first; the row's conditional update decides, on any database."""
    old = Quote.Status(quote.status)
    allowed = status in Quote.TRANSITIONS[old]
    values |= {"status": status, "recorded_by": by, "recorded_at": at or timezone.now()}
    if not allowed or not Quote.objects.filter(pk=quote.pk, status=old).update(**values):
        now = Quote.objects.defer("snapshot").get(pk=quote.pk)
        raise ValidationError(
            _("The quote is %(status)s already; nothing was changed.") % {"status": now.get_status_display()},
            code="status",
        )
    for name, value in values.items():
        setattr(quote, name, value)
    return quote


def _check_day(quote: Quote, day: datetime.date, field: str, at: datetime.datetime | None) -> None:
    zone = ZoneInfo(quote.site.time_zone)
    issued = quote.issued_at.astimezone(zone).date()
    today = (at or timezone.now()).astimezone(zone).date()
    if not issued <= day <= today:
        raise ValidationError(
            {
                field: _("Read %(day)s: expected a day from the issue (%(issued)s) to today.")
                % {"day": day.isoformat(), "issued": issued.isoformat()}
            }
        )

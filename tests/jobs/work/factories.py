"""A job of a really issued and signed quote: a bath, priced with the usual price list."""

from contracting.staff.models import User
from estimates.quotes.models import Quote
from estimates.quotes.services import quote_accept_on_paper, quote_issue
from jobs.work.models import CrewMember, Job
from jobs.work.services import job_from_quote
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.factories import AT, DAY, estimate_of, ready


def signed_quote(*, by: User | None = None, first: bool = True) -> Quote:
    """An accepted quote; *first*: company and price list are made with it."""
    by = by or UserFactory.create()
    estimate = ready(by=by) if first else estimate_of(by=by)
    quote = quote_issue(estimate=estimate, by=by, at=AT)
    return quote_accept_on_paper(quote=quote, name="Ada Lowell", signed_on=DAY, by=by, at=AT)


def job(*, crew: tuple[User, ...] = (), by: User | None = None, first: bool = True) -> Job:
    """The job of such a quote."""
    by = by or UserFactory.create()
    made = job_from_quote(quote=signed_quote(by=by, first=first), by=by)
    for person in crew:
        CrewMember.objects.create(job=made, person=person)
    return made

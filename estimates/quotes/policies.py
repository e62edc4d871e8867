"""Getting an estimate or a quote is asking for the right to it: the office and the owner have it."""

from django.http import Http404

from contracting.staff.models import User

from .models import Estimate, Quote
from .selectors import latest_quote


def estimate_for(user: User, pk: int) -> Estimate:
    """Return the estimate with its site and customer; Http404 without the right or when there is none."""
    found = Estimate.objects.select_related("site__customer", "created_by").filter(pk=pk)
    estimate = found.annotate(quote_status=latest_quote("status")).first() if user.sees_money else None
    if estimate is None:
        raise Http404
    return estimate


def quote_for(user: User, pk: int) -> Quote:
    """Return the quote with its snapshot, site and document; Http404 as above."""
    found = Quote.objects.select_related("site__customer", "estimate", "issued_by", "recorded_by", "document")
    quote = found.defer("document__snapshot").filter(pk=pk).first() if user.sees_money else None
    if quote is None:
        raise Http404
    return quote

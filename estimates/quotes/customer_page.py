"""A customer's and a site's estimates on their pages: how each stands, and what was asked for it."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from contracting.customers import shown
from contracting.customers.models import Customer, Site
from contracting.money import money_text
from contracting.staff.home import Item, Section

from .models import Estimate
from .selectors import estimates_matching

SHOWN = 20


def register() -> None:
    """Show the office what was estimated for a customer, and at a site."""
    shown.register(of_customer)
    shown.register_site(of_site)


def of_customer(customer: Customer) -> Section | None:
    """Return the customer's estimates, the newest first; one query."""
    return _section(estimates_matching().filter(site__customer=customer), names_site=True)


def of_site(site: Site) -> Section | None:
    """Return the estimates of a site, the newest first; one query."""
    return _section(estimates_matching().filter(site=site), names_site=False)


def _section(estimates: QuerySet[Estimate], *, names_site: bool) -> Section | None:
    items = [
        Item(
            title=str(estimate),
            url=estimate.get_absolute_url(),
            detail=(f"{estimate.site.name} · " if names_site else "") + estimate.get_standing_display(),
            when=_asked(estimate),
        )
        for estimate in estimates[:SHOWN]
    ]
    return Section(heading=_("Estimates"), note=_("quoted with sales tax"), items=items) if items else None


def _asked(estimate: Estimate) -> str:
    """Return the total of the latest quote in words, or that there is none yet."""
    cents, currency = getattr(estimate, "quote_total_cents", None), getattr(estimate, "quote_currency", None)
    return _("not quoted yet") if cents is None or currency is None else money_text(cents, currency)

"""The first page's part about change orders: which ones customers have and have not answered."""

from __future__ import annotations

from django.utils import formats
from django.utils.translation import gettext as _

from contracting.money import money_text
from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import OFFICE

from .selectors import orders_waiting


def register() -> None:
    """Show the office what waits for a signature."""
    home.register(home.Part(roles=OFFICE, order=21, section=to_sign))


def to_sign(user: User) -> home.Section | None:
    """Return the change orders that customers have, the first to run out first; None when there is none."""
    items = [
        home.Item(
            title=f"{order.number} {order.title}",
            url=order.get_absolute_url(),
            detail=f"{order.quote.customer_name} · {money_text(order.total_cents, order.currency)}",
            when=_("valid until {day}").format(
                day=formats.date_format(order.valid_until or "", "SHORT_DATE_FORMAT")
            ),
        )
        for order in orders_waiting()
    ]
    return home.Section(heading=_("Change orders waiting for a signature"), items=items) if items else None

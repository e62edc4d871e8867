"""What an hour of somebody costs on a day; and telling those who have costed hours that it changed.

Jobs cost hours by these rates and keep the result, and this layer does not import them; so an app that keeps
costs asks in ``AppConfig.ready`` to be called, within the same transaction, when a rate is entered late::

    pay.on_change(hours_recost)
"""

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from .models import PayRate, User
from .selectors import labour_cost_on

Listener = Callable[[User | None, datetime.date], object]
_listeners: list[Listener] = []


@dataclass(frozen=True)
class HourRate:
    """Pay in cents an hour and the burden on it; *is_own*: the person's own, not the company's."""

    pay_cents_per_hour: int
    burden_basis_points: int
    is_own: bool

    def cost_cents(self, minutes: int) -> int:
        """Return the cost of *minutes*, rounded half up once to a whole cent.

        >>> HourRate(3300, 2850, False).cost_cents(90)
        6361
        """
        return (minutes * self.pay_cents_per_hour * (10_000 + self.burden_basis_points) + 300_000) // 600_000


def hour_rate_on(*, person: User, day: datetime.date) -> HourRate | None:
    """Return the rate of *person* on *day*: their newest that has started, else the company's, else None."""
    own = PayRate.objects.filter(person=person, starts_on__lte=day).order_by("-starts_on").first()
    if own is not None:
        return HourRate(own.pay_cents_per_hour, own.burden_basis_points, is_own=True)
    company = labour_cost_on(day)
    if company is None:
        return None
    return HourRate(company.pay_cents_per_hour, company.burden_basis_points, is_own=False)


def on_change(listener: Listener) -> None:
    """Call *listener* with the person (None: everybody) and the day from which the rate differs."""
    _listeners.append(listener)


def changed(person: User | None, since: datetime.date) -> None:
    """Tell every listener that the rate of *person* differs from *since* on."""
    for listener in _listeners:
        listener(person, since)

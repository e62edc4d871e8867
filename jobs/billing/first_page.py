"""The office's part of the first page: money that is late, and jobs that want an invoice."""

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from contracting.money import money_text
from contracting.staff import home
from contracting.staff.models import User
from contracting.staff.policies import OFFICE
from jobs.work.models import Stage

from . import selectors


def register() -> None:
    """Show the office what is overdue and what is ready to invoice."""
    home.register(home.Part(roles=OFFICE, order=35, section=money_waiting))


def money_waiting(user: User) -> home.Section | None:
    """Return overdue invoices and jobs to invoice, or None when there is neither; two queries."""
    late = selectors.overdue(timezone.localdate(), limit=5)
    ready = selectors.ready_to_invoice(limit=5)
    items = [
        home.Item(
            title=f"{one.invoice} · {one.invoice.customer_name}",
            url=one.invoice.get_absolute_url(),
            detail=money_text(one.open_cents, one.invoice.currency),
            when=ngettext("%(days)d day late", "%(days)d days late", one.days_late) % {"days": one.days_late},
        )
        for one in late
    ]
    items += [
        home.Item(
            title=str(account.job),
            url=reverse("billing:job", args=[account.job_id]),
            detail=_("complete, not all of it invoiced")
            if account.job.stage == Stage.COMPLETE
            else _("signed, nothing invoiced yet"),
            when=_("ready to invoice"),
        )
        for account in ready
    ]
    if not items:
        return None
    return home.Section(
        heading=_("Invoices"), items=items, more=(_("All invoices"), reverse("billing:invoices"))
    )

"""Forms of billing; they check shape, the services the rest."""

from __future__ import annotations

import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from contracting.forms import MoneyField, PercentField
from estimates.pricelists.forms import DayInput
from estimates.quotes.templatetags.figures import say

from .models import Account, Invoice, Payment
from .selectors import Contract

MOST = 100_000_000_000


class KeyForm(forms.Form):
    """A form whose act is stored once, however often it is sent."""

    key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"key": uuid.uuid4()} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)


class InvoiceForm(KeyForm):
    """What of each payment of the contract is invoiced now."""

    issued_on = forms.DateField(label=_("Issued on"), widget=DayInput())
    due_on = forms.DateField(label=_("To be paid by"), widget=DayInput())

    def __init__(self, *args: Any, contract: Contract, first: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = [row for row in contract.rows if row.rest_cents > 0]
        for at, row in enumerate(self.rows):
            # The first one that is left is what usually comes next.
            wanted = row.rest_cents if (first or self.rows[0].stage.key) == row.stage.key else None
            self.fields[f"part-{at}"] = MoneyField(
                label=say(row.stage.due), required=False, most=MOST, initial=wanted
            )

    @property
    def amounts(self) -> dict[str, int]:
        """Return whole cents by the key of a payment."""
        cleaned = self.cleaned_data
        return {row.stage.key: cleaned[f"part-{at}"] or 0 for at, row in enumerate(self.rows)}

    @property
    def parts(self) -> list[tuple[Any, Any]]:
        """Return each payment's row with its field, for the page."""
        return [(row, self[f"part-{at}"]) for at, row in enumerate(self.rows)]

    def field_of(self, key: str) -> str | None:
        """Return the field that a refused payment stands in."""
        keys = [row.stage.key for row in self.rows]
        if key in self.fields:
            return key
        return f"part-{keys.index(key)}" if key in keys else None


class TermsForm(forms.Form):
    """How much is held back, and how many days there are to pay."""

    retainage_basis_points = PercentField(
        label=_("Held back until the end, %"), required=False, most=5000, help_text=_("Such as 10.")
    )
    due_days = forms.IntegerField(label=_("Days to pay"), min_value=0, max_value=365)

    def __init__(self, *args: Any, account: Account, **kwargs: Any) -> None:
        names = ("retainage_basis_points", "due_days")
        kwargs["initial"] = {name: getattr(account, name) for name in names}
        super().__init__(*args, **kwargs)

    def clean_retainage_basis_points(self) -> int:
        return self.cleaned_data["retainage_basis_points"] or 0


class CreditForm(KeyForm):
    """Why an invoice is taken back, and how much of it."""

    amount = MoneyField(
        label=_("Amount with sales tax"),
        required=False,
        least=1,
        most=MOST,
        help_text=_("Leave it empty to take back all that is left of the invoice."),
    )
    reason = forms.CharField(label=_("Reason"), max_length=300, help_text=_("The customer reads it."))


class PaymentForm(KeyForm):
    """Money that came, or went back."""

    amount = MoneyField(label=_("Amount"), least=0, most=MOST)
    received_on = forms.DateField(label=_("Received on"), widget=DayInput())
    way = forms.ChoiceField(label=_("How"), choices=Payment.Way.choices)
    reference = forms.CharField(
        label=_("Reference"), required=False, max_length=120, help_text=_("Such as the number of the check.")
    )
    is_refund = forms.BooleanField(label=_("Paid back to the customer"), required=False)

    def __init__(self, *args: Any, invoice: Invoice, **kwargs: Any) -> None:
        self.invoice = invoice
        super().__init__(*args, **kwargs)

    @property
    def values(self) -> dict[str, Any]:
        """Return what the service takes."""
        cleaned = dict(self.cleaned_data)
        amount, is_refund = cleaned.pop("amount"), cleaned.pop("is_refund")
        return cleaned | {"amount_cents": -amount if is_refund else amount}

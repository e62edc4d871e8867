"""Forms of the purchase list's page; they check shape, the services the rest. Each carries its act's key."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from contracting.forms import KeyedForm, MoneyField

from ..daily.forms import PacksField


class ActForm(KeyedForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})


class LineForm(ActForm):
    material_key = forms.CharField(widget=forms.HiddenInput, max_length=120)


class ReceiveForm(LineForm):
    packs_millionths = PacksField(label=_("Packs"))
    lot_numbers = forms.CharField(label=_("Lot numbers"), required=False, max_length=200)
    is_return = forms.BooleanField(label=_("Sent back to the supplier"), required=False)

    def act(self) -> dict[str, Any]:
        values = super().act()
        if values.pop("is_return"):
            values["packs_millionths"] = -values["packs_millionths"]
        return values


class StockForm(LineForm):
    packs_millionths = PacksField(label=_("Packs in stock"), least="0")
    note = forms.CharField(label=_("Where, or left from what"), required=False, max_length=300)


class OrderForm(LineForm):
    packs_millionths = PacksField(label=_("Packs"))
    reference = forms.CharField(label=_("Order number"), required=False, max_length=60)
    expected_on = forms.DateField(
        label=_("Expected on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


class OrderRestForm(ActForm):
    supplier = forms.CharField(widget=forms.HiddenInput, required=False, max_length=200, strip=False)
    reference = forms.CharField(label=_("Order number"), required=False, max_length=60)
    expected_on = forms.DateField(
        label=_("Expected on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


class InvoiceForm(ActForm):
    delivery = forms.IntegerField(widget=forms.HiddenInput)
    cost_cents = MoneyField(label=_("Cost on the invoice, before tax"), most=10**9)


class StrikeForm(ActForm):
    order = forms.IntegerField(widget=forms.HiddenInput)

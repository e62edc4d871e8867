"""Forms of change orders; they check shape, the services the rest."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from contracting.forms import MoneyField
from estimates.pricelists.forms import DayInput
from estimates.rooms.models import Room

from ..forms import MOST_CENTS, QuantityField
from ..models import Quote
from ..pricing_model import FOLLOWING_STEPS, STEPS
from .models import ChangeLine, ChangeOrder


class StartForm(forms.Form):
    """What a change order is about; its lines come next."""

    title = forms.CharField(
        label=_("What changes"), max_length=120, help_text=_("Such as: niche in the shower wall.")
    )
    reason = forms.CharField(
        label=_("Reason"),
        max_length=300,
        help_text=_("Who asked for it, or what was found. The customer reads it."),
    )


class HoursField(forms.DecimalField):
    """Hours with at most two decimals, cleaned to whole minutes; nothing typed is no time."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=0, max_value=Decimal(10_000), decimal_places=2, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        self.error_messages["invalid"] = _("A number of hours was expected, such as 2 or 1.5.")

    def prepare_value(self, value: Any) -> Any:
        return f"{(Decimal(value) / 60).normalize():f}" if isinstance(value, int) else value

    def clean(self, value: Any) -> int:
        hours = super().clean(value)
        return 0 if hours is None else int((hours * 60).quantize(Decimal(1)))


class OrderForm(StartForm):
    """The draft beside its lines."""

    revision = forms.IntegerField(widget=forms.HiddenInput)
    work_days = forms.IntegerField(
        label=_("Working days more or less"),
        min_value=-365,
        max_value=365,
        required=False,
        help_text=_("Such as 2, or -1 for a day less."),
    )
    pay_when = forms.ChoiceField(label=_("To be paid"), choices=ChangeOrder.PayWhen.choices)

    field_order = ("title", "reason", "work_days", "pay_when", "revision")

    def __init__(self, *args: Any, order: ChangeOrder, **kwargs: Any) -> None:
        names = ("title", "reason", "work_days", "pay_when", "revision")
        kwargs["initial"] = {name: getattr(order, name) for name in names}
        super().__init__(*args, **kwargs)
        self.fields["work_days"].widget = forms.TextInput(attrs={"autocomplete": "off"})

    def values(self) -> dict[str, Any]:
        """Return what the services store, by its own names."""
        cleaned = self.cleaned_data
        return {
            "title": cleaned["title"].strip(),
            "reason": cleaned["reason"].strip(),
            "work_days": cleaned["work_days"] or 0,
            "pay_when": cleaned["pay_when"],
        }


class LineForm(forms.Form):
    """A line written by hand; a row that is left empty is no line."""

    SAYS_SOMETHING = (
        "text", "quantity", "price", "minutes", "material", "packs", "material_cents", "other_cents",
    )  # fmt: skip

    sign = forms.TypedChoiceField(
        label=_("This line"), choices=ChangeLine.Sign.choices, coerce=int, empty_value="1"
    )
    text = forms.CharField(label=_("What"), max_length=200, required=False)
    step = forms.ChoiceField(label=_("Trade step"))
    quantity = QuantityField(label=_("Quantity"), required=False, min_value=Decimal("0.000001"))
    unit = forms.CharField(label=_("Unit"), max_length=20, required=False)
    price = MoneyField(label=_("Price each"), required=False, most=MOST_CENTS)
    is_material = forms.BooleanField(label=_("Material"), required=False)
    minutes = HoursField(label=_("Hours"), required=False)
    labour_cents = MoneyField(label=_("Cost of labour"), required=False, most=MOST_CENTS)
    material = forms.ChoiceField(label=_("Material bought"), required=False)
    packs = QuantityField(label=_("Packs"), required=False, min_value=Decimal("0.001"))
    material_cents = MoneyField(label=_("Cost of material"), required=False, most=MOST_CENTS)
    other_cents = MoneyField(label=_("Other cost"), required=False, most=MOST_CENTS)

    def __init__(self, *args: Any, materials: Sequence[dict[str, Any]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {one["key"]: one for one in materials}
        material, step = self.fields["material"], self.fields["step"]
        assert isinstance(material, forms.ChoiceField)
        assert isinstance(step, forms.ChoiceField)
        listed = ((key, one["name"]) for key, one in self.known.items())
        material.choices = [("", _("none of the list")), *listed]
        own = ((key, label) for key, label in STEPS.items() if key not in FOLLOWING_STEPS)
        step.choices = [(key, label.render(gettext)) for key, label in own]

    @property
    def is_empty(self) -> bool:
        cleaned = getattr(self, "cleaned_data", {})
        return not any(cleaned.get(name) for name in self.SAYS_SOMETHING)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self.is_empty or self.errors:
            return cleaned
        if not cleaned.get("text"):
            self.add_error("text", _("Say what this line is for; to take it out, clear all of its fields."))
        if cleaned.get("price") is None:
            self.add_error("price", _("Say what the customer pays for it; 0 is an answer."))
        if bool(cleaned.get("material")) != bool(cleaned.get("packs")):
            self.add_error("packs", _("A material of the list needs its packs, and packs their material."))
        return cleaned

    def line(self) -> ChangeLine:
        """Return the row with what was typed (not yet stored)."""
        cleaned = self.cleaned_data
        material = self.known.get(cleaned["material"], {})
        return ChangeLine(
            sign=int(cleaned["sign"]),
            text=cleaned["text"],
            step=cleaned["step"],
            quantity_millionths=int((cleaned["quantity"] or Decimal(1)) * 1_000_000),
            unit=cleaned["unit"],
            price_cents=cleaned["price"],
            is_material=cleaned["is_material"],
            minutes=cleaned["minutes"],
            labour_cents=cleaned["labour_cents"],
            material_key=cleaned["material"],
            material_name=material.get("name", ""),
            pack_label=material.get("pack", ""),
            packs_millionths=int((cleaned["packs"] or Decimal(0)) * 1_000_000),
            material_cents=cleaned["material_cents"] or 0,
            other_cents=cleaned["other_cents"] or 0,
        )


LineFormSet: type[BaseFormSet[LineForm]] = formset_factory(LineForm, extra=2, max_num=100, absolute_max=150)


def line_initial(lines: Sequence[ChangeLine]) -> list[dict[str, Any]]:
    """Return stored lines as a formset begins with them."""
    return [
        {
            "sign": line.sign,
            "text": line.text,
            "step": line.step,
            "quantity": Decimal(line.quantity_millionths).scaleb(-6),
            "unit": line.unit,
            "price": line.price_cents,
            "is_material": line.is_material,
            "minutes": line.minutes or None,
            "labour_cents": line.labour_cents,
            "material": line.material_key,
            "packs": Decimal(line.packs_millionths).scaleb(-6) if line.packs_millionths else None,
            "material_cents": line.material_cents or None,
            "other_cents": line.other_cents or None,
        }
        for line in lines
    ]


class MeasureForm(forms.Form):
    """Which rooms were measured again."""

    revision = forms.IntegerField(widget=forms.HiddenInput)
    rooms = forms.ModelMultipleChoiceField(
        label=_("Rooms to take over as they are measured now"),
        queryset=Room.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Change the room's measurements first. Untick all to take them out again."),
    )

    def __init__(self, *args: Any, order: ChangeOrder, **kwargs: Any) -> None:
        chosen = [int(room["key"]) for room in order.measured.get("rooms", ())]
        kwargs["initial"] = {"revision": order.revision, "rooms": chosen}
        super().__init__(*args, **kwargs)
        field = self.fields["rooms"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = Room.objects.filter(site=order.quote.site_id).order_by("name", "pk")


class IssueForm(forms.Form):
    """Until when the customer may sign."""

    valid_until = forms.DateField(label=_("Valid until"), widget=DayInput(), required=False)


class PaperSignatureForm(forms.Form):
    """What stands on the signed paper."""

    name = forms.CharField(label=_("Signed by"), max_length=120)
    signed_on = forms.DateField(label=_("Signed on"), initial=timezone.localdate, widget=DayInput())


class DeclinedForm(forms.Form):
    """That the customer said no, when and why."""

    day = forms.DateField(label=_("Declined on"), initial=timezone.localdate, widget=DayInput())
    note = forms.CharField(label=_("Why not?"), max_length=300)


def materials_of(quote: Quote) -> list[dict[str, Any]]:
    """Return the materials that a line may name: those of the quote's own list."""
    return [
        {"key": one["key"], "name": one["name"], "pack": one["pack"]}
        for one in quote.snapshot["work"].get("materials", ())
        if not one.get("customer_supplied")
    ]

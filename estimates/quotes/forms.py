"""Forms of estimates and quotes; they check shape, services the rest."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from contracting.customers.models import Site
from contracting.forms import MoneyField, PercentField
from estimates.pricelists.forms import DayInput
from estimates.rooms.models import Room

from .models import Detail, Estimate, EstimateLine, EstimateRoom, PaymentStage, ProfitRule
from .pricing_model import FOLLOWING_STEPS, STEPS
from .selectors import rooms_in_no_estimate

MOST_CENTS = 10_000_000_000


class QuantityField(forms.DecimalField):
    """A quantity above zero with at most six decimals, as they are stored."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_digits=15, decimal_places=6, **kwargs)
        self.error_messages["invalid"] = _("A number was expected, such as 2 or 1.5.")
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        self.widget.is_required = self.required

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class CustomerAndSiteForm(forms.Form):
    """A new customer and where the work is, in the fewest fields; the rest can be filled in later."""

    name = forms.CharField(label=_("Customer"), max_length=120)
    street = forms.CharField(label=_("Street of the site"), max_length=200)
    city = forms.CharField(label=_("City"), max_length=80, required=False)
    phone = forms.CharField(label=_("Phone"), max_length=40, required=False)
    email = forms.EmailField(label=_("E-mail"), required=False)


class RoomsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # not a generic at run time
    """Rooms of a site to tick; a room that stands in another estimate says in which."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Room.objects.none(), widget=forms.CheckboxSelectMultiple, **kwargs)
        self.elsewhere: dict[int, list[int]] = {}

    def offer(self, site: int, *, but: Estimate | None = None) -> None:
        """Offer the rooms of *site*, and know which are in another estimate than *but*."""
        self.queryset = Room.objects.filter(site=site).order_by("name")
        rows = EstimateRoom.objects.filter(room__site=site)
        self.elsewhere = {}
        for room, number in (
            rows.exclude(estimate=but).order_by("estimate__number").values_list("room", "estimate__number")
        ):
            self.elsewhere.setdefault(room, []).append(number)

    def label_from_instance(self, obj: Room) -> str:
        numbers = self.elsewhere.get(obj.pk)
        if not numbers:
            return obj.name
        where = ", ".join(str(number) for number in numbers)
        return gettext("%(room)s (in estimate %(numbers)s)") % {"room": obj.name, "numbers": where}


class NewEstimateForm(forms.Form):
    title = forms.CharField(label=_("Title"), max_length=120, help_text=_("What the customer calls the job."))
    rooms = RoomsField(label=_("Rooms"), required=False)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        # What has been priced before is offered too, but not ticked: this is another job.
        fresh = list(rooms_in_no_estimate(site.pk))
        titles = ", ".join(room.name for room in fresh[:3])
        kwargs["initial"] = {"title": titles or gettext("Tile work"), "rooms": fresh}
        super().__init__(*args, **kwargs)
        field = self.fields["rooms"]
        assert isinstance(field, RoomsField)
        field.offer(site.pk)


class RevisionForm(forms.Form):
    """A form over an estimate that knows what its editor began with, so that two editors lose nothing.

    *began* carries every field's first value through the page. When somebody else has saved in the meantime,
    :meth:`merged` keeps what this editor changed and takes the newer value of what they left alone.
    """

    revision = forms.IntegerField(widget=forms.HiddenInput)
    began = forms.CharField(widget=forms.HiddenInput, required=False)

    model_fields: Sequence[str] = ()

    def __init__(self, *args: Any, estimate: Estimate, **kwargs: Any) -> None:
        self.estimate = estimate
        kwargs["initial"] = {name: getattr(estimate, name) for name in (*self.model_fields, "revision")}
        super().__init__(*args, **kwargs)
        self.initial["began"] = json.dumps({name: self._start(name) for name in self.model_fields})

    def _start(self, name: str) -> str:
        field = self.fields[name]
        if isinstance(field, forms.BooleanField):
            return str(bool(self.initial[name]))
        value = field.prepare_value(self.initial[name])
        return "" if value is None else str(value)

    def _typed(self, name: str) -> str:
        if isinstance(self.fields[name], forms.BooleanField):
            return str(name in self.data)
        return str(self.data.get(name, "")).replace("\r\n", "\n")

    def values(self) -> dict[str, Any]:
        """Return what was typed, by the estimate's own field names."""
        return {name: self.cleaned_data[name] for name in self.model_fields}

    def merged(self, current: Estimate) -> RevisionForm:
        """Return this form over the estimate as it is now, with what was typed here and not saved yet."""
        try:
            read = json.loads(self.data.get("began", "{}"))
        except ValueError:
            read = {}
        # Some other JSON than this page's own says nothing of how it began.
        began = {name: str(value) for name, value in read.items()} if isinstance(read, dict) else {}
        fresh = type(self)(estimate=current)
        typed = {}
        for name in self.model_fields:
            mine = self._typed(name)
            typed[name] = fresh._start(name) if mine == began.get(name, "").replace("\r\n", "\n") else mine
        data = {
            name: value
            for name, value in typed.items()
            if not isinstance(self.fields[name], forms.BooleanField) or value == "True"
        }
        return type(self)(
            {**data, "revision": str(current.revision), "began": fresh.initial["began"]}, estimate=current
        )


class PriceForm(RevisionForm):
    """How the estimate is priced."""

    profit_rule = forms.ChoiceField(label=_("Price from"), choices=ProfitRule.choices)
    profit_basis_points = PercentField(label=_("Margin or markup, %"), most=100_000)
    overhead_basis_points = PercentField(label=_("Overhead on cost, %"), most=20_000)
    minimum_charge_cents = MoneyField(label=_("Minimum job charge"), required=False, most=MOST_CENTS)
    discount_basis_points = PercentField(label=_("Discount, %"), required=False)
    discount_cents = MoneyField(label=_("Discount, amount"), required=False, most=MOST_CENTS)
    discount_reason = forms.CharField(label=_("Discount for"), required=False, max_length=120)
    disposal_cents = MoneyField(label=_("Demolition and disposal, cost"), required=False, most=MOST_CENTS)
    levelling_cents = MoneyField(label=_("Levelling and preparation, cost"), required=False, most=MOST_CENTS)
    travel_cents = MoneyField(label=_("Travel, cost"), required=False, most=MOST_CENTS)
    permits_cents = MoneyField(label=_("Permits and fees, cost"), required=False, most=MOST_CENTS)
    tax_base = forms.ChoiceField(label=_("Sales tax"), choices=Site.TaxBase.choices)
    tax_basis_points = PercentField(label=_("Sales tax rate, %"), required=False, most=5000)
    deposit_basis_points = PercentField(label=_("Deposit, %"), required=False)
    detail = forms.ChoiceField(label=_("The customer sees"), choices=Detail.choices)
    price_on = forms.DateField(label=_("Prices of"), widget=DayInput())
    start_on = forms.DateField(label=_("Work could start"), widget=DayInput(), required=False)
    valid_days = forms.IntegerField(label=_("Valid for, days"), min_value=1, max_value=730)
    flood_test_asked = forms.BooleanField(label=_("The owner asks for a flood test"), required=False)

    model_fields = (
        "profit_rule",
        "profit_basis_points",
        "overhead_basis_points",
        "minimum_charge_cents",
        "discount_basis_points",
        "discount_cents",
        "discount_reason",
        "disposal_cents",
        "levelling_cents",
        "travel_cents",
        "permits_cents",
        "tax_base",
        "tax_basis_points",
        "deposit_basis_points",
        "detail",
        "price_on",
        "start_on",
        "valid_days",
        "flood_test_asked",
    )
    # Empty means nothing.
    amounts = (
        "minimum_charge_cents",
        "discount_basis_points",
        "discount_cents",
        "disposal_cents",
        "levelling_cents",
        "travel_cents",
        "permits_cents",
        "tax_basis_points",
        "deposit_basis_points",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in self.amounts:
            if name in cleaned:
                cleaned[name] = cleaned[name] or 0
        is_margin = cleaned.get("profit_rule") == ProfitRule.MARGIN
        if is_margin and (cleaned.get("profit_basis_points") or 0) >= 10_000:
            self.add_error(
                "profit_basis_points",
                _("A margin of 100 % or more leaves no price that covers the cost; say less."),
            )
        if cleaned.get("discount_basis_points") and cleaned.get("discount_cents"):
            self.add_error("discount_cents", _("Give a percentage or an amount off, not both."))
        if cleaned.get("tax_base") not in (None, Site.TaxBase.NONE) and not cleaned.get("tax_basis_points"):
            self.add_error("tax_basis_points", _("Say the rate, or choose no sales tax."))
        return cleaned


class TextsForm(RevisionForm):
    """What the paper says besides numbers."""

    title = forms.CharField(label=_("Title"), max_length=120)
    inclusions = forms.CharField(
        label=_("Included"), required=False, widget=forms.Textarea(attrs={"rows": 4}), max_length=5000
    )
    exclusions = forms.CharField(
        label=_("Not included"), required=False, widget=forms.Textarea(attrs={"rows": 4}), max_length=5000
    )
    cautions = forms.CharField(
        label=_("More cautions"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=5000,
        help_text=_("The usual ones are added by themselves. One a line."),
    )
    terms = forms.CharField(
        label=_("Terms"), required=False, widget=forms.Textarea(attrs={"rows": 4}), max_length=20000
    )

    model_fields = ("title", "inclusions", "exclusions", "cautions", "terms")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        # Browsers send line ends as CR LF; stored as such, every save would look like a change.
        for name in self.model_fields:
            if name in cleaned:
                cleaned[name] = cleaned[name].replace("\r\n", "\n")
        return cleaned


class EstimateRoomsForm(forms.Form):
    """Which of the site's rooms are in the estimate."""

    revision = forms.IntegerField(widget=forms.HiddenInput)
    rooms = RoomsField(label=_("Rooms in this estimate"), required=False)

    def __init__(self, *args: Any, estimate: Estimate, **kwargs: Any) -> None:
        chosen = [row.room_id for row in estimate.estimate_rooms.all()]
        kwargs["initial"] = {"revision": estimate.revision, "rooms": chosen}
        super().__init__(*args, **kwargs)
        field = self.fields["rooms"]
        assert isinstance(field, RoomsField)
        field.offer(estimate.site_id, but=estimate)

    def chosen(self) -> list[Room]:
        """Return the ticked rooms by name."""
        return list(self.cleaned_data["rooms"])


class LineForm(forms.Form):
    """A line written by hand; a row that is left empty is no line."""

    pk = forms.IntegerField(required=False, widget=forms.HiddenInput)
    text = forms.CharField(label=_("What"), max_length=200, required=False)
    room = forms.ChoiceField(label=_("Room"), required=False)
    step = forms.ChoiceField(label=_("Trade step"))
    quantity = QuantityField(label=_("Quantity"), required=False, min_value=Decimal("0.000001"))
    unit = forms.CharField(label=_("Unit"), max_length=20, required=False)
    cost = MoneyField(label=_("Cost each"), required=False, most=MOST_CENTS)
    price = MoneyField(label=_("Price each"), required=False, most=MOST_CENTS)
    is_material = forms.BooleanField(label=_("Material"), required=False)
    remove = forms.BooleanField(label=_("Remove"), required=False)

    def __init__(self, *args: Any, rooms: Iterable[Room], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        room, step = self.fields["room"], self.fields["step"]
        assert isinstance(room, forms.ChoiceField)
        assert isinstance(step, forms.ChoiceField)
        room.choices = [("", _("whole job")), *((str(one.pk), one.name) for one in rooms)]
        own = ((key, label) for key, label in STEPS.items() if key not in FOLLOWING_STEPS)
        step.choices = [(key, label.render(gettext)) for key, label in own]

    @property
    def is_empty(self) -> bool:
        cleaned = getattr(self, "cleaned_data", {})
        return bool(cleaned.get("remove")) or not any(
            cleaned.get(name) for name in ("text", "quantity", "cost", "price", "unit")
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.is_empty and not self.errors:
            if not cleaned.get("text"):
                self.add_error("text", _("Say what this line is for."))
            if cleaned.get("cost") is None:
                self.add_error("cost", _("Say what it costs; 0 is an answer."))
        return cleaned

    def line(self, stored: dict[int, EstimateLine]) -> EstimateLine:
        """Return the row with what was typed (not yet stored)."""
        cleaned = self.cleaned_data
        row = stored.get(cleaned["pk"] or 0) or EstimateLine()
        row.text, row.step, row.unit = cleaned["text"], cleaned["step"], cleaned["unit"]
        row.room_id = int(cleaned["room"]) if cleaned["room"] else None
        row.quantity_millionths = int((cleaned["quantity"] or Decimal(1)) * 1_000_000)
        row.cost_cents, row.price_cents = cleaned["cost"], cleaned["price"]
        row.is_material = cleaned["is_material"]
        return row


class StageForm(forms.Form):
    due = forms.CharField(label=_("Due"), max_length=120, required=False)
    share = PercentField(label=_("Share, %"), required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if bool(cleaned.get("due")) != bool(cleaned.get("share")) and not self.errors:
            self.add_error("share", _("A payment needs both: when it is due, and its share."))
        return cleaned


LineFormSet: type[BaseFormSet[LineForm]] = formset_factory(LineForm, extra=3, max_num=200, absolute_max=300)
StageFormSet: type[BaseFormSet[StageForm]] = formset_factory(StageForm, extra=2, max_num=12, absolute_max=20)


def line_initial(lines: Iterable[EstimateLine]) -> list[dict[str, Any]]:
    """Return stored lines as a formset begins with them."""
    return [
        {
            "pk": line.pk,
            "text": line.text,
            "room": str(line.room_id or ""),
            "step": line.step,
            "quantity": Decimal(line.quantity_millionths).scaleb(-6),
            "unit": line.unit,
            "cost": line.cost_cents,
            "price": line.price_cents,
            "is_material": line.is_material,
        }
        for line in lines
    ]


def stage_initial(stages: Iterable[PaymentStage]) -> list[dict[str, Any]]:
    """Return stored payments as a formset begins with them."""
    return [{"due": stage.due, "share": stage.share_basis_points} for stage in stages]


class ByHandForm(forms.Form):
    """A computed quantity or price set by hand."""

    revision = forms.IntegerField(widget=forms.HiddenInput)
    quantity = QuantityField(label=_("Quantity"), required=False, min_value=Decimal(0))
    price = MoneyField(label=_("Price"), required=False, most=MOST_CENTS)
    reason = forms.CharField(label=_("Reason"), max_length=200)

    def __init__(self, *args: Any, has_quantity: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not has_quantity:
            del self.fields["quantity"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and cleaned.get("quantity") is None and cleaned.get("price") is None:
            self.add_error("price", _("Say the price, the quantity, or both."))
        return cleaned


class AnswerForm(forms.Form):
    """A quote was declined or is taken back."""

    day = forms.DateField(label=_("On"), widget=DayInput(), initial=timezone.localdate)
    note = forms.CharField(label=_("Note"), max_length=300, required=False)

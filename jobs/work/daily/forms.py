"""Forms of the daily log. Each carries the key under which its act is stored once."""

from __future__ import annotations

import re
import uuid
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from contracting.forms import MoneyField, PercentField
from contracting.money import half_up
from contracting.staff.models import User
from estimates.quotes.pricing import step_label
from estimates.quotes.pricing_model import CALLBACK_STEP
from estimates.quotes.templatetags.figures import say, unit_name
from estimates.takeoff.labour import TRADE_STEPS
from estimates.takeoff.units import System

from ..models import DelayCause, Job, NoteKind
from ..models.daily import MINUTES_OF_A_DAY
from .listeners import purchase_list
from .quantities import foreseen_of
from .selectors import crew_of, today_at, usual_step

SOMETHING_ELSE = "-"
_TIME = re.compile(
    r"(?:(?P<hours>\d{1,2}(?:[.,]\d{1,2})?)\s*(?:h(?:ours?|rs?)?)?)?"
    r"(?:\s*[:\s]?\s*(?P<minutes>\d{1,4})\s*(?:m(?:in(?:utes?)?)?)?)?",
    re.IGNORECASE,
)
_ONLY_MINUTES = re.compile(r"(?P<minutes>\d{1,4})\s*m(?:in(?:utes?)?)?", re.IGNORECASE)


class MinutesField(forms.CharField):
    """A length of time as people write it, in whole minutes: ``7:30``, ``7.5``, ``7 h 30``, ``45 min``."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", _("Such as 7:30, 7.5 or 45 min."))
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("autocomplete", "off")

    def prepare_value(self, value: Any) -> Any:
        return f"{value // 60}:{value % 60:02}" if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        only = _ONLY_MINUTES.fullmatch(text)
        found = only or _TIME.fullmatch(text)
        if found is None:
            raise ValidationError(_("Read “%(text)s”: expected a time such as 7:30.") % {"text": text})
        hours = Decimal((found.groupdict().get("hours") or "0").replace(",", "."))
        minutes = int(found["minutes"] or 0)
        if not only and minutes > 59:
            raise ValidationError(_("Read “%(text)s”: an hour has 60 minutes.") % {"text": text})
        whole = hours * 60 + minutes
        if whole != whole.to_integral_value():
            whole = whole.quantize(Decimal(1))
        if not 0 < whole <= MINUTES_OF_A_DAY:
            raise ValidationError(
                _("Read “%(text)s”: expected more than nothing, up to 24 h.") % {"text": text}
            )
        return int(whole)


class PacksField(forms.DecimalField):
    """A number of packs, cleaned to millionths; *least* may be 0 where none is an answer."""

    def __init__(self, *, least: str = "0.001", **kwargs: Any) -> None:
        super().__init__(max_value=Decimal(100_000), min_value=Decimal(least), decimal_places=3, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def prepare_value(self, value: Any) -> Any:
        return f"{(Decimal(value) / 10**6).normalize():f}" if isinstance(value, int) else value

    def clean(self, value: Any) -> int | None:
        packs = super().clean(value)
        return None if packs is None else int(packs * 10**6)


def degrees_text(tenths: int, system: System) -> str:
    """Print tenths of a degree Celsius in whole degrees of the site.

    >>> degrees_text(211, System.INCH), degrees_text(-5, System.METRIC)
    ('70', '-1')
    """
    degrees = Decimal(tenths) / 10 if system is System.METRIC else Decimal(tenths) * 9 / 50 + 32
    # A minus before nothing says nothing: + 0 takes it away.
    return f"{degrees.quantize(Decimal(1), rounding=ROUND_HALF_UP) + 0:f}"


def step_choices() -> list[tuple[str, str]]:
    """Return the trade steps in their order, in the reader's language."""
    return [(key, say(label)) for key, label in TRADE_STEPS.items()]


class LogForm(forms.Form):
    """What every act of the log is about: which day, and the key that makes it once."""

    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    note = forms.CharField(label=_("Note"), required=False, max_length=300)
    key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, job: Job, user: User, **kwargs: Any) -> None:
        self.job, self.user = job, user
        kwargs["initial"] = {"day": today_at(job), "key": uuid.uuid4(), "step": usual_step(job, user)} | (
            kwargs.get("initial") or {}
        )
        super().__init__(*args, **kwargs)
        if "step" in self.fields:
            self.fields["step"].choices = self._steps()  # type: ignore[attr-defined]
        self.order_fields([*(name for name in self.fields if name not in {"note", "key"}), "note", "key"])

    def _steps(self) -> list[tuple[str, str]]:
        # An entry of a callback stays one when it is corrected.
        if self.initial.get("step") == CALLBACK_STEP:
            return [(CALLBACK_STEP, say(step_label(CALLBACK_STEP)))]
        return step_choices()

    @property
    def act_values(self) -> dict[str, Any]:
        """The cleaned values that belong to the act itself."""
        return {name: value for name, value in self.cleaned_data.items() if name in {"key", "day", "note"}}

    @property
    def own_values(self) -> dict[str, Any]:
        """The other cleaned values, as the service takes them."""
        return {
            name: value for name, value in self.cleaned_data.items() if name not in {"key", "day", "note"}
        }


class _PersonField(forms.ModelChoiceField[User]):
    def label_from_instance(self, obj: User) -> str:
        return str(obj)


class HoursForm(LogForm):
    person = _PersonField(label=_("Who"), queryset=User.objects.none())
    step = forms.ChoiceField(label=_("Activity"))
    minutes = MinutesField(label=_("Time worked"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.user.sees_money:
            self.fields["person"].queryset = crew_of(self.job)  # type: ignore[attr-defined]
        else:
            del self.fields["person"]

    @property
    def own_values(self) -> dict[str, Any]:
        return {"person": self.user} | super().own_values


class DeliveryForm(LogForm):
    material_key = forms.ChoiceField(label=_("What came"))
    packs_millionths = PacksField(label=_("Packs"))
    is_return = forms.BooleanField(label=_("Sent back to the supplier"), required=False)
    lot_numbers = forms.CharField(
        label=_("Lot numbers"),
        required=False,
        max_length=200,
        help_text=_("As printed on the packs, with commas between them."),
    )
    cost_cents = MoneyField(
        label=_("Cost on the invoice, before tax"),
        required=False,
        most=10**9,
        help_text=_("Leave it empty until the invoice is here: the budget's price stands in for it."),
    )
    material_name = forms.CharField(
        label=_("Something else"),
        required=False,
        max_length=120,
        help_text=_("Only when it is not on the purchase list."),
    )
    step = forms.ChoiceField(label=_("That is for"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed = [
            (
                one.key,
                f"{one.name} ({self.planned_packs(one.packs_millionths)} × {unit_name(one.pack_label)})",
            )
            for one in purchase_list(self.job)
        ]
        known = {key for key, _label in listed}
        own = self.initial.get("material_key")
        if own and own not in known and "material_name" in self.initial:
            listed.append((own, self.initial.get("material_name", own)))
        self.fields["material_key"].choices = [*listed, (SOMETHING_ELSE, _("something else"))]  # type: ignore[attr-defined]
        if not self.user.sees_money:
            del self.fields["cost_cents"]

    @staticmethod
    def planned_packs(millionths: int) -> str:
        return f"{(Decimal(millionths) / 10**6).normalize():f}"

    @property
    def own_values(self) -> dict[str, Any]:
        values = super().own_values
        if values["material_key"] == SOMETHING_ELSE:
            values["material_key"] = ""
        if values.pop("is_return"):
            values["packs_millionths"] = -values["packs_millionths"]
        return values


class CostForm(LogForm):
    what = forms.CharField(label=_("What"), max_length=200)
    step = forms.ChoiceField(label=_("For"))
    amount_cents = MoneyField(label=_("Amount, before tax"), least=1, most=10**9)


class QuantityField(forms.DecimalField):
    """A quantity in a step's own unit, cleaned to thousandths."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_value=Decimal(10**7), min_value=Decimal(0), decimal_places=3, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> int | None:
        quantity = super().clean(value)
        return None if quantity is None else int(quantity * 1000)


class ProgressForm(LogForm):
    step = forms.ChoiceField(label=_("Trade step"))
    quantity_thousandths = QuantityField(
        label=_("Done so far, in the unit beside the step"),
        required=False,
        help_text=_("All of it up to now, with what was done on the days before."),
    )
    done_basis_points = PercentField(label=_("Or as a share, %"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        foreseen = foreseen_of(self.job)
        if not foreseen:
            del self.fields["quantity_thousandths"]
            self.fields["done_basis_points"].label = _("Done by now, %")

        def named(step: str, label: str) -> str:
            one = foreseen.get(step)
            return f"{label} ({_quantity(one.thousandths)} {unit_name(one.unit)})" if one else label

        choices = [(step, named(step, label)) for step, label in self._steps()]
        self.fields["step"].choices = choices  # type: ignore[attr-defined]


def _quantity(thousandths: int) -> str:
    return f"{(Decimal(thousandths) / 1000).quantize(Decimal('0.1')):f}".removesuffix(".0")


class DegreesField(forms.DecimalField):
    """A temperature in the site's degrees, cleaned to tenths of a degree Celsius; the form sets *system*."""

    system = System.INCH

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_digits=5, decimal_places=1, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})

    def clean(self, value: Any) -> int | None:
        degrees = super().clean(value)
        if degrees is None:
            return None
        celsius = degrees if self.system is System.METRIC else (degrees - 32) * 5 / 9
        if not -60 <= celsius <= 70:
            raise ValidationError(_("Read “%(text)s”: expected a temperature on a site.") % {"text": value})
        return half_up(celsius * 10)

    def prepare_value(self, value: Any) -> Any:
        return degrees_text(value, self.system) if isinstance(value, int) else value


class NoteForm(LogForm):
    """A note of the day. Once its kind is known, only what belongs to that kind is asked."""

    kind = forms.ChoiceField(label=_("About"), choices=NoteKind.choices)
    cause = forms.ChoiceField(
        label=_("Cause"), required=False, choices=DelayCause.choices, widget=forms.RadioSelect
    )
    minutes = MinutesField(label=_("Time lost"), required=False)
    low_tenths = DegreesField(label=_("Lowest"), required=False)
    high_tenths = DegreesField(label=_("Highest"), required=False)
    text = forms.CharField(
        label=_("What happened"), required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["note"]
        system = System(self.job.site.units)
        degrees = "°C" if system is System.METRIC else "°F"
        for name in ("low_tenths", "high_tenths"):
            self.fields[name].system = system  # type: ignore[attr-defined]
            self.fields[name].label = f"{self.fields[name].label}, {degrees}"
        kind = self.data.get("kind") or self.initial.get("kind") or ""
        own = {"delay": {"cause", "minutes"}, "weather": {"low_tenths", "high_tenths"}}
        if kind in NoteKind.values:
            for name in ("cause", "minutes", "low_tenths", "high_tenths"):
                # What was sent all the same is not dropped in silence: the service says what is wrong.
                if name not in own.get(kind, set()) and not self.data.get(name):
                    del self.fields[name]
            if not self.is_bound or kind != NoteKind.OTHER:
                self.fields["kind"].widget = forms.HiddenInput()
        words = {
            NoteKind.VISITOR: _("Who came, and what was said"),
            NoteKind.WEATHER: _("Sky, wind, humidity"),
        }
        if kind in words:
            self.fields["text"].label = words[NoteKind(kind)]

    @property
    def own_values(self) -> dict[str, Any]:
        values = super().own_values
        return values | {"minutes": values.get("minutes") or 0}

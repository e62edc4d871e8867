"""Forms of the price list; they check shape, services and the core the rest."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from contracting.forms import MoneyField, PercentField
from estimates.takeoff.errors import DomainError
from estimates.takeoff.materials import FACTS, PACK_UNITS
from estimates.takeoff.model import Role
from estimates.takeoff.units import Measure

from .measures import from_millionths, read_measure, written
from .models import USES, Material, MaterialRole, Supplier


class MeasureField(forms.CharField):
    """A data-sheet value as printed (``55 sq ft/gal``), cleaned to a Measure or None."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.unit = unit
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value: Any) -> Measure | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_measure(text, self.unit)
        except DomainError as error:
            raise ValidationError(error.reason.render(gettext), code=error.rule) from error

    def prepare_value(self, value: Any) -> Any:
        return written(value) if isinstance(value, Measure) else value


class DayInput(forms.DateInput):
    """The browser's own date field; it sends and shows ISO dates whatever the language."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class SupplierForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Supplier
        fields = ("name", "account", "phone", "email", "notes", "is_active")
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}


class PriceForm(forms.Form):
    price_from = forms.DateField(label=_("From"), widget=DayInput(), initial=timezone.localdate)
    price = MoneyField(label=_("Price of a pack"), most=10_000_000_000)


class MaterialForm(forms.Form):
    """A material of one role; which data-sheet values it asks for depends on the role."""

    name = forms.CharField(label=_("Name"), max_length=120)
    code = forms.CharField(
        label=_("Code"), max_length=40, help_text=_("Price files find the material by it.")
    )
    supplier = forms.ModelChoiceField(label=_("Supplier"), queryset=Supplier.objects.none())
    use = forms.ChoiceField(label=_("Used for"), required=False)
    pack_label = forms.CharField(
        label=_("Pack"), max_length=40, help_text=_("Such as: roll, pail, bag, box.")
    )
    waste = PercentField(label=_("Waste, %"), required=False, help_text=_("Added before rounding up."))
    is_usual = forms.BooleanField(label=_("The usual one for new estimates"), required=False)
    is_active = forms.BooleanField(label=_("Still sold"), required=False, initial=True)
    notes = forms.CharField(
        label=_("Notes"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        self.material = material
        self.role = Role(material.role)
        kwargs["initial"] = {**self._initial(), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        supplier = self.fields["supplier"]
        assert isinstance(supplier, forms.ModelChoiceField)
        supplier.queryset = Supplier.objects.filter(is_active=True) | Supplier.objects.filter(
            pk=material.supplier_id
        )
        use = self.fields["use"]
        assert isinstance(use, forms.ChoiceField)
        uses = USES.get(material.role)
        if uses:
            use.choices = [("", _("anything")), *uses.choices]
        else:
            del self.fields["use"]
        self._add_measures()
        if not material.pk:
            self.fields["price"] = MoneyField(label=_("Price of a pack"), required=False, most=10_000_000_000)
            self.fields["price_from"] = forms.DateField(
                label=_("Price from"), required=False, widget=DayInput(), initial=timezone.localdate
            )

    def _initial(self) -> dict[str, Any]:
        row = self.material
        initial: dict[str, Any] = {
            "waste": row.waste_basis_points,
            "supplier": row.supplier_id,
            **{name: getattr(row, name) for name in ("name", "code", "use", "pack_label", "notes")},
            "is_usual": row.is_usual,
            "is_active": row.is_active,
        }
        if row.pk:
            initial["pack"] = from_millionths(row.pack_millionths, row.pack_unit)
            for fact in row.facts.all():
                initial[fact_field(fact.name)] = from_millionths(fact.value_millionths, fact.unit)
        return initial

    def _add_measures(self) -> None:
        unit = PACK_UNITS[self.role]
        self.fields["pack"] = MeasureField(
            label=_("A pack holds"), unit=unit, help_text=_("Such as: 12 %(unit)s") % {"unit": unit}
        )
        for name, fact in FACTS[self.role].items():
            self.fields[fact_field(name)] = MeasureField(
                label=fact.label.render(gettext),
                unit=fact.unit,
                required=fact.needed,
                help_text=_("With its unit, such as: 12 %(unit)s") % {"unit": fact.unit},
            )

    @property
    def sheet_fields(self) -> list[forms.BoundField]:
        """The data-sheet values, in the order of the core's table."""
        return [self["pack"], *(self[fact_field(name)] for name in FACTS[self.role])]

    @property
    def plain_fields(self) -> list[forms.BoundField]:
        """Everything else."""
        sheet = {field.name for field in self.sheet_fields}
        return [self[name] for name in self.fields if name not in sheet]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("is_usual") and not cleaned.get("is_active"):
            self.add_error("is_usual", _("What is no longer sold cannot be the usual one."))
        if cleaned.get("price") is not None and not cleaned.get("price_from"):
            self.add_error("price_from", _("Say from which day this price holds."))
        return cleaned

    def filled(self) -> Material:
        """Return the material with what was typed (not yet stored)."""
        row, cleaned = self.material, self.cleaned_data
        for name in ("name", "code", "supplier", "pack_label", "is_usual", "is_active", "notes"):
            setattr(row, name, cleaned[name])
        row.use = cleaned.get("use", "")
        row.waste_basis_points = cleaned["waste"] or 0
        pack: Measure = cleaned["pack"]
        row.pack_millionths, row.pack_unit = int(pack.value * 1_000_000), pack.unit
        return row

    def facts(self) -> dict[str, Measure]:
        """Return the data-sheet values by name."""
        found = {name: self.cleaned_data.get(fact_field(name)) for name in FACTS[self.role]}
        return {name: measure for name, measure in found.items() if measure is not None}


def fact_field(name: str) -> str:
    """Return the form field of a data-sheet value."""
    return f"fact_{name.replace(' ', '_').replace('-', '_')}"


class RoleForm(forms.Form):
    """What the new material does; asked first, since its data sheet depends on it."""

    role = forms.ChoiceField(choices=MaterialRole.choices)


class PriceFileForm(forms.Form):
    file = forms.FileField(label=_("Price file (CSV)"), required=False)
    # The text of a file that was shown as a preview, sent back to be stored.
    text = forms.CharField(required=False, widget=forms.HiddenInput, max_length=1_100_000)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("file") and not cleaned.get("text") and not self.errors:
            self.add_error("file", _("Choose a file."))
        return cleaned

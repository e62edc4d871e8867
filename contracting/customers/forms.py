"""Forms for customers, contacts and sites; they check shape, the models and services the rest."""

import zoneinfo
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from contracting.forms import PercentField

from .models import Contact, Customer, Site


class CustomerForm(forms.ModelForm[Customer]):
    class Meta:
        model = Customer
        fields = ("name", "email", "phone", "billing_address", "language", "notes")
        widgets = {
            "billing_address": forms.Textarea(attrs={"rows": 3}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }


class ContactForm(forms.ModelForm[Contact]):
    class Meta:
        model = Contact
        fields = ("name", "part", "phone", "email")


class SiteForm(forms.ModelForm[Site]):
    tax_basis_points = PercentField(
        label=_("Sales tax rate, %"), required=False, most=5000, help_text=_("Such as 8.25.")
    )
    time_zone = forms.CharField(
        label=_("Time zone"),
        widget=forms.TextInput(attrs={"list": "time-zones"}),
        help_text=_("Such as America/Chicago."),
    )

    class Meta:
        model = Site
        fields = (
            "name",
            "street",
            "city",
            "region",
            "postal_code",
            "units",
            "time_zone",
            "tax_base",
            "tax_basis_points",
            "built_year",
            "travel_minutes",
            "is_occupied",
            "access_notes",
        )
        widgets = {"access_notes": forms.Textarea(attrs={"rows": 3})}

    # Offered while typing; every zone of the time zone database is accepted.
    usual_time_zones = (
        "America/New_York",
        "America/Chicago",
        "America/Denver",
        "America/Phoenix",
        "America/Los_Angeles",
        "America/Anchorage",
        "Pacific/Honolulu",
    )

    def clean_time_zone(self) -> str:
        name: str = self.cleaned_data["time_zone"]
        if name not in zoneinfo.available_timezones():
            raise ValidationError(
                _("Read “%(name)s”: expected a time zone such as America/Chicago.") % {"name": name}
            )
        return name

    def clean(self) -> dict[str, Any] | None:
        super().clean()
        points = self.cleaned_data.get("tax_basis_points")
        if "tax_basis_points" in self.cleaned_data and points is None:
            self.cleaned_data["tax_basis_points"] = points = 0
        if not points and self.cleaned_data.get("tax_base") not in (None, Site.TaxBase.NONE):
            self.add_error("tax_basis_points", _("Say the rate, or choose no sales tax."))
        # A rate beside "no sales tax" would silently price the job without it.
        if points and self.cleaned_data.get("tax_base") == Site.TaxBase.NONE:
            self.add_error("tax_base", _("A rate is given: say what is taxed, or clear the rate."))
        return self.cleaned_data

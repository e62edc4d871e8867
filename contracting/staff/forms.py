"""Forms for people, pay and the company: they check shape only."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import password_validators_help_texts, validate_password
from django.utils.translation import gettext_lazy as _

from contracting.forms import MoneyField, PercentField

from .models import CompanyProfile, User


class CompanyForm(forms.ModelForm[CompanyProfile]):
    overhead_basis_points = PercentField(label=_("Overhead on cost, %"), most=20000)
    margin_basis_points = PercentField(
        label=_("Margin of the price, %"),
        most=9999,
        help_text=_("Margin is (price − cost) / price; a margin of 30 % is a markup on cost of 42.86 %."),
    )
    minimum_charge_cents = MoneyField(label=_("Minimum job charge"))
    deposit_basis_points = PercentField(label=_("Deposit, %"))

    class Meta:
        model = CompanyProfile
        fields = [
            "name",
            "tagline",
            "phone",
            "email",
            "licence",
            "address",
            "ink_colour",
            "overhead_basis_points",
            "margin_basis_points",
            "minimum_charge_cents",
            "deposit_basis_points",
            "validity_days",
            "inclusions",
            "exclusions",
            "terms",
            "keeps_photo_location",
        ]
        widgets = {
            "ink_colour": forms.TextInput(attrs={"type": "color"}),
            **{
                name: forms.Textarea(attrs={"rows": 3})
                for name in ("address", "inclusions", "exclusions", "terms")
            },
        }


class PersonForm(forms.ModelForm[User]):
    """Somebody's account, as the owner sees it."""

    password = forms.CharField(
        label=_("New password"),
        required=False,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    class Meta:
        model = User
        fields = ["first_name", "last_name", "username", "email", "role", "language", "is_active"]
        labels = {"is_active": _("May sign in"), "username": _("Sign-in name")}
        help_texts = {"is_active": "", "username": _("Letters, digits and . - _ + @ only.")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["first_name"].required = True
        rules = " ".join(password_validators_help_texts())
        is_new = self.instance.pk is None
        self.fields["password"].required = is_new
        self.fields["password"].label = _("Password") if is_new else _("New password")
        self.fields["password"].help_text = rules if is_new else _("Leave it empty to keep the present one.")

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if password:
            validate_password(password, self.instance)
        return password


class LabourCostForm(forms.Form):
    starts_on = forms.DateField(
        label=_("From"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    pay_cents = MoneyField(label=_("Pay an hour"), least=1, most=10**6)
    burden_basis_points = PercentField(
        label=_("Burden, %"),
        most=30000,
        help_text=_("Payroll taxes, insurance and benefits on top of pay."),
    )


class PreferencesForm(forms.ModelForm[User]):
    class Meta:
        model = User
        fields = ["language"]

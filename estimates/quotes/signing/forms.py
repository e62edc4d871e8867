"""Forms around a private link; they check shape, the services the rest."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from .models import Acceptance
from .signature import MOST_CHARACTERS


class LinkForm(forms.Form):
    """For whom a private link is, and how long it is good."""

    recipient = forms.CharField(
        label=_("For"),
        max_length=254,
        required=False,
        help_text=_("An address or a name, for your own record."),
    )
    expires_on = forms.DateField(
        label=_("Last day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class SignForm(forms.Form):
    """The customer's consent and signature."""

    consents = forms.BooleanField(
        label=_("I agree to sign electronically."),
        error_messages={"required": _("Agree to sign electronically first, or sign on paper.")},
    )
    name = forms.CharField(
        label=_("Your full name"),
        max_length=120,
        error_messages={"required": _("Write your full name.")},
        widget=forms.TextInput(attrs={"autocomplete": "name", "autocapitalize": "words"}),
    )
    kind = forms.ChoiceField(
        label=_("Your signature"),
        choices=[
            (Acceptance.Kind.TYPED, _("My name, typed above, is my signature")),
            (Acceptance.Kind.DRAWN, _("I draw my signature")),
        ],
        initial=Acceptance.Kind.TYPED,
        widget=forms.RadioSelect,
    )
    # One more than is allowed, so that a longer drawing is refused in the services' words.
    drawing = forms.CharField(required=False, max_length=MOST_CHARACTERS + 1, widget=forms.HiddenInput)


class DeclineForm(forms.Form):
    """Why the customer says no."""

    reason = forms.CharField(
        label=_("Why not?"),
        max_length=300,
        error_messages={"required": _("Say in a word why, so that we can do better.")},
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("A word is enough. The company reads it."),
    )

"""Forms of the warranty pages; they check shape, the services the rest."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from .models import LONGEST_YEARS
from .verification import BEGINS


class TermsForm(forms.Form):
    """What the company promises, from a date on."""

    starts_on = forms.DateField(
        label=gettext_lazy("Hold from"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    years = forms.IntegerField(label=gettext_lazy("Years"), min_value=1, max_value=LONGEST_YEARS)
    terms = forms.CharField(
        label=gettext_lazy("What you warrant, a line for each point"),
        widget=forms.Textarea(attrs={"rows": 12}),
        max_length=10_000,
    )
    care = forms.CharField(
        label=gettext_lazy("What the customer should do, a line for each point"),
        widget=forms.Textarea(attrs={"rows": 12}),
        help_text=gettext_lazy(
            "A line that begins with “Wet room:”, “Drain:”, “Floor:” or “Counter:” stands only in the "
            "records of jobs that have one."
        ),
        max_length=10_000,
    )


class ReplaceForm(forms.Form):
    """Why a record is issued anew."""

    reason = forms.CharField(
        label=gettext_lazy("Why the record is issued anew"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


class UploadForm(forms.Form):
    """A record as a file."""

    pdf = forms.FileField(
        label=gettext_lazy("The PDF"),
        widget=forms.ClearableFileInput(attrs={"accept": "application/pdf,.pdf"}),
        error_messages={"required": gettext_lazy("Choose the PDF of the record.")},
    )

    def clean_pdf(self) -> Any:
        file: UploadedFile[Any] = self.cleaned_data["pdf"]
        # What a file is called and what its sender says it is prove nothing.
        if file.read(len(BEGINS)) != BEGINS:
            raise ValidationError(
                _("“%(name)s” is not a PDF. Choose the file of the record as it was sent to you.")
                % {"name": (file.name or "")[:80]}
            )
        file.seek(0)
        return file

"""Forms of the shelf of offcuts; they check shape only."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from estimates.rooms.fields import Length, LengthFormField

from .models import Offcut
from .selectors import membranes
from .services import Piece

# Wider or longer is no offcut of a roll but a slip of the keyboard, mostly a missing unit.
MOST_WIDE_MM, MOST_LONG_MM = Decimal(4000), Decimal(100_000)

# The shelf is the company's, which has no system of units of its own as a site does: so a piece is written in
# either, and the page says how a bare number is read.
WITH_UNIT = gettext_lazy("With the unit: 18 in, 3' 6\", 450 mm. A bare number is in inches.")


class OffcutForm(forms.Form):
    """A piece of membrane, its size, and where it lies."""

    material = forms.ModelChoiceField(label=gettext_lazy("Membrane"), queryset=membranes(), empty_label=None)
    width = LengthFormField(label=gettext_lazy("Width, across the roll"), help_text=WITH_UNIT)
    length = LengthFormField(label=gettext_lazy("Length, along the roll"), help_text=WITH_UNIT)
    place = forms.CharField(
        label=gettext_lazy("Where it lies"),
        max_length=80,
        required=False,
        help_text=gettext_lazy("Such as: shop, shelf 2; van 1."),
    )

    def __init__(self, *args: Any, offcut: Offcut, **kwargs: Any) -> None:
        if offcut.pk:
            kwargs.setdefault(
                "initial",
                {
                    "material": offcut.material_id,
                    "width": offcut.width,
                    "length": offcut.length,
                    "place": offcut.place,
                },
            )
        super().__init__(*args, **kwargs)

    def clean_width(self) -> Length | None:
        return self._at_most("width", MOST_WIDE_MM)

    def clean_length(self) -> Length | None:
        return self._at_most("length", MOST_LONG_MM)

    def _at_most(self, name: str, most: Decimal) -> Length | None:
        value: Length | None = self.cleaned_data.get(name)
        if value is not None and value.mm > most:
            raise ValidationError(
                _("Read “%(typed)s” as %(read)s mm, more than any roll; is the unit missing?")
                % {"typed": value.typed, "read": f"{value.mm.normalize():f}"}
            )
        return value

    @property
    def piece(self) -> Piece:
        cleaned = self.cleaned_data
        return Piece(cleaned["material"], cleaned["width"], cleaned["length"])


class TakeForm(forms.Form):
    why = forms.CharField(label=gettext_lazy("What it was used for"), max_length=120, required=False)

"""Forms of the inspection pages; they check shape, the services the rest.

Each carries a key made with the page: a form that is sent twice is recorded once.
"""

import datetime
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.forms import KeyedForm, PercentField
from estimates.rooms.fields import LengthFormField
from estimates.takeoff.units import System

from .models import FloodStart, Kind, PlannedCheck, Quantity

YES_NO = [("yes", gettext_lazy("Yes")), ("no", gettext_lazy("No"))]
HOURS = [
    ("", gettext_lazy("24 hours, as planned")),
    ("0.25", gettext_lazy("15 minutes")),
    ("1", gettext_lazy("1 hour")),
    ("48", gettext_lazy("48 hours")),
    ("72", gettext_lazy("72 hours")),
]


def _yes_no(label: Any) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=label, choices=YES_NO, coerce=lambda word: word == "yes", widget=forms.RadioSelect
    )


def _moment(label: Any) -> forms.DateTimeField:
    return forms.DateTimeField(
        label=label,
        initial=lambda: timezone.localtime().replace(second=0, microsecond=0),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )


def _note(label: Any, *, required: bool = False, longest: int = 500) -> forms.CharField:
    return forms.CharField(
        label=label, required=required, max_length=longest, widget=forms.Textarea(attrs={"rows": 2})
    )


class CheckForm(KeyedForm):
    """What one check asks for; a correction also asks why."""

    def __init__(
        self, *args: Any, planned: PlannedCheck, system: System, correction: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.planned = planned
        for name, field in self._fields_of(planned, system).items():
            self.fields[name] = field
        self.fields["note"] = _note(gettext_lazy("Note"), required=planned.needs_note)
        if correction:
            why = gettext_lazy("Why it is corrected")
            self.fields["reason"] = _note(why, required=True, longest=300)

    @staticmethod
    def _fields_of(planned: PlannedCheck, system: System) -> dict[str, forms.Field]:
        if planned.kind == Kind.ANSWER:
            return {"answer": _yes_no(_(planned.ask))}
        if planned.kind == Kind.LAID:
            return {
                "laid_at": _moment(gettext_lazy("Last sheet embedded")),
                "is_cold": _yes_no(gettext_lazy("Was it below 50 °F (10 °C) when it was laid?")),
            }
        return {
            "reading": _reading(planned, system),
            "instrument": _instrument(planned),
        }

    def evidence(self) -> dict[str, Any]:
        """Return what the service is told."""
        told = dict(self.cleaned_data)
        if "reading" in told and self.planned.quantity == Quantity.LENGTH:
            told["reading_typed"], told["reading"] = told["reading"].typed, told["reading"].units
        elif "reading" in told:
            told["reading_typed"] = str(self.data.get("reading", ""))
        return told


def _reading(planned: PlannedCheck, system: System) -> forms.Field:
    if planned.quantity == Quantity.PERCENT:
        return PercentField(label=gettext_lazy("Reading, %"))
    field = LengthFormField(
        label=gettext_lazy("Reading, mm") if system is System.METRIC else gettext_lazy("Reading, inches"),
        allow_zero=True,
        help_text=gettext_lazy("Such as 3 mm.")
        if system is System.METRIC
        else gettext_lazy("Such as 3/32 or 2 1/4."),
    )
    field.system = system
    return field


def _instrument(planned: PlannedCheck) -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("Read with"), max_length=80, initial=_(planned.instrument) or None
    )


class FloodStartForm(KeyedForm):
    """Water is in."""

    started_at = _moment(gettext_lazy("Water in at"))

    def __init__(
        self, *args: Any, planned: PlannedCheck, system: System, office: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["level"] = _reading(planned, system)
        self.fields["level"].label = _("Level at the mark")
        self.fields["instrument"] = _instrument(planned)
        if office:
            self.fields["stands"] = forms.ChoiceField(
                label=_("The water stands"),
                choices=HOURS,
                required=False,
                help_text=_("Another time than planned needs a note on the local code."),
            )
        self.fields["note"] = _note(gettext_lazy("Note"))
        self.order_fields(["level", "started_at", "instrument", "stands", "note"])

    def evidence(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        level, hours = told.pop("level"), told.pop("stands", "")
        stands = datetime.timedelta(hours=float(hours)) if hours else None
        return {**told, "level": level.units, "level_typed": level.typed, "stands": stands}


class FloodEndForm(KeyedForm):
    """Water is read again."""

    ended_at = _moment(gettext_lazy("Read at"))
    leak_seen = _yes_no(gettext_lazy("Was water seen anywhere it must not be?"))

    def __init__(
        self, *args: Any, planned: PlannedCheck, start: FloodStart, system: System, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["level"] = _reading(planned, system)
        self.fields["level"].label = _("Level at the mark")
        self.fields["instrument"] = forms.CharField(
            label=_("Read with"), max_length=80, initial=start.instrument
        )
        self.fields["note"] = _note(gettext_lazy("Note"))
        self.order_fields(["level", "leak_seen", "ended_at", "instrument", "note"])

    def evidence(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        level = told.pop("level")
        return {**told, "level": level.units, "level_typed": level.typed}


class ActionForm(KeyedForm):
    """What was done about a failed check."""

    text = _note(gettext_lazy("What was done"), required=True)


class OverrideForm(KeyedForm):
    """Why work goes on past a hold point."""

    reason = _note(gettext_lazy("Reason, in a sentence"), required=True)

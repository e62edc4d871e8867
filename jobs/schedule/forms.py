"""Forms of the calendar; they check shape, the services the rest."""

from __future__ import annotations

import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from contracting.staff.models import User
from jobs.work.daily.forms import MinutesField
from jobs.work.forms import PeopleField

from .selectors import people_of_calendar
from .services import FIRST_DAY, LAST_DAY


class DayField(forms.DateField):
    """A day of the calendar, in a year that somebody plans for."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, **kwargs)

    def clean(self, value: Any) -> datetime.date | None:
        day: datetime.date | None = super().clean(value)
        if day is not None and not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError(
                _("Read %(day)s: expected a day from %(first)s to %(last)s.")
                % {"day": day.isoformat(), "first": FIRST_DAY.isoformat(), "last": LAST_DAY.isoformat()}
            )
        return day


def _time(**kwargs: Any) -> forms.TimeField:
    widget = forms.TimeInput(attrs={"type": "time", "step": 900, "class": "field"}, format="%H:%M")
    return forms.TimeField(widget=widget, **kwargs)


class SeenForm(forms.Form):
    """The revision of the plan that was looked at."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=2_000_000_000)


class TryForm(SeenForm):
    """Where a visit was dragged to."""

    day = DayField(label=_("Day"))


class MoveForm(TryForm):
    """When a visit begins and who makes it."""

    clock = _time(label=_("Begins at"), help_text=_("The time where the site is."))
    people = PeopleField(
        label=_("Who goes"),
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    loose = forms.BooleanField(label=_("Visits that were set by hand move along too"), required=False)
    field_order = ("day", "clock", "people", "loose", "seen")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["people"].queryset = people_of_calendar()  # type: ignore[attr-defined]


class MakeForm(SeenForm):
    """From when a job is planned (anew)."""

    start = DayField(label=_("First day"), required=False)
    loose = forms.BooleanField(
        label=_("Put visits that were set by hand back into the sequence"), required=False
    )
    field_order = ("start", "loose", "seen")


class AddForm(SeenForm):
    """A visit that the sequence does not know."""

    title = forms.CharField(
        label=_("What for"), max_length=80, help_text=_("Such as: delivery, meeting the plumber.")
    )
    day = DayField(label=_("Day"))
    clock = _time(label=_("Begins at"))
    minutes = MinutesField(label=_("How long"))
    people = PeopleField(
        label=_("Who goes"),
        queryset=User.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    field_order = ("title", "day", "clock", "minutes", "people", "seen")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["people"].queryset = people_of_calendar()  # type: ignore[attr-defined]


class _PersonField(forms.ModelChoiceField[User]):
    def label_from_instance(self, obj: User) -> str:
        return str(obj)


class DayOffForm(forms.Form):
    """Days on which somebody does not work."""

    person = _PersonField(label=_("Who"), queryset=User.objects.none())
    first_on = DayField(label=_("First day"))
    last_on = DayField(label=_("Last day"), required=False, help_text=_("Empty: only that one day."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = people_of_calendar()  # type: ignore[attr-defined]

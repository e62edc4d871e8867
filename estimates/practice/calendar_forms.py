"""The form of the working week: hours, breaks, weekdays and the days without work."""

from __future__ import annotations

import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimates.takeoff.errors import DomainError
from estimates.takeoff.sequence import Calendar

from .models import WorkingTime
from .selectors import calendar_of, working_time
from .services import Hours

BREAKS = (1, 2, 3)
# Where the takeoff's refusal stands.
_PLACES = {"calendar.weekdays": "weekdays", "calendar.day": "end_of_day", "calendar.break": "break_1_from"}


class TimeInput(forms.TimeInput):
    """The browser's own field for a time of day; it sends and shows 24 hours whatever the language."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format="%H:%M")


class CalendarForm(forms.Form):
    seen = forms.IntegerField(
        widget=forms.HiddenInput,
        min_value=0,
        error_messages={"required": _("The page was not sent whole. Open it again.")},
    )
    start_of_day = forms.TimeField(label=_("Work starts"), widget=TimeInput())
    end_of_day = forms.TimeField(label=_("Work ends"), widget=TimeInput())
    weekdays = forms.TypedMultipleChoiceField(
        label=_("Working days"),
        coerce=int,
        choices=list(WEEKDAYS.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("The calendar needs at least one working day of the week.")},
    )

    def __init__(self, data: QueryDict | None = None, *, row: WorkingTime | None) -> None:
        super().__init__(data)
        self.row, self.sent = row, data if data is not None else QueryDict()
        now = calendar_of(row) if row else Calendar()
        self.fields["seen"].initial = row.pk if row else 0
        self.fields["start_of_day"].initial = now.start_of_day
        self.fields["end_of_day"].initial = now.end_of_day
        self.fields["weekdays"].initial = sorted(now.weekdays)
        for number in BREAKS:
            starts, ends = now.breaks[number - 1] if number <= len(now.breaks) else (None, None)
            for name, label, value in (
                (f"break_{number}_from", _("Break %(number)d from") % {"number": number}, starts),
                (f"break_{number}_to", _("to"), ends),
            ):
                self.fields[name] = forms.TimeField(
                    label=label, widget=TimeInput(), required=False, initial=value
                )
        # What was sent is taken as it is: compared with rows that others have added since, a line could be
        # taken for one left alone and be lost.
        initial = _holidays(row) if data is None else None
        self.holidays = HolidayFormSet(data, prefix="holiday", initial=initial)

    @property
    def breaks(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The fields of each break: from and to."""
        return [(self[f"break_{number}_from"], self[f"break_{number}_to"]) for number in BREAKS]

    def is_valid(self) -> bool:
        # Both, so that everything wrong is said at once.
        return all([super().is_valid(), self.holidays.is_valid()])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for number in BREAKS:
            starts, ends = cleaned.get(f"break_{number}_from"), cleaned.get(f"break_{number}_to")
            if starts and not ends and f"break_{number}_to" not in self.errors:
                self.add_error(f"break_{number}_to", _("Say when the break ends, or empty both."))
            if ends and not starts and f"break_{number}_from" not in self.errors:
                self.add_error(f"break_{number}_from", _("Say when the break starts, or empty both."))
        return cleaned

    def hours(self) -> Hours | None:
        """Return the hours as typed, None where they are the default's."""
        cleaned = self.cleaned_data
        pairs = ((cleaned[f"break_{n}_from"], cleaned[f"break_{n}_to"]) for n in BREAKS)
        breaks = tuple(sorted((starts, ends) for starts, ends in pairs if starts and ends))
        hours = Hours(cleaned["start_of_day"], cleaned["end_of_day"], breaks, frozenset(cleaned["weekdays"]))
        usual = Calendar()
        default = Hours(usual.start_of_day, usual.end_of_day, usual.breaks, usual.weekdays)
        return None if hours == default else hours

    def days_off(self) -> dict[datetime.date, str]:
        """Return the days without work with what each is called."""
        rows = (form.cleaned_data for form in self.holidays.forms)
        return {row["day"]: row["name"] for row in rows if row.get("day")}

    def refuse(self, error: DomainError) -> None:
        """Lay what the takeoff refused beside the field it speaks of."""
        self.add_error(_PLACES.get(error.rule), error.reason.render(gettext))

    def over_theirs(self, error: ValidationError) -> CalendarForm:
        """Return the form for a second try, which then stands over what others have saved since."""
        typed = QueryDict(mutable=True)
        for name, values in self.sent.lists():
            typed.setlist(name, values)
        typed["seen"] = str(self.row.pk if self.row else 0)
        again = CalendarForm(typed, row=self.row)
        again.add_error(None, error)
        return again


def _holidays(row: WorkingTime | None) -> list[dict[str, Any]]:
    return [{"day": one.day, "name": one.name} for one in row.holidays.all()] if row else []


class HolidayForm(forms.Form):
    day = forms.DateField(
        label=_("Day"),
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    name = forms.CharField(label=_("Called"), required=False, max_length=60)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if (
            cleaned.get("name")
            and not cleaned.get("day")
            and "day" not in self.errors
            and not self._was_removed
        ):
            self.add_error("day", _("Which day is “%(name)s”?") % {"name": cleaned["name"]})
        return cleaned

    @property
    def _was_removed(self) -> bool:
        """Whether the date of a known holiday was emptied: that takes it out of the list."""
        return not self.empty_permitted


class _HolidayFormSet(forms.BaseFormSet[HolidayForm]):
    def clean(self) -> None:
        taken: set[datetime.date] = set()
        for form in self.forms:
            day = form.cleaned_data.get("day") if hasattr(form, "cleaned_data") else None
            if day in taken:
                form.add_error("day", _("This day is in the list twice."))
            if day:
                taken.add(day)


HolidayFormSet = forms.formset_factory(HolidayForm, formset=_HolidayFormSet, extra=3, max_num=300)


def opened_calendar(data: QueryDict | None = None) -> CalendarForm:
    """Return the form of the calendar that counts; one that was sent keeps the row it was opened with."""
    return CalendarForm(data, row=working_time())

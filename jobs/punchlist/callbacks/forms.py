"""Forms of callbacks; they check shape, the services the rest. Each carries the key of its one act."""

from __future__ import annotations

import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.forms import KeyedForm
from contracting.staff.models import Role, User
from jobs.work.daily.forms import CostForm, DeliveryForm, HoursForm

from ..forms import day_field, owner_field
from ..models import Callback, Cause

COVERED = [("yes", gettext_lazy("Covered")), ("no", gettext_lazy("Not covered"))]


def _words(label: Any, *, longest: int = 500) -> forms.CharField:
    return forms.CharField(label=label, max_length=longest, widget=forms.Textarea(attrs={"rows": 2}))


class ReportForm(KeyedForm):
    text = _words(gettext_lazy("What was reported"))
    reported_by = forms.CharField(label=gettext_lazy("By whom"), max_length=120)
    reported_on = day_field(gettext_lazy("When"), required=True)
    room_name = forms.ChoiceField(label=gettext_lazy("Room"), required=False)

    def __init__(self, *args: Any, rooms: list[str], today: datetime.date, name: str, **kwargs: Any) -> None:
        kwargs["initial"] = {"reported_on": today, "reported_by": name}
        super().__init__(*args, **kwargs)
        choices = [("", _("the whole job")), *((room, room) for room in dict.fromkeys(rooms))]
        self.fields["room_name"].choices = choices  # type: ignore[attr-defined]


class PlanForm(KeyedForm):
    visitor = owner_field(label=gettext_lazy("Who visits"))
    visit_on = day_field(gettext_lazy("Visit on"), required=True)
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=300)

    def __init__(self, *args: Any, callback: Callback, **kwargs: Any) -> None:
        kwargs["initial"] = {"visitor": callback.visitor_id, "visit_on": callback.visit_on}
        super().__init__(*args, **kwargs)
        people = User.objects.filter(is_active=True, role__in=Role.values)
        self.fields["visitor"].queryset = people.order_by(  # type: ignore[attr-defined]
            "role", "first_name", "username"
        )


class FoundForm(KeyedForm):
    cause = forms.ChoiceField(label=gettext_lazy("Cause"), choices=Cause.choices, widget=forms.RadioSelect)
    text = _words(gettext_lazy("What was found"))
    day = day_field(gettext_lazy("Looked at on"), required=True)

    def __init__(self, *args: Any, callback: Callback, today: datetime.date, **kwargs: Any) -> None:
        kwargs["initial"] = {"cause": callback.cause, "day": today}
        super().__init__(*args, **kwargs)


class DecideForm(KeyedForm):
    is_covered = forms.TypedChoiceField(
        label=gettext_lazy("By the warranty"),
        choices=COVERED,
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label=gettext_lazy("Reason"), required=False, max_length=300)

    def __init__(self, *args: Any, suggested: bool | None, **kwargs: Any) -> None:
        self.suggested = suggested
        kwargs["initial"] = {"is_covered": {True: "yes", False: "no", None: ""}[suggested]}
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        decided = self.cleaned_data.get("is_covered")
        departs = self.suggested is not None and decided in {True, False} and decided != self.suggested
        if departs and not self.cleaned_data.get("reason"):
            self.add_error("reason", _("The terms say otherwise; say why you decide so."))
        return cleaned


class ResolveForm(KeyedForm):
    text = _words(gettext_lazy("What was done"))
    day = day_field(gettext_lazy("Done on"), required=True)

    def __init__(self, *args: Any, today: datetime.date, **kwargs: Any) -> None:
        kwargs["initial"] = {"day": today}
        super().__init__(*args, **kwargs)


class ReopenForm(KeyedForm):
    text = _words(gettext_lazy("What is reported again"))


class CallbackHoursForm(HoursForm):
    """The time spent on a callback; its step is the callback."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["step"]


class CallbackDeliveryForm(DeliveryForm):
    """What a callback took, as a delivery to the job."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["step"]


class CallbackCostForm(CostForm):
    """Any other money a callback cost."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["step"]

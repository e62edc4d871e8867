"""Forms of the punch list; they check shape, the services the rest. Each carries the key of its one act."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.forms import KeyedForm
from contracting.staff.models import User
from estimates.rooms.fields import Length, LengthFormField
from estimates.takeoff.lengths import format_length
from estimates.takeoff.units import System
from jobs.work.daily.forms import step_choices
from jobs.work.models import Job

from .models import PunchItem
from .plans import RoomPlan, share_of
from .selectors import owners_of
from .services import Where


def day_field(label: Any, *, required: bool = False, **more: Any) -> forms.DateField:
    """A day that people pick."""
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=widget, **more)


class _OwnerField(forms.ModelChoiceField[User]):
    def label_from_instance(self, obj: User) -> str:
        return str(obj)


def owner_field(**more: Any) -> forms.ModelChoiceField[User]:
    """Somebody who mends or visits; the form says who can be chosen."""
    return _OwnerField(queryset=User.objects.none(), **more)


class ItemForm(KeyedForm):
    text = forms.CharField(
        label=gettext_lazy("What is to be put right"),
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    room = forms.ChoiceField(label=gettext_lazy("Room"), required=False)
    from_left = LengthFormField(
        label=gettext_lazy("From the left of the plan"), required=False, allow_zero=True
    )
    from_top = LengthFormField(
        label=gettext_lazy("From the top of the plan"), required=False, allow_zero=True
    )
    place = forms.CharField(
        label=gettext_lazy("Where, in words"),
        required=False,
        max_length=120,
        help_text=gettext_lazy("Such as: left of the niche, second course."),
    )
    step = forms.ChoiceField(label=gettext_lazy("Trade step"), required=False)
    owner = owner_field(label=gettext_lazy("Who mends it"), required=False)
    due_on = day_field(gettext_lazy("By which day"))

    def __init__(self, *args: Any, job: Job, user: User, plans: list[RoomPlan], **kwargs: Any) -> None:
        self.plans = {plan.key: plan for plan in plans}
        super().__init__(*args, **kwargs)
        rooms = [(plan.key, plan.name) for plan in plans]
        self.fields["room"].choices = [("", _("the whole job")), *rooms]  # type: ignore[attr-defined]
        self.fields["step"].choices = [("", _("not said")), *step_choices()]  # type: ignore[attr-defined]
        self.fields["owner"].queryset = owners_of(job, user)  # type: ignore[attr-defined]
        self.fields["owner"].empty_label = _("nobody yet")  # type: ignore[attr-defined]
        if not user.sees_money:
            self.fields["owner"].label = _("Who mends it")
        for name in ("from_left", "from_top"):
            self.fields[name].system = System(job.site.units)  # type: ignore[attr-defined]
        if not any(plan.box for plan in plans):
            del self.fields["from_left"], self.fields["from_top"]
        if not rooms:
            del self.fields["room"]
        self.where = Where()

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        plan = self.plans.get(self.cleaned_data.get("room") or "")
        left, top = self.cleaned_data.get("from_left"), self.cleaned_data.get("from_top")
        across = down = None
        if (left is None) != (top is None):
            self.add_error(
                "from_top" if top is None else "from_left",
                _("A place on the plan needs both lengths, or neither."),
            )
        elif left is not None and top is not None:
            if plan is None or plan.box is None:
                self.add_error("room", _("Choose the room whose plan the place is on."))
            else:
                across = self._share("from_left", left, plan, is_across=True)
                down = self._share("from_top", top, plan, is_across=False)
        self.where = Where(
            room_key=plan.key if plan else "",
            room_name=plan.name if plan else "",
            across=across if down is not None else None,
            down=down if across is not None else None,
            place=self.cleaned_data.get("place", ""),
        )
        return cleaned

    def _share(self, name: str, length: Length, plan: RoomPlan, *, is_across: bool) -> int | None:
        whole = plan.width_mm if is_across else plan.depth_mm
        if length.mm > whole:
            said = {"typed": length.typed, "most": format_length(whole, plan.system), "room": plan.name}
            self.add_error(name, _("Read “%(typed)s”: the plan of %(room)s reaches %(most)s.") % said)
            return None
        return share_of(length.mm, whole)

    def act(self) -> dict[str, Any]:
        names = ("key", "text", "step", "owner", "due_on")
        return {name: self.cleaned_data[name] for name in names} | {"where": self.where}


class MendForm(KeyedForm):
    note = forms.CharField(label=gettext_lazy("What was done"), required=False, max_length=300)


class AcceptForm(KeyedForm):
    customer = forms.CharField(
        label=gettext_lazy("Accepted by the customer"),
        required=False,
        max_length=120,
        help_text=gettext_lazy("The customer's name; leave it empty when the office accepts."),
    )


class RejectForm(KeyedForm):
    reason = forms.CharField(label=gettext_lazy("What is still wrong"), max_length=300)


class WithdrawForm(KeyedForm):
    reason = forms.CharField(label=gettext_lazy("Why it comes off the list"), max_length=300)


class AssignForm(KeyedForm):
    owner = owner_field(label=gettext_lazy("Who mends it"), required=False)
    due_on = day_field(gettext_lazy("By which day"))

    def __init__(self, *args: Any, item: PunchItem, user: User, **kwargs: Any) -> None:
        kwargs["initial"] = {"owner": item.owner_id, "due_on": item.due_on}
        super().__init__(*args, **kwargs)
        self.fields["owner"].queryset = owners_of(item.job, user)  # type: ignore[attr-defined]
        self.fields["owner"].empty_label = _("nobody yet")  # type: ignore[attr-defined]


class SignedForm(KeyedForm):
    customer = forms.CharField(label=gettext_lazy("Signed by"), max_length=120)
    note = forms.CharField(
        label=gettext_lazy("Note"),
        required=False,
        max_length=300,
        help_text=gettext_lazy("Such as where the signed paper is kept."),
    )


class OverrideForm(KeyedForm):
    reason = forms.CharField(
        label=gettext_lazy("Reason"), max_length=500, widget=forms.Textarea(attrs={"rows": 3})
    )

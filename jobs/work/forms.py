"""Forms for jobs; they check shape, the services the rest."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from contracting.staff.models import User

from .models import TRANSITIONS, Job, Stage
from .selectors import installers


class SignatureForm(forms.Form):
    """What stands on the signed paper."""

    name = forms.CharField(label=_("Signed by"), max_length=120)
    signed_on = forms.DateField(
        label=_("Signed on"),
        initial=timezone.localdate,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


class PeopleField(forms.ModelMultipleChoiceField[User]):
    """Some of our people, ticked by name."""

    def clean(self, value: Any) -> QuerySet[User]:
        try:
            found: QuerySet[User] = super().clean(value)
        except OverflowError as error:  # a key that no database keeps
            raise ValidationError(
                self.error_messages["invalid_choice"], code="invalid_choice", params={"value": "…"}
            ) from error
        return found

    def label_from_instance(self, obj: User) -> str:
        return obj.get_full_name() or obj.username


class PlanForm(forms.Form):
    """When, who, and what they should know."""

    starts_on = forms.DateField(
        label=_("Starts on"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    crew = PeopleField(
        label=_("Crew"), queryset=User.objects.none(), required=False, widget=forms.CheckboxSelectMultiple
    )
    crew_notes = forms.CharField(
        label=_("Notes for the crew"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["crew"].queryset = installers()  # type: ignore[attr-defined]


class MoveForm(forms.Form):
    """The stage a job goes to next."""

    stage = forms.ChoiceField(label=_("Move to"))
    note = forms.CharField(label=_("Note"), required=False, max_length=300)

    def __init__(self, *args: object, job: Job, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        open_to = TRANSITIONS[Stage(job.stage)]
        order = list(Stage)
        here = order.index(Stage(job.stage))
        # The way ahead stands first, so that one press goes on and never back.
        onward = [stage for stage in order[here + 1 :] if stage != Stage.CANCELLED]
        self.fields["stage"].choices = [  # type: ignore[attr-defined]
            (stage.value, stage.label)
            for stage in [*onward, *order[:here], Stage.CANCELLED]
            if stage in open_to
        ]

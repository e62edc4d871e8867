"""Forms of photos; they check shape, the services the rest."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from . import arrows, subjects
from .gallery import choices
from .models import About, Photo
from .services import Said

ACCEPT = "image/jpeg,image/png,image/heic,image/heif,image/webp,.heic,.heif"


class FilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files; each is looked at on its own, so that a wrong one does not refuse the others."""

    widget = FilesInput

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile[Any]]:
        sent = data if isinstance(data, list | tuple) else [data] if data else []
        return [one for one in sent if isinstance(one, UploadedFile)]


class _AboutField(forms.ChoiceField):
    """Kind and reference in one choice, as ``room:bath``; cleaned to the two."""

    def clean(self, value: Any) -> tuple[About, str]:
        kind, _colon, ref = str(super().clean(value)).partition(":")
        return subjects.checked(kind, ref)

    def valid_value(self, value: str) -> bool:
        # What was offered when the page was opened may have been corrected since; the photo is kept.
        return value.partition(":")[0] in About.values


class SendForm(forms.Form):
    """Photos from a camera or a gallery."""

    # The two fields of files stand for each other; the form asks for one file in either.
    use_required_attribute = False

    key = forms.UUIDField(widget=forms.HiddenInput)
    camera = FilesField(
        label=gettext_lazy("Take a photo"),
        widget=FilesInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    photos = FilesField(
        label=gettext_lazy("Choose photos"),
        help_text=gettext_lazy("JPEG, PNG, HEIC or WebP; several at once."),
        widget=FilesInput(attrs={"accept": ACCEPT, "multiple": True}),
    )
    caption = forms.CharField(label=gettext_lazy("Caption"), max_length=300, required=False)
    about = _AboutField(label=gettext_lazy("Belongs to"))

    def __init__(
        self, *args: Any, known: Sequence[subjects.Subject] = (), about: str = "", **kwargs: Any
    ) -> None:
        kwargs.setdefault("initial", {"key": uuid.uuid4(), "about": about or f"{About.JOB}:"})
        super().__init__(*args, **kwargs)
        _offer(self.fields["about"], known, about)

    def sent(self) -> list[UploadedFile[Any]]:
        """Return every file that came, from either field."""
        return [*self.cleaned_data.get("camera", []), *self.cleaned_data.get("photos", [])]

    def clean(self) -> dict[str, Any]:
        told = super().clean() or self.cleaned_data
        if not self.sent() and not self.errors:
            self.add_error("photos", _("Choose at least one photo."))
        return told

    def said(self) -> Said:
        about, ref = self.cleaned_data["about"]
        return Said(self.cleaned_data["caption"], about, ref)


class DescribeForm(forms.Form):
    """What is said of a photo. Arrows are lines of four numbers; the page draws them on the picture."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    old = forms.IntegerField(widget=forms.HiddenInput)
    caption = forms.CharField(label=gettext_lazy("Caption"), max_length=300, required=False)
    about = _AboutField(label=gettext_lazy("Belongs to"))
    arrows = forms.CharField(
        label=gettext_lazy("Arrows as numbers"),
        required=False,
        max_length=2000,
        help_text=gettext_lazy(
            "A line for each arrow: tail and tip, each in per cent from the left and from the top, such as "
            "10 20 50 60."
        ),
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(
        self, *args: Any, photo: Photo, known: Sequence[subjects.Subject] = (), **kwargs: Any
    ) -> None:
        said = photo.said
        about = f"{said.about_kind}:{said.about_ref}"
        kwargs["initial"] = {
            "key": uuid.uuid4(),
            "old": said.pk,
            "caption": said.caption,
            "about": about,
            "arrows": as_lines(said.arrows),
        }
        super().__init__(*args, **kwargs)
        _offer(self.fields["about"], known, about)

    def clean_arrows(self) -> list[list[int]]:
        return arrows.checked(
            [_arrow(line) for line in self.cleaned_data["arrows"].splitlines() if line.strip()]
        )

    def said(self) -> Said:
        about, ref = self.cleaned_data["about"]
        return Said(self.cleaned_data["caption"], about, ref, self.cleaned_data["arrows"])


class WithdrawForm(forms.Form):
    """Why a photo is taken out of sight."""

    reason = forms.CharField(label=gettext_lazy("Why it is withdrawn"), max_length=300)


def as_lines(drawn: Iterable[Sequence[int]]) -> str:
    """Return arrows as :class:`DescribeForm` reads them.

    >>> as_lines([[1000, 2050, 5000, 6000]])
    '10 20.5 50 60'
    """
    return "\n".join(" ".join(f"{(Decimal(one) / 100).normalize():f}" for one in arrow) for arrow in drawn)


def _arrow(line: str) -> list[int]:
    numbers = line.replace(",", ".").split()
    if len(numbers) != 4 or not all(re.fullmatch(r"[0-9]{1,3}(\.[0-9]+)?", one) for one in numbers):
        raise ValidationError(
            _("Read “%(line)s”: expected four numbers from 0 to 100, such as 10 20 50 60.")
            % {"line": line[:60]}
        )
    return [round(Decimal(one) * 100) for one in numbers]


def _offer(field: forms.Field, known: Sequence[subjects.Subject], now: str) -> None:
    offered: list[Any] = choices(known)
    values = {value for _group, rows in offered for value, _label in rows}
    if now and now not in values:
        # What it belongs to is not offered (any more), and stays.
        kind = now.partition(":")[0]
        offered.append((now, About(kind).label if kind in About.values else now))
    field.choices = offered  # type: ignore[attr-defined]

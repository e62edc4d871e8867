"""The rows of the room page: room, walls, openings, surfaces, fixtures; each checks the shape of its own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from estimates.takeoff.errors import DomainError
from estimates.takeoff.outline import parse_turn
from estimates.takeoff.units import System

from . import choices
from .fields import Length, LengthFormField
from .measured import ZERO, FixtureData, OpeningData, SurfaceData, WallData

MOST_ROWS = 60


class MeasuredForm(forms.Form):
    """A form whose lengths are read in the site's units; ids are linked from messages."""

    def __init__(self, *args: Any, system: System, **kwargs: Any) -> None:
        kwargs.setdefault("use_required_attribute", False)
        super().__init__(*args, **kwargs)
        self.system = system
        for field in self.fields.values():
            if isinstance(field, LengthFormField):
                field.system = system

    def read(self, name: str) -> Length:
        """Return a cleaned offset, zero when nothing was typed."""
        found: Length | None = self.cleaned_data.get(name)
        return found or ZERO


class RoomForm(MeasuredForm):
    name = forms.CharField(
        label=_("Room"), max_length=80, error_messages={"required": _("The room needs a name.")}
    )
    height = LengthFormField(
        label=_("Ceiling height"), error_messages={"required": _("The room needs its ceiling height.")}
    )
    outline_text = forms.CharField(label=_("Walk the walls"), max_length=500, required=False)
    notes = forms.CharField(
        label=_("Notes"), required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 2})
    )
    # What the line said when the rows below were last made from it: tells which of the two was edited.
    line_read = forms.CharField(required=False, widget=forms.HiddenInput)
    revision = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)

    def __init__(self, *args: Any, system: System, **kwargs: Any) -> None:
        super().__init__(*args, system=system, **kwargs)
        example = "8' 5' 8' 5'" if system is System.INCH else "2.4 m, 1.5 m, 2.4 m, 1.5 m"
        self.fields["outline_text"].widget.attrs.update(
            {"autocomplete": "off", "spellcheck": "false", "placeholder": example}
        )
        self.fields["name"].widget.attrs.update({"autocomplete": "off"})


class WallForm(MeasuredForm):
    length = LengthFormField(label=_("length"), required=False)
    turn = forms.CharField(label=_("turn"), required=False, max_length=12)
    height = LengthFormField(label=_("height"), required=False)

    def clean_turn(self) -> int:
        try:
            return int(parse_turn(self.cleaned_data["turn"]) * 1000)
        except DomainError as error:
            raise ValidationError(error.reason.render(gettext)) from error

    @property
    def is_blank(self) -> bool:
        return not any(str(self[name].value() or "").strip() for name in ("length", "height"))

    @property
    def number(self) -> int:
        """Return the wall's number, from its place among the rows."""
        return int(str(self.prefix).rpartition("-")[2]) + 1

    def data_of(self) -> WallData:
        return WallData(self.read("length"), self.cleaned_data["turn"], self.cleaned_data["height"])


class WallNumberField(forms.IntegerField):
    """A wall, by its number."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", _("Wall"))
        super().__init__(min_value=1, max_value=200, widget=forms.TextInput, **kwargs)
        self.widget.attrs.update({"inputmode": "numeric", "autocomplete": "off", "size": "3"})
        self.error_messages["invalid"] = _("Write the number of a wall, such as 2.")


class KeyedForm(MeasuredForm):
    """A row that keeps its key over saves and can be removed."""

    key = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    SHOWN: Mapping[str, tuple[str, ...]] = {}

    @property
    def measurements(self) -> list[tuple[forms.BoundField, str]]:
        """Return the fields that only some kinds need, with the classes that name those kinds."""
        names = dict.fromkeys(name for shown in self.SHOWN.values() for name in shown)
        return [
            (
                self[name],
                " ".join(
                    f"for-{kind.replace(' ', '-')}" for kind, shown in self.SHOWN.items() if name in shown
                ),
            )
            for name in names
        ]

    def typed_text(self, name: str) -> str:
        """Return what a field shows, as text."""
        value = self[name].value()
        return value.typed if isinstance(value, Length) else str(value if value is not None else "").strip()

    def choice_text(self, name: str) -> str:
        """Return the words of the choice made in a field."""
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        words = dict(_flat(field.choices))
        return str(words.get(self.typed_text(name), ""))

    @property
    def kind_text(self) -> str:
        return self.choice_text("kind")

    @property
    def is_blank(self) -> bool:
        """Whether nothing at all was posted in the row; Django leaves such a row unread."""
        return not self.has_changed()

    @property
    def is_removed(self) -> bool:
        return bool(self.is_bound and self.data.get(self.add_prefix("DELETE")))

    def kind_value(self) -> str:
        """Return the kind chosen, from what was typed or what was stored."""
        return str(self["kind"].value() or "")

    def forget_hidden(self, kind: str) -> None:
        """Drop faults of measurements that this kind does not have; the page does not show them."""
        shown = self.SHOWN.get(kind)
        every = {name for names in self.SHOWN.values() for name in names}
        for name in every.difference(shown) if shown else ():
            self.errors.pop(name, None)
            self.cleaned_data.setdefault(name, None)

    def need(self, *names: str) -> None:
        """Say beside each of the fields that nothing was typed there."""
        for name in names:
            if name not in self.errors and not self.cleaned_data.get(name):
                self.add_error(name, _("A length above zero was expected here."))


class OpeningForm(KeyedForm):
    kind = forms.ChoiceField(label=_("Opening"), choices=choices.OpeningKind.choices)
    wall = WallNumberField()
    along = LengthFormField(label=_("From the wall's start"), required=False, allow_zero=True)
    width = LengthFormField(label=_("Width"))
    height = LengthFormField(label=_("Height"))
    base = LengthFormField(label=_("Sill above the floor"), required=False, allow_zero=True)

    SHOWN: Mapping[str, tuple[str, ...]] = {
        "door": ("wall", "along", "width", "height"),
        "passage": ("wall", "along", "width", "height"),
        "window": ("wall", "along", "width", "height", "base"),
    }

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        self.forget_hidden(typed.get("kind", ""))
        return typed

    @property
    def said(self) -> str:
        """Return the opening in one line: ``30″ wide, wall 3``."""
        return _joined(self.typed_text("width"), _at_wall(self.typed_text("wall")))

    def data_of(self) -> OpeningData:
        typed = self.cleaned_data
        return OpeningData(
            kind=typed["kind"],
            wall=typed["wall"],
            along=self.read("along"),
            width=typed["width"],
            height=typed["height"],
            base=self.read("base") if typed["kind"] == "window" else ZERO,
            key=typed["key"],
        )


class WallsField(forms.CharField):
    """Numbers of walls, such as ``1, 2`` or ``1-3``; cleans to a tuple."""

    def clean(self, value: Any) -> tuple[int, ...]:
        text = super().clean(value)
        numbers: list[int] = []
        for part in re.split(r"[\s,;]+", text.strip()):
            found = re.fullmatch(r"(\d{1,3})(?:[-–](\d{1,3}))?", part)
            if not part:
                continue
            if not found:
                raise ValidationError(
                    gettext("“%(text)s”: numbers of walls were expected, such as 1, 2 or 1-3.")
                    % {"text": text[:60]}
                )
            first, last = int(found[1]), int(found[2] or found[1])
            numbers += [number for number in range(first, last + 1) if number not in numbers]
        return tuple(numbers)

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(str(one) for one in value) if isinstance(value, list | tuple) else value


class SurfaceForm(KeyedForm):
    kind = forms.ChoiceField(label=_("Surface"), choices=choices.SurfaceKind.choices)
    name = forms.CharField(label=_("Name"), max_length=80, required=False)
    substrate = forms.ChoiceField(label=_("Substrate"), choices=choices.Substrate.choices)
    condition = forms.ChoiceField(label=_("Condition"), choices=choices.Condition.choices)
    exposure = forms.ChoiceField(label=_("Use"), choices=choices.Exposure.choices)
    walls = WallsField(label=_("Walls"), required=False, max_length=60)
    along = LengthFormField(label=_("From the wall's start"), required=False, allow_zero=True)
    away = LengthFormField(label=_("From the wall"), required=False, allow_zero=True)
    base = LengthFormField(label=_("Starts above the floor"), required=False, allow_zero=True)
    length = LengthFormField(label=_("Length"), required=False)
    depth = LengthFormField(label=_("Depth"), required=False)
    height = LengthFormField(label=_("Height"), required=False)
    membrane = forms.BooleanField(label=_("Membrane"), required=False)
    new_board = forms.BooleanField(label=_("New backer board"), required=False)
    remove = forms.ChoiceField(label=_("To be removed"), choices=choices.Covering.choices)
    levelling = LengthFormField(label=_("Mean levelling depth"), required=False, allow_zero=True)
    method = forms.ChoiceField(label=_("Bonded with"), choices=choices.BondMethod.choices)

    SHOWN: Mapping[str, tuple[str, ...]] = {
        "floor": ("levelling",),
        "wall": ("walls", "along", "length", "base", "height"),
        "shower floor": ("walls", "along", "away", "length", "depth", "levelling"),
        "bench": ("walls", "along", "length", "depth", "height"),
        "curb": ("walls", "along", "away", "length", "depth", "height"),
        "niche": ("walls", "along", "base", "length", "height", "depth"),
        "counter": ("walls", "along", "length", "depth", "height"),
        "backsplash": ("walls", "along", "base", "length", "height"),
        "knee wall": ("walls", "along", "away", "length", "depth", "height"),
        "column": ("walls", "along", "away", "length", "depth", "height"),
        "return": ("walls", "along", "base", "length", "height", "depth"),
    }
    NEEDED: Mapping[str, tuple[str, ...]] = {
        "bench": ("length", "depth", "height"),
        "curb": ("length", "depth", "height"),
        "niche": ("length", "height", "depth"),
        "counter": ("length", "depth", "height"),
        "backsplash": ("height",),
        "knee wall": ("length", "depth", "height"),
        "column": ("length", "depth"),
        "return": ("length", "height", "depth"),
    }
    FROM_A_WALL = frozenset({"wall", "bench", "curb", "niche", "knee wall", "column", "return"})

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        kind = typed.get("kind", "")
        self.forget_hidden(kind)
        self.need(*self.NEEDED.get(kind, ()))
        if kind in self.FROM_A_WALL and "walls" not in self.errors and not typed.get("walls"):
            self.add_error("walls", _("Write the number of a wall, such as 2."))
        if not (typed.get("name") or "").strip() and kind:
            typed["name"] = str(choices.SurfaceKind(kind).label)
        return typed

    @property
    def said(self) -> str:
        """Return the surface in one line, without what goes without saying: ``plywood, wet``."""
        return _joined(
            self.choice_text("substrate"),
            "" if self.typed_text("condition") == "smooth" else self.choice_text("condition"),
            self.choice_text("exposure"),
            "" if self["membrane"].value() in (True, "on") else gettext("no membrane"),
        )

    def data_of(self) -> SurfaceData:
        typed = self.cleaned_data
        shown = self.SHOWN[typed["kind"]]

        def kept(name: str) -> Length | None:
            # A measurement of another kind, hidden on the page, does not count.
            return typed[name] if name in shown else None

        return SurfaceData(
            kind=typed["kind"],
            name=typed["name"],
            substrate=typed["substrate"],
            condition=typed["condition"],
            exposure=typed["exposure"],
            walls=typed["walls"] if "walls" in shown else (),
            along=kept("along") or ZERO,
            away=kept("away") or ZERO,
            base=kept("base") or ZERO,
            length=kept("length"),
            depth=kept("depth"),
            height=kept("height"),
            membrane=typed["membrane"],
            new_board=typed["new_board"],
            remove=typed["remove"],
            levelling=kept("levelling") or ZERO,
            method=typed["method"],
            key=typed["key"],
        )


class FixtureForm(KeyedForm):
    kind = forms.ChoiceField(label=_("Fixture"), choices=choices.FixtureKind.choices)
    wall = WallNumberField(required=False)
    along = LengthFormField(label=_("From the wall's start"), required=False, allow_zero=True)
    away = LengthFormField(label=_("From the wall"), required=False, allow_zero=True)
    base = LengthFormField(label=_("Above the floor"), required=False, allow_zero=True)
    diameter = LengthFormField(label=_("Diameter"), required=False)
    length = LengthFormField(label=_("Length along the wall"), required=False)
    depth = LengthFormField(label=_("Depth"), required=False)
    surface = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    SHOWN: Mapping[str, tuple[str, ...]] = {
        "flange": ("wall", "along", "away", "diameter"),
        "drain": ("wall", "along", "away", "diameter"),
        "pipe": ("wall", "along", "away", "base", "diameter"),
        "tub": ("wall", "along", "away", "length", "depth"),
        "cabinet": ("wall", "along", "away", "length", "depth"),
        "mixer": ("wall", "along", "base", "diameter"),
        "spout": ("wall", "along", "base", "diameter"),
        "sink": ("along", "away", "length", "depth"),
    }

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        kind = typed.get("kind", "")
        self.forget_hidden(kind)
        self.need(*(name for name in ("diameter", "length", "depth") if name in self.SHOWN.get(kind, ())))
        if kind and kind != "sink" and "wall" not in self.errors and not typed.get("wall"):
            self.add_error("wall", _("Write the number of a wall, such as 2."))
        return typed

    @property
    def said(self) -> str:
        """Return the fixture in one line: ``60″ × 30″, wall 2``."""
        shown = self.SHOWN.get(self.kind_value(), ())
        sizes = [self.typed_text(name) for name in ("diameter", "length", "depth") if name in shown]
        return _joined(
            " × ".join(size for size in sizes if size),
            _at_wall(self.typed_text("wall")) if "wall" in shown else "",
        )

    def data_of(self) -> FixtureData:
        typed = self.cleaned_data
        shown = self.SHOWN[typed["kind"]]

        def kept(name: str) -> Any:
            return typed[name] if name in shown else None

        return FixtureData(
            kind=typed["kind"],
            wall=kept("wall"),
            along=kept("along") or ZERO,
            away=kept("away") or ZERO,
            base=kept("base") or ZERO,
            diameter=kept("diameter"),
            length=kept("length"),
            depth=kept("depth"),
            surface=typed["surface"],
            key=typed["key"],
        )


def _flat(choices_given: Any) -> list[tuple[str, Any]]:
    return [(str(value), words) for value, words in choices_given]


WallSet = forms.formset_factory(WallForm, extra=0, absolute_max=400, max_num=200)
OpeningSet = forms.formset_factory(OpeningForm, extra=0, can_delete=True, absolute_max=200, max_num=MOST_ROWS)
SurfaceSet = forms.formset_factory(SurfaceForm, extra=0, can_delete=True, absolute_max=200, max_num=MOST_ROWS)
FixtureSet = forms.formset_factory(FixtureForm, extra=0, can_delete=True, absolute_max=200, max_num=MOST_ROWS)


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def _at_wall(number: str) -> str:
    return gettext("wall %(number)s") % {"number": number} if number else ""

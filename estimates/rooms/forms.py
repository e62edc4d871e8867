"""The room page's forms together. They check shape; whether the room is possible is for the takeoff to say.

A room is one :class:`RoomForm` and four sets of rows. :class:`RoomForms` holds them together, keeps the
line and the rows of walls in step, and lays the core's refusals beside the fields they speak of.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from contracting.customers.models import Site
from estimates.takeoff.errors import DomainError
from estimates.takeoff.outline import turn_text
from estimates.takeoff.units import System

from . import choices, starters, walk
from .fields import Length
from .measured import FixtureData, OpeningData, RoomData, SurfaceData
from .rows import (
    MOST_ROWS,
    FixtureForm,
    FixtureSet,
    OpeningForm,
    OpeningSet,
    RoomForm,
    SurfaceForm,
    SurfaceSet,
    WallForm,
    WallSet,
)
from .selectors import system_of

Row = TypeVar("Row", OpeningData, SurfaceData, FixtureData)


class RoomForms:
    """Everything on the room page, bound to what was typed, or showing what is stored.

    Args:
        site: decides the units.
        typed: what was posted, or None.
        initial: the room to show when nothing was posted.
        revision: of the room that is edited; 0 for a new one.
    """

    SETS = ("walls", "openings", "surfaces", "fixtures")
    walls: forms.BaseFormSet[WallForm]
    openings: forms.BaseFormSet[OpeningForm]
    surfaces: forms.BaseFormSet[SurfaceForm]
    fixtures: forms.BaseFormSet[FixtureForm]

    def __init__(
        self,
        site: Site,
        typed: QueryDict | None = None,
        *,
        initial: RoomData | None = None,
        revision: int = 0,
    ) -> None:
        self.site = site
        self.system = system_of(site)
        self.walk: walk.Walk | None = None
        fields = None
        if typed is not None:
            fields = typed.copy()
            self.walk = walk.keep_in_step(fields, self.system)
        self.typed = fields
        # Rows that were posted stand for themselves: compared with what is stored, one that was left alone
        # would count as empty.
        shown = _shown(initial if typed is None else None, self.system, revision)
        self.room = RoomForm(fields, initial=shown["room"], system=self.system)
        for name, rows in (
            ("walls", WallSet),
            ("openings", OpeningSet),
            ("surfaces", SurfaceSet),
            ("fixtures", FixtureSet),
        ):
            made = rows(fields, prefix=name, initial=shown[name], form_kwargs={"system": self.system})
            setattr(self, name, made)
        self.refusals: list[DomainError] = []
        self.walk_refusal: tuple[str, str, str] | None = None
        self._data: RoomData | None = None

    # --- Reading ------------------------------------------------------------------------------------------

    def rows(self, name: str) -> Iterator[Any]:
        """Yield the rows of a set that are filled in and not ticked for removal."""
        for form in getattr(self, name).forms:
            if form.is_blank or (name != "walls" and form.is_removed):
                continue
            yield form

    def is_valid(self) -> bool:
        """Whether everything could be read; lays what is wrong beside its field."""
        good = self.room.is_valid()
        if self.walk and self.walk.error:
            self.room.add_error("outline_text", self.walk.error.reason.render(gettext))
            good = False
        for name in self.SETS:
            rows = getattr(self, name)
            rows.is_valid()
            if rows.non_form_errors():
                good = False
            for form in rows.forms:
                if form.is_blank:
                    continue
                if name == "walls" and not form.cleaned_data.get("length") and "length" not in form.errors:
                    form.add_error("length", _("A length above zero was expected here."))
                if form.errors and not (name != "walls" and form.is_removed):
                    good = False
        return good

    def data(self) -> RoomData:
        """Return what was typed as plain values; call only after :meth:`is_valid` said yes."""
        typed = self.room.cleaned_data
        surfaces = tuple(form.data_of() for form in self.rows("surfaces"))
        keys = {one.key for one in surfaces}
        fixtures = (form.data_of() for form in self.rows("fixtures"))
        return RoomData(
            name=typed["name"],
            height=typed["height"],
            outline_text=typed["outline_text"],
            notes=typed["notes"],
            walls=tuple(form.data_of() for form in self.rows("walls")),
            openings=tuple(form.data_of() for form in self.rows("openings")),
            surfaces=surfaces,
            fixtures=tuple(_free_of(one, keys) for one in fixtures),
        )

    def partial_data(self) -> RoomData:
        """Return whatever could be read, for the drawing while somebody types; faulty rows are left out."""
        typed = getattr(self.room, "cleaned_data", {})
        default = starters.usual_height(self.system)
        walls = []
        for form in self.rows("walls"):
            if form.errors or not form.cleaned_data.get("length"):
                break
            walls.append(form.data_of())
        return RoomData(
            name=typed.get("name") or "",
            height=typed.get("height") or default,
            walls=tuple(walls),
            openings=tuple(_readable(self.rows("openings"))),
            surfaces=tuple(_readable(self.rows("surfaces"))),
            fixtures=tuple(_readable(self.rows("fixtures"))),
        )

    @property
    def wall_rows(self) -> list[WallForm]:
        """Return the rows of walls to show: those there are, and an empty one to go on with."""
        rows = list(self.walls.forms)
        if not rows or not rows[-1].is_blank:
            rows.append(WallForm(prefix=f"walls-{len(rows)}", system=self.system))
        height = self.room["height"].value()
        for row in rows:
            # What an empty cell stands for.
            row.fields["height"].widget.attrs["placeholder"] = (
                height.typed if isinstance(height, Length) else str(height or "")
            )
            row.fields["turn"].widget.attrs["placeholder"] = "R"
            for field in row.fields.values():
                said = {"number": row.number, "what": field.label}
                field.widget.attrs["aria-label"] = gettext("Wall %(number)d, %(what)s") % said
        return rows

    @property
    def wall_total(self) -> int:
        return len(self.wall_rows)

    # --- Refusals of the core -----------------------------------------------------------------------------

    def refuse(self, error: DomainError) -> None:
        """Lay a refusal beside the field its place names, or at the top when it names none."""
        self.refusals.append(error)
        sentence = error.reason.render(gettext)
        form, field = self._at(error.place)
        if error.rule.startswith("walk."):
            # The sentence stands under the walls already; the field is marked and points to it.
            form, field = (form, field) if form and field in form.fields else (self.room, "outline_text")
            form.fields[field].widget.attrs.update(
                {"aria-invalid": "true", "aria-describedby": "part-closure"}
            )
            self.walk_refusal = (form[field].id_for_label, "", sentence)
        elif form is None:
            self.room.add_error(None, sentence)
        elif field in form.fields:
            form.add_error(field, sentence)
        else:
            form.add_error(None, sentence)

    def _at(self, place: str) -> tuple[forms.Form | None, str]:
        found = re.match(r"(walls|openings|surfaces|fixtures)\[(\d+)\]\.?(\w*)", place)
        if found:
            rows = list(self.rows(found[1]))
            at = int(found[2])
            other = {"wall": "walls"} if found[1] == "surfaces" else {"walls": "wall"}
            field = other.get(found[3], found[3])
            return (rows[at], field) if at < len(rows) else (None, "")
        return (self.room, place) if place in self.room.fields else (None, "")

    def problems(self) -> list[tuple[str, str, str]]:
        """Return (id of the field, its label, what is wrong), in the order of the page."""
        found: list[tuple[str, str, str]] = [
            (
                self.room[name].id_for_label if name in self.room.fields else "room-form",
                _label(self.room, name),
                str(text),
            )
            for name, texts in self.room.errors.items()
            for text in texts
        ]
        if self.walk_refusal:
            found.append(self.walk_refusal)
        for name in self.SETS:
            rows = getattr(self, name)
            found += [("room-form", "", str(text)) for text in rows.non_form_errors()]
            for number, form in enumerate(rows.forms, 1):
                if form.is_blank or (name != "walls" and form.is_removed):
                    continue
                for field, texts in form.errors.items():
                    target = form[field].id_for_label if field in form.fields else f"{form.prefix}-row"
                    found += [(target, _row_label(name, form, number, field), str(text)) for text in texts]
        return found

    def forget_missing(self) -> None:
        """Take back what is said of fields that nobody has come to yet."""
        for name in ("openings", "surfaces", "fixtures"):
            for form in getattr(self, name).forms:
                for field in [one for one in form.errors if one in form.fields and not form.typed_text(one)]:
                    del form.errors[field]

    def is_typed(self, field_id: str) -> bool:
        """Whether anything was typed in the field with that id."""
        name = field_id.removeprefix("id_")
        return bool(self.typed is not None and (self.typed.get(name) or "").strip())

    # --- Adding and removing rows -------------------------------------------------------------------------

    def add_row(self, name: str, values: Mapping[str, str]) -> None:
        """Put one more row into what was typed; the forms must be made anew from :attr:`typed`."""
        if self.typed is None or name not in self.SETS:
            return
        total = self.typed.get(f"{name}-TOTAL_FORMS") or "0"
        at = int(total) if total.isdecimal() else 0
        if at >= MOST_ROWS:
            return
        self.typed[f"{name}-TOTAL_FORMS"] = str(at + 1)
        for field, value in values.items():
            self.typed[f"{name}-{at}-{field}"] = value


def _free_of(fixture: FixtureData, keys: set[str]) -> FixtureData:
    return fixture if not fixture.surface or fixture.surface in keys else replace(fixture, surface="")


def _readable(rows: Iterable[Any]) -> Iterator[Any]:
    for form in rows:
        if not form.errors:
            yield form.data_of()


def _label(form: forms.Form, name: str) -> str:
    return str(form.fields[name].label or "") if name in form.fields else ""


def _row_label(rows: str, form: Any, number: int, field: str) -> str:
    if rows == "walls":
        row = gettext("Wall %(number)d") % {"number": number}
    elif rows == "surfaces":
        row = str(form["name"].value() or "") or str(
            dict(choices.SurfaceKind.choices).get(form.kind_value(), "")
        )
    else:
        kinds = choices.OpeningKind if rows == "openings" else choices.FixtureKind
        row = f"{dict(kinds.choices).get(form.kind_value(), '')} {number}"
    label = _label(form, field)
    return f"{row}, {label}" if label else row


def _shown(data: RoomData | None, system: System, revision: int) -> dict[str, Any]:
    """Return the forms' initial values for a stored room, or for a new one."""
    if data is None:
        usual = starters.usual_height(system)
        return {"room": {"height": usual, "revision": 0}, **{name: [] for name in RoomForms.SETS}}
    room = {
        "name": data.name,
        "height": data.height,
        "outline_text": data.outline_text,
        "line_read": data.outline_text,
        "notes": data.notes,
        "revision": revision,
    }
    walls = [
        {
            "length": wall.length,
            "turn": turn_text(walk.degrees(wall.turn_millidegrees)),
            "height": wall.height,
        }
        for wall in data.walls
    ]
    return {
        "room": room,
        "walls": walls,
        "openings": [_values(one) for one in data.openings],
        "surfaces": [_values(one) for one in data.surfaces],
        "fixtures": [_values(one) for one in data.fixtures],
    }


def _values(row: OpeningData | SurfaceData | FixtureData) -> dict[str, Any]:
    return {name: getattr(row, name) for name in row.__dataclass_fields__}


_FORMS: Mapping[str, type[forms.Form]] = {
    "walls": WallForm,
    "openings": OpeningForm,
    "surfaces": SurfaceForm,
    "fixtures": FixtureForm,
}
_ROWS = {"walls": _("Wall"), "openings": _("Opening"), "surfaces": _("Surface"), "fixtures": _("Fixture")}


def field_words(place: str) -> str:
    """Return what people call a place in a room: ``surfaces[1].depth`` is "Surface 2, Depth"."""
    found = re.match(r"(\w+)\[(\d+)\](?:\.(\w+))?", place)
    if not found:
        return _label(RoomForm(system=System.INCH), place) or place
    row = f"{_ROWS[found[1]]} {int(found[2]) + 1}"
    name = {"turn_millidegrees": "turn"}.get(found[3] or "", found[3] or "")
    fields = _FORMS[found[1]].base_fields
    return f"{row}, {fields[name].label}" if name in fields else row


def count_words(rows: int) -> str:
    """Return how many problems there are, for the summary at the top."""
    return ngettext("%(count)d thing to mend", "%(count)d things to mend", rows) % {"count": rows}

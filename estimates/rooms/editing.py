"""What the room page does with what was typed: draw it, add a row, lay out a starter set, or store it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from django.http import QueryDict
from django.urls import reverse

from contracting.customers.models import Site
from contracting.staff.models import User
from estimates.practice.selectors import company_settings
from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.units import System

from . import choices, selectors, services
from .forms import RoomForms, count_words, field_words
from .measured import RoomData, core_room
from .models import Room
from .page import NARROW_MM, WIDE_MM, Closure, Shown, show_room
from .starters import STARTERS, starter, usual_height, usual_row

KINDS = {
    "openings": choices.OpeningKind,
    "surfaces": choices.SurfaceKind,
    "fixtures": choices.FixtureKind,
}


@dataclass
class Outcome:
    """*saved*: the room, when it was stored; else *context* for the page."""

    saved: Room | None = None
    context: dict[str, Any] = field(default_factory=dict)


def act(forms: RoomForms, room: Room | None, site: Site, by: User, posted: QueryDict) -> Outcome:
    """Do what the pressed button says; without a known button, store."""
    if forms.typed is None:
        return Outcome(context=_context(forms, _shown_initial(forms, room)))
    if "draw" in posted:
        return Outcome(context=_context(forms, draw(forms)))
    if "add" in posted:
        return _again(_with_row(forms, posted.get("add", "")), site)
    if "starter" in posted:
        return _again(_with_starter(forms, posted.get("starter", "")), site)
    return _store(forms, room, site, by)


def _again(forms: RoomForms, site: Site) -> Outcome:
    fresh = RoomForms(site, forms.typed)
    shown = draw(fresh)
    # Adding a row asks for nothing to be complete yet.
    fresh.forget_missing()
    context = _context(fresh, shown)
    context["problems"] = []
    return Outcome(context=context)


def _with_row(forms: RoomForms, which: str) -> RoomForms:
    name, _sep, kind = which.partition(":")
    if name in KINDS and kind in KINDS[name].values:
        forms.add_row(name, new_row(name, kind, forms.system))
    return forms


# Upright and not wet of themselves; board is what they usually are.
UPRIGHT = frozenset({"wall", "knee wall", "column", "return"})


def new_row(name: str, kind: str, system: System) -> dict[str, str]:
    """Return a fresh row's usual choices and measurements, as typed."""
    sizes = usual_row(name, kind, system)
    if name != "surfaces":
        return {"kind": kind, **sizes}
    wet = kind in {"shower floor", "bench", "curb", "niche"}
    return {
        "kind": kind,
        "name": str(choices.SurfaceKind(kind).label),
        "substrate": "cement board" if wet or kind in UPRIGHT else "plywood",
        "condition": "smooth",
        "exposure": "wet" if wet else "dry",
        "membrane": "on",
        "remove": "nothing",
        "method": "acrylic bonding agent",
        **sizes,
    }


def _with_starter(forms: RoomForms, name: str) -> RoomForms:
    forms.is_valid()
    made = starter(name, forms.partial_data().walls, forms.system)
    for rows in ("openings", "surfaces", "fixtures"):
        for typed in getattr(made, rows):
            forms.add_row(rows, typed)
    return forms


def draw(forms: RoomForms) -> Shown:
    """Return the room as far as it can be read, and lay beside the fields what is wrong with it."""
    is_complete = forms.is_valid()
    data = forms.partial_data()
    shown = show_room(core_room(data, "room"), forms.system, company_settings())
    # A half-read room would be refused for what is only not typed yet.
    if is_complete and shown.error and not shown.error.rule.startswith("walk."):
        forms.refuse(shown.error)
    return shown


# The rows still hold what was read last, and the plan is drawn from them.
_NOT_READ = gettext_noop("The line cannot be read as it is; the plan shows what was read last.")


def live(forms: RoomForms, width: str) -> dict[str, Any]:
    """Return the context of the live answer: drawing, walls, closure, and what is wrong where typed."""
    shown = draw(forms)
    if forms.walk and forms.walk.error:
        shown = replace(shown, closure=Closure("wait", phrase(_NOT_READ)))
    rows = forms.wall_rows
    line_led = bool(forms.walk and forms.walk.led == "line" and not forms.walk.error)
    return {
        "forms": forms,
        # Rows that lead stand on the page already; only the empty one after them may be missing.
        "wall_rows": rows if line_led else rows[-1:],
        "shown": shown,
        "drawing": shown.drawing(_width_mm(width), "plan-live") if shown.has_drawing else "",
        "problems": [one for one in forms.problems() if forms.is_typed(one[0])],
        "replace_walls": line_led,
    }


def _width_mm(text: str) -> float:
    """Return the width of the drawing's column, told by the browser in CSS millimetres, within reason."""
    whole = text.partition(".")[0]
    return float(min(max(int(whole), 80), 260)) if whole.isdecimal() and len(whole) < 5 else WIDE_MM


def _store(forms: RoomForms, room: Room | None, site: Site, by: User) -> Outcome:
    if not forms.is_valid():
        return Outcome(context=_context(forms, _drawn(forms)))
    data = forms.data()
    try:
        saved = services.room_save(
            room=room,
            site=site,
            data=data,
            by=by,
            expected_revision=forms.room.cleaned_data["revision"] or 0,
        )
    except services.RoomChangedError as error:
        return _changed(forms, error, data)
    except DomainError as error:
        forms.refuse(error)
        return Outcome(context=_context(forms, _drawn(forms)))
    return Outcome(saved=saved)


def _changed(forms: RoomForms, error: services.RoomChangedError, data: Any) -> Outcome:
    """Show both versions; the next save is made knowingly over the stored one."""
    current: Room = error.facts["room"]
    differences = [
        {"label": field_words(one.place), "saved": one.saved, "typed": one.typed}
        for one in selectors.differences(selectors.room_data(current), data)
    ]
    if forms.typed is not None:
        forms.typed["revision"] = str(current.revision)
    fresh = RoomForms(forms.site, forms.typed)
    context = _context(fresh, draw(fresh))
    context["changed"] = {"sentence": error.reason, "differences": differences, "room": current}
    return Outcome(context=context)


# Not "no walls": something was typed, and its fault stands beside it.
_NOTHING_READ = gettext_noop("The plan is drawn once the first wall can be read.")


def _drawn(forms: RoomForms) -> Shown:
    """Return the room as far as it can be read; a walk that makes no room is said among the other faults."""
    shown = show_room(core_room(forms.partial_data(), "room"), forms.system, company_settings())
    all_read = not any(form.errors for form in forms.rows("walls"))
    if not shown.room.legs and (not all_read or forms.room.errors.get("outline_text")):
        shown = replace(shown, closure=Closure("wait", phrase(_NOTHING_READ)))
    if shown.error and shown.error.rule.startswith("walk.") and all_read and not forms.refusals:
        forms.refuse(shown.error)
    return shown


def _shown_initial(forms: RoomForms, room: Room | None) -> Shown:
    data = selectors.room_data(room) if room else RoomData(name="", height=usual_height(forms.system))
    return show_room(core_room(data, "room"), forms.system, company_settings())


def _context(forms: RoomForms, shown: Shown) -> dict[str, Any]:
    problems = forms.problems() if forms.typed is not None else []
    return {
        "forms": forms,
        "shown": shown,
        "problems": problems,
        "problem_count": count_words(len(problems)),
        "starters": [(name, label) for name, (label, _make) in STARTERS.items()],
        "adders": {name: kinds.choices for name, kinds in KINDS.items()},
        "narrow_mm": NARROW_MM,
    }


def after_save(room: Room, estimate: str) -> str:
    """Return where to go: to the room, which keeps the way back to the estimate it was measured for."""
    return with_estimate("rooms:room", room, estimate)


def with_estimate(url_name: str, room: Room, estimate: str) -> str:
    """Return an address of *room* that still knows of the estimate, as its own address named it."""
    address = reverse(url_name, args=[room.pk])
    return f"{address}?estimate={estimate}" if estimate.isdecimal() else address

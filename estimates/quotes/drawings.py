"""The drawings that an issued quote freezes: plans for the paper, faces and rolls for the crew. SVG text."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext

from estimates.rooms.drawing import (
    BATCHED,
    MEASURED,
    MEMBRANE,
    TILED,
    Layer,
    extent,
    face_svg,
    outline_for,
    outline_of,
    paper_scale,
    plan_svg,
    roll_svg,
)
from estimates.takeoff import model
from estimates.takeoff.result import Face, RoomTakeoff
from estimates.takeoff.units import System

from .calculation import Calculation

# The space for one upright face on the crew's paper, mm.
FACE_SPACE_MM = (84.0, 84.0)
AROUND_FACE_MM = 12
# Small faces, such as the sides of a niche, are drawn no larger than this: 1 in = 16 in, 1:20.
LARGEST_FACE_SCALE = {System.INCH: 16, System.METRIC: 20}
# Batches are drawn without dimensions, several to a row.
BATCH_SPACE_MM = (110.0, 70.0)
AROUND_BATCH_MM = 4
# The space for one plan on either paper, mm: alone on its page, or two to a page. AROUND is what dimensions
# and their figures take on each side.
PLAN_SPACE_MM = (174.0, 120.0)
SHARED_SPACE_MM = (174.0, 92.0)
AROUND_MM = 22
NARROW_MM = 92.0
# What the plan shows already.
ON_PLAN = frozenset({model.SurfaceKind.FLOOR, model.SurfaceKind.SHOWER_FLOOR})


def room_plans(found: Calculation) -> dict[str, dict[str, Any]]:
    """Return every room's plans by its key: ``measured``, ``membrane`` (``narrow``: for a phone), ``tiled``,
    ``batched``, ``scale``.

    All but the scale are SVG; ``batched`` is missing where nothing is bonded.
    """
    if found.given is None or found.takeoff is None:
        return {}
    rooms = zip(found.given.room_set.rooms, found.takeoff.rooms, strict=True)
    return {room.key: _plans(room, taken, found) for room, taken in rooms}


def _plans(room: model.Room, taken: RoomTakeoff, found: Calculation) -> dict[str, Any]:
    outline = outline_of(taken.traverse) if taken.traverse else outline_for(room)
    size = extent(outline.corners) if outline else (2400.0, 1200.0)
    space = PLAN_SPACE_MM if len(found.rooms) == 1 else SHARED_SPACE_MM
    scale = paper_scale(size, space, found.system, around_mm=AROUND_MM)
    batch_scale = paper_scale(size, BATCH_SPACE_MM, found.system, around_mm=AROUND_BATCH_MM)
    drawn = {
        name: plan_svg(
            room,
            taken,
            system=found.system,
            translate=gettext,
            layers=layers,
            scale=drawn_at,
            name=f"{name}-{room.key}",
        )
        for name, layers, drawn_at in (
            ("measured", MEASURED, scale),
            ("membrane", MEMBRANE, scale),
            ("tiled", TILED, scale),
            ("batched", BATCHED, batch_scale),
        )
        if name != "batched" or taken.batches
    }
    # A phone shows the membrane drawn for its width, so that nothing on it is shrunk.
    narrow = plan_svg(
        room,
        taken,
        system=found.system,
        translate=gettext,
        layers=MEMBRANE,
        width_mm=NARROW_MM,
        name=f"narrow-{room.key}",
    )
    return {**drawn, "narrow": narrow, "scale": scale}


def face_drawings(found: Calculation) -> dict[str, dict[str, str]]:
    """Return the drawings of every face that the plan does not show: walls, niches, benches, curbs.

    By what they show, then by face: ``faces`` with the membrane, ``faces_tiled``, ``faces_batched``. The
    legend stands at the plan beside them.
    """
    if found.takeoff is None:
        return {}
    drawn: dict[str, dict[str, str]] = {"faces": {}, "faces_tiled": {}, "faces_batched": {}}
    for room in found.takeoff.rooms:
        covered = {sheet.face for sheet in room.sheets}
        tiled = {one.face for one in room.tiled}
        for number, face in enumerate(room.faces, 1):
            if face.surface_kind in ON_PLAN:
                continue
            for name, layers, shown in (
                ("faces", MEMBRANE, covered),
                ("faces_tiled", TILED, tiled),
                ("faces_batched", BATCHED, covered),
            ):
                if face.key in shown:
                    drawn[name][face.key] = _face(face, room, found, layers, f"{name}-{number}")
    return drawn


def _face(face: Face, room: RoomTakeoff, found: Calculation, layers: frozenset[Layer], name: str) -> str:
    scale = paper_scale(_size(face), FACE_SPACE_MM, found.system, around_mm=AROUND_FACE_MM)
    return face_svg(
        face,
        room,
        system=found.system,
        translate=gettext,
        layers=layers - {Layer.LEGEND},
        scale=max(scale, LARGEST_FACE_SCALE[found.system]),
        name=f"{name}-{room.key}",
    )


def roll_drawings(found: Calculation) -> list[str]:
    """Return the drawing of every roll to cut, in the order of the cut plan."""
    if found.takeoff is None or found.takeoff.cut_plan is None or found.given is None:
        return []
    widths = {
        one.key: one.facts["roll width"].to("mm")
        for one in found.given.materials
        if one.role is model.Role.MEMBRANE
    }
    # An offcut from the shelf has its own width.
    widths |= {one.key: one.width_mm for one in found.given.room_set.stock}
    return [
        roll_svg(
            roll,
            roll_width_mm=widths[roll.kind_key],
            system=found.system,
            translate=gettext,
            true_size=True,
            name=f"roll-{roll.number}",
        )
        for roll in found.takeoff.cut_plan.rolls
    ]


def drawings_in_other_languages(found: Calculation) -> dict[str, dict[str, Any]]:
    """Return plans, faces and rolls once more by language, in every one but the one in force.

    A drawing is frozen with its words, and the crew reads it in the language each has chosen.
    """
    drawn = {}
    for language, _ in settings.LANGUAGES:
        if language != translation.get_language():
            with translation.override(language):
                drawn[language] = {
                    "plans": room_plans(found),
                    **face_drawings(found),
                    "rolls": roll_drawings(found),
                }
    return drawn


def _size(face: Face) -> tuple[float, float]:
    return extent([(float(x), float(y)) for x, y in face.outline])

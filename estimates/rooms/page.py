"""What the room page shows besides its forms: the plan, whether the walk closes, and what follows from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext

from estimates.takeoff import model
from estimates.takeoff.assembly import Assembly, assemble
from estimates.takeoff.errors import DomainError
from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import Phrase, gettext_noop, phrase
from estimates.takeoff.practice import Practice
from estimates.takeoff.result import ChangeOfPlane, Corner, Face, RoomTakeoff
from estimates.takeoff.traverse import Tolerance, Traverse, advise, close_traverse
from estimates.takeoff.units import System
from estimates.takeoff.working import Figure

from .drawing import (
    MEASURED,
    Layer,
    Outline,
    elevation_svg,
    extent,
    outline_of,
    outline_walked,
    plan_svg,
)

WIDE_MM, NARROW_MM = 158.0, 92.0
"""Widths of a drawing on a desk and on a phone, in CSS millimetres (1 mm is 96/25.4 px)."""


@dataclass(frozen=True)
class Closure:
    """Whether the walls make a room: *mark* is a word of the look (ok, hold, stop, wait), and a sentence."""

    mark: str
    sentence: Phrase


@dataclass(frozen=True)
class SurfaceFaces:
    """A surface with the faces found for it; *total* is the sum of their areas in the site's unit."""

    name: str
    faces: tuple[Face, ...]
    total: Figure | None


@dataclass(frozen=True)
class Follows:
    """What the geometry alone gives: faces with their areas, changes of plane, corners."""

    surfaces: tuple[SurfaceFaces, ...]
    changes: tuple[ChangeOfPlane, ...]
    corners: tuple[Corner, ...]
    inside_corners: int
    outside_corners: int
    changes_mm: Decimal


@dataclass(frozen=True)
class Drawings:
    """A room's plan for desk and phone, and the elevations of its walls; *found* adds what *layers* say.

    *prefix* tells the drawings of one page apart.
    """

    room: model.Room
    system: System
    outline: Outline | None
    found: RoomTakeoff | None = None
    layers: frozenset[Layer] = MEASURED
    prefix: str = ""

    def plan(self, width_mm: float, name: str) -> SafeString:
        return mark_safe(  # noqa: S308 - the drawing escapes every text it writes
            plan_svg(
                self.room,
                self.found,
                outline=self.outline,
                system=self.system,
                translate=gettext,
                layers=self.layers,
                width_mm=width_mm,
                name=name,
            )
        )

    @property
    def wide(self) -> SafeString:
        return self.plan(WIDE_MM, f"{self.prefix}plan-wide")

    @property
    def narrow(self) -> SafeString:
        return self.plan(NARROW_MM, f"{self.prefix}plan-narrow")

    @property
    def elevations(self) -> list[tuple[int, SafeString]]:
        """Return the walls on which something is, by number; none while the walls do not close."""
        if self.outline is None or not self.outline.is_closed:
            return []
        return [(number, self._elevation(number)) for number in self._walls_of_interest()]

    def _walls_of_interest(self) -> list[int]:
        upright = {model.SurfaceKind.WALL, model.SurfaceKind.NICHE, model.SurfaceKind.BACKSPLASH}
        numbers = {one.wall for one in self.room.openings}
        numbers |= {wall for one in self.room.surfaces if one.kind in upright for wall in one.walls}
        return sorted(number for number in numbers if number <= len(self.room.legs))

    def _elevation(self, number: int) -> SafeString:
        return mark_safe(  # noqa: S308 - the drawing escapes every text it writes
            elevation_svg(
                self.room,
                number,
                self.found,
                outline=self.outline,
                system=self.system,
                translate=gettext,
                layers=self.layers - {Layer.LEGEND},
                width_mm=74,
                name=f"{self.prefix}wall-{number}",
            )
        )


@dataclass(frozen=True)
class Shown:
    """The drawn room. *error*: why it cannot be built, if it cannot; its place is inside the room."""

    closure: Closure
    outline: Outline | None
    room: model.Room
    system: System
    size: Phrase | None
    follows: Follows | None
    error: DomainError | None

    def drawing(self, width_mm: float, name: str = "plan") -> SafeString:
        """Return the plan as SVG for a column *width_mm* wide."""
        return Drawings(self.room, self.system, self.outline).plan(width_mm, name)

    @property
    def drawings(self) -> Drawings:
        return Drawings(self.room, self.system, self.outline)

    @property
    def has_drawing(self) -> bool:
        return bool(self.room.legs or self.room.surfaces)


def show_room(room: model.Room, system: System, practice: Practice | None = None) -> Shown:
    """Work out everything the page shows for *room*, finished or not; never raises for what was typed."""
    rules = practice or Practice()
    traverse, outline, closure, error = _walk(room, rules, system)
    follows = None
    if error is None and (room.surfaces or room.legs):
        try:
            follows = _follows(assemble(room, rules, system), room)
        except DomainError as refused:
            error = refused
    return Shown(
        closure=closure,
        outline=outline,
        room=room,
        system=system,
        size=_size(outline, system) if traverse else None,
        follows=follows,
        error=error,
    )


def _walk(
    room: model.Room, practice: Practice, system: System
) -> tuple[Traverse | None, Outline | None, Closure, DomainError | None]:
    if not room.legs:
        return None, None, Closure("wait", phrase(_NO_WALLS)), None
    try:
        tolerance = Tolerance(practice.close_within.mm, practice.close_ratio.number)
        traverse = close_traverse(room.legs, tolerance=tolerance, system=system)
    except DomainError as error:
        unfinished = error.rule == "walk.too-few"
        closure = Closure("wait" if unfinished else "stop", error.reason)
        return None, outline_walked(room.legs, error), closure, error
    return traverse, outline_of(traverse), _closes(traverse, tolerance, system), None


_NO_WALLS = gettext_noop("No walls yet. A counter or a backsplash alone needs none.")


def _closes(traverse: Traverse, tolerance: Tolerance, system: System) -> Closure:
    around = format_length(traverse.perimeter_mm, system)
    if not traverse.is_balanced:
        return Closure("ok", phrase(gettext_noop("Closes exactly, {around} round."), around=around))
    facts: dict[str, str | int] = {
        "gap": format_length(traverse.misclosure_mm, system, style="piece", rounding="up"),
        "around": around,
        "precision": traverse.precision or 0,
    }
    if traverse.misclosure_mm <= tolerance.absolute_mm:
        return Closure("ok", phrase(_BALANCED, **facts))
    # Balanced by the share of a long perimeter alone: rather a wall misread than a tape held slack.
    advice = advise(traverse.legs, within_mm=tolerance.absolute_mm, system=system)
    if advice is None:
        return Closure("hold", phrase(_BALANCED_BY_MUCH, **facts))
    return Closure("hold", phrase(_MEASURE_AGAIN, **facts, advice=advice))


_BALANCED = gettext_noop("Closes within {gap} over {around} (1 in {precision}). Balanced along the walls.")
_BALANCED_BY_MUCH = gettext_noop(
    "Closes only within {gap} over {around} (1 in {precision}). Balanced along the walls; better measure "
    "again."
)
_MEASURE_AGAIN = gettext_noop(
    "Closes only within {gap} over {around} (1 in {precision}). Balanced along the walls; better measure "
    "again. {advice}"
)


def _size(outline: Outline | None, system: System) -> Phrase | None:
    if outline is None:
        return None
    wide, deep = extent(outline.corners)
    return phrase(
        gettext_noop("{width} × {depth}"),
        width=format_length(Decimal(str(round(wide, 4))), system),
        depth=format_length(Decimal(str(round(deep, 4))), system),
    )


def _follows(assembly: Assembly, room: model.Room) -> Follows:
    faces = assembly.faces
    pieces: Sequence[Corner] = assembly.corners
    return Follows(
        surfaces=tuple(
            _surface_faces(surface, tuple(face for face in faces if face.surface == surface.key))
            for surface in room.surfaces
        ),
        changes=assembly.changes,
        corners=assembly.corners,
        inside_corners=sum(corner.inside for corner in pieces),
        outside_corners=sum(not corner.inside for corner in pieces),
        changes_mm=sum((change.length_mm for change in assembly.changes), Decimal(0)),
    )


def _surface_faces(surface: model.Surface, faces: tuple[Face, ...]) -> SurfaceFaces:
    areas = [face.area for face in faces if face.area is not None]
    total = replace(areas[0], value=sum((one.value for one in areas), Decimal(0))) if areas else None
    return SurfaceFaces(surface.name, faces, total)

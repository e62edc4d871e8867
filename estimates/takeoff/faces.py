"""From surfaces to flat faces: what is covered, its outline, and what is cut out of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from shapely import union_all
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from .errors import DomainError
from .model import FixtureKind, Opening, Room, Surface, SurfaceKind
from .phrases import Phrase, gettext_noop, phrase
from .plan import Box, PlanWall, RoomPlan, corners_at, hidden_on
from .practice import Practice
from .result import Face, Lie
from .space import (
    Edge,
    Flat,
    Plane,
    holes,
    level_plane,
    parts,
    plus,
    polygon,
    rectangle,
    run_together,
    tidy,
    upright_plane,
    without_slivers,
)

_APART = 1_000_000.0  # counters without a plan stand this far apart (mm), so that they never touch


@dataclass(frozen=True)
class Placed:
    """A face with the surface it belongs to and where it stands in the room."""

    face: Face
    surface: Surface
    plane: Plane
    shape: Shape

    @property
    def label(self) -> Phrase:
        return self.face.label


class FaceBuilder:
    """Builds the faces of one room, surface by surface."""

    def __init__(self, room: Room, plan: RoomPlan, found: Sequence[Box], practice: Practice) -> None:
        self.room = room
        self.plan = plan
        self.boxes = tuple(found)
        self.practice = practice
        self.planless = {SurfaceKind.COUNTER: 0, SurfaceKind.BACKSPLASH: 0}

    def build(self) -> tuple[Placed, ...]:
        """Return all faces in the order of the room's surfaces."""
        return tuple(placed for surface in self.room.surfaces for placed in self.of(surface))

    def of(self, surface: Surface) -> Iterator[Placed]:
        """Yield the faces of one surface."""
        match surface.kind:
            case SurfaceKind.FLOOR:
                yield from self.floor(surface)
            case SurfaceKind.SHOWER_FLOOR:
                yield from self.shower_floor(surface)
            case SurfaceKind.WALL:
                yield from self.walls(surface)
            case SurfaceKind.BENCH | SurfaceKind.CURB | SurfaceKind.KNEE_WALL | SurfaceKind.COLUMN:
                yield from self.box(surface)
            case SurfaceKind.NICHE | SurfaceKind.RETURN:
                yield from self.niche(surface)
            case SurfaceKind.COUNTER:
                yield from self.counter(surface)
            case SurfaceKind.BACKSPLASH:
                yield from self.backsplash(surface)

    # --- Level faces --------------------------------------------------------------------------------------

    def shower_shape(self, surface: Surface) -> BaseGeometry:
        """Return the plan of a shower floor: its rectangle, or the whole floor."""
        assert self.plan.outline is not None
        if surface.length_mm is None or surface.depth_mm is None:
            return self.plan.outline
        corners = corners_at(
            self.plan,
            surface.walls[0],
            surface.along_mm,
            surface.away_mm,
            surface.length_mm,
            surface.depth_mm,
            self.practice.fit.mm,
        )
        return tidy(Shape(corners)).intersection(self.plan.outline)

    def floor(self, surface: Surface) -> Iterator[Placed]:
        assert self.plan.outline is not None
        taken: list[BaseGeometry] = [box.shape for box in self.boxes]
        taken += [
            self.shower_shape(other) for other in self.room.surfaces if other.kind is SurfaceKind.SHOWER_FLOOR
        ]
        shape: BaseGeometry = self.plan.outline
        if taken:
            # A balanced walk is a little out of square, and what stands between two walls is not: the wedge
            # beside it is closed by its sealant and gets neither sheet nor tile.
            shape = without_slivers(shape.difference(union_all(taken)), float(self.practice.fit.mm))
        yield from self.level(surface, shape, 0.0, phrase(surface.name), "")

    def shower_floor(self, surface: Surface) -> Iterator[Placed]:
        shape = self.shower_shape(surface)
        standing = [box.shape for box in self.boxes]
        if standing:
            shape = without_slivers(shape.difference(union_all(standing)), float(self.practice.fit.mm))
        yield from self.level(surface, shape, 0.0, phrase(surface.name), "")

    def level(
        self,
        surface: Surface,
        shape: BaseGeometry,
        height: float,
        label: Phrase,
        part: str,
        *,
        faces_down: bool = False,
        origin: Flat = (0.0, 0.0),
    ) -> Iterator[Placed]:
        plane = level_plane(height, faces_down=faces_down, origin=origin)
        yield from self.place(surface, shape, plane, label, part, Lie.LEVEL)

    def place(
        self,
        surface: Surface,
        shape: BaseGeometry,
        plane: Plane,
        label: Phrase,
        part: str,
        lie: Lie,
        wall: int | None = None,
    ) -> Iterator[Placed]:
        """Yield a face for each polygon of *shape*; a second one gets a number."""
        for number, piece in enumerate(parts(shape, least_area=100.0), 1):
            key = ".".join(
                text for text in (self.room.key, surface.key, part, str(number) if number > 1 else "") if text
            )
            named = label
            if number > 1:
                named = phrase(gettext_noop("{face}, part {number}"), face=label, number=number)
            face = Face(
                key, self.room.key, surface.key, surface.kind, named, lie, polygon(piece), holes(piece), wall
            )
            yield Placed(face, surface, plane, piece)

    # --- Walls --------------------------------------------------------------------------------------------

    def walls(self, surface: Surface) -> Iterator[Placed]:
        for number in surface.walls:
            wall = self.plan.wall(number)
            length = surface.length_mm
            span = wall.span(
                float(surface.along_mm),
                wall.length - float(surface.along_mm) if length is None else float(length),
            )
            low = float(surface.base_mm)
            high = wall.height if surface.height_mm is None else low + float(surface.height_mm)
            # An end that nearly meets the corner meets it: tape and tape never agree to the last line.
            fit = self.practice.fit.to("mm")
            x0 = 0.0 if abs(span[0]) <= fit else span[0]
            x1 = wall.length if abs(span[1] - wall.length) <= fit else span[1]
            shape = rectangle(x0, low, x1, high).difference(self.not_wall(wall))
            label = (
                phrase(surface.name)
                if len(surface.walls) == 1
                else phrase(gettext_noop("{surface}, wall {number}"), surface=surface.name, number=number)
            )
            part = "" if len(surface.walls) == 1 else f"w{number}"
            yield from self.place(surface, shape, wall.plane, label, part, Lie.UPRIGHT, number)

    def not_wall(self, wall: PlanWall) -> BaseGeometry:
        """Return what is no wall on this wall's face: openings, niches, and what stands against it."""
        gone: list[BaseGeometry] = [
            opening_shape(wall, opening) for opening in self.room.openings if opening.wall == wall.number
        ]
        gone += [
            niche_shape(wall, other)
            for other in self.room.surfaces
            if other.kind in (SurfaceKind.NICHE, SurfaceKind.RETURN) and other.walls == (wall.number,)
        ]
        gone.append(hidden_on(wall.start, wall.end, wall.plane, self.boxes))
        return union_all(gone)

    # --- Boxes --------------------------------------------------------------------------------------------

    def box(self, surface: Surface) -> Iterator[Placed]:
        box = next(box for box in self.boxes if box.of is surface)
        is_curb = surface.kind is SurfaceKind.CURB
        names = _CURB_SIDES if is_curb else _BENCH_SIDES
        if surface.kind is not SurfaceKind.COLUMN:
            top = phrase(gettext_noop("{surface}, top"), surface=surface.name)
            yield from self.level(surface, box.shape, box.height, top, "top")
        for side, a, b, outward in sorted(box.sides(), key=lambda row: _SIDE_ORDER[row[0]]):
            plane, length = upright_plane(a, b, outward)
            shape = (
                rectangle(0.0, 0.0, length, box.height)
                .difference(hidden_on(a, b, plane, self.boxes, own=box))
                .difference(hidden_by_walls(self.plan.walls, a, b, plane, box.height))
            )
            label = phrase(names[side], surface=surface.name)
            yield from self.place(surface, shape, plane, label, side, Lie.UPRIGHT)

    # --- Niches -------------------------------------------------------------------------------------------

    def niche(self, surface: Surface) -> Iterator[Placed]:
        """Yield the faces of a niche, or of an opening's return: the same without a back."""
        wall = self.plan.wall(surface.walls[0])
        assert surface.length_mm
        assert surface.height_mm
        assert surface.depth_mm
        shape = niche_shape(wall, surface)
        x0, y0, x1, y1 = shape.bounds
        depth = float(surface.depth_mm)
        back = Plane(plus(wall.plane.origin, wall.plane.n, -depth), wall.plane.u, wall.plane.v, wall.plane.n)
        named = {part: phrase(text, surface=surface.name) for part, text in _NICHE_PARTS.items()}
        is_open = surface.kind is SurfaceKind.RETURN  # a window or a door stands where a niche has its back
        if not is_open:
            yield from self.place(surface, shape, back, named["back"], "back", Lie.UPRIGHT, wall.number)
        front_left, front_right = wall.plane.at(x0, 0.0), wall.plane.at(x1, 0.0)
        back_left, back_right = back.at(x0, 0.0), back.at(x1, 0.0)
        u = wall.plane.u
        for part, near, far, facing in (
            ("left", front_left, back_left, (u[0], u[1])),
            ("right", front_right, back_right, (-u[0], -u[1])),
        ):
            plane, _ = upright_plane(near[:2], far[:2], facing)
            yield from self.place(
                surface, rectangle(0.0, y0, depth, y1), plane, named[part], part, Lie.UPRIGHT, wall.number
            )
        outline = tidy(Shape([front_left[:2], front_right[:2], back_right[:2], back_left[:2]]))
        if not is_open or y0 > 0:
            yield from self.level(surface, outline, y0, named["sill"], "sill")
        yield from self.level(surface, outline, y1, named["head"], "head", faces_down=True)

    # --- Counters -----------------------------------------------------------------------------------------

    def counter(self, surface: Surface) -> Iterator[Placed]:
        assert surface.length_mm
        assert surface.depth_mm
        assert surface.height_mm
        length, depth, edge = (
            float(surface.length_mm),
            float(surface.depth_mm),
            float(surface.height_mm),
        )
        if surface.walls:
            corners = corners_at(
                self.plan,
                surface.walls[0],
                surface.along_mm,
                surface.away_mm,
                surface.length_mm,
                surface.depth_mm,
                self.practice.fit.mm,
            )
            wall = self.plan.wall(surface.walls[0])
            inward, run = wall.inward, wall.run
            origin: Flat = (0.0, 0.0)
        else:
            # As if against a wall that runs along +x: the back edge at y = 0, the front towards -y.
            corners = ((0.0, 0.0), (length, 0.0), (length, -depth), (0.0, -depth))
            inward, run = (0.0, -1.0), (1.0, 0.0)
            origin = (_APART * (1 + self.planless[SurfaceKind.COUNTER]), 0.0)
            self.planless[SurfaceKind.COUNTER] += 1
        height = float(surface.base_mm)
        top = tidy(Shape(corners)).difference(self.sinks(surface, corners, inward, run))
        label = phrase(gettext_noop("{surface}, top"), surface=surface.name)
        yield from self.level(surface, top, height, label, "top", origin=origin)
        c0, c1, c2, c3 = ((x + origin[0], y + origin[1]) for x, y in corners)
        sides = [("front", c2, c3, inward)]
        if surface.walls:
            # Without a plan nobody knows what stands at the ends; they are counted only where the room says.
            sides += [("far", c1, c2, run), ("near", c3, c0, (-run[0], -run[1]))]
        for side, a, b, outward in sides:
            plane, size = upright_plane(a, b, outward)
            shape = rectangle(0.0, height - edge, size, height).difference(
                hidden_by_walls(self.plan.walls, a, b, plane, height)
            )
            yield from self.place(
                surface,
                shape,
                plane,
                phrase(_COUNTER_SIDES[side], surface=surface.name),
                side,
                Lie.UPRIGHT,
            )

    def sinks(self, surface: Surface, corners: Sequence[Flat], inward: Flat, run: Flat) -> BaseGeometry:
        """Return the sink cut-outs of a counter, in plan."""
        left, away = corners[0], inward
        cut = []
        for fixture in self.room.fixtures:
            if fixture.kind is not FixtureKind.SINK or fixture.surface not in (surface.key, None):
                continue
            length = fixture.length_mm or fixture.diameter_mm
            depth = fixture.depth_mm or fixture.diameter_mm
            if length is None or depth is None:
                continue
            along, back = float(fixture.along_mm), float(fixture.away_mm)
            cut.append(
                Shape(
                    [
                        (
                            left[0] + (along + x) * run[0] + (back + y) * away[0],
                            left[1] + (along + x) * run[1] + (back + y) * away[1],
                        )
                        for x, y in (
                            (0.0, 0.0),
                            (float(length), 0.0),
                            (float(length), float(depth)),
                            (0.0, float(depth)),
                        )
                    ]
                )
            )
        return union_all(cut) if cut else Shape()

    def backsplash(self, surface: Surface) -> Iterator[Placed]:
        assert surface.height_mm
        low, high = float(surface.base_mm), float(surface.base_mm + surface.height_mm)
        if not surface.walls:
            assert surface.length_mm
            at = _APART * (1 + self.planless[SurfaceKind.BACKSPLASH])
            self.planless[SurfaceKind.BACKSPLASH] += 1
            plane, length = upright_plane((at, 0.0), (at + float(surface.length_mm), 0.0), (0.0, -1.0))
            yield from self.place(
                surface,
                rectangle(0.0, low, length, high),
                plane,
                phrase(surface.name),
                "",
                Lie.UPRIGHT,
            )
            return
        yield from self.walls(surface)


def opening_shape(wall: PlanWall, opening: Opening) -> Shape:
    """Return an opening on its wall's face."""
    x0, x1 = wall.span(float(opening.along_mm), float(opening.width_mm))
    base = float(opening.base_mm)
    return rectangle(x0, base, x1, base + float(opening.height_mm))


def niche_shape(wall: PlanWall, niche: Surface) -> Shape:
    """Return a niche's mouth on its wall's face."""
    assert niche.length_mm
    assert niche.height_mm
    x0, x1 = wall.span(float(niche.along_mm), float(niche.length_mm))
    base = float(niche.base_mm)
    return rectangle(x0, base, x1, base + float(niche.height_mm))


def hidden_by_walls(walls: Iterable[PlanWall], a: Flat, b: Flat, plane: Plane, height: float) -> BaseGeometry:
    """Return the part of the face over *a* to *b* that stands against a wall, in the face's x and y."""
    left = (*plane.local((*a, 0.0)), 0.0)
    right = (*plane.local((*b, 0.0)), 0.0)
    line = Edge(min(left, right), max(left, right), (0.0, 0.0, 0.0))
    hidden = []
    for wall in walls:
        ends = [
            (plane.local((*point, 0.0))[0], plane.above((*point, 0.0)), 0.0)
            for point in (wall.start, wall.end)
        ]
        span = run_together(line, Edge(ends[0], ends[1], (0.0, 0.0, 0.0)))
        if span is not None:
            hidden.append(
                rectangle(line.a[0] + span[0], -height, line.a[0] + span[1], min(height, wall.height))
            )
    return union_all(hidden) if hidden else Shape()


def refuse_double(room: Room, faces: Sequence[Placed]) -> None:
    """Refuse two surfaces that cover the same part of one plane."""
    for at, one in enumerate(faces):
        for other in faces[:at]:
            if one.surface is other.surface or one.face.lie is not other.face.lie:
                continue
            if one.face.lie is Lie.UPRIGHT and (one.face.wall is None or one.face.wall != other.face.wall):
                continue
            if abs(one.plane.above(other.plane.origin)) > 1 or one.plane.n != other.plane.n:
                continue
            shared = one.shape.intersection(other.shape).area
            if shared > 1000:
                index = room.surfaces.index(one.surface)
                raise DomainError(
                    phrase(
                        gettext_noop(
                            "{room}: {one} and {other} cover the same place; give each its own part."
                        ),
                        room=room.name,
                        one=one.label,
                        other=other.label,
                    ),
                    rule="surface.overlap",
                    place=f"surfaces[{index}]",
                    room=room.key,
                    area_mm2=Decimal(round(shared)),
                )


_SIDE_ORDER = {"front": 0, "back": 1, "near": 2, "far": 3}
_BENCH_SIDES = {
    "front": gettext_noop("{surface}, front"),
    "back": gettext_noop("{surface}, back"),
    "near": gettext_noop("{surface}, first end"),
    "far": gettext_noop("{surface}, second end"),
}
_CURB_SIDES = {
    "front": gettext_noop("{surface}, outer side"),
    "back": gettext_noop("{surface}, inner side"),
    "near": gettext_noop("{surface}, first end"),
    "far": gettext_noop("{surface}, second end"),
}
_COUNTER_SIDES = {
    "front": gettext_noop("{surface}, front edge"),
    "near": gettext_noop("{surface}, first end"),
    "far": gettext_noop("{surface}, second end"),
}
_NICHE_PARTS = {
    "back": gettext_noop("{surface}, back"),
    "left": gettext_noop("{surface}, left side"),
    "right": gettext_noop("{surface}, right side"),
    "sill": gettext_noop("{surface}, sill"),
    "head": gettext_noop("{surface}, head"),
}

"""Changes of plane and triple points, found from where the faces of the assembled room meet.

Each face's edges are compared with the edges and the insides of all other faces, then with what is bare:
walls and floor that nobody covers, and tubs and cabinets. Nothing is counted by rule of thumb, so a knee
wall, a column or a bench across a corner is found like any other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from shapely import union_all
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.geometry.base import BaseGeometry

from .faces import FaceBuilder, Placed
from .phrases import Phrase, gettext_noop, phrase
from .plan import Box, RoomPlan
from .result import ChangeOfPlane, Corner, Lie, Point
from .space import (
    LEAST,
    NEAR,
    Edge,
    Interval,
    Plane,
    Vec,
    cross,
    dot,
    edges,
    left_over,
    length,
    level_plane,
    minus,
    on_grid,
    parts,
    rectangle,
    run_together,
    upright_plane,
    without_slivers,
)

_PARALLEL = 0.9995


class Bare(StrEnum):
    """What a face may meet that is not covered by us."""

    WALL = "wall"
    FLOOR = "floor"
    TUB = "tub"
    CABINET = "cabinet"


@dataclass(frozen=True)
class Shell:
    """A bare element of the room."""

    kind: Bare
    label: Phrase
    plane: Plane
    shape: Shape


@dataclass(frozen=True)
class Element:
    """A face or a bare element with its edges and the box around it, ready to be compared."""

    of: Placed | Shell
    edges: tuple[Edge, ...]
    low: Vec
    high: Vec

    @property
    def plane(self) -> Plane:
        return self.of.plane

    @property
    def is_tub(self) -> bool:
        return isinstance(self.of, Shell) and self.of.kind is Bare.TUB


@dataclass(frozen=True)
class Fold:
    """Two elements meet from *a* to *b*; *first* is always a face of ours."""

    first: Element
    second: Element
    a: Vec
    b: Vec
    inside: bool

    @property
    def tub(self) -> bool:
        return self.second.is_tub

    @property
    def covered(self) -> tuple[Placed, ...]:
        return tuple(element.of for element in (self.first, self.second) if isinstance(element.of, Placed))

    @property
    def waterproof(self) -> bool:
        return any(placed.surface.membrane for placed in self.covered)

    @property
    def has_strip(self) -> bool:
        cabinet = isinstance(self.second.of, Shell) and self.second.of.kind is Bare.CABINET
        return self.waterproof and not self.tub and not cabinet


def shells(builder: FaceBuilder, plan: RoomPlan, found: Sequence[Box]) -> tuple[Shell, ...]:
    """Return the bare elements: what stands on the floor first, since it is nearer than the walls."""
    bare: list[Shell] = []
    for box in found:
        if box.is_ours:
            continue
        kind = Bare.TUB if box.is_tub else Bare.CABINET
        bare.append(Shell(kind, box.label, level_plane(box.height), box.shape))
        for _, a, b, outward in box.sides():
            plane, size = upright_plane(a, b, outward)
            bare.append(Shell(kind, box.label, plane, rectangle(0.0, 0.0, size, box.height)))
    for wall in plan.walls:
        label = phrase(gettext_noop("wall {number}"), number=wall.number)
        face = rectangle(0.0, 0.0, wall.length, wall.height).difference(builder.not_wall(wall))
        bare += [Shell(Bare.WALL, label, wall.plane, part) for part in parts(face)]
    if plan.outline is not None:
        taken = [box.shape for box in found]
        shape: BaseGeometry = plan.outline
        if taken:
            shape = without_slivers(shape.difference(union_all(taken)), float(builder.practice.fit.mm))
        label = phrase(gettext_noop("floor"))
        bare += [Shell(Bare.FLOOR, label, level_plane(0.0), part) for part in parts(shape)]
    return tuple(bare)


def _element(of: Placed | Shell) -> Element:
    sides = tuple(edges(of.plane, of.shape))
    points = [point for edge in sides for point in (edge.a, edge.b)]
    low, high = (tuple(pick(point[axis] for point in points) for axis in range(3)) for pick in (min, max))
    return Element(of, sides, low, high)  # type: ignore[arg-type]


def _apart(one: Element, other: Element) -> bool:
    """Whether they are too far from each other, or lie too nearly in one direction, to fold."""
    if abs(dot(one.plane.n, other.plane.n)) > _PARALLEL:
        return True
    return any(
        one.low[axis] > other.high[axis] + NEAR or other.low[axis] > one.high[axis] + NEAR
        for axis in range(3)
    )


def find_folds(faces: Sequence[Placed], bare: Sequence[Shell]) -> tuple[Fold, ...]:
    """Return where faces meet each other and where they meet what is bare."""
    ours = [_element(placed) for placed in sorted(faces, key=lambda placed: placed.face.lie is not Lie.LEVEL)]
    theirs = [_element(shell) for shell in bare]
    taken: dict[tuple[int, int], list[Interval]] = {}
    folds: list[Fold] = []
    for i, j in combinations(range(len(ours)), 2):
        if _apart(ours[i], ours[j]):
            continue
        for at, edge in enumerate(ours[i].edges):
            for at_other, other in enumerate(ours[j].edges):
                span = run_together(edge, other)
                if span is None:
                    continue
                taken.setdefault((i, at), []).append(span)
                back = run_together(other, edge)
                if back is not None:
                    taken.setdefault((j, at_other), []).append(back)
                folds.append(_fold(ours[i], ours[j], edge, span, _bends_in(other.into, ours[i].plane)))
    for i, element in enumerate(ours):
        for at, edge in enumerate(element.edges):
            rest = left_over([(0.0, edge.long)], taken.get((i, at), ()))
            folds += _against(element, edge, rest, [other for other in ours if other is not element], theirs)
    return tuple(folds)


def _against(
    element: Element, edge: Edge, rest: list[Interval], ours: Sequence[Element], theirs: Sequence[Element]
) -> Iterator[Fold]:
    """Yield the folds of what is left of an edge: inside our other faces first, then against bare things."""
    for other, ways in (
        *((other, ("in",)) for other in ours),
        *((other, ("edge", "in")) for other in theirs),
    ):
        if not rest:
            return
        if _apart(element, other):
            continue
        for way in ways:
            found = _on_edges(edge, other) if way == "edge" else _within(edge, other)
            for low, high in found:
                for piece in rest:
                    span = (max(low, piece[0]), min(high, piece[1]))
                    if span[1] - span[0] >= LEAST:
                        yield _fold(element, other, edge, span, _bends_in(edge.into, other.plane))
            rest = left_over(rest, found)


def _on_edges(edge: Edge, other: Element) -> list[Interval]:
    return [span for side in other.edges if (span := run_together(edge, side)) is not None]


def _within(edge: Edge, other: Element) -> list[Interval]:
    """Return where *edge* runs over the inside of *other*."""
    if abs(other.plane.above(edge.a)) > NEAR or abs(other.plane.above(edge.b)) > NEAR:
        return []
    a, b = other.plane.local(edge.a), other.plane.local(edge.b)
    met = LineString([a, b]).intersection(other.of.shape)
    spans = []
    for piece in getattr(met, "geoms", [met]):
        if piece.geom_type == "LineString" and piece.length >= LEAST:
            ends = [
                ((x - a[0]) ** 2 + (y - a[1]) ** 2) ** 0.5 for x, y, *_ in (piece.coords[0], piece.coords[-1])
            ]
            spans.append((min(ends), max(ends)))
    return sorted(spans)


def _bends_in(into: Vec, plane: Plane) -> bool:
    """Whether an element that goes off in direction *into* rises to the air side of *plane*."""
    return dot(into, plane.n) > 0


def _fold(first: Element, second: Element, edge: Edge, span: Interval, inside: bool) -> Fold:
    return Fold(first, second, edge.place(span[0]), edge.place(span[1]), inside)


def changes(room_key: str, folds: Sequence[Fold]) -> tuple[ChangeOfPlane, ...]:
    """Return the changes of plane, numbered in the order found."""
    rows = []
    for number, fold in enumerate(folds, 1):
        face = fold.first.of
        assert isinstance(face, Placed)
        other = fold.second.of if isinstance(fold.second.of, Placed) else None
        rows.append(
            ChangeOfPlane(
                key=f"{room_key}.c{number}",
                room=room_key,
                label=phrase(gettext_noop("{one} to {other}"), one=face.label, other=fold.second.of.label),
                inside=fold.inside,
                length_mm=on_grid(length(minus(fold.b, fold.a))),
                faces=(
                    face.face.key,
                    other.face.key if other is not None else None,
                ),
                line=(_on(fold.first.plane, fold.a), _on(fold.first.plane, fold.b)),
                has_strip=fold.has_strip,
                has_sealant=fold.tub and fold.waterproof,
                other_line=None
                if other is None
                else (_on(fold.second.plane, fold.a), _on(fold.second.plane, fold.b)),
            )
        )
    return tuple(rows)


def _on(plane: Plane, place: Vec) -> Point:
    x, y = plane.local(place)
    return on_grid(x), on_grid(y)


def corners(room_key: str, folds: Sequence[Fold]) -> tuple[Corner, ...]:
    """Return the triple points: places where folds end and three planes meet.

    Outside where any fold there is an outside one, or where one fold runs behind the plane of another (the
    base of a column on a floor whose walls are bare); otherwise inside.
    """
    places: list[tuple[Vec, list[tuple[Fold, Vec]]]] = []
    for fold in folds:
        for here, there in ((fold.a, fold.b), (fold.b, fold.a)):
            size = length(minus(there, here))
            way = tuple(part / size for part in minus(there, here))
            for place, meeting in places:
                if abs(place[0] - here[0]) < 1 and length(minus(place, here)) < 1:
                    meeting.append((fold, way))  # type: ignore[arg-type]
                    break
            else:
                places.append((here, [(fold, way)]))  # type: ignore[list-item]
    rows: list[Corner] = []
    for place, meeting in places:
        if not _three_planes([fold for fold, _ in meeting]):
            continue
        at_tub = any(fold.tub for fold, _ in meeting)
        strips = any(fold.has_strip for fold, _ in meeting)
        if not strips and not any(fold.tub and fold.waterproof for fold, _ in meeting):
            continue
        # Our own faces first, and the level one of them, since that is where a corner piece is drawn.
        home = min(
            (fold.first for fold, _ in meeting),
            key=lambda element: isinstance(element.of, Placed) and element.of.face.lie is not Lie.LEVEL,
        )
        assert isinstance(home.of, Placed)
        rows.append(
            Corner(
                key=f"{room_key}.k{len(rows) + 1}",
                room=room_key,
                label=_corner_label([fold for fold, _ in meeting]),
                inside=all(fold.inside for fold, _ in meeting) and not _juts_out(meeting),
                face=home.of.face.key,
                at=_on(home.plane, place),
                by_sealant=at_tub,
                others=_others(home, place, [fold for fold, _ in meeting]),
            )
        )
    return tuple(rows)


def _others(home: Element, place: Vec, folds: Sequence[Fold]) -> tuple[tuple[str, Point], ...]:
    """Return the faces of ours besides *home* that meet at *place*, and where it lies on each."""
    found: dict[str, Point] = {}
    for element in (element for fold in folds for element in (fold.first, fold.second)):
        if element is not home and isinstance(element.of, Placed):
            found.setdefault(element.of.face.key, _on(element.plane, place))
    return tuple(found.items())


def _normals(folds: Sequence[Fold]) -> list[tuple[Vec, Element]]:
    found: list[tuple[Vec, Element]] = []
    for fold in folds:
        for element in (fold.first, fold.second):
            if all(dot(normal, element.plane.n) < _PARALLEL for normal, _ in found):
                found.append((element.plane.n, element))
    return found


def _three_planes(folds: Sequence[Fold]) -> bool:
    normals = [normal for normal, _ in _normals(folds)]
    return any(abs(dot(a, cross(b, c))) > 0.01 for a, b, c in combinations(normals, 3))


def _corner_label(folds: Sequence[Fold]) -> Phrase:
    labels = [element.of.label for _, element in _normals(folds)][:3]
    return phrase(gettext_noop("{one}, {two} and {three}"), one=labels[0], two=labels[1], three=labels[2])


def _juts_out(meeting: Sequence[tuple[Fold, Vec]]) -> bool:
    for (one, _), (other, way) in ((a, b) for a in meeting for b in meeting if a is not b):
        for shared, third in ((one.first, one.second), (one.second, one.first)):
            if shared in (other.first, other.second) and dot(way, third.plane.n) < -0.01:
                return True
    return False

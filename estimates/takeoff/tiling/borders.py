"""Borders and accents: a face parted into regions that are laid with their own tile."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import shapely
from shapely.geometry import LineString
from shapely.geometry import Polygon as ShapelyPolygon

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from ..working import Figure, Origin, Working
from .layout import lay_tiles
from .spec import Polygon, Region, TileLayout, TileSpec


@dataclass(frozen=True)
class Run:
    """One straight length of border, mitred at its ends; *angle_deg*: the direction it runs in."""

    region: Region
    angle_deg: Decimal


@dataclass(frozen=True)
class BorderedLayout:
    """A face with a border: the field's layout, a layout for each run, and the border tiles in all."""

    field: TileLayout
    runs: tuple[TileLayout, ...]
    border_needed: Figure


def with_border(
    region: Region, width_mm: Decimal, joint_mm: Decimal, edge_joint_mm: Decimal
) -> tuple[Region, tuple[Run, ...]]:
    """Part *region* into a field and the mitred runs of a border along its outline.

    Args:
        width_mm: of the border tile. *joint_mm*: between border and field, and at the mitres.
        edge_joint_mm: gap kept at the wall; holes are widened by it, so the field needs no edge joint.

    Returns:
        The field, and a run for each side of the outline in its order.

    Raises:
        DomainError: the border leaves no field, swallows a side, or runs into a hole (``tiling.border``).
    """
    outer = ShapelyPolygon([(float(x), float(y)) for x, y in region.outer])
    holes = [ShapelyPolygon([(float(x), float(y)) for x, y in hole]) for hole in region.holes]
    wall = _inset(outer, float(edge_joint_mm))
    inner = _inset(wall, float(width_mm))
    field = _inset(inner, float(joint_mm))
    grown = [hole.buffer(float(edge_joint_mm), join_style="mitre") for hole in holes]
    if _sides(wall) != _sides(outer) or _sides(field) != _sides(outer):
        raise _no_border(region, width_mm, gettext_noop("a side is too short for it"))
    if not all(field.contains(hole) for hole in grown):
        raise _no_border(region, width_mm, gettext_noop("it runs into an opening, a fixture or the accent"))
    starts, ends = _corners(wall), _matched(_corners(wall), _corners(inner))
    runs = []
    for at, start in enumerate(starts):
        after = (at + 1) % len(starts)
        quad = ShapelyPolygon([start, starts[after], ends[after], ends[at]])
        mitres = [LineString([starts[i], ends[i]]).buffer(float(joint_mm) / 2) for i in (at, after)]
        shape = quad.difference(shapely.union_all(mitres)) if joint_mm else quad
        angle = math.degrees(math.atan2(starts[after][1] - start[1], starts[after][0] - start[0]))
        runs.append(Run(_region(shape, (), region.name), Decimal(f"{angle:.6f}")))
    return _region(field, grown, region.name), tuple(runs)


def with_accent(region: Region, accent: Polygon, joint_mm: Decimal) -> tuple[Region, Region]:
    """Part *region* into the field round an accent and the accent itself, one joint apart.

    Raises:
        DomainError: the accent is not wholly inside the region (rule ``tiling.accent``).
    """
    inlay = ShapelyPolygon([(float(x), float(y)) for x, y in accent])
    gap = inlay.buffer(float(joint_mm), join_style="mitre")
    face = ShapelyPolygon(
        [(float(x), float(y)) for x, y in region.outer],
        [[(float(x), float(y)) for x, y in hole] for hole in region.holes],
    )
    if not inlay.is_valid or not face.contains(gap):
        raise DomainError(
            phrase(gettext_noop("{room}: the accent does not lie wholly on the face."), room=region.name),
            rule="tiling.accent",
        )
    hole = tuple((_decimal(x), _decimal(y)) for x, y in list(gap.exterior.coords)[:-1])
    return replace(region, holes=(*region.holes, hole)), Region(accent, (), region.name)


def lay_with_border(region: Region, spec: TileSpec, border: TileSpec) -> BorderedLayout:
    """Lay *border* along the outline, its length along each side, and *spec* in what is left.

    The border tile's *height_mm* is the border's width. The field's edge joint is kept at the wall.

    Raises:
        DomainError: those of :func:`with_border` and of :func:`~.layout.lay_tiles`.
    """
    field, runs = with_border(region, border.height_mm, spec.joint_mm, spec.edge_joint_mm)
    laid = tuple(
        lay_tiles(run.region, replace(border, angle_deg=run.angle_deg, edge_joint_mm=Decimal(0)))
        for run in runs
    )
    label = phrase(gettext_noop("Border tiles needed"))
    work = Working("tile.border", label)
    for number, layout in enumerate(laid, start=1):
        work.given(
            f"s{number}",
            phrase(gettext_noop("Border tiles on side {number}"), number=number),
            layout.needed.value,
            "each",
            Origin.COMPUTED,
        )
    work.step("N", label, " + ".join(f"s{number}" for number in range(1, len(laid) + 1)), "each")
    return BorderedLayout(lay_tiles(field, replace(spec, edge_joint_mm=Decimal(0))), laid, work.figure())


def _inset(shape: Any, by: float) -> Any:
    return shape.buffer(-by, join_style="mitre", mitre_limit=20) if by else shape


def _corners(shape: Any) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in list(shape.exterior.coords)[:-1]]


def _sides(shape: Any) -> int:
    return len(_corners(shape)) if shape.geom_type == "Polygon" and not shape.is_empty else 0


def _matched(
    corners: Sequence[tuple[float, float]], inner: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Return for each corner the inner corner nearest to it: insetting may turn or reverse the ring."""
    return [min(inner, key=lambda p: (p[0] - x) ** 2 + (p[1] - y) ** 2) for x, y in corners]


def _region(shape: Any, holes: Sequence[Any], name: str) -> Region:
    def ring(coordinates: Any) -> Polygon:
        return tuple((_decimal(x), _decimal(y)) for x, y in list(coordinates)[:-1])

    return Region(ring(shape.exterior.coords), tuple(ring(hole.exterior.coords) for hole in holes), name)


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.4f}")


def _no_border(region: Region, width_mm: Decimal, why: str) -> DomainError:
    return DomainError(
        phrase(
            gettext_noop("{room}: a border of {width} mm does not fit: {why}."),
            room=region.name,
            width=str(width_mm),
            why=phrase(why),
        ),
        rule="tiling.border",
        width_mm=width_mm,
    )

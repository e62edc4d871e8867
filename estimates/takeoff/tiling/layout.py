"""The layout: a search for the start point, then every tile placed, counted and checked."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon as ShapelyPolygon
from shapely.validation import explain_validity

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from .field import Field, Pieces, coarse_of, field_of, in_tile, pieces_at, turned
from .judge import BALANCED, imbalance_of, judge, sides_of
from .patterns import Floats, Lattice, lattice_of
from .report import Counts, figures_of, warnings_of
from .search import best_start, sources
from .spec import (
    Balance,
    Bond,
    CutSize,
    Placement,
    PlacementKind,
    Point,
    Polygon,
    Region,
    TileLayout,
    TileSpec,
    check_spec,
)

MOST_TILES = 60_000


def lay_tiles(region: Region, spec: TileSpec) -> TileLayout:
    """Lay *spec* on *region* from the best start point and count what has to be bought.

    Args:
        region: the face, corners in mm; joints, the edge joint and holes are left free of tile.
        spec: the tile, its pattern and the practice settings.

    Returns:
        The layout: every tile's outline in the region's coordinates, cuts grouped by size, and the counts as
        figures. The same input gives the same layout.

    Raises:
        DomainError: rules ``tiling.region`` (not a simple polygon), ``tiling.no-room`` (nothing left
            inside the edge joint), ``tiling.too-many``, and those of :func:`check_spec`.
    """
    check_spec(spec, region.name)
    lattice = lattice_of(spec)
    origin, field = _field(region, spec, lattice)
    start = best_start(lattice, spec, coarse_of(lattice, field))
    pieces = pieces_at(lattice, field, start.px, start.py, exact=True)
    used = sources(lattice, spec, pieces)
    verdict = judge(lattice, spec, field, pieces)
    smallest = verdict.smallest
    full = len(pieces.full)
    opened = max(used) + 1 if used else 0
    tiled = float(full * lattice.tile_area + pieces.areas.sum())
    figures = figures_of(Counts(full + len(used), full, opened, _decimal(tiled)), spec)
    cuts, cut_numbers = _cut_sizes(lattice, pieces, used)
    smallest_share = None if smallest is None else Decimal(f"{smallest:.4f}")
    return TileLayout(
        region=region,
        spec=spec,
        start=_start_point(lattice, pieces, field, origin),
        placements=_placements(pieces, used, cut_numbers, field.angle, origin),
        cuts=cuts,
        full=figures.full,
        cut=figures.cut,
        from_offcuts=figures.from_offcuts,
        needed=figures.needed,
        breakage=figures.breakage,
        buy=figures.buy,
        waste=figures.waste,
        tiled_area_mm2=_decimal(tiled),
        smallest_fraction=smallest_share,
        smallest_cut_mm=None if verdict.smallest_mm is None else Decimal(f"{verdict.smallest_mm:.1f}"),
        half_tile_rule_holds=verdict.undersized == 0,
        balance=_balance(lattice, field, pieces),
        warnings=warnings_of(region, spec, smallest_share, verdict, _is_larger(lattice, field)),
    )


def _field(region: Region, spec: TileSpec, lattice: Lattice) -> tuple[tuple[float, float], Field]:
    """Return the region's middle, and its field about that middle in the pattern's frame."""
    # Decimals are shifted before they become floats, so a far-off region loses no digits.
    ox, oy = min(x for x, _ in region.outer), min(y for _, y in region.outer)
    rings = [[(float(x - ox), float(y - oy)) for x, y in ring] for ring in (region.outer, *region.holes)]
    if any(len(ring) < 3 for ring in rings):
        raise _bad_region(region, "a ring of fewer than three corners")
    shape = ShapelyPolygon(rings[0], rings[1:])
    if not shape.is_valid or shape.area <= 0:
        raise _bad_region(region, explain_validity(shape))
    inner = shape.buffer(-float(spec.edge_joint_mm), join_style="mitre") if spec.edge_joint_mm else shape
    if inner.area <= 0.01:
        raise DomainError(
            phrase(
                gettext_noop("{room}: nothing is left to tile inside an edge joint of {joint} mm."),
                room=region.name,
                joint=str(spec.edge_joint_mm),
            ),
            rule="tiling.no-room",
            edge_joint_mm=spec.edge_joint_mm,
        )
    if inner.area / lattice.module_area > MOST_TILES:
        raise DomainError(
            phrase(
                gettext_noop(
                    "{room}: {count} tiles of {tile} mm; more than {most} on one face is most likely a "
                    "mistyped size."
                ),
                room=region.name,
                count=round(inner.area / lattice.module_area),
                tile=f"{spec.unit_width_mm} x {spec.unit_height_mm}",
                most=MOST_TILES,
            ),
            rule="tiling.too-many",
        )
    angle = float(spec.turn_deg)
    return (float(ox), float(oy)), field_of(turned(inner, -angle) if angle else inner, angle)


def _bad_region(region: Region, why: str) -> DomainError:
    return DomainError(
        phrase(
            gettext_noop("{room}: the outline to tile is not a simple polygon ({why})."),
            room=region.name,
            why=why,
        ),
        rule="tiling.region",
        why=why,
    )


def _is_larger(lattice: Lattice, field: Field) -> bool:
    left, bottom, right, top = field.box
    return lattice.w > right - left and lattice.h > top - bottom


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.4f}")


def _points(coordinates: Floats, origin: tuple[float, float]) -> Polygon:
    return tuple((_decimal(x + origin[0]), _decimal(y + origin[1])) for x, y in coordinates)


def _placements(
    pieces: Pieces, used: list[int], cut_numbers: list[int], angle: float, origin: tuple[float, float]
) -> tuple[Placement, ...]:
    corners, shapes = pieces.full, pieces.shapes
    if angle:
        corners = _turn(corners, angle)
        shapes = turned(shapes, angle)
    placed = [
        Placement(_points(outline, origin), PlacementKind.FULL, number)
        for number, outline in enumerate(corners, start=1)
    ]
    first: set[int] = set()
    # The largest piece of a tile is the one it was opened for; the others are its offcuts.
    for at in sorted(range(len(used)), key=lambda i: (-float(pieces.areas[i]), i)):
        kind = PlacementKind.OFFCUT if used[at] in first else PlacementKind.CUT
        first.add(used[at])
        rings = [np.asarray(ring.coords)[:-1] for ring in (shapes[at].exterior, *shapes[at].interiors)]
        placed.append(
            Placement(
                _points(rings[0], origin),
                kind,
                len(corners) + used[at] + 1,
                cut_numbers[at],
                tuple(_points(ring, origin) for ring in rings[1:]),
            )
        )
    return tuple(placed)


def _turn(corners: Floats, angle: float) -> Floats:
    flat = shapely.get_coordinates(turned(shapely.multipoints(corners.reshape(-1, 2)), angle))
    return np.asarray(flat.reshape(corners.shape), dtype=np.float64)


def _cut_sizes(lattice: Lattice, pieces: Pieces, used: list[int]) -> tuple[tuple[CutSize, ...], list[int]]:
    """Group the pieces by size; return the groups, largest first, and each piece's group number."""
    if not used:
        return (), []
    local: Any = in_tile(pieces)
    bounds = shapely.bounds(local).reshape(-1, 4)
    sizes = bounds[:, 2:] - bounds[:, :2]
    shaped = pieces.areas < sizes[:, 0] * sizes[:, 1] - 1.0
    keys = [
        (Decimal(f"{w:.1f}"), Decimal(f"{h:.1f}"), bool(s)) for (w, h), s in zip(sizes, shaped, strict=True)
    ]
    order = sorted(set(keys), key=lambda key: (-key[0] * key[1], -key[0], key[2]))
    number = {key: place for place, key in enumerate(order, start=1)}
    counts = Counter(keys)
    seen: set[int] = set()
    reused: Counter[tuple[Decimal, Decimal, bool]] = Counter()
    for at in sorted(range(len(used)), key=lambda i: (-float(pieces.areas[i]), i)):
        if used[at] in seen:
            reused[keys[at]] += 1
        seen.add(used[at])
    groups = tuple(CutSize(number[k], k[0], k[1], counts[k], reused[k], k[2]) for k in order)
    return groups, [number[key] for key in keys]


def _balance(lattice: Lattice, field: Field, pieces: Pieces) -> Balance:
    sides = sides_of(lattice, field, pieces)
    means = [None if side is None else Decimal(f"{side:.1f}") for side in sides]
    return Balance(means[0], means[1], means[2], means[3], imbalance_of(lattice, sides) <= BALANCED)


def _start_point(lattice: Lattice, pieces: Pieces, field: Field, origin: tuple[float, float]) -> Point:
    """Return the lower left corner (hexagon: the centre) of the full tile nearest the face's middle."""
    boxes = pieces.full_boxes if len(pieces.full) else pieces.tiles
    middle = np.array([(field.box[0] + field.box[2]) / 2, (field.box[1] + field.box[3]) / 2])
    centres = (boxes[:, :2] + boxes[:, 2:]) / 2
    nearest = int(np.argmin(np.round(np.abs(centres - middle).sum(axis=1), 3)))
    at = centres[nearest] if lattice.bond is Bond.HEXAGON else boxes[nearest, :2]
    if field.angle:
        at = shapely.get_coordinates(turned(shapely.Point(at), field.angle))[0]
    return _decimal(float(at[0]) + origin[0]), _decimal(float(at[1]) + origin[1])

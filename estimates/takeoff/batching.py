"""Batches of bonding agent: what is spread at one go, in laying order, and where on the faces it lies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby, pairwise

from shapely.geometry.base import BaseGeometry

from .bonding import (
    BondedFace,
    Spread,
    batch_area,
    coverage_name,
    is_porous,
    put_coverage,
)
from .phrases import gettext_noop, phrase
from .practice import Practice
from .result import Batch, Patch
from .space import holes, parts, polygon, rectangle, shape_of
from .units import System, convert
from .weather import held
from .working import Figure, Origin, Round, Working, rounded, whole


def batches(bonded: Sequence[BondedFace], practice: Practice, system: System) -> tuple[Batch, ...]:
    """Return the batches of the whole job in laying order.

    Whole sheets where they go into one batch together; a sheet larger than a batch is spread in equal parts,
    one after the other along the roll.
    """
    found: list[Batch] = []
    for rows in _together(bonded):
        first = rows[0]
        most = batch_area(first.agent, practice, system).value
        spreads = [spread for row in rows for spread in row.spreads]
        for portion, area in _portions(spreads, most, system):
            number = len(found) + 1
            patches = tuple(patch for spread in portion for patch in spread.patches)
            found.append(
                Batch(
                    number=number,
                    room=first.face.room,
                    face=next((patch.face for patch in patches), first.face.key),
                    sheets=tuple(spread.key for spread in portion),
                    area=area,
                    quantity=_quantity(number, first, area, system),
                    embed_within_min=held(first.agent, "open time", practice).value.to("min"),
                    wait_min=(
                        Decimal(0)
                        if is_porous(first.surface)
                        else held(first.agent, "wait non-porous", practice).value.to("min")
                    ),
                    patches=patches,
                )
            )
    return tuple(found)


def _together(bonded: Sequence[BondedFace]) -> Iterator[list[BondedFace]]:
    """Yield faces that are bonded in one go: those of one surface, such as the five of a niche."""
    for _, rows in groupby(bonded, key=lambda row: (row.face.room, row.face.surface, row.agent.key)):
        yield list(rows)


def _portions(
    spreads: Sequence[Spread], most: Decimal, system: System
) -> Iterator[tuple[tuple[Spread, ...], Decimal]]:
    """Yield what is spread at one go, with its area in the system's unit, never above *most*."""
    portion: list[Spread] = []
    area = Decimal(0)
    for spread in spreads:
        size = convert(spread.area_mm2, "sq mm", system.area)
        if portion and area + size > most:
            yield tuple(portion), area
            portion, area = [], Decimal(0)
        if size > most:
            number = whole(rounded(size / most, Round.UP_WHOLE))
            for part in parted(spread, number):
                yield (part,), size / number
        else:
            portion.append(spread)
            area += size
    if portion:
        yield tuple(portion), area


def parted(spread: Spread, number: int) -> list[Spread]:
    """Return *number* parts of equal area, cut across the roll's length, from its start on."""
    shapes = [shape_of(patch.outline, patch.holes) for patch in spread.patches]
    axis = 0 if spread.along_x else 1
    share = spread.area_mm2 / number
    low = min((shape.bounds[axis] for shape in shapes), default=0.0)
    high = max((shape.bounds[axis + 2] for shape in shapes), default=0.0)
    total = sum(shape.area for shape in shapes)
    lines = [
        low,
        *(_line(shapes, axis, low, high, total * at / number) for at in range(1, number)),
        high,
    ]
    return [
        Spread(
            spread.key,
            share,
            tuple(
                Patch(patch.face, patch.piece, polygon(part), holes(part), patch.is_strip)
                for patch, shape in zip(spread.patches, shapes, strict=True)
                for part in parts(_between(shape, axis, start, end))
            ),
            spread.along_x,
        )
        for start, end in pairwise(lines)
    ]


def _line(shapes: Sequence[BaseGeometry], axis: int, low: float, high: float, wanted: float) -> float:
    """Return where a line across *axis* leaves *wanted* of the area before it: by halving, to the grid."""
    start, end = low, high
    while end - start > 1e-4:
        middle = (start + end) / 2
        before = sum(_between(shape, axis, low, middle).area for shape in shapes)
        start, end = (middle, end) if before < wanted else (start, middle)
    return round((start + end) / 2, 4)


def _between(shape: BaseGeometry, axis: int, start: float, end: float) -> BaseGeometry:
    x0, y0, x1, y1 = shape.bounds
    box = rectangle(start, y0 - 1, end, y1 + 1) if axis == 0 else rectangle(x0 - 1, start, x1 + 1, end)
    return shape.intersection(box)


def _quantity(number: int, row: BondedFace, area: Decimal, system: System) -> Figure:
    work = Working(f"batch.{number}", phrase(gettext_noop("Agent for batch {number}"), number=number))
    work.given("A", phrase(gettext_noop("Area of the batch")), area, system.area, Origin.GEOMETRY)
    put_coverage(work, "c", row.agent, coverage_name(row.surface), system)
    work.step("V", phrase(gettext_noop("Agent")), "A / c", system.volume)
    return work.figure()

"""Tile layouts against published counts, hand layouts and Shapely's areas."""

from __future__ import annotations

from decimal import Decimal

import pytest

from estimates.takeoff.tiling import Bond, Region, TileSpec, lay_tiles


def rectangle(width: int | str, height: int | str, *holes: tuple[int, int, int, int]) -> Region:
    def ring(x0, y0, x1, y1):
        return tuple((Decimal(x), Decimal(y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))

    return Region(ring(0, 0, width, height), tuple(ring(*hole) for hole in holes), "Bath")


def tile(width, height, joint=3, pattern=Bond.STRAIGHT, **more) -> TileSpec:
    return TileSpec(Decimal(width), Decimal(height), Decimal(joint), pattern, **more)


def test_cuts_are_balanced_when_a_row_would_end_in_a_sliver():
    """L 2500, a 600, g 4 (worked by hand): 3 full and two cuts of 342, not 4 full and 84."""
    layout = lay_tiles(rectangle(2500, 600), tile(600, 600, 4))

    assert layout.full.value == 3
    assert [cut.width_mm for cut in layout.cuts] == [Decimal("342.0")]
    assert layout.half_tile_rule_holds

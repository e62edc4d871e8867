"""Tile layout: where every tile of a face lies, which are cut, and how many have to be bought."""

from .borders import BorderedLayout, Run, lay_with_border, with_accent, with_border
from .layout import lay_tiles
from .report import tiles_by_division
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
)

__all__ = [
    "Balance",
    "Bond",
    "BorderedLayout",
    "CutSize",
    "Placement",
    "PlacementKind",
    "Point",
    "Polygon",
    "Region",
    "Run",
    "TileLayout",
    "TileSpec",
    "lay_tiles",
    "lay_with_border",
    "tiles_by_division",
    "with_accent",
    "with_border",
]

"""Tile layout: where every tile of a face lies, which are cut, and how many have to be bought."""

from .layout import lay_tiles
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
    "CutSize",
    "Placement",
    "PlacementKind",
    "Point",
    "Polygon",
    "Region",
    "TileLayout",
    "TileSpec",
    "lay_tiles",
]

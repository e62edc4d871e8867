"""What a tile layout is given and what it returns. Lengths are Decimal millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

from ..errors import DomainError
from ..phrases import Phrase, gettext_noop, phrase
from ..units import System
from ..working import Figure

Point: TypeAlias = tuple[Decimal, Decimal]
Polygon: TypeAlias = tuple[Point, ...]

HALF = Decimal("0.5")
# A third with as many digits as the working keeps, so that three rows close to a whole tile.
THIRD = Decimal(1) / 3


class Bond(StrEnum):
    """How the tiles lie to one another."""

    STRAIGHT = "straight"
    OFFSET = "offset"
    DIAGONAL = "diagonal"
    HERRINGBONE = "herringbone"
    HEXAGON = "hexagon"
    MOSAIC = "mosaic sheets"

    @property
    def is_rows(self) -> bool:
        """Whether rectangles lie in rows (a diagonal is such rows, turned)."""
        return self in {Bond.STRAIGHT, Bond.OFFSET, Bond.MOSAIC, Bond.DIAGONAL}

    @property
    def is_square_cut(self) -> bool:
        """Whether walls meet the rows squarely, so that cuts are judged and reused by their sides."""
        return self in {Bond.STRAIGHT, Bond.OFFSET, Bond.MOSAIC}


# The bond and the offset of each pattern a room's description can name (values of ``model.Pattern``).
BONDS: Mapping[str, tuple[Bond, Decimal]] = {
    "straight": (Bond.STRAIGHT, Decimal(0)),
    "half offset": (Bond.OFFSET, HALF),
    "third offset": (Bond.OFFSET, THIRD),
    "diagonal": (Bond.DIAGONAL, Decimal(0)),
    "herringbone": (Bond.HERRINGBONE, Decimal(0)),
    "hexagon": (Bond.HEXAGON, Decimal(0)),
    "mosaic sheets": (Bond.MOSAIC, Decimal(0)),
}


@dataclass(frozen=True)
class Region:
    """A flat face to tile: a simple polygon with holes (tub, window, drain), corners in mm, not closed."""

    outer: Polygon
    holes: tuple[Polygon, ...] = ()
    name: str = ""


@dataclass(frozen=True)
class TileSpec:
    """The tile and how it is laid.

    Attributes:
        width_mm, height_mm: the tile's face; for a hexagon *width_mm* is across the flats and the height
            follows from it; for mosaic it is one chip.
        joint_mm: grout joint; *edge_joint_mm*: gap kept at the whole perimeter and round every hole.
        offset_fraction: shift of each row against the one below, as a fraction of the tile's module.
        breakage: fraction of the needed tiles bought on top (practice setting).
        sheet_width_mm, sheet_height_mm: a mosaic sheet; both or neither.
        smallest_fraction: the smallest cut wanted, as a fraction of the tile (ANSI A108.02 4.3.2: a half).
        allow_rotation_of_offcuts: an offcut may be turned in its own plane (no, for veined or printed tile).
        kerf_mm: width lost by a cut between two pieces of one tile (blade about 2 mm, common practice).
        allow_large_offset: the customer has approved an offset over 33 % with an edge over 15 in.
        keep_balance: opposite edges alike where the pattern allows it (ANSI A108.02 4.3.1), even when a start
            out of balance would save tiles.
        angle_deg: turn of the pattern's axis, counter-clockwise; None: 45 for diagonal and herringbone.
        system: the site's units, for messages.
    """

    width_mm: Decimal
    height_mm: Decimal
    joint_mm: Decimal
    pattern: Bond = Bond.STRAIGHT
    offset_fraction: Decimal = HALF
    edge_joint_mm: Decimal = Decimal(0)
    breakage: Decimal = Decimal("0.05")
    sheet_width_mm: Decimal | None = None
    sheet_height_mm: Decimal | None = None
    smallest_fraction: Decimal = HALF
    allow_rotation_of_offcuts: bool = True
    kerf_mm: Decimal = Decimal(2)
    allow_large_offset: bool = False
    keep_balance: bool = True
    angle_deg: Decimal | None = None
    system: System = System.METRIC

    @property
    def unit_width_mm(self) -> Decimal:
        """Width of what is laid at once: the tile, or the mosaic sheet."""
        return self.sheet_width_mm or self.width_mm if self.pattern is Bond.MOSAIC else self.width_mm

    @property
    def unit_height_mm(self) -> Decimal:
        return self.sheet_height_mm or self.height_mm if self.pattern is Bond.MOSAIC else self.height_mm

    @property
    def turn_deg(self) -> Decimal:
        if self.angle_deg is not None:
            return self.angle_deg
        return Decimal(45 if self.pattern in {Bond.DIAGONAL, Bond.HERRINGBONE} else 0)


class PlacementKind(StrEnum):
    FULL = "full"
    CUT = "cut"  # the first piece cut from a new tile
    OFFCUT = "from an offcut"  # cut from what another cut tile left


@dataclass(frozen=True)
class Placement:
    """One tile, or one piece of a tile, as it lies on the face (mm, the region's own coordinates).

    *tile* numbers the tile bought: pieces with the same number come out of the same tile.
    *cut* is the number of its line in :attr:`TileLayout.cuts` (None for a full tile).
    """

    outline: Polygon
    kind: PlacementKind
    tile: int
    cut: int | None = None
    holes: tuple[Polygon, ...] = ()


@dataclass(frozen=True)
class CutSize:
    """Pieces of one size: *width_mm* by *height_mm* as cut (to 0.1 mm, along the tile's own edges).

    *shaped*: more than straight cuts parallel to the tile's edges.
    """

    number: int
    width_mm: Decimal
    height_mm: Decimal
    count: int
    from_offcuts: int
    shaped: bool


@dataclass(frozen=True)
class Balance:
    """Mean size of the pieces along the four sides (mm across the side; None: no piece touches it).

    The sides are those of rows' own axes, where these were turned (*angle_deg*).
    """

    left_mm: Decimal | None
    right_mm: Decimal | None
    bottom_mm: Decimal | None
    top_mm: Decimal | None
    is_balanced: bool


@dataclass(frozen=True)
class TileLayout:
    """A finished layout. All counts are figures with their working.

    *start*: a corner of a tile (or the centre of a hexagon) from which the pattern is set out, the one
    nearest the middle of the face. *smallest_fraction*: the smallest cut against its whole tile (or
    mosaic chip), by its smaller side for rows and by area for the other patterns; None without cuts.
    """

    region: Region
    spec: TileSpec
    start: Point
    placements: tuple[Placement, ...]
    cuts: tuple[CutSize, ...]
    full: Figure
    cut: Figure
    from_offcuts: Figure
    needed: Figure
    breakage: Figure
    buy: Figure
    waste: Figure
    tiled_area_mm2: Decimal
    smallest_fraction: Decimal | None
    smallest_cut_mm: Decimal | None
    half_tile_rule_holds: bool
    balance: Balance
    warnings: tuple[Phrase, ...]


def check_spec(spec: TileSpec, name: str) -> None:
    """Refuse impossible tiles.

    Raises:
        DomainError: rules ``tiling.size``, ``tiling.joint``, ``tiling.offset``, ``tiling.breakage``,
            ``tiling.sheet``, ``tiling.smallest``.
    """
    for place, label, value in (
        ("width", gettext_noop("width"), spec.width_mm),
        ("height", gettext_noop("height"), spec.height_mm),
        ("sheet width", gettext_noop("sheet width"), spec.sheet_width_mm),
        ("sheet height", gettext_noop("sheet height"), spec.sheet_height_mm),
    ):
        if value is not None and value <= 0:
            raise DomainError(
                phrase(
                    gettext_noop("{room}: the tile's {side} must be above zero (got {value} mm)."),
                    room=name,
                    side=phrase(label),
                    value=str(value),
                ),
                rule="tiling.size",
                place=place,
                value=value,
            )
    for place, label, value in (
        ("joint", gettext_noop("joint"), spec.joint_mm),
        ("edge joint", gettext_noop("edge joint"), spec.edge_joint_mm),
        ("kerf", gettext_noop("kerf"), spec.kerf_mm),
    ):
        if value < 0:
            raise DomainError(
                phrase(
                    gettext_noop("{room}: the {side} must not be below zero (got {value} mm)."),
                    room=name,
                    side=phrase(label),
                    value=str(value),
                ),
                rule="tiling.joint",
                place=place,
                value=value,
            )
    for place, label, rule, value in (
        ("offset", gettext_noop("offset"), "tiling.offset", spec.offset_fraction),
        ("smallest cut", gettext_noop("smallest cut"), "tiling.smallest", spec.smallest_fraction),
        ("breakage", gettext_noop("breakage"), "tiling.breakage", spec.breakage),
    ):
        if not 0 <= value < 1:
            raise DomainError(
                phrase(
                    gettext_noop("{room}: the {side} is a fraction from 0 to below 1 (got {value})."),
                    room=name,
                    side=phrase(label),
                    value=str(value),
                ),
                rule=rule,
                place=place,
                value=value,
            )
    _check_sheet(spec, name)


def _check_sheet(spec: TileSpec, name: str) -> None:
    if spec.pattern is not Bond.MOSAIC:
        return
    if spec.sheet_width_mm is None or spec.sheet_height_mm is None:
        raise DomainError(
            phrase(gettext_noop("{room}: mosaic needs the width and height of its sheet."), room=name),
            rule="tiling.sheet",
            place="sheet",
        )
    if spec.sheet_width_mm < spec.width_mm or spec.sheet_height_mm < spec.height_mm:
        raise DomainError(
            phrase(
                gettext_noop(
                    "{room}: the mosaic sheet ({sheet} mm) is smaller than one of its chips ({chip} mm)."
                ),
                room=name,
                sheet=f"{spec.sheet_width_mm} x {spec.sheet_height_mm}",
                chip=f"{spec.width_mm} x {spec.height_mm}",
            ),
            rule="tiling.sheet",
            place="sheet",
        )

"""What the takeoff is given: measured rooms, materials with their data-sheet values, practice settings.

Every value is frozen. Lengths are Decimal millimetres (whole ten-thousandths); data-sheet values keep the
unit they were printed in (:class:`~estimates.takeoff.units.Measure`).

Where a thing stands is said the way it is measured on site, from a wall: *along* is the distance from the
wall's start in the direction of the walk, *away* the distance from the wall's face into the room, *base*
the height of its lower edge above the floor. Walls are numbered from 1 in the order they were walked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from .traverse import Leg
from .units import Measure, System


class SurfaceKind(StrEnum):
    """A surface to be covered. Which measurements each kind needs stands in ``schema/input.json``."""

    FLOOR = "floor"  # the room's plan less what stands on it
    WALL = "wall"  # one or more walls between two heights
    SHOWER_FLOOR = "shower floor"  # a sloped rectangle from a wall, or the whole floor (wet room)
    BENCH = "bench"  # a box against a wall: top, front and free ends
    CURB = "curb"  # a low box across the floor: top and both sides
    NICHE = "niche"  # a recess in a wall: back, two sides, top, sill
    COUNTER = "counter"  # a free-standing top with its front edge
    BACKSPLASH = "backsplash"  # a band of wall above a counter
    KNEE_WALL = "knee wall"  # a low wall in the room: top, both sides and free ends
    COLUMN = "column"  # stands from floor to ceiling: its free sides
    RETURN = "return"  # the reveal of an opening: jambs, head, and a sill where it does not go to the floor


class Substrate(StrEnum):
    """What the membrane is bonded to."""

    PLYWOOD = "plywood"
    OSB = "OSB"
    GYPSUM_BOARD = "gypsum board"
    CEMENT_BOARD = "cement board"
    CONCRETE = "concrete"
    MORTAR_BED = "mortar bed"
    POURED_GYPSUM = "poured gypsum"
    SHEET_VINYL = "sheet vinyl"
    PLASTIC_LAMINATE = "plastic laminate"
    EXISTING_TILE = "existing tile"

    @property
    def is_porous(self) -> bool:
        """Whether it drinks the bonding agent's water (common practice, no source)."""
        return self not in {Substrate.SHEET_VINYL, Substrate.PLASTIC_LAMINATE, Substrate.EXISTING_TILE}


class Condition(StrEnum):
    """How the substrate was found."""

    SMOOTH = "smooth"
    ROUGH = "rough"
    UNEVEN = "uneven"  # out of the flatness limit: levelling is taken off
    SEALED = "sealed"  # wax, sealer or paint: mechanical preparation is taken off


class Exposure(StrEnum):
    DRY = "dry"
    WET = "wet"


class Covering(StrEnum):
    """What lies there now and must come off."""

    NONE = "nothing"
    TILE = "tile"
    RESILIENT = "resilient flooring"
    CARPET = "carpet"
    WOOD = "wood flooring"
    BOARD = "wall board"


class BondMethod(StrEnum):
    """The three ways to bond the membrane; what each gives stands in ``bonding.METHODS``."""

    ACRYLIC = "acrylic bonding agent"
    ORGANIC = "organic adhesive"
    MORTAR = "latex-modified mortar"


class FixtureKind(StrEnum):
    FLANGE = "flange"  # closet flange, on the floor
    PIPE = "pipe"
    DRAIN = "drain"
    TUB = "tub"
    CABINET = "cabinet"  # anything fixed that the floor stops at
    MIXER = "mixer"
    SPOUT = "spout"
    SINK = "sink"  # cut-out in a counter


class OpeningKind(StrEnum):
    DOOR = "door"
    PASSAGE = "passage"
    WINDOW = "window"


class Pattern(StrEnum):
    STRAIGHT = "straight"
    HALF = "half offset"
    THIRD = "third offset"
    DIAGONAL = "diagonal"
    HERRINGBONE = "herringbone"
    HEXAGON = "hexagon"
    MOSAIC = "mosaic sheets"


class Role(StrEnum):
    """What a material does in the job."""

    MEMBRANE = "membrane"
    INSIDE_CORNER = "inside corner piece"
    OUTSIDE_CORNER = "outside corner piece"
    BONDING_AGENT = "bonding agent"
    SEALANT = "sealant"
    TILE = "tile"
    MORTAR = "mortar"
    GROUT = "grout"
    BACKER_BOARD = "backer board"
    FASTENER = "fastener"
    JOINT_SEALANT = "movement joint sealant"
    LEVELLER = "levelling compound"


@dataclass(frozen=True)
class Accent:
    """A rectangle of another tile within a surface's first face that it fits: *along* from the face's left,
    *base* above its lowest edge (of a level face: from its near edge)."""

    material: str
    along_mm: Decimal
    base_mm: Decimal
    width_mm: Decimal
    height_mm: Decimal
    pattern: Pattern = Pattern.STRAIGHT


@dataclass(frozen=True)
class TileChoice:
    """Which tile a surface gets and how it is laid. *joint_mm* None: the tile's own.

    *border*: a tile laid lengthwise along the outline of every face of the surface, mitred at its corners.
    """

    material: str
    pattern: Pattern = Pattern.STRAIGHT
    joint_mm: Decimal | None = None
    border: str | None = None
    accent: Accent | None = None


@dataclass(frozen=True)
class Opening:
    key: str
    kind: OpeningKind
    wall: int
    along_mm: Decimal
    width_mm: Decimal
    height_mm: Decimal
    base_mm: Decimal = Decimal(0)


@dataclass(frozen=True)
class Fixture:
    """A thing the membrane and the tile go round.

    On the floor (flange, pipe, drain, tub, cabinet): *along*, *away*. On a wall (pipe, mixer, spout):
    *along*, *base*. In a counter (sink): *along* from its left end, *away* from its back edge. *surface*
    names the surface it pierces; None: the floor for floor kinds, the wall's own face for wall kinds. Round
    things have *diameter_mm* and their position is the centre; a tub, cabinet or sink has *length_mm* (along
    the wall) and *depth_mm* and its position is the nearest corner.
    """

    key: str
    kind: FixtureKind
    wall: int | None = None
    along_mm: Decimal = Decimal(0)
    away_mm: Decimal = Decimal(0)
    base_mm: Decimal = Decimal(0)
    diameter_mm: Decimal | None = None
    length_mm: Decimal | None = None
    depth_mm: Decimal | None = None
    surface: str | None = None


@dataclass(frozen=True)
class Surface:
    """A surface to prepare, waterproof and tile.

    Measurements by kind (None: not needed, or the stated default):
      floor: none.
      wall: *walls*; *along*, *length* (default: the whole wall); *base*, *height* (default: to the ceiling).
      shower floor: *walls* (one), *along*, *away*, *length*, *depth*; without *length* the whole floor.
      bench: *walls* (one), *along*, *length*, *depth*, *height*.
      curb: *walls* (one), *along*, *away*, *length*, *depth*, *height*.
      niche: *walls* (one), *along*, *base*, *length* (its width), *height*, *depth*.
      knee wall: as a bench; *away* is its distance from the wall it is measured from.
      column: one wall, *along*, *away*, *length*, *depth*; *height* (default: to the ceiling).
      return: *walls* (one), *along*, *base*, *length*, *height* of the opening, *depth* of its jambs.
      counter: *length*, *depth*, *height* (the front edge's own height); with *walls* it stands there.
      backsplash: *length*, *height*; with *walls* it stands there at *base*.
    """

    key: str
    kind: SurfaceKind
    name: str
    substrate: Substrate
    condition: Condition = Condition.SMOOTH
    exposure: Exposure = Exposure.DRY
    walls: tuple[int, ...] = ()
    along_mm: Decimal = Decimal(0)
    away_mm: Decimal = Decimal(0)
    base_mm: Decimal = Decimal(0)
    length_mm: Decimal | None = None
    depth_mm: Decimal | None = None
    height_mm: Decimal | None = None
    membrane: bool = True
    new_board: bool = False  # backer board is fixed over (or in place of) the substrate first
    remove: Covering = Covering.NONE
    levelling_mm: Decimal = Decimal(0)  # mean depth of levelling compound
    method: BondMethod = BondMethod.ACRYLIC
    tile: TileChoice | None = None


class Counted(StrEnum):
    """What is counted from the assembled room and may be entered instead, with a reason."""

    BEAD = "sealant bead"  # length
    STRIPS = "strips"  # length of changes of plane under strips: for labour; the cut list stays
    INSIDE = "inside corner piece"
    OUTSIDE = "outside corner piece"


@dataclass(frozen=True)
class Override:
    """A quantity entered instead of what was counted, and why; both are shown in the working."""

    quantity: Measure
    reason: str


@dataclass(frozen=True)
class Room:
    """A measured room. *legs* as walked (measured, not balanced); empty for a counter without a plan."""

    key: str
    name: str
    height_mm: Decimal
    legs: tuple[Leg, ...] = ()
    wall_heights_mm: Mapping[int, Decimal] = field(default_factory=dict)  # walls that differ from the room
    openings: tuple[Opening, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    fixtures: tuple[Fixture, ...] = ()
    overrides: Mapping[Counted, Override] = field(default_factory=dict)


@dataclass(frozen=True)
class Pack:
    """What is bought at once: one *label* (roll, pail, box) holds *content*."""

    label: str
    content: Measure


@dataclass(frozen=True)
class Material:
    """A material on the price list with its data-sheet values (names in :data:`materials.FACTS`)."""

    key: str
    role: Role
    name: str
    pack: Pack
    waste: Decimal = Decimal(0)  # fraction added before packs are rounded up
    facts: Mapping[str, Measure] = field(default_factory=dict)
    customer_supplied: bool = False
    bond_method: BondMethod | None = None  # a bonding agent's way of bonding; None: any
    cost_cents: int | None = None  # what a pack costs; only chooses between rolls (None: by area)


@dataclass(frozen=True)
class StockPiece:
    """An offcut of membrane on the shelf, to be used up before a roll is bought.

    *width_mm* across the roll it came from; *material*: which membrane it is (None: the first on the list).
    """

    key: str
    width_mm: Decimal
    length_mm: Decimal
    material: str | None = None


@dataclass(frozen=True)
class RoomSet:
    """All measured rooms of one job, in the site's units; *built_year* of the house drives the cautions."""

    system: System
    rooms: tuple[Room, ...]
    built_year: int | None = None
    occupied: bool = False
    travel_h: Decimal = Decimal(0)  # one way, for the whole crew
    flood_test_asked: bool = False
    stock: tuple[StockPiece, ...] = ()

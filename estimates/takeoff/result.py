"""What the takeoff returns: plain, frozen data; :mod:`estimates.takeoff.document` writes it as JSON.

Coordinates of a face: floors and other level faces use the room's plan (first corner at 0, 0; first wall
towards +x; y up the page). Upright faces are seen from inside the room: x from the wall's start to the
right, y up from the floor.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

from .cutting import CutPlan
from .labour import JobRange
from .model import FixtureKind, Role, SurfaceKind
from .phrases import Phrase
from .sequence import Schedule
from .setting import Trowel
from .tiling import TileLayout
from .traverse import Traverse
from .working import Figure

Point: TypeAlias = tuple[Decimal, Decimal]
Polygon: TypeAlias = tuple[Point, ...]


class Lie(StrEnum):
    """How a face lies."""

    LEVEL = "level"
    UPRIGHT = "upright"


@dataclass(frozen=True)
class Face:
    """One flat face of a surface, with what is cut out of it."""

    key: str
    room: str
    surface: str
    surface_kind: SurfaceKind
    label: Phrase
    lie: Lie
    outline: Polygon
    holes: tuple[Polygon, ...] = ()
    wall: int | None = None
    area: Figure | None = None


@dataclass(frozen=True)
class ChangeOfPlane:
    """Where two faces meet. *inside*: they fold towards the room (a floor meets a wall)."""

    key: str
    room: str
    label: Phrase
    inside: bool
    length_mm: Decimal
    faces: tuple[str, str | None]  # None: the other face is not covered by us (strip turns up on it)
    line: tuple[Point, Point]  # in the first face's coordinates
    has_strip: bool
    has_sealant: bool
    other_line: tuple[Point, Point] | None = None  # in the second face's coordinates, where it is ours


@dataclass(frozen=True)
class Corner:
    """Where three planes meet; a corner piece goes here and a bead of sealant at its base."""

    key: str
    room: str
    label: Phrase
    inside: bool
    face: str
    at: Point
    by_sealant: bool = False  # no piece fits here (at a tub): a bead of sealant closes it
    others: tuple[tuple[str, Point], ...] = ()  # the other faces that meet here, and where on them


@dataclass(frozen=True)
class Pierced:
    """A round thing that comes through a face, with its place there (mm)."""

    fixture: str
    kind: FixtureKind
    face: str
    at: Point
    diameter_mm: Decimal | None


@dataclass(frozen=True)
class Lap:
    """Where *over* covers *under*; *side*: neighbouring runs; otherwise end to end (butt)."""

    over: str
    under: str
    side: bool
    width_mm: Decimal
    area: Polygon


@dataclass(frozen=True)
class Sheet:
    """A piece of membrane on a face, in laying order. *along_x*: the roll's length runs along x."""

    key: str  # A, B, C … within the job; also the cut list's mark
    room: str
    face: str
    outline: Polygon
    across_mm: Decimal
    along_mm: Decimal
    along_x: bool
    course: int
    order: int


@dataclass(frozen=True)
class LayingChoice:
    """How the ways of laying were chosen: *surfaces* (faces and changes of plane) with *ways* in all.

    *proven*: no other admissible way of laying them lets the rolls cost less; *gap*: what may still be saved
    at most, as a fraction of the cost. *length_bound_mm*: no way uses less of rolls of the one width on offer
    (0: not known).
    """

    surfaces: int
    ways: int
    proven: bool
    gap: Decimal
    length_bound_mm: Decimal


@dataclass(frozen=True)
class Strip:
    """A creased strip over a change of plane, from *start* to *end* along it (mm)."""

    key: str
    room: str
    change: str
    start_mm: Decimal
    end_mm: Decimal
    width_mm: Decimal


@dataclass(frozen=True)
class CornerPiece:
    corner: str
    room: str
    inside: bool
    from_roll: bool  # cut from the membrane, not bought as a made piece


@dataclass(frozen=True)
class BoardPiece:
    """A piece of backer board on a face, cut from a rectangle *width* by *height* (along the face's x, y)."""

    key: str  # B1, B2 … within the job
    room: str
    face: str
    outline: Polygon
    width_mm: Decimal
    height_mm: Decimal


@dataclass(frozen=True)
class BoardPlan:
    """Backer boards: how they hang, and the whole boards they are cut from (the plan's cost counts boards).

    *least*: boards by area; no way of hanging takes fewer.
    """

    material: str
    pieces: tuple[BoardPiece, ...]
    plan: CutPlan
    least: int


@dataclass(frozen=True)
class Patch:
    """A part of a face that takes bonding agent for *piece*: a sheet, a part of one, or a leg of a strip."""

    face: str
    piece: str
    outline: Polygon
    holes: tuple[Polygon, ...] = ()
    is_strip: bool = False


@dataclass(frozen=True)
class Batch:
    """Bonding agent spread at one go: no more than the crew embeds in the open time.

    *patches*: where it goes, in the order of spreading. A leg of a strip on a face that is not ours has none.
    """

    number: int
    room: str
    face: str
    sheets: tuple[str, ...]
    area: Decimal  # in the system's area unit
    quantity: Figure
    embed_within_min: Decimal
    wait_min: Decimal
    patches: tuple[Patch, ...] = ()


@dataclass(frozen=True)
class Need:
    """How much of a material the job needs. Packs are rounded up here, once for the whole job."""

    material: str
    role: Role
    quantity: Figure
    packs: Figure
    pack_label: str
    customer_supplied: bool
    by_room: tuple[tuple[str, Figure], ...]  # (room key, quantity before packs)


@dataclass(frozen=True)
class Hours:
    """Labour of one activity in one room (room "" for the whole job), man-hours."""

    key: str
    activity: str
    room: str
    label: Phrase
    step: str  # the trade step it is priced under, a key of labour.TRADE_STEPS
    hours: Figure
    crew: int


@dataclass(frozen=True)
class Caution:
    """A hazard to show, with the rule that names it."""

    key: str
    text: Phrase
    source: str


@dataclass(frozen=True)
class Notice:
    """Something to know that does not stop the work, e.g. a smallest cut under half a tile."""

    key: str
    room: str
    text: Phrase


class TilePart(StrEnum):
    """Which part of a face a layout covers: a face with a border or an accent has several."""

    FIELD = "field"
    BORDER = "border"
    ACCENT = "accent"


@dataclass(frozen=True)
class TiledFace:
    face: str
    material: str
    layout: TileLayout
    trowel: Trowel
    part: TilePart = TilePart.FIELD


@dataclass(frozen=True)
class RoomTakeoff:
    """Everything found for one room. *figures* are its quantities by key, each with its working."""

    key: str
    name: str
    traverse: Traverse | None
    faces: tuple[Face, ...]
    changes: tuple[ChangeOfPlane, ...]
    corners: tuple[Corner, ...]
    sheets: tuple[Sheet, ...]
    laps: tuple[Lap, ...]
    strips: tuple[Strip, ...]
    corner_pieces: tuple[CornerPiece, ...]
    tiled: tuple[TiledFace, ...]
    figures: tuple[Figure, ...]
    pierced: tuple[Pierced, ...] = ()
    batches: tuple[Batch, ...] = ()  # those of the job that are spread in this room


@dataclass(frozen=True)
class Takeoff:
    """The whole job."""

    rooms: tuple[RoomTakeoff, ...]
    needs: tuple[Need, ...]
    cut_plan: CutPlan | None
    batches: tuple[Batch, ...]
    hours: tuple[Hours, ...]
    schedule: Schedule
    cautions: tuple[Caution, ...]
    notices: tuple[Notice, ...] = field(default=())
    layings: LayingChoice | None = None
    board_plan: BoardPlan | None = None
    stock_used: tuple[str, ...] = ()  # keys of the cut plan's rolls that are offcuts from the shelf
    hours_range: JobRange | None = None  # man-hours without travel
    finish_range: tuple[datetime, datetime] | None = None  # the end of work at the range's low and high

"""What the cutting planner is given and what it answers.

Lengths are Decimal millimetres at this border; inside the planner they are whole ten-thousandths of a
millimetre (see :mod:`.sizes`). *Across* is measured across the roll's width, *along* down its length.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from ..phrases import Phrase

Direction = Literal["across", "along"]


@dataclass(frozen=True)
class Piece:
    """One piece to be cut; *may_turn* allows it to be cut a quarter turn round."""

    key: str
    across_mm: Decimal
    along_mm: Decimal
    may_turn: bool = False


@dataclass(frozen=True)
class RollKind:
    """A roll on the price list, or (with *is_stock*) an offcut on the shelf, which costs nothing.

    *available* None means any number for a roll that is bought, and exactly one for an offcut.
    """

    key: str
    width_mm: Decimal
    length_mm: Decimal
    cost_cents: int
    available: int | None = None
    is_stock: bool = False


@dataclass(frozen=True)
class CutSettings:
    """How the knife works and what is worth keeping.

    *kerf_mm* is lost at every cut; *trim_mm* is taken off the start of each new roll (not of offcuts);
    an offcut is listed when it is at least *keep_across_mm* by *keep_along_mm*. The search stops at the
    latest after *time_limit_s* seconds with the best plan found and its bound. *work_limit* bounds it by work
    done instead (see :mod:`.effort`; None: as much as a modest machine does in that time): with a time limit
    well above what that work takes, the same input gives the same plan on a busy machine too.
    """

    kerf_mm: Decimal = Decimal(0)
    trim_mm: Decimal = Decimal(0)
    keep_across_mm: Decimal = Decimal(100)
    keep_along_mm: Decimal = Decimal(300)
    time_limit_s: float = 1.0
    work_limit: int | None = None


@dataclass(frozen=True)
class Placed:
    """A piece on its roll: *x_mm* from the left edge, *y_mm* from the start of the roll."""

    piece_key: str
    roll: int
    x_mm: Decimal
    y_mm: Decimal
    across_mm: Decimal
    along_mm: Decimal
    turned: bool


@dataclass(frozen=True)
class Cut:
    """One straight cut from (*x_mm*, *y_mm*), running *length_mm* across or along the roll.

    The position is that of the edge the knife leaves on the piece first cut off; the kerf lies beyond it.
    """

    order: int
    direction: Direction
    x_mm: Decimal
    y_mm: Decimal
    length_mm: Decimal


@dataclass(frozen=True)
class Offcut:
    """A rectangle left over that is worth keeping."""

    roll: int
    x_mm: Decimal
    y_mm: Decimal
    across_mm: Decimal
    along_mm: Decimal


@dataclass(frozen=True)
class CutRoll:
    """One roll with everything cut from it; *used_length_mm* runs from its start to the last piece."""

    kind_key: str
    number: int
    used_length_mm: Decimal
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]


@dataclass(frozen=True)
class CutPlan:
    """The rolls to take and how to cut them.

    *bound_cents* is proven: no set of these rolls that holds all pieces costs less. *gap* is
    (cost - bound) / cost, *proven* whether the cost is the least possible. *length_used_mm* is what is
    used of the rolls that are bought (of all rolls, if none is bought), and no plan of the same cost on
    the same rolls uses less than *length_bound_mm*. *area_used_fraction* is the area of the pieces over
    the whole area of the rolls taken.
    """

    rolls: tuple[CutRoll, ...]
    cost_cents: int
    bound_cents: int
    gap: Decimal
    proven: bool
    method: Phrase
    area_used_fraction: Decimal
    length_used_mm: Decimal
    length_bound_mm: Decimal

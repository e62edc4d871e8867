"""Whole numbers for the planner: sizes in ten-thousandths of a millimetre, equal pieces grouped.

The knife's kerf is put on the far sides of every piece and of every roll. Two pieces side by side then
need just the sum of their sizes, and a piece as wide as the roll still fits, so the search itself never
meets the kerf.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from ..errors import DomainError
from ..phrases import gettext_noop, phrase
from .model import CutSettings, Piece, RollKind

UNITS_PER_MM = 10_000


@dataclass(frozen=True)
class Shape:
    """A size that *count* pieces share; sizes include one kerf."""

    across: int
    along: int
    count: int
    may_turn: bool = False

    @property
    def area(self) -> int:
        return self.across * self.along


@dataclass(frozen=True)
class Stock:
    """A roll kind; *width* and *length* include one kerf, *length* is without the trim at the start."""

    width: int
    length: int
    cost: int
    available: int
    is_stock: bool
    trim: int


@dataclass(frozen=True)
class Job:
    """A whole cutting job in units; *members* gives for each shape the indices of its pieces in order."""

    shapes: tuple[Shape, ...]
    members: tuple[tuple[int, ...], ...]
    stocks: tuple[Stock, ...]
    kerf: int


def ceil_units(value: Decimal) -> int:
    """Return *value* mm in units, rounded up: a piece is never cut smaller than asked."""
    return int((Decimal(value) * UNITS_PER_MM).to_integral_value(ROUND_CEILING))


def floor_units(value: Decimal) -> int:
    """Return *value* mm in units, rounded down: a roll is never taken for larger than it is."""
    return int((Decimal(value) * UNITS_PER_MM).to_integral_value(ROUND_FLOOR))


def as_mm(units: int) -> Decimal:
    """Return units as Decimal millimetres, without trailing noughts."""
    whole, rest = divmod(units, UNITS_PER_MM)
    return Decimal(units).scaleb(-4).normalize() if rest else Decimal(whole)


def read_job(pieces: Sequence[Piece], kinds: Sequence[RollKind], settings: CutSettings) -> Job:
    """Check the input and turn it into whole numbers.

    Raises:
        DomainError: rule ``cutting.*``; the place names the piece, roll or setting.
    """
    _check_settings(settings)
    kerf, trim = ceil_units(settings.kerf_mm), ceil_units(settings.trim_mm)
    if pieces and not kinds:
        raise DomainError(
            phrase(
                gettext_noop("There are {n} pieces to cut but no roll to cut them from: add a roll."),
                n=len(pieces),
            ),
            rule="cutting.no-rolls",
        )
    stocks = tuple(_read_kind(kind, i, kerf, trim) for i, kind in enumerate(kinds))
    _check_keys("pieces", [p.key for p in pieces])
    _check_keys("rolls", [k.key for k in kinds])
    groups: dict[tuple[int, int, bool], list[int]] = {}
    for i, piece in enumerate(pieces):
        groups.setdefault(_read_piece(piece, i, kinds, stocks, kerf), []).append(i)
    ordered = sorted(groups.items(), key=lambda item: (-item[0][0], -item[0][1], item[0][2]))
    shapes = tuple(Shape(a, b, len(who), turn) for (a, b, turn), who in ordered)
    return Job(shapes, tuple(tuple(who) for _, who in ordered), stocks, kerf)


def _check_settings(settings: CutSettings) -> None:
    for name in ("kerf_mm", "trim_mm", "keep_across_mm", "keep_along_mm"):
        value = Decimal(getattr(settings, name))
        if not value.is_finite() or value < 0:
            raise DomainError(
                phrase(
                    gettext_noop("{name} is {value} mm; it must be 0 mm or more."),
                    name=name.removesuffix("_mm"),
                    value=str(value),
                ),
                rule="cutting.setting",
                place=f"settings.{name}",
                value=value,
            )
    if not settings.time_limit_s > 0:
        raise DomainError(
            phrase(
                gettext_noop("The time limit is {value} s; it must be more than 0 s."),
                value=str(settings.time_limit_s),
            ),
            rule="cutting.setting",
            place="settings.time_limit_s",
            value=settings.time_limit_s,
        )


def _check_keys(what: str, keys: Sequence[str]) -> None:
    seen: set[str] = set()
    for i, key in enumerate(keys):
        if key in seen:
            raise DomainError(
                phrase(gettext_noop("{key} is listed twice; each needs a name of its own."), key=key),
                rule="cutting.duplicate-key",
                place=f"{what}[{i}]",
                key=key,
            )
        seen.add(key)


def _read_kind(kind: RollKind, index: int, kerf: int, trim: int) -> Stock:
    place = f"rolls[{index}]"
    for value in (kind.width_mm, kind.length_mm):
        if not Decimal(value).is_finite() or value <= 0:
            raise DomainError(
                phrase(
                    gettext_noop("Roll {roll} is {width} mm by {length} mm; both must be more than 0 mm."),
                    roll=kind.key,
                    width=str(kind.width_mm),
                    length=str(kind.length_mm),
                ),
                rule="cutting.roll-size",
                place=place,
                roll=kind.key,
            )
    if kind.cost_cents < 0 or (kind.available is not None and kind.available < 0):
        raise DomainError(
            phrase(
                gettext_noop("Roll {roll} has a price or a number below 0; both must be 0 or more."),
                roll=kind.key,
            ),
            rule="cutting.roll-price",
            place=place,
            roll=kind.key,
        )
    cut_off = 0 if kind.is_stock else trim
    length = floor_units(kind.length_mm) - cut_off
    if length <= 0:
        raise DomainError(
            phrase(
                gettext_noop("Roll {roll} is {length} mm long; the {trim} mm trimmed off leave nothing."),
                roll=kind.key,
                length=str(kind.length_mm),
                trim=str(as_mm(trim)),
            ),
            rule="cutting.trim",
            place=place,
            roll=kind.key,
        )
    available = kind.available if kind.available is not None else (1 if kind.is_stock else -1)
    return Stock(
        width=floor_units(kind.width_mm) + kerf,
        length=length + kerf,
        cost=0 if kind.is_stock else kind.cost_cents,
        available=available,
        is_stock=kind.is_stock,
        trim=cut_off,
    )


def _read_piece(
    piece: Piece, index: int, kinds: Sequence[RollKind], stocks: Sequence[Stock], kerf: int
) -> tuple[int, int, bool]:
    place = f"pieces[{index}]"
    if any(not Decimal(v).is_finite() or v <= 0 for v in (piece.across_mm, piece.along_mm)):
        raise DomainError(
            phrase(
                gettext_noop("Piece {piece} is {across} mm by {along} mm; both must be more than 0 mm."),
                piece=piece.key,
                across=str(piece.across_mm),
                along=str(piece.along_mm),
            ),
            rule="cutting.piece-size",
            place=place,
            piece=piece.key,
        )
    across, along = ceil_units(piece.across_mm) + kerf, ceil_units(piece.along_mm) + kerf
    turns = piece.may_turn and across != along
    on_offer = [(s, k) for s, k in zip(stocks, kinds, strict=True) if s.available != 0]
    if not any(fits(across, along, stock) or (turns and fits(along, across, stock)) for stock, _ in on_offer):
        widest = max(kinds, key=lambda kind: (kind.width_mm, kind.length_mm))
        raise DomainError(
            phrase(
                gettext_noop(
                    "Piece {piece}, {across} mm across and {along} mm along, fits no roll; the widest is "
                    "{roll}, {width} mm wide and {length} mm long. Divide the piece or add a larger roll."
                ),
                piece=piece.key,
                across=str(piece.across_mm),
                along=str(piece.along_mm),
                roll=widest.key,
                width=str(widest.width_mm),
                length=str(widest.length_mm),
            ),
            rule="cutting.piece-too-large",
            place=place,
            piece=piece.key,
            widest=widest.key,
        )
    return across, along, turns


def fits(across: int, along: int, stock: Stock) -> bool:
    """Return whether a piece of this size, so turned, can be cut from a roll of this kind."""
    return across <= stock.width and along <= stock.length


def subset(shapes: Sequence[Shape], left: Sequence[int]) -> tuple[list[Shape], list[int]]:
    """Return the shapes that are left with how many, and their numbers among *shapes*."""
    index = [i for i, n in enumerate(left) if n]
    return [Shape(shapes[i].across, shapes[i].along, left[i], shapes[i].may_turn) for i in index], index

"""A takeoff's input as a JSON document, described by ``schema/input.json``.

Reading never guesses: what does not fit is refused with a sentence and its place in the document, such as
``rooms[0].surfaces[2].length``. The answer is written by :mod:`.answer`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from .errors import DomainError
from .json_shape import check_shape, parse, short
from .lengths import on_grid, parse_length
from .model import (
    Accent,
    BondMethod,
    Condition,
    Counted,
    Covering,
    Exposure,
    Fixture,
    FixtureKind,
    Material,
    Opening,
    OpeningKind,
    Override,
    Pack,
    Pattern,
    Role,
    Room,
    RoomSet,
    StockPiece,
    Substrate,
    Surface,
    SurfaceKind,
    TileChoice,
)
from .outline import parse_outline, parse_turn
from .phrases import Value, gettext_noop, phrase
from .practice import Practice, setting_names
from .sequence import Calendar
from .traverse import RIGHT, Leg, closing_turn
from .units import Measure, System, is_unit

INPUT_FORMAT = "ledgerboard/takeoff-input/1"
_CEILING_MM = Decimal("2438.4")  # 8 ft, where a room without walls states no height
T = TypeVar("T")


@dataclass(frozen=True)
class Document:
    """What a document holds. *start* None: the document does not say when work may begin."""

    room_set: RoomSet
    materials: tuple[Material, ...]
    practice: Practice
    start: datetime | None


def read_document(text: str) -> Document:
    """Read a takeoff's input.

    Raises:
        DomainError: rules ``document.json`` (with line and column), ``document.key-twice``,
            ``document.schema``, and those of lengths, outlines and settings; *place* is the path.
    """
    content = parse(text)
    check_shape(content)
    return _Reader(content).document()


class _Reader:
    """Turns a document that fits its schema into the model."""

    def __init__(self, content: Mapping[str, Any]) -> None:
        self.content = content
        self.system = System(content["units"])

    def document(self) -> Document:
        content = self.content
        room_set = RoomSet(
            system=self.system,
            rooms=tuple(self.at(f"rooms[{at}]", self.room, room) for at, room in enumerate(content["rooms"])),
            built_year=content.get("built_year"),
            occupied=content.get("occupied", False),
            travel_h=Decimal(content.get("travel_hours", 0)),
            flood_test_asked=content.get("flood_test_asked", False),
            stock=self.each(content, "stock", self.stock),
        )
        materials = tuple(
            self.at(f"materials[{at}]", self.material, row) for at, row in enumerate(content["materials"])
        )
        start = content.get("start")
        return Document(
            room_set,
            materials,
            self.practice(),
            None if start is None else self.at("start", self.moment, start),
        )

    def at(self, place: str, read: Callable[[Any], T], value: Any) -> T:
        """Return ``read(value)``; an error inside is moved to *place*."""
        try:
            return read(value)
        except DomainError as error:
            raise error.at(place) from error

    def length(self, value: Any) -> Decimal:
        return self._length(value, allow_zero=False)

    def offset(self, value: Any) -> Decimal:
        return self._length(value, allow_zero=True)

    def _length(self, value: Any, *, allow_zero: bool) -> Decimal:
        if isinstance(value, str):
            return parse_length(value, self.system, allow_zero=allow_zero)
        # Through the same door as text, so that a number means what it would mean when typed.
        unit = Measure(Decimal(1), self.system.length).to("mm")
        return on_grid(Fraction(value) * Fraction(unit))

    def lengths(self, row: Mapping[str, Any], **names: str) -> dict[str, Decimal]:
        """Return the lengths that *row* has, as keyword arguments; *names*: ``length`` or ``offset``."""
        readers = {"length": self.length, "offset": self.offset}
        return {
            f"{name}_mm": self.at(name, readers[kind], row[name])
            for name, kind in names.items()
            if name in row
        }

    def stock(self, row: Mapping[str, Any]) -> StockPiece:
        return StockPiece(
            key=row["key"],
            material=row.get("material"),
            **self.lengths(row, width="length", length="length"),
        )

    def room(self, row: Mapping[str, Any]) -> Room:
        if "height" in row:
            height = self.at("height", self.length, row["height"])
        elif "walk" in row or "walls" in row:
            raise _refuse("document.height", "height", gettext_noop("the room's ceiling height is missing."))
        else:
            height = _CEILING_MM
        return Room(
            key=row["key"],
            name=row["name"],
            height_mm=height,
            legs=self.legs(row),
            wall_heights_mm={
                int(number): self.at(f"wall_heights.{number}", self.length, value)
                for number, value in row.get("wall_heights", {}).items()
            },
            openings=self.each(row, "openings", self.opening),
            surfaces=self.each(row, "surfaces", self.surface),
            fixtures=self.each(row, "fixtures", self.fixture),
            overrides={
                Counted(name): self.at(f"overrides.{name}", self.override, value)
                for name, value in row.get("overrides", {}).items()
            },
        )

    def override(self, row: Mapping[str, Any]) -> Override:
        return Override(self.at("quantity", read_measure, row["quantity"]), row["reason"])

    def each(self, row: Mapping[str, Any], name: str, read: Callable[[Any], T]) -> tuple[T, ...]:
        return tuple(self.at(f"{name}[{at}]", read, item) for at, item in enumerate(row.get(name, ())))

    def legs(self, row: Mapping[str, Any]) -> tuple[Leg, ...]:
        if "walk" in row:
            return self.at("walk", lambda text: parse_outline(text, self.system).legs, row["walk"])
        walls = row.get("walls", [])
        if not walls:
            return ()
        lengths = [
            self.at(f"walls[{at}].length", self.length, wall["length"]) for at, wall in enumerate(walls)
        ]
        turns = [
            self.at(f"walls[{at}].turn", self.turn, wall["turn"]) if "turn" in wall else None
            for at, wall in enumerate(walls)
        ]
        known = [RIGHT if turn is None else turn for turn in turns[:-1]]
        last = closing_turn(known) if turns[-1] is None else turns[-1]
        return tuple(Leg(size, turn) for size, turn in zip(lengths, [*known, last], strict=True))

    def turn(self, value: Any) -> Decimal:
        return parse_turn(value) if isinstance(value, str) else Decimal(value)

    def opening(self, row: Mapping[str, Any]) -> Opening:
        return Opening(
            key=row["key"],
            kind=OpeningKind(row["kind"]),
            wall=row["wall"],
            **self.lengths(row, along="offset", width="length", height="length", base="offset"),
        )

    def surface(self, row: Mapping[str, Any]) -> Surface:
        return Surface(
            key=row["key"],
            kind=SurfaceKind(row["kind"]),
            name=row["name"],
            substrate=Substrate(row["substrate"]),
            condition=Condition(row.get("condition", Condition.SMOOTH)),
            exposure=Exposure(row.get("exposure", Exposure.DRY)),
            walls=tuple(row.get("walls", ())),
            membrane=row.get("membrane", True),
            new_board=row.get("new_board", False),
            remove=Covering(row.get("remove", Covering.NONE)),
            method=BondMethod(row.get("method", BondMethod.ACRYLIC)),
            tile=self.at("tile", self.tile, row["tile"]) if "tile" in row else None,
            **self.lengths(
                row,
                along="offset",
                away="offset",
                base="offset",
                length="length",
                depth="length",
                height="length",
                levelling="offset",
            ),
        )

    def tile(self, row: Mapping[str, Any]) -> TileChoice:
        return TileChoice(
            material=row["material"],
            pattern=Pattern(row.get("pattern", Pattern.STRAIGHT)),
            border=row.get("border"),
            accent=self.at("accent", self.accent, row["accent"]) if "accent" in row else None,
            **self.lengths(row, joint="length"),
        )

    def accent(self, row: Mapping[str, Any]) -> Accent:
        sizes = {"along_mm": Decimal(0), "base_mm": Decimal(0)}
        sizes |= self.lengths(row, along="offset", base="offset", width="length", height="length")
        return Accent(row["material"], pattern=Pattern(row.get("pattern", Pattern.STRAIGHT)), **sizes)

    def fixture(self, row: Mapping[str, Any]) -> Fixture:
        return Fixture(
            key=row["key"],
            kind=FixtureKind(row["kind"]),
            wall=row.get("wall"),
            surface=row.get("surface"),
            **self.lengths(
                row,
                along="offset",
                away="offset",
                base="offset",
                diameter="length",
                length="length",
                depth="length",
            ),
        )

    def material(self, row: Mapping[str, Any]) -> Material:
        pack = row["pack"]
        method = row.get("bond_method")
        return Material(
            key=row["key"],
            role=Role(row["role"]),
            name=row["name"],
            pack=Pack(pack["label"], self.at("pack.content", read_measure, pack["content"])),
            waste=Decimal(row.get("waste", 0)),
            facts={
                name: self.at(f"facts.{name}", read_measure, value)
                for name, value in row.get("facts", {}).items()
            },
            customer_supplied=row.get("customer_supplied", False),
            bond_method=None if method is None else BondMethod(method),
            cost_cents=row.get("cost_cents"),
        )

    # --- Practice -----------------------------------------------------------------------------------------

    def practice(self) -> Practice:
        practice = Practice()
        for name, value in self.content.get("practice", {}).items():
            if name not in setting_names():
                raise _refuse(
                    "practice.unknown",
                    f"practice.{name}",
                    gettext_noop("there is no practice setting named “{name}”; expected one of {known}."),
                    name=name,
                    known=", ".join(setting_names()),
                )
            measure = self.at(f"practice.{name}", read_measure, value)
            if not measure.unit and practice.named(name).value.unit:
                # A bare number is in the setting's own unit.
                measure = Measure(measure.value, practice.named(name).value.unit)
            try:
                practice = practice.override(name, measure)
            except DomainError as error:
                raise error.at("practice") from error
        return replace(practice, rates=self.rates(practice), calendar=self.calendar(practice.calendar))

    def rates(self, practice: Practice) -> Mapping[str, Any]:
        rates = dict(practice.rates)
        for name, row in self.content.get("rates", {}).items():
            if name not in rates:
                raise _refuse(
                    "labour.activity",
                    f"rates.{name}",
                    gettext_noop("there is no activity named “{name}”; expected one of {known}."),
                    name=name,
                    known=", ".join(rates),
                )
            changed: dict[str, Any] = {
                key: value if key == "crew" else Decimal(value) for key, value in row.items()
            }
            try:
                rates[name] = replace(rates[name], **changed)
            except DomainError as error:
                raise error.at(f"rates.{name}") from error
        return rates

    def calendar(self, default: Calendar) -> Calendar:
        row = self.content.get("calendar", {})
        changed: dict[str, Any] = {
            name: self.at(f"calendar.{name}", self.clock, row[name])
            for name in ("start_of_day", "end_of_day")
            if name in row
        }
        if "breaks" in row:
            changed["breaks"] = tuple(
                (
                    self.at(f"calendar.breaks[{at}]", self.clock, pair[0]),
                    self.at(f"calendar.breaks[{at}]", self.clock, pair[1]),
                )
                for at, pair in enumerate(row["breaks"])
            )
        if "weekdays" in row:
            changed["weekdays"] = frozenset(row["weekdays"])
        if "holidays" in row:
            changed["holidays"] = frozenset(
                self.at(f"calendar.holidays[{at}]", self.day, value)
                for at, value in enumerate(row["holidays"])
            )
        try:
            return replace(default, **changed)
        except DomainError as error:
            raise error.at("calendar") from error

    def moment(self, value: str) -> datetime:
        return _iso(
            datetime.fromisoformat,
            value,
            gettext_noop("“{read}” is no moment; write it as 2026-12-01T08:00."),
        )

    def clock(self, value: str) -> time:
        return _iso(time.fromisoformat, value, gettext_noop("“{read}” is no time of day; write it as 08:00."))

    def day(self, value: str) -> date:
        return _iso(date.fromisoformat, value, gettext_noop("“{read}” is no date; write it as 2026-12-25."))


def _iso(read: Callable[[str], T], value: str, message: str) -> T:
    try:
        return read(value)
    except ValueError as error:
        raise _refuse("document.moment", "", message, read=short(value)) from error


def _refuse(rule: str, place: str, message: str, **values: Value) -> DomainError:
    return DomainError(phrase(message, **values), rule=rule, place=place)


_MEASURE = re.compile(
    r"\s*(?P<whole>\d+(?:\.\d+)?)?(?:\s*(?P<above>\d+)/(?P<below>\d+))?\s*(?P<unit>[a-zA-Z][a-zA-Z /]*)?\s*"
)


def read_measure(value: Any) -> Measure:
    """Read a quantity: a number (no unit), ``55 sq ft/gal``, ``39 3/8 in``, or value and unit.

    Raises:
        DomainError: rule ``document.quantity``.

    >>> read_measure("39 3/8 in")
    Measure(value=Decimal('39.375'), unit='in')
    """
    if isinstance(value, Mapping):
        number, unit = Decimal(value["value"]), str(value["unit"]).strip()
    elif isinstance(value, str):
        number, unit = _from_text(value)
    else:
        number, unit = Decimal(value), ""
    if not is_unit(unit):
        raise _refuse(
            "document.quantity",
            "",
            gettext_noop("“{read}” has the unit “{unit}”, which is not one of those known here."),
            read=short(value),
            unit=unit,
        )
    return Measure(number, unit)


def _from_text(text: str) -> tuple[Decimal, str]:
    match = _MEASURE.fullmatch(text)
    below = int(match["below"]) if match is not None and match["below"] else 1
    if match is None or not (match["whole"] or match["above"]) or below == 0:
        raise _refuse(
            "document.quantity",
            "",
            gettext_noop("“{read}” is no quantity; write a number and its unit, such as 55 sq ft/gal."),
            read=short(text),
        )
    number = Decimal(match["whole"] or 0) + Decimal(int(match["above"] or 0)) / below
    return number, (match["unit"] or "").strip()

"""Rooms of the demonstration, read from text as a measurer would have typed it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from estimates.takeoff.units import System

from .fields import Length
from .measured import FixtureData, OpeningData, RoomData, SurfaceData, walls_from_outline

Row = TypeVar("Row", OpeningData, SurfaceData, FixtureData)
LENGTHS = frozenset({"along", "away", "base", "length", "depth", "height", "width", "diameter", "levelling"})


def room_from(spec: Mapping[str, Any], system: System) -> RoomData:
    """Return the room that *spec* describes: the names of :class:`RoomData`, lengths as text.

    Raises:
        LengthError, WalkError: a text that is no length or no walk.
    """
    outline = spec["outline"]
    return RoomData(
        name=spec["name"],
        height=Length.read(spec["height"], system),
        outline_text=outline,
        walls=walls_from_outline(outline, system) if outline else (),
        openings=_rows(OpeningData, spec, "openings", system),
        surfaces=_rows(SurfaceData, spec, "surfaces", system),
        fixtures=_rows(FixtureData, spec, "fixtures", system),
    )


def _rows(kind: type[Row], spec: Mapping[str, Any], name: str, system: System) -> tuple[Row, ...]:
    return tuple(kind(**_values(row, system)) for row in spec.get(name, ()))


def _values(row: Mapping[str, Any], system: System) -> dict[str, Any]:
    values: dict[str, Any] = {
        name: Length.read(value, system, allow_zero=True) if name in LENGTHS else value
        for name, value in row.items()
    }
    if "walls" in values:
        values["walls"] = tuple(values["walls"])
    return values

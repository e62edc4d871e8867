"""What screens and other apps read about measured rooms. Each call says how many queries it makes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import Count, Prefetch, QuerySet, prefetch_related_objects

from contracting.customers.models import Site
from estimates.takeoff import model
from estimates.takeoff.units import Measure, System

from .fields import Length
from .measured import ZERO, FixtureData, OpeningData, RoomData, SurfaceData, WallData, core_room
from .models import Room

PARTS = ("walls", "openings", "surfaces", "fixtures", "count_overrides")


def rooms_of_site(site: Site) -> QuerySet[Room]:
    """Return the site's rooms by name with their walls and how many surfaces they have (2 queries)."""
    return (
        Room.objects.filter(site=site)
        .select_related("updated_by")
        .annotate(surface_count=Count("surfaces"))
        .prefetch_related("walls")
        .order_by("name", "pk")
    )


def room_with_parts(pk: int) -> Room:
    """Return a room with its site, customer and everything measured in it (6 queries)."""
    return (
        Room.objects.select_related("site__customer", "updated_by")
        .prefetch_related(*(Prefetch(part) for part in PARTS))
        .get(pk=pk)
    )


def system_of(site: Site) -> System:
    """Return the units the site is measured in."""
    return System(site.units)


def takeoff_room(room: Room) -> model.Room:
    """Return *room* as the takeoff is given it; its key is the row's number (5 queries unless prefetched)."""
    return replace(
        core_room(room_data(room), str(room.pk)),
        overrides={
            model.Counted(one.what): model.Override(
                Measure(Decimal(one.quantity_millionths).scaleb(-6), one.unit), one.reason
            )
            for one in room.count_overrides.all()
        },
    )


def takeoff_rooms(rooms: Iterable[Room]) -> tuple[model.Room, ...]:
    """Return many rooms as the takeoff is given them, in 5 queries however many they are."""
    found = list(rooms)
    prefetch_related_objects(found, *PARTS)
    return tuple(takeoff_room(room) for room in found)


def room_data(room: Room) -> RoomData:
    """Return a stored room as plain values (4 queries unless prefetched)."""
    return RoomData(
        name=room.name,
        height=_sure(room.height),
        outline_text=room.outline_text,
        notes=room.notes,
        walls=tuple(
            WallData(_sure(wall.length), wall.turn_millidegrees, wall.height) for wall in room.walls.all()
        ),
        openings=tuple(
            OpeningData(
                kind=one.kind,
                wall=one.wall,
                along=_sure(one.along),
                width=_sure(one.width),
                height=_sure(one.height),
                base=_sure(one.base),
                key=one.key,
            )
            for one in room.openings.all()
        ),
        surfaces=tuple(
            SurfaceData(
                kind=one.kind,
                name=one.name,
                substrate=one.substrate,
                condition=one.condition,
                exposure=one.exposure,
                walls=tuple(one.walls),
                along=_sure(one.along),
                away=_sure(one.away),
                base=_sure(one.base),
                length=one.length,
                depth=one.depth,
                height=one.height,
                membrane=one.membrane,
                new_board=one.new_board,
                remove=one.remove,
                levelling=_sure(one.levelling),
                method=one.method,
                key=one.key,
            )
            for one in room.surfaces.all()
        ),
        fixtures=tuple(
            FixtureData(
                kind=one.kind,
                wall=one.wall,
                along=_sure(one.along),
                away=_sure(one.away),
                base=_sure(one.base),
                diameter=one.diameter,
                length=one.length,
                depth=one.depth,
                surface=one.surface,
                key=one.key,
            )
            for one in room.fixtures.all()
        ),
    )


def _sure(length: Length | None) -> Length:
    return ZERO if length is None else length


@dataclass(frozen=True)
class Difference:
    """Where what one person typed differs from what another has saved in the meantime."""

    place: str
    saved: str
    typed: str


def differences(saved: RoomData, typed: RoomData) -> list[Difference]:
    """Return every place, as ``surfaces[1].depth``, at which two versions of a room differ."""
    return list(_differences("", saved, typed))


def _differences(place: str, saved: object, typed: object) -> Iterable[Difference]:
    if isinstance(saved, Length | None) and isinstance(typed, Length | None):
        if (saved.mm if saved else None) != (typed.mm if typed else None):
            yield Difference(place, saved.typed if saved else "", typed.typed if typed else "")
    elif isinstance(saved, tuple) and isinstance(typed, tuple) and _are_rows(saved, typed):
        yield from _row_differences(place, saved, typed)
    elif hasattr(saved, "__dataclass_fields__") and type(saved) is type(typed):
        for name in saved.__dataclass_fields__:
            if name != "key":
                inner = f"{place}.{name}" if place else name
                yield from _differences(inner, getattr(saved, name), getattr(typed, name))
    else:
        yield from _plain(place, saved, typed)


def _are_rows(*sides: tuple[object, ...]) -> bool:
    return all(hasattr(one, "__dataclass_fields__") for side in sides for one in side) and any(sides)


def _plain(place: str, saved: object, typed: object) -> Iterable[Difference]:
    if saved != typed:
        yield Difference(place, _text(saved), _text(typed))


def _text(value: object) -> str:
    return ", ".join(str(one) for one in value) if isinstance(value, tuple) else str(value)


def _row_differences(
    place: str, saved: tuple[object, ...], typed: tuple[object, ...]
) -> Iterable[Difference]:
    for at in range(max(len(saved), len(typed))):
        if at >= len(saved):
            yield Difference(f"{place}[{at}]", "", "+")
        elif at >= len(typed):
            yield Difference(f"{place}[{at}]", "+", "")
        else:
            yield from _differences(f"{place}[{at}]", saved[at], typed[at])

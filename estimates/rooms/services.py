"""What changes measured rooms. Each call is one act of a person and one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from django.db import IntegrityError, transaction
from django.db.models import F, Model, ProtectedError
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from contracting.customers.models import Site
from contracting.staff.models import User
from estimates.practice.selectors import company_settings
from estimates.takeoff.assembly import assemble
from estimates.takeoff.errors import DomainError
from estimates.takeoff.phrases import gettext_noop, phrase
from estimates.takeoff.practice import Practice

from .measured import FixtureData, OpeningData, RoomData, SurfaceData, core_room
from .models import Fixture, Opening, Room, Surface, Wall
from .selectors import room_data, system_of

Row = TypeVar("Row", OpeningData, SurfaceData, FixtureData)
Part = TypeVar("Part", bound=Model)


class RoomError(DomainError):
    """The room cannot be stored as it is. Rules: ``room.name``, ``room.name-twice``, ``room.in-use``."""


class RoomChangedError(RoomError):
    """Somebody saved the room in the meantime (rule ``room.changed``); fact ``room``: as it is now."""


def room_save(
    *,
    room: Room | None,
    site: Site,
    data: RoomData,
    by: User | None,
    expected_revision: int = 0,
    practice: Practice | None = None,
) -> Room:
    """Store a new or changed room with everything measured in it.

    Args:
        room: None for a new one.
        data: all of it; what is not in it is removed.
        expected_revision: the revision the editor began with.
        practice: the company's settings, for the tolerances; read when None.

    Raises:
        RoomChangedError: somebody else saved the room since; nothing is stored.
        DomainError: the room is impossible; *place* is a path such as ``surfaces[1].depth``.
    """
    data = replace(
        data,
        name=data.name.strip(),
        openings=keyed(data.openings),
        surfaces=keyed(data.surfaces),
        fixtures=keyed(data.fixtures),
    )
    if not data.name:
        raise RoomError(phrase(gettext_noop("The room needs a name.")), rule="room.name", place="name")
    assemble(
        core_room(data, str(room.pk) if room else "new"), practice or company_settings(), system_of(site)
    )
    try:
        with transaction.atomic():
            stored = _claim(room, expected_revision) if room else Room(site=site, created_by=by)
            stored.name, stored.outline_text, stored.notes = data.name, data.outline_text, data.notes
            stored.height = data.height
            stored.updated_by = by
            stored.full_clean(validate_constraints=False)
            stored.save()
            _write_parts(stored, data)
    except IntegrityError as error:
        if Room.objects.filter(site=site, name=data.name).exclude(pk=room.pk if room else 0).exists():
            raise RoomError(
                phrase(gettext_noop("The site has another room named “{name}”."), name=data.name),
                rule="room.name-twice",
                place="name",
            ) from error
        raise
    return stored


def _claim(room: Room, expected_revision: int) -> Room:
    """Take the next revision, or say that somebody was first: one conditional UPDATE, on any database."""
    claimed = Room.objects.filter(pk=room.pk, revision=expected_revision).update(
        revision=F("revision") + 1, updated_at=timezone.now()
    )
    current = Room.objects.filter(pk=room.pk).first()
    if current is None:
        raise RoomError(
            phrase(gettext_noop("The room “{name}” has been removed in the meantime."), name=room.name),
            rule="room.gone",
        )
    if not claimed:
        who = str(current.updated_by.get_full_name() or current.updated_by) if current.updated_by else "?"
        raise RoomChangedError(
            phrase(gettext_noop("{who} saved this room while you were editing it."), who=who),
            rule="room.changed",
            room=current,
        )
    return current


def keyed(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Give every row without a key one of its own: its kind, counted on; keys once given never change."""
    taken = {row.key for row in rows if row.key}
    named = []
    for row in rows:
        key = row.key
        if not key:
            stem = slugify(row.kind)
            number = 1
            while (key := stem if number == 1 else f"{stem}-{number}") in taken:
                number += 1
            taken.add(key)
        named.append(replace(row, key=key))
    return tuple(named)


def _write_parts(room: Room, data: RoomData) -> None:
    """Write walls, openings, surfaces and fixtures anew; keys, not rows, are what others hold on to."""
    for model in (Wall, Opening, Surface, Fixture):
        model.objects.filter(room=room).delete()
    Wall.objects.bulk_create(
        _filled(
            Wall(room=room, number=number, turn_millidegrees=wall.turn_millidegrees),
            length=wall.length,
            height=wall.height,
        )
        for number, wall in enumerate(data.walls, 1)
    )
    Opening.objects.bulk_create(_parts(Opening, room, data.openings))
    Surface.objects.bulk_create(_parts(Surface, room, data.surfaces))
    Fixture.objects.bulk_create(_parts(Fixture, room, data.fixtures))


def _parts(
    model: type[Part], room: Room, rows: Sequence[OpeningData | SurfaceData | FixtureData]
) -> Iterable[Part]:
    for position, row in enumerate(rows):
        values = {name: getattr(row, name) for name in row.__dataclass_fields__}
        if "walls" in values:
            values["walls"] = list(values["walls"])
        part = model(room=room, position=position)
        yield _filled(part, **values)


def _filled(part: Part, **values: object) -> Part:
    for name, value in values.items():
        setattr(part, name, value)
    return part


@transaction.atomic
def room_remove(*, room: Room) -> None:
    """Remove a room that no estimate rests on.

    Raises:
        RoomError: rule ``room.in-use``.
    """
    try:
        room.delete()
    except ProtectedError as error:
        raise RoomError(
            phrase(
                gettext_noop("“{name}” stays: {count} records rest on it, such as an estimate."),
                name=room.name,
                count=len(error.protected_objects),
            ),
            rule="room.in-use",
        ) from error


def room_copy(*, room: Room, by: User | None, site: Site | None = None) -> Room:
    """Store a copy of *room* under a free name, at its own site or another one."""
    target = site or room.site
    taken = set(Room.objects.filter(site=target).values_list("name", flat=True))
    name, number = room.name, 2
    while name in taken:
        name = _("%(name)s (%(number)d)") % {"name": room.name[:70], "number": number}
        number += 1
    return room_save(room=None, site=target, data=replace(room_data(room), name=name), by=by)

"""Storing rooms: all of it or nothing, once, and never over somebody else's work unseen."""

from dataclasses import replace

import pytest

from contracting.staff.models import User
from estimates.rooms import selectors, services
from estimates.rooms.measured import FixtureData, SurfaceData
from estimates.rooms.models import Fixture, Opening, Room, Surface, Wall
from estimates.takeoff.errors import DomainError
from tests.contracting.factories import SiteFactory

from .factories import bath, feet, room

pytestmark = pytest.mark.django_db


def counts() -> list[int]:
    return [
        Room.objects.count(),
        Wall.objects.count(),
        Opening.objects.count(),
        Surface.objects.count(),
        Fixture.objects.count(),
    ]


def test_what_is_stored_reads_back_as_it_was_typed() -> None:
    data = bath()

    assert selectors.room_data(room(data=data)) == data


def test_a_room_is_stored_with_who_measured_it(office_manager: User) -> None:
    stored = services.room_save(room=None, site=SiteFactory(), data=bath(), by=office_manager)

    assert (stored.created_by, stored.updated_by, stored.revision) == (office_manager, office_manager, 1)


def test_keys_are_given_once_and_kept() -> None:
    data = bath()
    new = SurfaceData(kind="wall", name="Side", substrate="cement board", walls=(1,))
    stored = room(data=replace(data, surfaces=(*data.surfaces, new)))
    # The first wall is taken away; the second keeps the key that estimates know it by.
    kept = [one for one in selectors.room_data(stored).surfaces if one.name != "Back wall"]

    again = services.room_save(
        room=stored,
        site=stored.site,
        data=replace(data, surfaces=tuple(kept)),
        by=None,
        expected_revision=1,
    )

    assert [one.key for one in again.surfaces.all()] == ["floor", "wall-2"]


@pytest.mark.parametrize(
    ("changes", "rule", "place"),
    [
        ({"name": "  "}, "room.name", "name"),
        (
            {"fixtures": (FixtureData(kind="flange", wall=9, diameter=feet("4")),)},
            "room.unknown-wall",
            "fixtures[0].wall",
        ),
        (
            {
                "surfaces": (
                    SurfaceData(
                        kind="niche",
                        name="Niche",
                        substrate="cement board",
                        walls=(2,),
                        base=feet("48"),
                        length=feet("70"),
                        height=feet("12"),
                        depth=feet("4"),
                    ),
                )
            },
            "surface.niche-too-big",
            "surfaces[0].length",
        ),
    ],
)
def test_an_impossible_room_is_refused_at_its_place_and_nothing_is_stored(
    changes: dict[str, object], rule: str, place: str
) -> None:
    with pytest.raises(DomainError) as caught:
        room(**changes)

    assert (caught.value.rule, caught.value.place) == (rule, place)
    assert counts() == [0, 0, 0, 0, 0]


def test_a_refused_change_leaves_the_stored_room_whole() -> None:
    stored = room()
    before = selectors.room_data(stored)

    with pytest.raises(DomainError):
        services.room_save(
            room=stored,
            site=stored.site,
            data=replace(before, fixtures=(FixtureData(kind="flange", wall=9, diameter=feet("4")),)),
            by=None,
            expected_revision=1,
        )

    again = selectors.room_with_parts(stored.pk)
    assert selectors.room_data(again) == before
    assert again.revision == 1


def test_a_name_is_refused_the_second_time_in_words() -> None:
    site = SiteFactory()
    room(site)

    with pytest.raises(services.RoomError) as caught:
        room(site)

    assert (caught.value.rule, caught.value.place) == ("room.name-twice", "name")
    assert str(caught.value.reason) == "The site has another room named “Hall bath”."
    assert Room.objects.count() == 1


def test_the_second_of_two_editors_is_told_who_was_first(office_manager: User) -> None:
    stored = room()
    data = selectors.room_data(stored)
    services.room_save(
        room=stored,
        site=stored.site,
        data=replace(data, height=feet("9'")),
        by=office_manager,
        expected_revision=1,
    )

    with pytest.raises(services.RoomChangedError) as caught:
        services.room_save(
            room=stored,
            site=stored.site,
            data=replace(data, notes="mine"),
            by=None,
            expected_revision=1,
        )

    assert str(caught.value.reason) == "Priya saved this room while you were editing it."
    current = Room.objects.get(pk=stored.pk)
    assert (current.height.typed, current.notes, current.revision) == ("9'", "", 2)  # type: ignore[union-attr]


def test_a_room_that_was_removed_meanwhile_is_refused_in_words() -> None:
    stored = room()
    Room.objects.all().delete()

    with pytest.raises(services.RoomError) as caught:
        services.room_save(room=stored, site=stored.site, data=bath(), by=None, expected_revision=1)

    assert caught.value.rule == "room.gone"


def test_differences_name_each_place_with_both_versions() -> None:
    saved = bath()
    typed = replace(
        saved,
        height=feet("9'"),
        surfaces=(replace(saved.surfaces[0], substrate="OSB"), saved.surfaces[1]),
        fixtures=saved.fixtures[:1],
    )

    found = [(one.place, one.saved, one.typed) for one in selectors.differences(saved, typed)]

    assert found == [
        ("height", "8'", "9'"),
        ("surfaces[0].substrate", "plywood", "OSB"),
        ("fixtures[1]", "+", ""),
    ]


def test_the_same_length_written_otherwise_is_no_difference() -> None:
    assert selectors.differences(bath(), replace(bath(), height=feet("96"))) == []


def test_a_copy_takes_a_free_name() -> None:
    stored = room()

    copies = [services.room_copy(room=stored, by=None) for _ in range(2)]

    assert [copy.name for copy in copies] == ["Hall bath (2)", "Hall bath (3)"]
    assert replace(selectors.room_data(copies[1]), name="Hall bath") == bath()


def test_a_room_is_removed_with_everything_in_it() -> None:
    services.room_remove(room=room())

    assert counts() == [0, 0, 0, 0, 0]

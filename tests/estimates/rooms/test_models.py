"""What the database itself refuses, whatever a program forgets."""

from typing import Any

import pytest
from django.db import IntegrityError, models

from estimates.rooms import choices
from estimates.rooms.fields import Length
from estimates.rooms.models import Fixture, Opening, Room, Surface, Wall
from estimates.takeoff import model as core
from tests.contracting.factories import SiteFactory

from .factories import feet, room

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("mine", "theirs"),
    [
        (choices.SurfaceKind, core.SurfaceKind),
        (choices.Substrate, core.Substrate),
        (choices.Condition, core.Condition),
        (choices.Exposure, core.Exposure),
        (choices.Covering, core.Covering),
        (choices.BondMethod, core.BondMethod),
        (choices.FixtureKind, core.FixtureKind),
        (choices.OpeningKind, core.OpeningKind),
        (choices.Counted, core.Counted),
    ],
)
def test_the_choices_are_those_of_the_takeoff(mine: type[models.TextChoices], theirs: Any) -> None:
    assert set(mine.values) == {one.value for one in theirs}


def test_a_length_keeps_what_was_typed_beside_the_exact_value() -> None:
    stored = Room.objects.get(pk=room(height=feet("8' 4 1/16\"")).pk)

    assert stored.height == Length("8' 4 1/16\"", feet("100 1/16").mm)
    # 100 1/16 in is 2541.5875 mm, by the definition of the inch (25.4 mm, international yard and pound 1959).
    assert Room.objects.filter(height_units=25_415_875, height_typed="8' 4 1/16\"").exists()


def test_a_missing_length_is_none_and_an_offset_is_zero() -> None:
    stored = room()

    assert [wall.height for wall in stored.walls.all()] == [None] * 4
    assert stored.surfaces.get(key="floor").along == Length("", feet("0", zero=True).mm)


def breaking(fields: dict[str, Any], table: type[models.Model]) -> None:
    """Write round the service and full_clean, straight into the table."""
    table._default_manager.filter(pk=table._default_manager.first().pk).update(**fields)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("table", "fields", "constraint"),
    [
        (Room, {"name": ""}, "room_has_name"),
        (Room, {"height_units": 0}, "room_height_above_zero"),
        (Room, {"revision": 0}, "room_revision_from_one"),
        (Wall, {"number": 2}, "wall_number_once_per_room"),
        (Wall, {"number": 0}, "wall_number_from_one"),
        (Wall, {"length_units": 0}, "wall_length_above_zero"),
        (Wall, {"height_units": 0}, "wall_height_above_zero"),
        (Wall, {"turn_millidegrees": 180_000}, "wall_turn_below_half_circle"),
        (Wall, {"turn_millidegrees": -180_000}, "wall_turn_below_half_circle"),
        (Opening, {"kind": "hatch"}, "opening_kind_known"),
        (Opening, {"wall": 0}, "opening_wall_from_one"),
        (Opening, {"width_units": 0}, "opening_width_above_zero"),
        (Opening, {"height_units": 0}, "opening_height_above_zero"),
        (Surface, {"name": ""}, "surface_has_name"),
        (Surface, {"kind": "ceiling"}, "surface_kind_known"),
        (Surface, {"substrate": "straw"}, "surface_substrate_known"),
        (Surface, {"condition": "odd"}, "surface_condition_known"),
        (Surface, {"exposure": "damp"}, "surface_exposure_known"),
        (Surface, {"remove": "all"}, "surface_remove_known"),
        (Surface, {"method": "glue"}, "surface_method_known"),
        (Surface, {"length_units": 0}, "surface_length_above_zero"),
        (Surface, {"depth_units": 0}, "surface_depth_above_zero"),
        (Surface, {"height_units": 0}, "surface_height_above_zero"),
        (Surface, {"key": "wall"}, "surface_key_once_per_room"),
        (Fixture, {"kind": "boiler"}, "fixture_kind_known"),
        (Fixture, {"wall": 0}, "fixture_wall_from_one"),
        (Fixture, {"diameter_units": 0}, "fixture_diameter_above_zero"),
        (Fixture, {"length_units": 0}, "fixture_length_above_zero"),
        (Fixture, {"depth_units": 0}, "fixture_depth_above_zero"),
        (Fixture, {"key": "flange"}, "fixture_key_once_per_room"),
    ],
)
def test_the_database_refuses(table: type[models.Model], fields: dict[str, Any], constraint: str) -> None:
    room()

    with pytest.raises(IntegrityError):
        breaking(fields, table)
    assert constraint in {one.name for one in table._meta.constraints}


def test_a_site_has_a_room_name_once() -> None:
    site = SiteFactory()
    room(site)

    with pytest.raises(IntegrityError):
        Room.objects.create(site=site, name="Hall bath", height_typed="8'", height_units=24_384_000)


def test_a_wall_says_its_turn_as_it_is_typed() -> None:
    assert [wall.turn_text for wall in room().walls.all()] == ["R"] * 4
    assert Wall(turn_millidegrees=-30_500).turn_text == "L30.5"

"""Starter sets fit the walls they are laid out for, in every unit, and pass the takeoff's own checks."""

import pytest
from django.http import QueryDict

from estimates.rooms import editing
from estimates.rooms.forms import RoomForms
from estimates.rooms.measured import core_room, walls_from_outline
from estimates.rooms.starters import STARTERS, starter
from estimates.takeoff.assembly import assemble
from estimates.takeoff.practice import Practice
from estimates.takeoff.units import System
from tests.contracting.factories import SiteFactory

from .factories import typed

pytestmark = pytest.mark.django_db

OUTLINES = {
    System.INCH: ["8' x 5'", "5' x 8'", "10' x 8' less 4' x 3'", "12' x 9'", "8' 5' 8' 0 1/4 5'"],
    System.METRIC: ["2.4 m x 1.5 m", "1.5 m x 2.4 m", "3 m x 2.4 m less 1.2 m x 0.9 m", "3.6 m x 2.8 m"],
}


@pytest.mark.parametrize("name", STARTERS)
@pytest.mark.parametrize(
    ("system", "outline"), [(system, line) for system, lines in OUTLINES.items() for line in lines]
)
def test_a_starter_makes_a_room_that_can_be_taken_off(name: str, system: System, outline: str) -> None:
    site = SiteFactory(units=system.value)
    fields = QueryDict(mutable=True)
    height = "8'" if system is System.INCH else "2400"
    fields.update(typed(outline_text=outline, height=height))
    forms = RoomForms(site, fields)

    laid_out = RoomForms(site, editing._with_starter(forms, name).typed)

    assert laid_out.is_valid(), laid_out.problems()
    data = laid_out.data()
    assembled = assemble(core_room(data, "room"), Practice(), system)
    assert {face.surface for face in assembled.faces} == {one.key for one in core_room(data, "room").surfaces}


def test_the_tub_stands_in_its_alcove() -> None:
    made = starter("tub-bath", walls_from_outline("8' x 5'", System.INCH), System.INCH)

    tub = next(one for one in made.fixtures if one["kind"] == "tub")
    # The 5 ft wall takes the tub; the mixer is in the middle of its end, 15 in from the corner.
    assert (tub["wall"], tub["length"]) == ("2", "5' 0\"")
    mixer = next(one for one in made.fixtures if one["kind"] == "mixer")
    assert (mixer["wall"], mixer["along"]) == ("3", "1' 3\"")
    # Walls are covered to 6 ft: 15 in of tub and 57 in above it.
    back = next(one for one in made.surfaces if one["name"] == "Back wall")
    assert (back["base"], back["height"]) == ("1' 3\"", "4' 9\"")


def test_without_walls_a_counter_still_has_its_set() -> None:
    made = starter("counter", (), System.INCH)

    assert [one["kind"] for one in made.surfaces] == ["counter", "backsplash"]
    assert starter("castle", (), System.INCH).surfaces == []
    assert made.fixtures[0]["kind"] == "sink"

"""What somebody enters instead of a count goes through to needs and hours, and its reason is printed."""

import json
from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimates.takeoff.document import read_document
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Counted, Override, RoomSet
from estimates.takeoff.practice import Practice
from estimates.takeoff.run import run
from estimates.takeoff.units import Measure, System

from .cast import ROOMS, START, example, figure, floor, materials, rectangle, take_off


def bath(**overrides):
    content = json.loads((ROOMS / "bath_with_tub.json").read_text())
    content["rooms"][0]["overrides"] = {
        name.replace("_", " "): {"quantity": quantity, "reason": "seen on site"}
        for name, quantity in overrides.items()
    }
    document = read_document(json.dumps(content))
    return run(document.room_set, document.materials, document.practice, start=START)


def test_an_entered_bead_goes_through_to_the_sealant_and_shows_why():
    found = bath(sealant_bead="20 ft")
    bead = figure(found.rooms[0], "bead")

    # Counted 15.6179939 ft (see the hand-worked bath); 20 ft x 12 x 0.03125 / 1.8046875 = 4.1558442 fl oz.
    assert bead.value == 20
    assert bead.evaluate() == 20
    assert float(bead.lines[0].value) == pytest.approx(15.6179939)
    assert "seen on site" in {str(line.source) for line in bead.lines if getattr(line, "source", None)}
    assert float(figure(found.rooms[0], "sealant").value) == pytest.approx(4.1558442)


def test_entered_corners_and_strips_change_what_is_bought_and_worked():
    found = bath(inside_corner_piece=12, strips="30 ft")
    hours = {row.key: row.hours.value for row in found.hours}

    # Twelve corner pieces: two boxes of ten. At 12, 8, 5 an hour, set-up 0.25, small room 1.25:
    # o 0.25 + 1.25 = 1.5, m 0.25 + 1.875 = 2.125, p 0.25 + 3 = 3.25; E = 13.25 / 6 = 2.2083 -> 2.3.
    assert {need.material: need.packs.value for need in found.needs}["inside"] == 2
    assert hours["corners.membrane_corners.bath"] == D("2.3")
    # Strips 30 ft at 40, 25, 15, x 1.25: 0.9375, 1.5, 2.5; E = 9.4375 / 6 = 1.5729 -> 1.6.
    assert hours["strips.membrane_strips.bath"] == D("1.6")


@pytest.mark.parametrize(
    ("override", "place"),
    [
        (Override(Measure(D(3), "gal"), "x"), "quantity"),
        (Override(Measure(D(3), "ft"), "  "), "reason"),
        (Override(Measure(D(-3), "ft"), "x"), "quantity"),
    ],
)
def test_an_override_that_says_nothing_is_refused_at_its_place(override, place):
    room = replace(rectangle(60, 96, surfaces=(floor(),)), overrides={Counted.BEAD: override})

    with pytest.raises(DomainError) as caught:
        take_off(room)

    assert caught.value.place == f"rooms[0].overrides.sealant bead.{place}"


def test_in_heat_the_shorter_open_time_makes_smaller_batches():
    # 15 min: 15 x 2 / (1/4 + 1/6) = 72 sq ft; 10 min: 48. The foyer's 70.25 sq ft then take two batches.
    document = example("foyer_over_tile")
    hotter = {"open time hot": Measure(D(10), "min")}
    shelf = tuple(
        replace(one, facts={**one.facts, **hotter}) if one.key == "agent" else one for one in materials()
    )
    hot = Practice().override("laid_hot", Measure(D(1), ""))

    assert len(run(document.room_set, shelf, start=START).batches) == 1
    batches = run(RoomSet(System.INCH, document.room_set.rooms), shelf, hot, start=START).batches
    assert len(batches) > 1
    assert all(batch.area <= 48 and batch.embed_within_min == 10 for batch in batches)

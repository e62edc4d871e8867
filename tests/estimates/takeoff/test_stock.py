"""Offcuts on the shelf are used up before a roll is bought."""

import json
from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimates.takeoff.answer import write_takeoff
from estimates.takeoff.document import read_document
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import RoomSet, StockPiece
from estimates.takeoff.run import run
from estimates.takeoff.units import System, inches

from .cast import ROOMS, START, example, floor, materials, rectangle


def job(*stock):
    return run(
        RoomSet(System.INCH, (rectangle(36, 60, surfaces=(floor(),)),), stock=stock), materials(), start=START
    )


def membrane(takeoff):
    return next(need for need in takeoff.needs if need.material == "membrane")


def test_an_offcut_that_holds_everything_leaves_no_roll_to_buy():
    # Floor 36 x 60 one sheet; strips round it 36, 36, 60 -> 2, 60 -> 2: six of 4 in. 60 + 6 x 4 = 84 in.
    found = job(StockPiece("left over", inches(39), inches(90)))

    assert [(roll.kind_key, roll.used_length_mm / D("25.4")) for roll in found.cut_plan.rolls] == [
        ("left over", 84)
    ]
    assert membrane(found).packs.value == 0
    # 36 x 60 + (36 + 36 + 60 + 60 + 2 x 1.5) x 4 = 2160 + 780 = 2940 sq in
    assert membrane(found).quantity.value == pytest.approx(D(2940) / 144)


def test_an_offcut_too_small_for_anything_changes_nothing():
    scrap = StockPiece("scrap", inches(3), inches(20))

    assert membrane(job(scrap)).packs.value == membrane(job()).packs.value == 1


def test_what_an_offcut_yields_comes_from_it_even_where_a_roll_is_bought():
    found = job(StockPiece("end", inches(39), inches(30)))
    kinds = {roll.kind_key: roll for roll in found.cut_plan.rolls}

    # The sheet of 60 needs a roll; the 6 strips of 4 in (24 in) come out of the 30 in on the shelf.
    assert set(kinds) == {"end", "membrane"}
    assert {placed.piece_key[0] for placed in kinds["end"].placed} == {"S"}
    assert membrane(found).packs.value == 1
    rolls = write_takeoff(found, System.INCH)["cut_plan"]["rolls"]
    assert {row["kind"]: row["is_stock"] for row in rolls} == {"end": True, "membrane": False}


def test_stock_is_read_from_the_document_and_what_is_left_is_listed():
    content = json.loads((ROOMS / "foyer_over_tile.json").read_text())
    content["format"] = "ledgerboard/takeoff-input/1.1"
    content["stock"] = [{"key": "s1", "width": "39 in", "length": "30 ft"}]
    document = read_document(json.dumps(content))

    found = run(document.room_set, document.materials, document.practice, start=START)

    assert document.room_set.stock == (StockPiece("s1", inches(39), inches(360)),)
    # The foyer takes 272 in of 39 in membrane; 88 in are left and listed.
    (roll,) = write_takeoff(found, System.INCH)["cut_plan"]["rolls"]
    assert roll["kind"] == "s1"
    assert max(D(row["along_mm"]) for row in roll["offcuts"]) >= inches(88)


@pytest.mark.parametrize(
    ("piece", "place"),
    [
        (StockPiece("membrane", inches(39), inches(30)), "stock[0].key"),
        (StockPiece("x", inches(39), inches(30), "tile6"), "stock[0].material"),
    ],
)
def test_stock_that_is_no_membrane_is_refused(piece, place):
    document = example("foyer_over_tile")
    with pytest.raises(DomainError) as caught:
        run(replace(document.room_set, stock=(piece,)), document.materials, start=START)

    assert caught.value.place == place

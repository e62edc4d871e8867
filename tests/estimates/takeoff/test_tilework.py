"""Tile with its trowel, saw and sheets: what settings and data sheet say reaches the layout."""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimates.takeoff.model import Pattern, RoomSet, TileChoice
from estimates.takeoff.practice import Practice
from estimates.takeoff.run import run
from estimates.takeoff.tiling.reuse import Piece, pack_rectangles
from estimates.takeoff.units import Measure, System

from .cast import START, figure, floor, materials, rectangle, take_off


def with_facts(key, **facts):
    changed = {name.replace("_", " "): Measure(D(value), "in") for name, value in facts.items()}
    return tuple(
        replace(material, facts={**material.facts, **changed}) if material.key == key else material
        for material in materials()
    )


def floored(shelf, practice=None, pattern=Pattern.STRAIGHT):
    room = rectangle(60, 96, surfaces=(floor(tile=TileChoice("tile12", pattern)),))
    return run(RoomSet(System.INCH, (room,)), shelf, practice or Practice(), start=START)


def test_tile_from_15_in_has_its_back_coated_and_takes_more_mortar():
    # 40 sq ft / 80 = 0.5 bag, x 1.15 for the coat on the back (a practice setting) = 0.575.
    large = floored(with_facts("tile12", width=15, height=15))
    small = floored(materials())

    assert figure(small.rooms[0], "mortar").value == D("0.5")
    assert figure(large.rooms[0], "mortar").value == D("0.575")
    assert large.rooms[0].tiled[0].trowel.back_butter
    assert any(notice.key == "r.tile12.back" for notice in large.notices)
    assert not any(notice.key == "r.tile12.back" for notice in small.notices)


@pytest.mark.parametrize("pattern", [Pattern.STRAIGHT, Pattern.HALF, Pattern.DIAGONAL, Pattern.HEXAGON])
def test_tile_on_sheets_is_bought_by_the_sheet_whatever_pattern_is_named(pattern):
    sheet = {"sheet_width": "11.9375", "sheet_height": "11.9375"}
    chips = with_facts("tile12", width="1.9375", height="1.9375", joint="0.0625", **sheet)

    found = floored(chips, pattern=pattern)

    # 60 x 96 in by sheets of 12 in module: 5 x 8 = 40 sheets.
    assert found.rooms[0].tiled[0].layout.needed.value == 40


def test_the_gap_at_the_wall_is_left_free_of_tile():
    wide = Practice().override("edge_gap", Measure(D("0.25"), "in"))

    laid = floored(materials(), wide).rooms[0].tiled[0].layout
    xs = [x for placed in laid.placements for x, _ in placed.outline]

    assert min(xs) == D("6.35")
    assert max(xs) == D("1524") - D("6.35")


def test_messages_name_lengths_in_the_sites_own_unit():
    room = rectangle(60, 96, surfaces=(floor(tile=TileChoice("tile12", joint_mm=D(1))),))

    texts = [str(notice.text) for notice in take_off(room).notices]

    assert any("joint of 1/16" in text or "joint of 1/32" in text or " in" in text for text in texts)
    assert not any(" mm" in text for text in texts)


def test_strips_with_one_factory_edge_come_two_from_a_tile_and_bare_ones_three():
    # A 6 in tile has two opposite factory edges. A strip of 1 1/2 in over a curb or a sill shows one edge, so
    # two strips come from a tile; the piece between them would show a sawn edge. Where no edge shows, three
    # do: 3 x 38.1 + 2 x 2 = 118.3 < 152.4 mm.
    shown = [Piece(38.1, 152.4, True, False, True, True)] * 6
    hidden = [Piece(38.1, 152.4, False, False, True, True)] * 6

    def tiles(pieces):
        return len(set(pack_rectangles(pieces, (152.4, 152.4), 2.0, [0, 2])))

    assert (tiles(shown), tiles(hidden)) == (3, 2)

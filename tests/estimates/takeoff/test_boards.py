"""Backer board, fasteners and levelling compound; the numbers are worked out by hand."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
import shapely

from estimates.takeoff.model import Condition, Exposure, RoomSet, Substrate
from estimates.takeoff.run import run
from estimates.takeoff.units import Measure, System, inches

from .cast import START, figure, floor, materials, rectangle, take_off, taken_off, wall


def test_boards_by_area_and_fasteners_by_board():
    # Wall 60 x 96 = 40 sq ft; boards of 15 sq ft: 2.6667. Hung lying, 1/8 in apart: 60 x 36, 60 x 36 and
    # 60 x 23.75: 3 boards, no more than the area asks for. Fasteners 40 x 2 x 1.05 = 84.
    room = rectangle(
        60,
        96,
        surfaces=(wall(1, new_board=True, substrate=Substrate.GYPSUM_BOARD, exposure=Exposure.WET),),
    )

    takeoff = take_off(room)
    needs = {need.material: need for need in takeoff.needs}

    assert needs["board"].quantity.value == pytest.approx(D("2.6666667"), abs=D("1e-6"))
    assert needs["board"].packs.value == 3
    assert needs["screws"].quantity.value == 84
    assert needs["screws"].packs.value == 1


def test_boards_are_rounded_up_once_for_the_job_and_not_once_a_room():
    rooms = [
        rectangle(
            60,
            96,
            key=f"r{number}",
            name=f"Room {number}",
            surfaces=(wall(1, new_board=True, height_mm=inches(72)),),
        )
        for number in range(4)
    ]

    # 60 x 72 = 30 sq ft; hung lying 60 x 36 and 60 x 35.875: 2 boards a room, 8 in four.
    # No waste is added: what is cut off a board is in the plan.
    found = take_off(*rooms)
    need = next(need for need in found.needs if need.material == "board")

    assert need.quantity.value == 8
    assert need.packs.value == 8
    assert found.board_plan.least == 8
    assert found.board_plan.plan.proven
    assert [(room, figure.value) for room, figure in need.by_room] == [(f"r{n}", 2) for n in range(4)]


def test_levelling_compound_by_area_and_depth():
    # 60 x 96 = 40 sq ft by 1/4 in = 0.8333 cu ft; bags of 0.5: 1.6667, x 1.1 = 1.83 -> 2.
    room = rectangle(60, 96, surfaces=(floor(condition=Condition.UNEVEN, levelling_mm=inches("0.25")),))

    takeoff = take_off(room)
    need = next(need for need in takeoff.needs if need.material == "leveller")

    assert need.quantity.value == pytest.approx(D("1.6666667"), abs=D("1e-6"))
    assert need.packs.value == 2
    assert figure(takeoff.rooms[0], "leveller").evaluate() == need.quantity.value
    assert any(row.activity == "level" for row in takeoff.hours)


def test_offcuts_of_board_are_used_on_other_walls():
    # Two walls 40 x 60, boards 36 x 60, 1/8 in apart: standing a wall takes 36 and 3.875; lying 40 x 36 and
    # 40 x 23.875. Both 3.875 come off one board standing: 3 boards; 33.3 sq ft by area ask for 3 of 15.
    walls = (wall(1, new_board=True, height_mm=inches(60)), wall(3, new_board=True, height_mm=inches(60)))

    found = take_off(rectangle(40, 96, surfaces=walls))

    assert len(found.board_plan.plan.rolls) == 3
    assert found.board_plan.least == 3


def test_boards_cover_every_face_but_the_gaps_and_are_cut_once():
    found = taken_off("wet_room")
    for room in found.rooms:
        for face in room.faces:
            boards = [
                shapely.Polygon([(float(x), float(y)) for x, y in piece.outline])
                for piece in found.board_plan.pieces
                if piece.face == face.key
            ]
            if not boards:
                continue
            shape = shapely.Polygon(
                [(float(x), float(y)) for x, y in face.outline],
                [[(float(x), float(y)) for x, y in hole] for hole in face.holes],
            )
            bare = shape.difference(shapely.union_all(boards))
            # Bare is no more than the gap, 3.175 mm; where two cross, 2.25 from corner to middle.
            assert bare.buffer(-2.3).area < 1
            assert sum(board.area for board in boards) == pytest.approx(shapely.union_all(boards).area)
    cut = [placed.piece_key for roll in found.board_plan.plan.rolls for placed in roll.placed]
    assert sorted(cut) == sorted(piece.key for piece in found.board_plan.pieces)


def test_fasteners_by_their_spacing_where_the_data_sheet_gives_it():
    # Wall 60 x 96: three lying boards, 60 x 36 twice and 60 x 23.75. Studs at 16 in: ceil(60 / 16) + 1 = 5
    # rows; every 8 in: ceil(36 / 8) + 1 = 6, ceil(23.75 / 8) + 1 = 4. 2 x 30 + 20 = 80, x 1.05 = 84.
    spaced = tuple(
        replace(one, facts={**one.facts, "fastener spacing": Measure(D(8), "in")})
        if one.key == "board"
        else one
        for one in materials()
    )
    room = rectangle(60, 96, surfaces=(wall(1, new_board=True),))

    found = run(RoomSet(System.INCH, (room,)), spaced, start=START)

    assert figure(found.rooms[0], "fasteners").value == 84

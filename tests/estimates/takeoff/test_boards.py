"""Backer board, fasteners and levelling compound; the numbers are worked out by hand."""

from decimal import Decimal as D

import pytest

from estimates.takeoff.model import Condition, Exposure, Substrate
from estimates.takeoff.units import inches

from .cast import figure, floor, rectangle, take_off, wall


def test_boards_by_area_and_fasteners_by_board():
    # Wall 60 x 96 = 40 sq ft; boards of 15 sq ft: 2.6667, x 1.1 -> 3. Fasteners 40 x 2 x 1.05 = 84.
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

    # 60 x 72 = 30 sq ft = 2 boards a room, x 1.1 = 2.2: 3 for it alone. Four: 8 x 1.1 = 8.8 -> 9, not 12.
    need = next(need for need in take_off(*rooms).needs if need.material == "board")

    assert need.quantity.value == 8
    assert need.packs.value == 9
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

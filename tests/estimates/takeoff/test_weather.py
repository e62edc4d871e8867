"""Corrections for heat, cold and damp air, where a data sheet gives them; settings of labour and trowel."""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from estimates.takeoff.document import read_document
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Role, Substrate
from estimates.takeoff.practice import Practice
from estimates.takeoff.run import run
from estimates.takeoff.units import Measure
from estimates.takeoff.weather import held

from .cast import ROOMS, START, example, floor, materials, rectangle, taken_off


def sheet(**facts: str):
    """The agent with more values on its data sheet, such as ``cure_cold="6 h"``."""
    more = {}
    for name, text in facts.items():
        number, unit = text.split()
        known = name.replace("wait_non_porous", "wait non-porous").replace("_", " ")
        more[known] = Measure(D(number), unit)
    return tuple(
        replace(one, facts={**one.facts, **more}) if one.role is Role.BONDING_AGENT else one
        for one in materials()
    )


def agent(found):
    return next(one for one in found if one.role is Role.BONDING_AGENT)


@pytest.mark.parametrize(
    ("setting", "facts", "name", "value"),
    [
        # As invented data sheets: 15 min open, 8 in heat; 15 min wait, 40 damp; 2 h cure, 6 cold, 4 damp.
        ("laid_hot", {"open_time_hot": "8 min"}, "open time", 8),
        ("laid_hot", {"open_time_hot": "20 min"}, "open time", 15),  # never longer than the usual one
        ("laid_humid", {"wait_non_porous_humid": "40 min"}, "wait non-porous", 40),
        ("laid_cold", {"wait_non_porous_cold": "30 min"}, "wait non-porous", 30),
        ("laid_cold", {"cure_cold": "6 h"}, "cure", 6),
        ("laid_humid", {"cure_humid": "4 h"}, "cure", 4),
        ("laid_humid", {"cure_cold": "6 h"}, "cure", 2),  # it is damp, not cold
        ("laid_humid", {}, "cure", 2),  # the data sheet says nothing of it
    ],
)
def test_what_the_data_sheet_gives_for_the_weather_holds(setting, facts, name, value):
    usual = Practice()
    found = agent(sheet(**facts))

    assert held(found, name, usual.override(setting, Measure(D(1), ""))).value.value == value
    assert held(found, name, usual).value == found.facts[name]


def test_of_cold_and_damp_the_longer_cure_holds():
    practice = Practice()
    for name in ("laid_cold", "laid_humid"):
        practice = practice.override(name, Measure(D(1), ""))

    assert held(agent(sheet(cure_cold="6 h", cure_humid="240 min")), "cure", practice).value.to("h") == 6
    assert held(agent(sheet(cure_cold="3 h", cure_humid="240 min")), "cure", practice).value.to("h") == 4


def test_damp_air_moves_batches_and_schedule():
    room = rectangle(60, 60, surfaces=(floor(substrate=Substrate.SHEET_VINYL),))
    room_set = replace(example("foyer_over_tile").room_set, rooms=(room,))
    found = sheet(wait_non_porous_humid="40 min", cure_humid="20 h")
    damp = Practice().override("laid_humid", Measure(D(1), ""))

    dry, wet = (run(room_set, found, practice, start=START) for practice in (Practice(), damp))

    assert [batch.wait_min for batch in dry.batches] == [15]
    assert [batch.wait_min for batch in wet.batches] == [40]
    assert {wait.cure.hours for wait in wet.schedule.waits if wait.cure.key == "bond"} == {D(20)}
    tacky = [wait.cure for wait in wet.schedule.waits if wait.cure.key == "tacky"]
    assert all(cure.hours * 60 == pytest.approx(40) for cure in tacky)
    assert wet.schedule.finish > dry.schedule.finish


def test_heat_is_named_in_the_working_of_the_largest_batch():
    room = rectangle(60, 60, surfaces=(floor(),))
    room_set = replace(example("foyer_over_tile").room_set, rooms=(room,))
    hot = Practice().override("laid_hot", Measure(D(1), ""))

    found = run(room_set, sheet(open_time_hot="8 min"), hot, start=START).rooms[0]

    most = next(one for one in found.figures if one.key.endswith(".batch"))
    # 8 min * 2 people / (1/4 + 1/6 min per sq ft) = 16 / (5/12) = 38.4 sq ft.
    assert most.value == pytest.approx(D("38.4"), abs=D("1e-18"))
    assert "Open time in heat or dry wind" in {str(line.label) for line in most.lines}
    assert most.evaluate() == most.value


def test_a_document_may_give_them_and_need_not():
    text = (ROOMS / "wet_room.json").read_text(encoding="utf-8")
    more = text.replace(
        '"cure": "2 h"', '"cure": "2 h", "cure humid": "5 h", "wait non-porous cold": "30 min"'
    )
    assert more != text

    facts = agent(read_document(more).materials).facts

    assert facts["cure humid"] == Measure(D(5), "h")
    assert "cure humid" not in agent(read_document(text).materials).facts


# --- Settings that say how hours are counted and how a trowel is held ---------------------------------------


def test_hours_learning_and_small_rooms_are_settings():
    practice = (
        Practice()
        .override("hours_step", Measure(D(30), "min"))
        .override("learning", Measure(D(1), ""))
        .override("small_room", Measure(D(10), "sq ft"))
    )
    document = example("wet_room")

    usual = taken_off("wet_room")
    own = run(document.room_set, document.materials, practice, start=START)

    # Half hours, in view.
    timed = [row.hours for row in own.hours if row.activity != "travel"]
    assert all(figure.value % D("0.5") == 0 for figure in timed)
    assert "the contractor's own setting" in {
        str(line.source) for figure in timed for line in figure.lines if getattr(line, "source", None)
    }
    # 30 sq ft is a small room by default (under 50), and none when only those under 10 are.
    said = {str(line.label) for row in usual.hours for line in row.hours.lines}
    said_own = {str(line.label) for row in own.hours for line in row.hours.lines}
    assert any("mall" in label for label in said)
    assert not any("mall" in label for label in said_own)


@pytest.mark.parametrize(
    ("name", "value", "unit"),
    [
        ("learning", "0.4", ""),
        ("learning", "1.1", ""),
        ("hours_step", "0", "h"),
        ("hours_step", "9", "h"),
        ("trowel_angle", "95", ""),
        ("trowel_angle", "0", ""),
        ("laid_humid", "0.5", ""),
        ("small_room", "10", "ft"),
    ],
)
def test_settings_that_cannot_be_are_refused_by_name(name, value, unit):
    with pytest.raises(DomainError) as refused:
        Practice().override(name, Measure(D(value), unit))
    assert refused.value.place == name


def test_a_bed_that_is_too_thin_is_told_with_the_room_and_the_tile():
    # 1/4 x 1/4 x 1/4 in square notch at 45 degrees: 0.125 sin 45 = 0.0884 in, under 3/32 (ANSI A108.5 2.2.2).
    takeoff = taken_off("wet_room")
    (told,) = [one for one in takeoff.notices if one.key.endswith(".bed")]
    assert str(told.text).startswith(
        "Wet room (invented), Wall tile 6 x 6 (invented): A bed of 0.0884 in is under 3/32 in"
    )
    bed = next(one for one in takeoff.rooms[0].figures if one.key == "wet.tile6.bed")
    assert float(bed.value) == pytest.approx(0.125 * 0.5**0.5, rel=1e-9)
    assert bed.evaluate() == bed.value

    # Held at 60 degrees it leaves 0.125 sin 60 = 0.108 in.
    steeper = Practice().override("trowel_angle", Measure(D(60), ""))
    document = example("wet_room")
    again = run(document.room_set, document.materials, steeper, start=START)
    assert not [one for one in again.notices if one.key.endswith(".bed")]

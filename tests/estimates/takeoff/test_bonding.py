"""Bonding agent: quantity by substrate and coverage, batches by open time, what each method gives."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.takeoff.bonding import METHODS, batch_area
from estimates.takeoff.errors import DomainError
from estimates.takeoff.materials import check_material
from estimates.takeoff.model import BondMethod, Condition, Role, Substrate
from estimates.takeoff.practice import Practice
from estimates.takeoff.run import run
from estimates.takeoff.units import Measure, System, inches
from estimates.takeoff.working import Given

from .cast import START, example, figure, floor, materials, rectangle, take_off, wall


def agent(**facts):
    found = next(material for material in materials() if material.role is Role.BONDING_AGENT)
    changed = {name.replace("_", " "): value for name, value in facts.items()}
    return replace(found, facts={**found.facts, **changed})


def with_agent(changed):
    return tuple(changed if material.key == changed.key else material for material in materials())


@pytest.mark.parametrize(
    ("minutes", "crew", "spread", "embed", "square_feet"),
    [
        # By hand: the crew spreads A/(n s) minutes and embeds A/(n e) minutes, together the open time.
        (15, 2, 4, 6, 72),  # 72/8 + 72/12 = 9 + 6 = 15
        (15, 1, 4, 6, 36),
        (20, 2, 5, 5, 100),  # 100/10 + 100/10 = 20
        (10, 3, 2, 3, 36),  # 36/6 + 36/9 = 6 + 4 = 10
    ],
)
def test_a_batch_is_spread_and_embedded_within_the_open_time(minutes, crew, spread, embed, square_feet):
    practice = (
        Practice()
        .override("crew_size", Measure(D(crew), ""))
        .override("spread_rate", Measure(D(spread), "sq ft/min"))
        .override("embed_rate", Measure(D(embed), "sq ft/min"))
    )

    found = batch_area(agent(open_time=Measure(D(minutes), "min")), practice, System.INCH)

    assert found.value == pytest.approx(D(square_feet), abs=D("1e-20"))


@settings(max_examples=15, deadline=None)
@given(st.integers(40, 400), st.integers(40, 400), st.integers(2, 40))
def test_no_batch_is_larger_than_the_open_time_allows_and_none_is_forgotten(width, depth, minutes):
    changed = agent(open_time=Measure(D(minutes), "min"))
    room = rectangle(width, depth, surfaces=(floor(), wall(1, height_mm=inches(40))))
    takeoff = run(
        replace(example("foyer_over_tile").room_set, rooms=(room,)), with_agent(changed), start=START
    )
    most = batch_area(changed, Practice(), System.INCH).value

    assert all(batch.area <= most * D("1.0000001") for batch in takeoff.batches)
    bonded = sum(figure(takeoff.rooms[0], f"{face}.bonded").value for face in ("floor", "wall1"))
    assert sum(batch.area for batch in takeoff.batches) == pytest.approx(bonded, rel=D("1e-6"))
    laid = [sheet.key for sheet in takeoff.rooms[0].sheets] + [s.key for s in takeoff.rooms[0].strips]
    assert {key for batch in takeoff.batches for key in batch.sheets} == set(laid)


@pytest.mark.parametrize(
    ("condition", "gallons"),
    [
        # A 60 x 60 in floor: face 25, lap 2 x 60 = 0.8333,
        # strips 4 x (60 + 1.5) x 4 = 6.8333; 32.6667 sq ft, / 50 smooth or / 40 rough.
        (Condition.SMOOTH, "0.6533333"),
        (Condition.ROUGH, "0.8166667"),
        (Condition.UNEVEN, "0.6533333"),  # levelled first
        (Condition.SEALED, "0.6533333"),  # prepared first
    ],
)
def test_rough_substrate_takes_the_rough_coverage(condition, gallons):
    takeoff = take_off(rectangle(60, 60, surfaces=(floor(condition=condition),)))

    quantity = next(need for need in takeoff.needs if need.material == "agent").quantity

    assert quantity.value == pytest.approx(D(gallons), abs=D("1e-6"))


def test_a_coverage_printed_in_other_units_is_converted_in_view():
    # 1 sq m/L is 10.7639104 sq ft / 0.264172052 gal = 40.7458 sq ft/gal (NIST SP 811 factors).
    changed = agent(coverage_smooth=Measure(D(1), "sq m/L"))
    room = rectangle(60, 60, surfaces=(floor(),))
    takeoff = run(
        replace(example("foyer_over_tile").room_set, rooms=(room,)), with_agent(changed), start=START
    )
    found = figure(takeoff.rooms[0], "agent")

    printed = [line for line in found.lines if isinstance(line, Given) and line.unit == "sq m/L"]
    assert [line.value for line in printed] == [1]
    assert float(found.value) == pytest.approx(32.6666667 / 40.7458, rel=1e-5)
    assert found.evaluate() == found.value


@pytest.mark.parametrize(
    ("substrate", "new_board", "wait"),
    [
        (Substrate.PLYWOOD, False, 0),
        (Substrate.CONCRETE, False, 0),
        (Substrate.EXISTING_TILE, False, 15),
        (Substrate.SHEET_VINYL, False, 15),
        (Substrate.PLASTIC_LAMINATE, False, 15),
        (Substrate.SHEET_VINYL, True, 0),  # the new board drinks, whatever lies under it
    ],
)
def test_on_what_does_not_drink_the_agent_first_turns_tacky(substrate, new_board, wait):
    takeoff = take_off(rectangle(60, 60, surfaces=(floor(substrate=substrate, new_board=new_board),)))

    assert [batch.wait_min for batch in takeoff.batches] == [wait]


def test_each_method_says_what_it_gives():
    # Common practice, no source: only the membrane's own agent isolates cracks.
    assert {method: one.isolates_cracks for method, one in METHODS.items()} == {
        BondMethod.ACRYLIC: True,
        BondMethod.ORGANIC: False,
        BondMethod.MORTAR: False,
    }


def test_the_agent_made_for_a_method_goes_before_one_for_any():
    own = replace(agent(), key="organic", bond_method=BondMethod.ORGANIC)
    room = rectangle(60, 60, surfaces=(floor(method=BondMethod.ORGANIC),))
    takeoff = run(
        replace(example("foyer_over_tile").room_set, rooms=(room,)), (*materials(), own), start=START
    )

    bought = {need.material for need in takeoff.needs}

    assert "organic" in bought
    assert "agent" not in bought


def test_zero_coverage_is_refused():
    with pytest.raises(DomainError) as caught:
        check_material(agent(coverage_smooth=Measure(D(0), "sq ft/gal")))

    assert caught.value.rule == "material.fact-not-positive"
    assert caught.value.place == "facts.coverage smooth"


def test_tile_waits_for_the_bond_to_cure():
    changed = agent(cure=Measure(D(36), "h"))
    tasks = run(example("bath_with_tub").room_set, with_agent(changed), start=START).schedule.by_key()

    laid = tasks["floor_sheets.membrane_floor.bath.floor"].finish
    tiled = tasks["tile.set_floor_tile.bath.floor"].start

    assert tiled >= laid + timedelta(hours=36)

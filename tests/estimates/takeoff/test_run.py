"""The whole call: pure, deterministic, every figure evaluates to itself, packs once a job, hazards shown."""

import copy
import itertools
from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates import takeoff as package
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import (
    Condition,
    Covering,
    Exposure,
    Fixture,
    FixtureKind,
    Pattern,
    Role,
    RoomSet,
    Substrate,
    TileChoice,
)
from estimates.takeoff.practice import Practice, setting_names
from estimates.takeoff.run import run
from estimates.takeoff.sequence.order import HoldPoint
from estimates.takeoff.units import Measure, System, inches
from estimates.takeoff.working import Given, Origin

from .cast import (
    EXAMPLES,
    START,
    every_figure,
    example,
    floor,
    house,
    materials,
    rectangle,
    take_off,
    taken_off,
    wall,
)

TILE = TileChoice("tile12")


def test_the_package_itself_takes_off():
    assert package.run is run


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_figure_evaluates_to_itself(name):
    figures = every_figure(taken_off(name))

    assert len(figures) > 50
    for figure in figures:
        assert figure.evaluate() == figure.value, figure.key


def test_every_figure_of_a_house_evaluates_to_itself():
    figures = every_figure(run(house(8), materials(), start=START))

    assert all(figure.evaluate() == figure.value for figure in figures)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_input_says_where_it_came_from(name):
    for figure in every_figure(taken_off(name)):
        for line in figure.lines:
            assert str(line.label)
            if isinstance(line, Given) and line.origin in (Origin.PRACTICE, Origin.STANDARD):
                assert line.source is not None or line.symbol in ("w", "k", "b"), (figure.key, line.symbol)


def test_the_same_input_gives_the_same_answer_and_is_not_changed():
    document = example("wet_room")
    before = copy.deepcopy(document.room_set)

    once = run(document.room_set, document.materials, document.practice, start=START)
    again = run(document.room_set, document.materials, document.practice, start=START)

    assert document.room_set == before
    assert once.needs == again.needs
    assert once.rooms == again.rooms
    assert once.hours == again.hours
    assert once.schedule == again.schedule


def test_a_house_gets_no_dearer_for_being_taken_off_at_once():
    # Rounding once for the job never buys more packs than rounding room by room.
    whole = run(house(6), materials(), start=START)
    alone = [run(replace(house(6), rooms=(room,)), materials(), start=START) for room in house(6).rooms]

    packs = {need.material: need.packs.value for need in whole.needs}
    summed: dict[str, D] = {}
    for takeoff in alone:
        for need in takeoff.needs:
            summed[need.material] = summed.get(need.material, D(0)) + need.packs.value

    assert packs.keys() == summed.keys()
    assert all(packs[key] <= summed[key] for key in packs)


def test_a_need_is_the_sum_of_its_rooms():
    for need in run(house(6), materials(), start=START).needs:
        assert sum(figure.value for _, figure in need.by_room) == pytest.approx(need.quantity.value)


@settings(max_examples=15, deadline=None)
@given(st.integers(40, 150), st.integers(40, 150), st.integers(1, 40))
def test_a_larger_room_never_takes_less(width, depth, more):
    def needs(extra):
        takeoff = take_off(rectangle(width + extra, depth, surfaces=(floor(),)))
        return {need.material: need.quantity.value for need in takeoff.needs}

    small, large = needs(0), needs(more)

    assert all(large[key] >= small[key] for key in ("membrane", "agent"))


def test_metric_and_inch_sites_take_off_the_same_room():
    room = rectangle(60, 96, surfaces=(floor(tile=TILE), wall(1, tile=TileChoice("tile6"))))
    inch = run(RoomSet(System.INCH, (room,)), materials(), start=START)
    metric = run(RoomSet(System.METRIC, (room,)), materials(), start=START)

    # 1 gal = 3.785411784 L, 1 lb = 0.45359237 kg, 1 sq ft = 0.09290304 sq m (exact).
    factors = {Role.BONDING_AGENT: "3.785411784", Role.GROUT: "0.45359237", Role.MEMBRANE: "0.09290304"}
    for ours, theirs in zip(inch.needs, metric.needs, strict=True):
        assert ours.packs.value == theirs.packs.value
        if ours.role in factors:
            assert theirs.quantity.value == pytest.approx(ours.quantity.value * D(factors[ours.role]))


def test_a_customers_own_tile_is_counted_and_marked():
    own = tuple(replace(material, customer_supplied=material.key == "tile12") for material in materials())
    document = example("foyer_over_tile")
    needs = {need.material: need for need in run(document.room_set, own, start=START).needs}

    assert needs["tile12"].customer_supplied
    assert needs["tile12"].packs.value == 7
    assert not needs["mortar"].customer_supplied


# --- Labour and sequence ----------------------------------------------------------------------------------


def test_what_must_come_first_comes_first():
    tasks = taken_off("wet_room").schedule.by_key()
    order = [
        "protect",
        "board.backer_board.wet.walls",
        "accept_substrate.check.wet",
        "corners.membrane_corners.wet",
        "strips.membrane_strips.wet",
        "wall_sheets.membrane_wall.wet.walls",
        "penetrations.membrane_sealant.wet",
        "accept_membrane.check.wet",
        "fill_test.flood_test_fill.wet",
        "read_test.flood_test_read.wet",
        "layout.wet.pan",
        "tile.set_mosaic.wet.pan",
        "check_coverage.check.wet",
        "grout.wet",
        "joints.movement_joints.wet",
        "clean_up",
        "final.check",
    ]

    for before, after in itertools.pairwise(order):
        assert tasks[before].finish <= tasks[after].start, (before, after)


def test_a_flood_test_stands_for_24_hours_after_24_hours_of_rest():
    # ASTM D5957: 24 to 72 h; not in the first 24 h after installation. The local code decides.
    tasks = taken_off("wet_room").schedule.by_key()
    laid = tasks["penetrations.membrane_sealant.wet"].finish
    fill, read = tasks["fill_test.flood_test_fill.wet"], tasks["read_test.flood_test_read.wet"]

    assert (fill.start - laid).total_seconds() >= 24 * 3600
    assert (read.start - fill.finish).total_seconds() >= 24 * 3600


def test_a_floor_is_flood_tested_only_where_the_owner_asks():
    def is_tested(**more):
        takeoff = take_off(rectangle(60, 96, surfaces=(floor(),)), **more)
        return any(row.activity == "flood_test_fill" for row in takeoff.hours)

    assert not is_tested()
    assert is_tested(flood_test_asked=True)


def test_the_hold_points_of_a_tiled_wet_room():
    points = {planned.task.hold_point for planned in taken_off("wet_room").schedule.tasks} - {""}

    assert points == {point.value for point in HoldPoint}


def test_every_hour_is_priced_under_a_trade_step():
    takeoff = run(replace(house(4), travel_h=D("0.5")), materials(), start=START)
    rates = Practice().rates

    assert all(row.step == rates[row.activity].step for row in takeoff.hours)
    # Travel: there and back, half an hour, on every day on site.
    travel = next(row for row in takeoff.hours if row.key == "travel")
    assert travel.hours.value == len(takeoff.schedule.days_on_site)


def test_the_second_of_two_like_rooms_goes_faster():
    room = rectangle(60, 96, surfaces=(floor(tile=TILE),), key="a", name="A")
    takeoff = take_off(room, replace(room, key="b", name="B"))
    hours = {row.key: row.hours.value for row in takeoff.hours}

    assert hours["tile.set_floor_tile.b.floor"] < hours["tile.set_floor_tile.a.floor"]


def test_a_sealed_substrate_costs_preparation():
    def preparation(condition):
        takeoff = take_off(rectangle(60, 96, surfaces=(floor(condition=condition),)))
        return sum(row.hours.value for row in takeoff.hours if row.step == "preparation")

    assert preparation(Condition.SEALED) > preparation(Condition.SMOOTH)


# --- Cautions ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("built", "remove", "keys"),
    [
        # 29 CFR 1926.1101(k): presumed in buildings built in or before 1980; 40 CFR 745: housing before 1978.
        (1980, Covering.RESILIENT, {"asbestos"}),
        (1981, Covering.RESILIENT, {"asbestos-ask"}),
        (None, Covering.RESILIENT, {"asbestos"}),
        (1977, Covering.BOARD, {"lead"}),
        (1978, Covering.BOARD, set()),
        (None, Covering.BOARD, {"lead"}),
        (1960, Covering.CARPET, set()),
    ],
)
def test_old_houses_bring_their_hazards(built, remove, keys):
    surface = wall(1, remove=remove) if remove is Covering.BOARD else floor(remove=remove)
    takeoff = take_off(rectangle(60, 96, surfaces=(surface,)), built_year=built)

    found = {caution.key for caution in takeoff.cautions}

    assert found & {"asbestos", "asbestos-ask", "lead"} == keys
    assert all(caution.source and str(caution.text) for caution in takeoff.cautions)


def test_silica_is_shown_when_anything_is_cut():
    plain = take_off(rectangle(60, 96, surfaces=(floor(),)))
    tiled = take_off(rectangle(60, 96, surfaces=(floor(tile=TILE),)))

    assert "silica" not in {caution.key for caution in plain.cautions}
    assert "silica" in {caution.key for caution in tiled.cautions}


def test_a_shower_wall_below_six_feet_is_noticed():
    # IRC R307.2 as quoted in public pages: non-absorbent to at least 6 ft above the floor.
    low = take_off(rectangle(60, 96, surfaces=(wall(1, exposure=Exposure.WET, height_mm=inches(71)),)))
    high = take_off(rectangle(60, 96, surfaces=(wall(1, exposure=Exposure.WET, height_mm=inches(72)),)))

    assert [notice.key for notice in low.notices] == ["r.wall1.height"]
    assert high.notices == ()


# --- Bad input --------------------------------------------------------------------------------------------


def with_tile(**facts):
    changed = {name: Measure(D(value), "in") for name, value in facts.items()}
    return tuple(
        replace(material, facts={**material.facts, **changed}) if material.key == "tile12" else material
        for material in materials()
    )


def refusal(room, given=None, **more):
    with pytest.raises(DomainError) as caught:
        run(RoomSet(System.INCH, (room,), **more), given or materials(), start=START)
    return caught.value


def test_a_tile_bigger_than_the_room_is_refused():
    error = refusal(rectangle(60, 96, surfaces=(floor(tile=TILE),)), with_tile(width="100", height="100"))

    assert error.rule == "tile.bigger-than-room"
    assert error.place == "rooms[0].surfaces[0].tile"
    assert str(error.reason) == (
        "Room: one tile of Floor tile 12 x 12 (invented) is bigger than Floor; check the tile's size."
    )


def test_an_unknown_tile_is_refused():
    error = refusal(rectangle(60, 96, surfaces=(floor(tile=TileChoice("marble")),)))

    assert (error.rule, error.place) == ("material.unknown", "rooms[0].surfaces[0].tile")
    assert str(error.reason) == "Floor is tiled with “marble”, which is not in the material list."


def test_a_tile_that_is_none_is_refused():
    error = refusal(rectangle(60, 96, surfaces=(floor(tile=TileChoice("grout")),)))

    assert error.rule == "material.no-tile"


@pytest.mark.parametrize("role", ["membrane", "agent", "sealant", "mortar", "grout", "joint"])
def test_a_material_that_is_needed_and_not_there_is_named(role):
    short = tuple(material for material in materials() if material.key != role)
    error = refusal(rectangle(60, 96, surfaces=(floor(tile=TILE),)), short)

    assert (error.rule, error.place) == ("material.role-missing", "materials")
    assert str(error.reason).startswith("Room needs ")


def test_a_material_key_given_twice_is_refused():
    error = refusal(rectangle(60, 96, surfaces=(floor(),)), (*materials(), materials()[0]))

    assert (error.rule, error.place) == ("material.key-twice", f"materials[{len(materials())}].key")


def test_no_room_is_no_job():
    with pytest.raises(DomainError) as caught:
        run(RoomSet(System.INCH, ()), materials(), start=START)

    assert caught.value.rule == "room.none"


def test_two_rooms_of_one_key_are_refused():
    room = rectangle(60, 96, surfaces=(floor(),))
    with pytest.raises(DomainError) as caught:
        take_off(room, room)

    assert (caught.value.rule, caught.value.place) == ("room.key-twice", "rooms[1].key")


def test_a_room_that_does_not_close_is_refused_at_its_place():
    room = rectangle(60, 96, surfaces=(floor(),))
    broken = replace(room, legs=(replace(room.legs[0], length_mm=inches(80)), *room.legs[1:]))

    error = refusal(broken)

    assert error.rule == "walk.misclosure"
    assert error.place.startswith("rooms[0]")


def test_a_room_without_surfaces_asks_for_nothing_but_work():
    takeoff = take_off(rectangle(60, 96))

    assert takeoff.needs == ()
    assert takeoff.cut_plan is None


# --- Practice ---------------------------------------------------------------------------------------------


def test_every_setting_says_what_it_is_and_where_it_came_from():
    practice = Practice()
    for name in setting_names():
        setting = practice.named(name)
        assert str(setting.label)
        assert str(setting.source)


@pytest.mark.parametrize(
    ("name", "value", "rule"),
    [
        ("side_laps", Measure(D(2), "in"), "practice.unknown"),
        ("side_lap", Measure(D(2), "gal"), "units.kind"),
        ("side_lap", Measure(D(-2), "in"), "practice.negative"),
        ("crew_size", Measure(D(0), ""), "practice.negative"),
        ("crew_size", Measure(D("1.5"), ""), "practice.whole"),
        ("spread_rate", Measure(D(0), "sq ft/min"), "practice.negative"),
        ("strip_width", Measure(D(0), "in"), "practice.negative"),
        ("tile_breakage", Measure(D(1), ""), "practice.fraction"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(name, value, rule):
    with pytest.raises(DomainError) as caught:
        Practice().override(name, value)

    assert (caught.value.rule, caught.value.place) == (rule, name)


def test_a_wider_lap_takes_more_membrane():
    document = example("foyer_over_tile")

    def membrane(lap):
        practice = Practice().override("side_lap", Measure(D(lap), "in"))
        return run(document.room_set, document.materials, practice, start=START).needs[0].quantity.value

    # One seam of 120 in: each inch of lap more is 120 sq in.
    assert membrane(5) - membrane(2) == pytest.approx(D(3 * 120) / 144)


@pytest.mark.parametrize("pattern", [Pattern.HALF, Pattern.THIRD, Pattern.DIAGONAL, Pattern.HERRINGBONE])
def test_other_patterns_take_at_least_the_area(pattern):
    takeoff = take_off(rectangle(60, 96, surfaces=(floor(tile=replace(TILE, pattern=pattern)),)))
    tiles = next(need.quantity.value for need in takeoff.needs if need.material == "tile12")

    assert tiles >= 60 * 96 / D("12.125") ** 2 * D("0.95")


def test_a_wall_behind_a_cabinet_is_covered_from_its_top():
    cabinet = Fixture(
        "vanity",
        FixtureKind.CABINET,
        1,
        base_mm=inches(32),
        length_mm=inches(60),
        depth_mm=inches(21),
    )
    takeoff = take_off(
        rectangle(60, 96, surfaces=(wall(1, substrate=Substrate.PLYWOOD),), fixtures=(cabinet,))
    )

    # 60 x (96 - 32)
    assert takeoff.rooms[0].faces[0].area.value == pytest.approx(D(60 * 64) / 144)

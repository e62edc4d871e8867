"""Where batches of agent, legs of strips and corner pieces lie, checked with Shapely."""

from dataclasses import replace
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import union_all
from shapely.geometry import Polygon

from estimates.takeoff.batching import parted
from estimates.takeoff.bonding import Spread
from estimates.takeoff.result import Patch
from estimates.takeoff.run import run
from estimates.takeoff.space import shape_of
from estimates.takeoff.units import Measure, inches

from .cast import EXAMPLES, START, example, floor, materials, rectangle, taken_off, wall

MM2_IN_SQ_FT = 304.8**2


def shape(patch: Patch) -> Polygon:
    return shape_of(patch.outline, patch.holes)


@pytest.mark.parametrize("name", EXAMPLES)
def test_batches_cover_every_bonded_face_and_nothing_else(name):
    takeoff = taken_off(name)
    faces = {face.key: shape_of(face.outline, face.holes) for room in takeoff.rooms for face in room.faces}
    patches = [patch for batch in takeoff.batches for patch in batch.patches]

    for key, face in faces.items():
        mine = [shape(patch) for patch in patches if patch.face == key]
        if mine:
            assert union_all(mine).symmetric_difference(face).area < 1
    assert {patch.face for patch in patches} <= set(faces)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_batch_is_as_large_as_its_patches(name):
    takeoff = taken_off(name)
    strips = {one.key: one for room in takeoff.rooms for one in room.strips}
    for batch in takeoff.batches:
        sheets = sum(shape(patch).area for patch in batch.patches if not patch.is_strip)
        # A strip is counted with both legs, also where one lies on a face that is not ours.
        legs = sum(
            float((strips[key].end_mm - strips[key].start_mm) * strips[key].width_mm)
            for key in batch.sheets
            if key in strips
        )
        assert float(batch.area) * MM2_IN_SQ_FT == pytest.approx(sheets + legs, rel=1e-6, abs=2)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_strip_lies_half_on_each_plane(name):
    takeoff = taken_off(name)
    for room in takeoff.rooms:
        changes = {one.key: one for one in room.changes}
        faces = {face.key: shape_of(face.outline, face.holes) for face in room.faces}
        patches = [patch for batch in room.batches for patch in batch.patches if patch.is_strip]
        for strip in room.strips:
            change = changes[strip.change]
            legs = [patch for patch in patches if patch.piece == strip.key]
            covered = {sheet.face for sheet in room.sheets} & set(change.faces)
            assert {leg.face for leg in legs} == covered
            for face in covered:
                half = float((strip.end_mm - strip.start_mm) * strip.width_mm / 2)
                lies = union_all([shape(leg) for leg in legs if leg.face == face])
                # Less only where the face itself is narrower than the leg, or bends away.
                assert 0.9 * half <= lies.area <= half + 1 or faces[face].bounds[3] < 200
                assert faces[face].buffer(0.01).contains(lies)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_change_of_plane_is_as_long_on_both_faces(name):
    for room in taken_off(name).rooms:
        for change in room.changes:
            lines = [line for line in (change.line, change.other_line) if line is not None]
            assert len(lines) == (1 if change.faces[1] is None else 2)
            for (ax, ay), (bx, by) in lines:
                assert float((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5 == pytest.approx(
                    float(change.length_mm), abs=0.01
                )


def test_the_wet_rooms_corner_of_floor_and_two_walls_lies_at_the_foot_of_both():
    room = taken_off("wet_room").rooms[0]
    # Walls 1 (6 ft along y = 0) and 4 meet at the walk's first corner; at its foot three planes of ours meet.
    corner = next(one for one in room.corners if one.at == (0, 0))

    faces = {face.key: face for face in room.faces}
    assert {faces[key].wall for key, _ in corner.others} == {1, 4}
    assert all(y == 0 for _, (_, y) in corner.others)
    # Seen from inside with the room at the right of the walk, wall 1 begins at the left and wall 4 ends at
    # the right.
    assert {faces[key].wall: x for key, (x, _) in corner.others} == {1: 0, 4: inches(60)}


def test_what_comes_through_the_wet_room_is_placed_on_its_faces():
    room = taken_off("wet_room").rooms[0]

    faces = {face.key: face.wall for face in room.faces}
    found = {one.fixture: (faces[one.face], one.at, one.diameter_mm) for one in room.pierced}
    # The drain as measured: 28 in along wall 1 and 30 in away from it (the room lies right of the walk).
    assert found["drain"] == (None, (inches(28), -inches(30)), inches(4))
    # Wall 4 is walked from the room's far left to the first corner; seen from inside 30 in from either end.
    assert found["valve"] == (4, (inches(30), inches(40)), inches(5))
    assert found["spout"] == (4, (inches(30), inches(66)), inches(1))


@settings(max_examples=40, deadline=None)
@given(st.integers(200, 4000), st.integers(200, 4000), st.integers(2, 9), st.booleans(), st.integers(0, 150))
def test_a_sheet_is_parted_into_equal_areas_in_the_order_of_the_roll(wide, high, number, along_x, hole):
    outline = tuple((D(x), D(y)) for x, y in ((0, 0), (wide, 0), (wide, high), (0, high)))
    cut = (
        ()
        if hole < 10
        else (tuple((D(x), D(y)) for x, y in ((20, 20), (hole, 20), (hole, hole), (20, hole))),)
    )
    if hole <= 20:
        cut = ()
    patch = Patch("f", "A", outline, cut)
    whole = shape(patch)

    found = parted(Spread("A", D(str(whole.area)), (patch,), along_x), number)

    shapes = [union_all([shape(one) for one in part.patches]) for part in found]
    for part in shapes:
        assert part.area == pytest.approx(whole.area / number, rel=1e-4)
    assert union_all(shapes).symmetric_difference(whole).area < 1
    starts = [part.bounds[0 if along_x else 1] for part in shapes]
    assert starts == sorted(starts)


def test_batches_follow_the_open_time():
    # A crew of 2 spreads 4 and embeds 6 sq ft/min each: in 5 min it does 5 * 2 / (1/4 + 1/6) = 24 sq ft.
    room = rectangle(120, 96, surfaces=(floor(), wall(1)))
    hasty = tuple(
        replace(one, facts={**one.facts, "open time": Measure(D(5), "min")}) if one.key == "agent" else one
        for one in materials()
    )
    takeoff = run(replace(example("wet_room").room_set, rooms=(room,)), hasty, start=START)

    assert all(batch.area <= D("24.000001") for batch in takeoff.batches)
    assert len(takeoff.batches) >= 80 / 24
    assert all(
        sum(shape(patch).area for patch in batch.patches if not patch.is_strip) <= 24.0001 * MM2_IN_SQ_FT
        for batch in takeoff.batches
    )

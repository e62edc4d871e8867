"""Five rooms worked out by hand, every quantity, with the arithmetic in view.

The rooms stand in ``fixtures/rooms/`` (invented names and products). All numbers below were worked out on
paper from the rules: inches, square inches, then divided once; nothing here calls the takeoff's formulas.
Shared givens: roll 39 in wide, side lap 2, end lap 1 1/2, strips 4 wide; agent 50 sq ft/gal smooth, 40 rough;
fillet 1/4 in; 6 in of bead a corner; joint 1/4 by 1/4 in; 1 fl oz = 1.8046875 cu in; mortar 80 sq ft a bag;
waste 10 % on agent, sealants, mortar, grout (boards by their cut plan); breakage 5 % on tile and fasteners.
Grout of 1.6 kg/L is 1.6 * 2.2046226 / 61.0237441 = 0.05780367 lb/cu in; a 12 in tile with 3/8 x 1/8 in joints
takes (24 / 144) * 3/8 * 1/8 = 0.0078125 in of it, a 6 in tile with 1/4 x 1/8: (12 / 36) / 32 = 0.01041667 in.
"""

from decimal import Decimal as D

import pytest

from .cast import area, figure, taken_off


def near(value):
    return pytest.approx(D(str(value)), abs=D("0.00001"))


def packs(takeoff):
    return {need.material: int(need.packs.value) for need in takeoff.needs}


def quantities(takeoff):
    return {need.material: need.quantity.value for need in takeoff.needs}


def counts(room):
    corners = [corner for corner in room.corners if not corner.by_sealant]
    return {
        "changes": len(room.changes),
        "strips": len(room.strips),
        "sheets": len(room.sheets),
        "inside": sum(corner.inside for corner in corners),
        "outside": sum(not corner.inside for corner in corners),
        "by sealant": sum(corner.by_sealant for corner in room.corners),
    }


def hours(takeoff):
    return {row.key: row.hours.value for row in takeoff.hours}


def layouts(room):
    return {one.face.removeprefix(f"{room.key}."): int(one.layout.needed.value) for one in room.tiled}


def sheets(room, face):
    """Across and along of a face's sheets, in inches."""
    return [
        (sheet.across_mm / D("25.4"), sheet.along_mm / D("25.4"))
        for sheet in room.sheets
        if sheet.face == f"{room.key}.{face}"
    ]


def test_five_by_eight_bath_with_tub():
    takeoff = taken_off("bath_with_tub")
    (room,) = takeoff.rooms

    # Tub 60 x 30 at wall 1 (60 in), rim 15 in. Floor left: 60 x 66 = 3960 sq in = 27.5 sq ft.
    assert area(room, "floor") == D("27.5")
    # Wall 1 from the rim at 15 to 75: 60 x 60 = 3600 sq in = 25 sq ft.
    assert area(room, "surround") == D(25)

    # Floor: wall 2 66, wall 4 66, wall 3 in two beside its 30 in door (4 and 26), the tub 60.
    # Surround: up walls 2 and 4, 60 each, and the rim 60. Eight changes, six with strips.
    # Strips: 66: (66 - 1.5) / 37.5 = 1.72 -> 2, twice; 60: 58.5 / 37.5 = 1.56 -> 2, twice; 4 and 26: 1 each.
    # Corners: floor with walls 2/3 and 3/4; at the tub four more (two on the floor, two at the rim), by
    # sealant.
    assert counts(room) == {
        "changes": 8,
        "strips": 10,
        "sheets": 4,
        "inside": 2,
        "outside": 0,
        "by sealant": 4,
    }
    # 66 + 66 + 4 + 26 + 60 + 60 = 282 in = 23.5 ft
    assert figure(room, "strip length").value == D("23.5")

    # Floor 60 x 66. Runs over 66: (66 - 2) / 37 = 1.73 -> 2, 39 + 29, 60 long: 68 x 60 = 4080.
    # Runs over 60: 58 / 37 -> 2, 39 + 23, 66 long: 62 x 66 = 4092. The first takes less.
    assert sheets(room, "floor") == [(39, 60), (29, 60)]
    # Surround 60 x 60: 39 + 23 = 62, x 60 = 3720, lying, the upper over the lower.
    assert sheets(room, "surround") == [(39, 60), (23, 60)]
    # Strips 282 + 4 laps x 1.5 = 288 in, x 4 = 1152 sq in. All: 4080 + 3720 + 1152 = 8952 = 62.16667 sq ft
    assert quantities(takeoff)["membrane"] == near("62.1666667")

    # Bonded, floor: 3960 + lap 2 x 60 + strips (67.5 + 67.5 + 4 + 26) x 4 = 3960 + 120 + 660 = 4740 sq in
    assert figure(room, "floor.bonded").value == near("32.9166667")
    # Surround: 3600 + 120 + (61.5 + 61.5) x 4 = 4212 sq in = 29.25 sq ft
    assert figure(room, "surround.bonded").value == near("29.25")
    # 62.1666667 / 50 = 1.2433333 gal; x 1.1 / 3.5 = 0.39 -> 1 pail
    assert quantities(takeoff)["agent"] == near("1.2433333")
    # Batch: 15 min, 2 people, 4 spread and 6 embedded a minute each: 15 x 2 / (1/4 + 1/6) = 72 sq ft: one a
    # face.
    assert [batch.area for batch in takeoff.batches] == [near("32.9166667"), near("29.25")]
    assert [batch.wait_min for batch in takeoff.batches] == [0, 0]

    # Beads: tub 60 + rim 60 = 10 ft; flange 4 in and mixer 6 in: 10 x 3.1415927 / 12 = 2.6179939 ft;
    # six corners x 6 in = 3 ft. 15.6179939 ft.
    assert figure(room, "bead").value == near("15.6179939")
    # 1/4 x 1/4 / 2 = 0.03125 sq in x 187.4159265 in = 5.8567477 cu in / 1.8046875 = 3.2452974 fl oz
    assert figure(room, "sealant").value == near("3.2452974")

    # Floor 12 in: 60 = 3 whole + 2 cuts (60 - 36 - 4/8) / 2 = 11.75: 5 columns; 66 = 4 whole + 2 cuts of
    # (66 - 48 - 5/8) / 2 = 8.6875 (5 whole would leave 5.5, under half): 6 rows. 30; no offcut is big enough.
    # Surround 6 in: 60 = 8 whole + 2 cuts (60 - 48 - 9/8) / 2 = 5.4375: 10 x 10 = 100.
    assert layouts(room) == {"floor": 30, "surround": 100}
    # (27.5 + 25) / 80 = 0.65625 bag
    assert figure(room, "mortar").value == near("0.65625")
    # Floor 0.0078125 x 3960 = 30.9375 cu in; surround 0.01041667 x 3600 = 37.5. 68.4375 x 0.05780367 =
    # 3.9559386
    assert quantities(takeoff)["grout"] == near("3.9559384")
    # Joints: 66 + 66 + 30 + 60 round the floor, 60 + 60 + 60 round the surround = 402 in = 33.5 ft; no
    # field joints
    assert figure(room, "joints").value == near("33.5")
    # 402 x 1/16 = 25.125 cu in / 1.8046875 = 13.9220779 fl oz; x 1.1 / 10.1 = 1.52 -> 2
    assert figure(room, "joint sealant").value == near("13.9220779")
    assert figure(room, "floor.removed").value == D("27.5")

    # Tile: 30 x 1.05 / 10 = 3.15 -> 4; 100 x 1.05 / 50 = 2.1 -> 3. Two inside corner pieces, one box of ten.
    # Membrane 62 sq ft of 325: one roll.
    assert packs(takeoff) == {
        "membrane": 1,
        "inside": 1,
        "agent": 1,
        "sealant": 1,
        "tile12": 4,
        "tile6": 3,
        "mortar": 1,
        "grout": 1,
        "joint": 2,
    }
    # 1972: resilient flooring is presumed to hold asbestos; no painted board comes off, so no lead.
    assert [caution.key for caution in takeoff.cautions] == [
        "silica",
        "asbestos",
        "vapours",
        "electricity",
        "framing",
    ]


def test_hours_of_the_bath():
    # The room is 5 x 8 = 40 sq ft, under 50: factor 1.25. E = (o + 4m + p) / 6, up to the next 0.1 h.
    found = hours(taken_off("bath_with_tub"))

    # Resilient flooring 27.5 sq ft at 50, 30, 15 an hour, set-up 0.5:
    # o 0.5 + 0.6875 = 1.1875, m 0.5 + 1.1458 = 1.6458, p 0.5 + 2.2917 = 2.7917; E = 10.5625 / 6 = 1.7604
    assert found["demolish.demolish_resilient.bath.floor"] == D("1.8")
    # Protection of 40 sq ft at 250, 150, 80, no room factor: 0.66, 0.7667, 1.0; E = 4.7267 / 6 = 0.7878
    assert found["protect"] == D("0.8")
    # Two corner pieces at 12, 8, 5, set-up 0.25: 0.4583, 0.5625, 0.75; E = 3.4583 / 6 = 0.5764
    assert found["corners.membrane_corners.bath"] == D("0.6")
    # Strips 23.5 ft at 40, 25, 15: 0.7344, 1.175, 1.9583; E = 7.3927 / 6 = 1.2321
    assert found["strips.membrane_strips.bath"] == D("1.3")
    # Floor tile 27.5 sq ft at 20, 14, 8, set-up 0.5: 2.2188, 2.9554, 4.7969; E = 18.8371 / 6 = 3.1395
    assert found["tile.set_floor_tile.bath.floor"] == D("3.2")


def test_l_shaped_bath_with_shower():
    takeoff = taken_off("l_shaped_bath")
    (room,) = takeoff.rooms

    # L of 120 x 96 less 48 x 36; shower 44 x 60 and curb 4 x 60 in the arm: floor left 72 x 96 = 6912 sq in.
    assert area(room, "floor") == D(48)
    # Shower floor 44 x 60 = 2640 sq in = 18.3333 sq ft, at 1/4 in a foot: x sqrt(1 + 1/48^2) = 1.000216991
    assert area(room, "pan") == near("18.3373115")
    for part in ("curb.top", "curb.front", "curb.back"):
        assert area(room, part) == near("1.6666667")  # 4 x 60
    assert area(room, "left") == area(room, "right") == near("23.8888889")  # 48 x 72 - curb's end 4 x 4
    assert area(room, "back") == D(30)  # 60 x 72

    # Round the floor: curb 60, wall 4 36, wall 1 72, wall 6 96, wall 5 20 + 22 beside its door, and curb to
    # wall 1, 4. Shower: curb 60, walls 44 + 60 + 44. Curb's edges 60 + 60, its ends 4 + 4, inner side 4 + 4.
    # Up the walls: 72 + 72, and the outside corner of walls 3 and 4 above the curb, 68.
    # 60+36+72+96+42+4 + 60+148 + 120+8+8 + 144+68 = 866 in
    assert figure(room, "strip length").value == near("72.1666667")
    # Corners. Inside: floor with curb and wall 1, walls 1/6, 6/5, 5/4; shower floor with curb and wall 1,
    # curb
    # and wall 3, walls 1/2, 2/3. Outside: four at the curb's top edges. (Wall 4 and the curb lie in one
    # plane.)
    # Strips: 60 -> 2 (five of them), 44 -> 2 (two), 72 -> 2 (three), 96 -> 3, 68 -> 2, the eight short ones
    # 1 each:
    # wall 4 36, wall 5 20 and 22, five of 4 in: 10 + 4 + 6 + 3 + 2 + 8 = 33
    assert counts(room) == {
        "changes": 20,
        "strips": 33,
        "sheets": 13,
        "inside": 8,
        "outside": 4,
        "by sealant": 0,
    }

    # Floor 72 x 96: 39 + 35 = 74, x 96 = 7104 (the other way 39 + 39 + 22 = 100, x 72 = 7200).
    assert sheets(room, "floor") == [(39, 96), (35, 96)]
    # Shower floor 44 x 60: 39 + 7 = 46, x 60 = 2760; its seam at 37 to 39 in is clear of the drain at 22 +-
    # 8.
    # The other way the seam would lie at 37 to 39 of 60, on the drain at 30 +- 8.
    assert sheets(room, "pan") == [(39, 60), (7, 60)]
    # Left and right lie: 39 + 35 = 74, x 48 = 3552 each. Curb 3 x 240 = 720. The back, lying, would take 39 +
    # 35 = 74, x 60 = 4440; standing it takes 39 + 23 = 62, x 72 = 4464, but beside the 23 the shower floor's
    # 7 and two curb faces of 4 find room (23 + 7 + 4 + 4 = 38). The roll is then used up by: floor 96 + 96,
    # back 72 + 72, shower floor's 39 60, left and right 4 x 48, and the 26 strips longer than half the
    # roll's width, alone on 4 each; the third curb face and the short strips lie beside the floor's 35:
    # 192 + 144 + 60 + 192 + 104 = 692 in. Lying it was 696: the back's 60 + 60, and 60 more for 7 + 4 + 4.
    assert sheets(room, "left") == sheets(room, "right") == [(39, 48), (35, 48)]
    assert sheets(room, "back") == [(39, 72), (23, 72)]
    assert takeoff.cut_plan.length_used_mm / D("25.4") == 692
    # Strips: 866 + 13 laps x 1.5 = 885.5, x 4 = 3542.
    # 7104 + 2760 + 720 + 2 x 3552 + 4464 + 3542 = 25694 sq in = 178.4305556 sq ft
    assert quantities(takeoff)["membrane"] == near("178.4305556")

    # Floor, rough: 6912 + lap 192 + strips (61.5 + 36 + 73.5 + 99 + 20 + 22) x 4 = 1248: 8352 sq in = 58 sq
    # ft
    assert figure(room, "floor.bonded").value == near("58")
    # Shower floor: 18.3373115 + lap 120 + strips (61.5 + 45.5 + 61.5 + 45.5) x 4 = 856: 976 sq in = 6.7777778
    assert figure(room, "pan.bonded").value == near("25.1150893")
    # Curb top 240 + (61.5 + 61.5 + 4 + 4) x 4 = 764; outer 240 + 16; inner 240 + 32
    assert figure(room, "curb.top.bonded").value == near("5.3055556")
    assert figure(room, "curb.front.bonded").value == near("1.7777778")
    assert figure(room, "curb.back.bonded").value == near("1.8888889")
    # Left 3440 + lap 96 + 73.5 x 4 = 3830; back 4320 + 144 + 294 = 4758; right 3440 + 96 + 69.5 x 4 = 3814
    assert figure(room, "left.bonded").value == near("26.5972222")
    assert figure(room, "back.bonded").value == near("33.0416667")
    assert figure(room, "right.bonded").value == near("26.4861111")
    # 58 / 40 = 1.45; the others 120.2123115 / 50 = 2.4042462; together 3.8542462; x 1.1 / 3.5 = 1.21 -> 2
    assert quantities(takeoff)["agent"] == near("3.8542462")

    # Drain 4, mixer 5, flange 4 = 13 in x pi / 12 = 3.4033920 ft; 12 corners = 6 ft
    assert figure(room, "bead").value == near("9.4033920")
    assert figure(room, "sealant").value == near("1.9539516")  # 112.8407045 x 0.03125 / 1.8046875

    # Floor 72 -> 6, 96 -> 8: 48. Shower floor 44 = 6 whole + 2 x 3.5625 -> 8, 60 -> 10: 80.
    # Curb faces 60 x 4: 10 each. Walls 48 -> 8, 72 -> 12: 96 each; 60 -> 10, 72 -> 12: 120.
    assert layouts(room) == {
        "floor": 48,
        "pan": 80,
        "curb.top": 10,
        "curb.front": 10,
        "curb.back": 10,
        "left": 96,
        "back": 120,
        "right": 96,
    }
    # 48 + 18.3373115 + 5 + 2 x 23.8888889 + 30 = 149.1150893 / 80
    assert figure(room, "mortar").value == near("1.8639386")
    # 0.0078125 x 6912 = 54; 0.01041667 x 101.1150893 x 144 = 151.6726339; 205.6726339 x 0.05780367
    assert quantities(takeoff)["grout"] == near("11.8886325")
    # Tile on both sides: 60 + 60 + 148 + 8 + 8 + 144 = 428; on one: 36 + 72 + 96 + 42 + 4 = 250; 678 in
    assert figure(room, "joints").value == near("56.5")
    assert figure(room, "joint sealant").value == near("23.4805195")  # 678 / 16 / 1.8046875
    # Outside edges of tile: the curb's two, 60 + 60, and the shower's corner above it, 68 in
    assert figure(room, "edge profiles").value == near("15.6666667")
    # Tile 48 x 1.05 / 10 = 5.04 -> 6; 422 x 1.05 / 50 = 8.86 -> 9; mortar 2.05 -> 3; grout 1.31 -> 2;
    # joints 2.56 -> 3
    assert packs(takeoff) == {
        "membrane": 1,
        "inside": 1,
        "outside": 1,
        "agent": 2,
        "sealant": 1,
        "tile12": 6,
        "tile6": 9,
        "mortar": 3,
        "grout": 2,
        "joint": 3,
    }
    assert {"silica", "vapours", "plumbing"} <= {caution.key for caution in takeoff.cautions}
    assert any(key.startswith("fill_test") for key in hours(takeoff))


def test_kitchen_counter_with_backsplash():
    takeoff = taken_off("kitchen_counter")
    (room,) = takeoff.rooms

    assert area(room, "top.top") == D(12)  # 96 x 24 = 2304 - sink 32 x 18 = 576: 1728 sq in
    assert area(room, "top.front") == near("2.3333333")  # 96 x 3.5 = 336
    assert area(room, "splash") == D(12)  # 96 x 18 = 1728
    # Front edge (outside) and backsplash (inside), 96 in each: 94.5 / 37.5 = 2.52 -> 3 strips each. No
    # corners.
    assert counts(room) == {
        "changes": 2,
        "strips": 6,
        "sheets": 2,
        "inside": 0,
        "outside": 0,
        "by sealant": 0,
    }
    assert [change.inside for change in room.changes] == [False, True]
    assert figure(room, "strip length").value == D(16)
    assert sheets(room, "top.top") == [(24, 96)]
    # 2304 (the sink is cut from it) + 336 + strips (192 + 4 x 1.5) x 4 = 792: 3432 sq in
    assert quantities(takeoff)["membrane"] == near("23.8333333")
    # Bonded: top 12 + 792 / 144 = 17.5; edge 2.3333; the backsplash has no membrane. 19.8333333 / 50
    assert quantities(takeoff)["agent"] == near("0.3966667")
    # Top: 96 = 14 whole + 2 x 5.0625 -> 16; 24 -> 4: 64 places. The sink's 32 x 18 swallows 4 columns of its
    # 2 middle rows, 8; 4 slivers of 2.31 in beside it come from the 3 in offcuts before and behind: 52.
    # Edge: 16 pieces of 3.5 in, one to a 6 in tile.
    # Backsplash 96 -> 16, 18 -> 3: 48.
    assert layouts(room) == {"top.top": 52, "top.front": 16, "splash": 48}
    assert figure(room, "mortar").value == near("0.3291667")  # 26.3333333 / 80
    assert quantities(takeoff)["grout"] == near("2.2832450")  # 0.01041667 x 3792 = 39.5 x 0.05780367
    assert figure(room, "joints").value == D(8)  # the backsplash's foot, 96 in
    assert figure(room, "joint sealant").value == near("3.3246753")  # 6 / 1.8046875
    # 116 x 1.05 / 50 = 2.44 -> 3
    assert packs(takeoff) == {
        "membrane": 1,
        "agent": 1,
        "tile6": 3,
        "mortar": 1,
        "grout": 1,
        "joint": 1,
    }
    # No penetration, no tub, no corner: no bead, so no cartridge.
    assert figure(room, "bead").value == 0


def test_foyer_over_existing_tile():
    takeoff = taken_off("foyer_over_tile")
    (room,) = takeoff.rooms

    assert area(room, "floor") == D(60)  # 6 x 10 ft
    # Wall 1: 72 - 36 door = 18 + 18; wall 3: 72 - 48 passage = 12 + 12; walls 2 and 4: 120 each. 300 in.
    # Strips: the four short ones 1 each, 120: 118.5 / 37.5 = 3.16 -> 4, twice: 12.
    assert counts(room) == {
        "changes": 6,
        "strips": 12,
        "sheets": 2,
        "inside": 4,
        "outside": 0,
        "by sealant": 0,
    }
    assert figure(room, "strip length").value == D(25)
    # 39 + 35 = 74, x 120 = 8880 (the other way 39 x 3 + 9 = 126, x 72 = 9072).
    assert sheets(room, "floor") == [(39, 120), (35, 120)]
    # 8880 + (300 + 6 x 1.5) x 4 = 1236: 10116 sq in
    assert quantities(takeoff)["membrane"] == near("70.25")
    # 8640 + lap 240 + 1236 = 10116: the same, 70.25 sq ft; / 50 = 1.405 gal. One batch under 72 sq ft; old
    # tile does not drink, so the agent first turns tacky for 15 minutes.
    assert quantities(takeoff)["agent"] == near("1.405")
    assert [(batch.area, batch.wait_min) for batch in takeoff.batches] == [(near("70.25"), 15)]
    assert figure(room, "bead").value == D(2)  # four corners
    assert figure(room, "sealant").value == near("0.4155844")  # 24 x 0.03125 / 1.8046875
    assert layouts(room) == {"floor": 60}  # 72 -> 6, 120 = 8 whole + 2 x 11.4375 -> 10
    assert figure(room, "mortar").value == near("0.75")
    assert quantities(takeoff)["grout"] == near("3.9017475")  # 0.0078125 x 8640 = 67.5 x 0.05780367
    assert figure(room, "joints").value == D(25)
    assert figure(room, "joint sealant").value == near("10.3896104")  # 300 / 16 / 1.8046875
    # 60 x 1.05 / 10 = 6.3 -> 7; joint sealant 10.39 x 1.1 / 10.1 = 1.13 -> 2
    assert packs(takeoff) == {
        "membrane": 1,
        "inside": 1,
        "agent": 1,
        "sealant": 1,
        "tile12": 7,
        "mortar": 1,
        "grout": 1,
        "joint": 2,
    }
    # Sealed old tile is prepared mechanically: 60 sq ft at 60, 40, 20, set-up 0.5: 1.5, 2.0, 3.5; E = 13 / 6
    assert hours(takeoff)["prepare.prepare_sealed.foyer.floor"] == D("2.2")
    # Nothing resilient comes off and the framing is not seen: no asbestos, no lead, no framing.
    assert [caution.key for caution in takeoff.cautions] == ["silica", "vapours", "electricity"]


def test_wet_room_with_bench_and_niche():
    takeoff = taken_off("wet_room")
    (room,) = takeoff.rooms

    # 72 x 60 less the bench 15 x 60: 57 x 60 = 3420 sq in = 23.75 sq ft, sloped x 1.000216991
    assert area(room, "pan") == near("23.7551535")
    # Wall 1: 72 x 72 - bench's end 15 x 18 - niche 14 x 24 = 5184 - 270 - 336 = 4578
    assert area(room, "walls.w1") == near("31.7916667")
    assert area(room, "walls.w2") == D("22.5")  # 60 x (72 - 18)
    assert area(room, "walls.w4") == D(30)  # 60 x 72
    assert area(room, "bench.top") == D("6.25")  # 15 x 60
    assert area(room, "bench.front") == D("7.5")  # 60 x 18
    assert area(room, "niche.back") == near("2.3333333")  # 14 x 24
    assert area(room, "niche.left") == area(room, "niche.right") == near("0.5833333")  # 3.5 x 24
    assert area(room, "niche.sill") == area(room, "niche.head") == near("0.3402778")  # 3.5 x 14

    # Floor 57 + 60, bench's foot 60, wall 3 9 + 18 beside its door: 204. Bench: top 15 + 60 + 15, edge 60,
    # front up walls 1 and 3 18 + 18: 186. Walls 1/2 54, 1/4 72, 2/3 54, 4/3 72: 252. Niche: back's four
    # edges 2 x 14 + 2 x 24, side edges 4 x 3.5, mouth 2 x 14 + 2 x 24: 76 + 14 + 76 = 166. 808 in.
    assert figure(room, "strip length").value == near("67.3333333")
    # 5 + 6 + 4 + 12 = 27 changes. Two strips over 57, the four 60s, 54, 72, 54, 72; one over the other 18.
    # Corners inside: floor 2 + 2 at the bench's foot, bench's back 2, niche's back 4. Outside: the bench's
    # edge 2, the niche's mouth 4.
    assert counts(room) == {
        "changes": 27,
        "strips": 36,
        "sheets": 15,
        "inside": 10,
        "outside": 6,
        "by sealant": 0,
    }
    # Floor: drain at 28, 30. Over 57: 39 + 20, seam 37 to 39, drain clear to 36: 59 x 60 = 3540. The other
    # way the seam (37 to 39 of 60) lies on the drain (22 to 38).
    assert sheets(room, "pan") == [(39, 60), (20, 60)]
    assert sheets(room, "walls.w1") == [(39, 72), (35, 72)]  # 74 x 72 = 5328
    assert sheets(room, "walls.w2") == [(39, 54), (23, 54)]  # 62 x 54 = 3348 < (39 + 17) x 60 = 3360
    assert sheets(room, "walls.w4") == [(39, 60), (35, 60)]  # 74 x 60 = 4440 < 62 x 72 = 4464
    # Bench 900 + 1080; niche 336 + 2 x 84 + 2 x 49 = 602; strips (808 + 9 x 1.5) x 4 = 3286.
    # 3540 + 5328 + 3348 + 4440 + 1980 + 602 + 3286 = 22524 sq in
    assert quantities(takeoff)["membrane"] == near("156.4166667")
    # Bonded, sq in: floor's laps and strips 120 + (58.5 + 61.5 + 61.5 + 9 + 18) x 4 = 954 on 23.7551535 sq
    # ft;
    # wall 1 4578 + 144 + (55.5 + 73.5 + 18 + 24 + 24) x 4 = 5502; wall 2 3240 + 108 + 222 = 3570;
    # wall 4 4320 + 120 + 294 = 4734; bench 900 + (15 + 61.5 + 61.5 + 15) x 4 = 1512 and 1080 + 72 = 1152;
    # niche 336 + 192 = 528, 2 x 84, 2 x (49 + 35 x 4) = 378.
    # 23.7551535 + (954 + 5502 + 3570 + 4734 + 2664 + 528 + 168 + 378) / 144 = 23.7551535 + 128.4583333
    assert quantities(takeoff)["agent"] == near("3.0442697")  # 152.2134868 / 50
    # Drain 4, mixer 5, spout 1 = 10 in x pi; 16 corners x 6 in
    assert figure(room, "bead").value == near("10.6179939")
    assert figure(room, "sealant").value == near("2.2063364")
    # Boards on the walls: 84.2916667 sq ft / 15; screws 84.2916667 x 2 x 1.05. Hung lying, 1/8 in apart:
    # wall 1 60 x 36, 60 x 35.875 and 11.875 wide beside them (18 high over the bench, 35.875); wall 2 60 x 36
    # and 60 x 17.875; wall 4 60 x 36, 60 x 35.875. Five boards for the large ones; for the others 17.875 +
    # 11.875 = 29.75 of 36 in, and 35.875 + 18 = 53.875 of 60 one behind the other: 6 boards, as by area.
    assert figure(room, "board").value == near("5.6194444")
    assert figure(room, "fasteners").value == near("177.0125")
    # Floor 57 = 8 whole + 2 x 3.9375 -> 10, 60 -> 10. Wall 1: 12 x 12 = 144 places, 6 behind the bench, 3
    # in the
    # niche, 135 pieces; 4 slivers of 7/8 in come from offcuts: 131. Wall 2 10 x 9, wall 4 10 x 12. Bench 15
    # = 1
    # whole + 2 x 4.375 -> 3 x 10, 18 -> 3 x 10. Niche 14 -> 3, 24 -> 4: 12; sides 4 each; sill and head 3
    # each.
    assert layouts(room) == {
        "pan": 100,
        "walls.w1": 131,
        "walls.w2": 90,
        "walls.w4": 120,
        "bench.top": 30,
        "bench.front": 30,
        "niche.back": 12,
        "niche.left": 4,
        "niche.right": 4,
        "niche.sill": 3,
        "niche.head": 3,
    }
    # 23.7551535 + 84.2916667 + 13.75 + 4.1805556 = 125.9773758 / 80
    assert figure(room, "mortar").value == near("1.5747172")
    assert quantities(takeoff)["grout"] == near("10.9229315")  # 188.9660636 cu in x 0.05780367
    # Inside changes: all but the bench's edge 60 and the niche's mouth 76: 808 - 136 = 672 in
    assert figure(room, "joints").value == D(56)
    assert figure(room, "joint sealant").value == near("23.2727273")
    assert figure(room, "edge profiles").value == near("11.3333333")  # 60 + 76 = 136 in
    # Tile 527 x 1.05 / 50 = 11.07 -> 12; boards 6; joint sealant 2.53 -> 3; mortar 1.73 -> 2; grout
    # 1.2 -> 2
    assert packs(takeoff) == {
        "membrane": 1,
        "inside": 1,
        "outside": 1,
        "agent": 1,
        "sealant": 1,
        "tile6": 12,
        "mortar": 2,
        "grout": 2,
        "board": 6,
        "screws": 1,
        "joint": 3,
    }

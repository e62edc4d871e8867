"""Rooms put together: faces, changes of plane, corners, and the rooms that cannot be.

Nets and areas are checked against Shapely (an independent geometry library); counts against what anyone can
count in a box: a box room has 4 floor edges, 4 upright edges and 4 floor corners.
"""

from dataclasses import replace
from decimal import Decimal as D

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from estimates.takeoff.assembly import assemble
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import (
    Condition,
    Covering,
    Exposure,
    Fixture,
    FixtureKind,
    Opening,
    OpeningKind,
    Room,
    Substrate,
    Surface,
    SurfaceKind,
)
from estimates.takeoff.practice import Practice
from estimates.takeoff.units import System, inches

from .cast import floor, legs, rectangle, take_off, wall


def put_together(room):
    return assemble(room, Practice(), System.INCH)


def lengths(assembly, *, inside=True):
    return sorted(change.length_mm / D("25.4") for change in assembly.changes if change.inside is inside)


def square_feet(square_inches):
    return pytest.approx(D(square_inches) / 144, rel=D("1e-20"))


def box(kind, name="Box", **more):
    return Surface(name.lower(), kind, name, Substrate.CEMENT_BOARD, **more)


def test_a_box_room_has_eight_edges_and_four_corners():
    room = rectangle(60, 96, surfaces=(floor(), wall(1, 2, 3, 4)))

    found = put_together(room)

    assert lengths(found) == [60, 60, 96, 96, 96, 96, 96, 96]  # four at the floor, four up 96 in walls
    assert len(found.corners) == 4
    assert all(corner.inside for corner in found.corners)


def test_walked_the_other_way_round_it_is_the_same_room():
    surfaces = (floor(), wall(1, 2, 3, 4))
    right = put_together(rectangle(60, 96, surfaces=surfaces))
    left = put_together(
        Room("r", "Room", inches(96), legs(60, 96, 60, 96, turns=(-90,) * 4), surfaces=surfaces)
    )

    assert lengths(left) == lengths(right)
    assert len(left.corners) == 4
    assert [face.area.value for face in left.faces] == [face.area.value for face in right.faces]


def test_a_thing_on_a_wall_is_seen_from_inside_whichever_way_the_walk_went():
    # 10 in from the wall's start: at the left for a walk with the room at the right hand, else at the right.
    window = Opening("w", OpeningKind.WINDOW, 1, inches(10), inches(20), inches(30), inches(40))
    for turns, low in (((90,) * 4, 10), ((-90,) * 4, 30)):
        room = Room(
            "r",
            "Room",
            inches(96),
            legs(60, 96, 60, 96, turns=turns),
            openings=(window,),
            surfaces=(wall(1),),
        )
        (face,) = put_together(room).faces
        (hole,) = face.holes
        assert min(x for x, _ in hole) == inches(low)
        assert face.area.value == square_feet(60 * 96 - 20 * 30)


def test_an_l_shaped_room_has_one_outside_corner():
    room = Room(
        "r",
        "Room",
        inches(96),
        legs(120, 60, 48, 36, 72, 96, turns=(90, 90, -90, 90, 90, 90)),
        surfaces=(floor(),),
    )

    found = put_together(room)

    assert found.faces[0].area.value == square_feet(120 * 96 - 48 * 36)
    assert [corner.inside for corner in found.corners].count(False) == 1
    assert len(found.corners) == 6
    # The walls are not ours; the floor's strip turns up them all the same.
    assert all(change.faces[1] is None and change.has_strip for change in found.changes)


def test_a_wall_without_membrane_on_either_side_takes_no_strip():
    room = rectangle(60, 96, surfaces=(floor(membrane=False), wall(1, membrane=False)))

    found = put_together(room)

    assert len(found.changes) > 0
    assert not any(change.has_strip for change in found.changes)
    assert found.corners == ()


def test_a_free_standing_curb_has_four_outside_corners_and_four_at_its_foot():
    room = rectangle(
        100,
        100,
        surfaces=(
            floor(),
            box(
                SurfaceKind.CURB,
                walls=(1,),
                along_mm=inches(30),
                away_mm=inches(40),
                length_mm=inches(20),
                depth_mm=inches(4),
                height_mm=inches(4),
            ),
        ),
    )

    found = put_together(room)
    (ground, *block) = found.faces

    assert ground.area.value == square_feet(100 * 100 - 20 * 4)
    assert len(ground.holes) == 1
    assert sum(face.area.value for face in block) == square_feet(20 * 4 + 2 * 20 * 4 + 2 * 4 * 4)
    # Its top edges and its uprights are outside changes: 2 x 20 + 2 x 4 and 4 x 4.
    assert lengths(found, inside=False) == [4] * 6 + [20, 20]
    # Its foot's corners jut into the floor, so outside pieces go there, as on its top.
    assert sum(not corner.inside for corner in found.corners) == 8
    assert sum(corner.inside for corner in found.corners) == 4


def test_a_niche_has_twelve_edges_and_eight_corners():
    room = rectangle(
        60,
        96,
        surfaces=(
            wall(1),
            box(
                SurfaceKind.NICHE,
                walls=(1,),
                along_mm=inches(20),
                base_mm=inches(40),
                length_mm=inches(12),
                height_mm=inches(24),
                depth_mm=inches(4),
            ),
        ),
    )

    found = put_together(room)
    of_niche = [
        change for change in found.changes if "box" in change.faces[0] or "box" in str(change.faces[1])
    ]

    assert sum(change.inside for change in of_niche) == 8
    assert sum(not change.inside for change in of_niche) == 4
    assert sum(corner.inside for corner in found.corners if "box" in corner.face) == 4
    assert len([face for face in found.faces if "box" in face.key]) == 5


def test_at_a_tub_sealant_stands_for_strips_and_corner_pieces():
    room = rectangle(
        60,
        96,
        surfaces=(floor(), wall(1, 2, 4)),
        fixtures=(Fixture("tub", FixtureKind.TUB, 1, length_mm=inches(60), depth_mm=inches(30)),),
    )

    found = put_together(room)
    at_tub = [change for change in found.changes if change.has_sealant]

    # Apron 60 on the floor, rim 60 at the back and 30 at each end, and the apron's ends up walls 2 and 4.
    assert sorted(change.length_mm / D("25.4") for change in at_tub) == [15, 15, 30, 30, 60, 60]
    assert not any(change.has_strip for change in at_tub)
    assert all(corner.by_sealant for corner in found.corners if "tub" in str(corner.label))


def test_a_tub_measured_a_little_short_still_touches_its_alcove():
    # 59 3/4 in in a 60 in alcove: within the 1/2 in that tapes differ by.
    tub = Fixture("tub", FixtureKind.TUB, 1, length_mm=inches("59.75"), depth_mm=inches(30))
    room = rectangle(60, 96, surfaces=(floor(),), fixtures=(tub,))

    (face,) = put_together(room).faces

    assert face.area.value == D("27.5")


def test_a_tub_in_a_room_a_little_out_of_square_leaves_no_wedge_of_floor():
    # Wall 3 is a quarter inch over, as tapes are; balanced, walls 1 and 3 are no longer square to wall 2,
    # and a wedge less than 1/32 in wide is left at the tub's end. By hand the floor is 8 ft 1/8 in less
    # 2 ft 6 in, by 5 ft: 5.51 ft x 5 ft = 27.55 sq ft, with four inside corners.
    tub = Fixture("tub", FixtureKind.TUB, 2, length_mm=inches(60), depth_mm=inches(30))
    room = replace(
        rectangle(96, 60, surfaces=(floor(),), fixtures=(tub,)), legs=legs("96", "60", "96.25", "60")
    )

    found = put_together(room)

    (face,) = found.placed
    assert len(face.face.outline) == 4
    assert shapely.Polygon(face.face.outline).area / 25.4**2 / 144 == pytest.approx(27.55, abs=0.01)
    assert len(found.corners) == 4
    assert all(corner.inside for corner in found.corners)


def test_a_floor_cut_in_two_becomes_two_faces():
    room = rectangle(
        60,
        96,
        surfaces=(floor(),),
        fixtures=(
            Fixture("c", FixtureKind.CABINET, 2, inches(40), length_mm=inches(20), depth_mm=inches(60)),
        ),
    )

    found = put_together(room)

    assert [face.area.value for face in found.faces] == [square_feet(60 * 36), square_feet(60 * 40)]
    assert len({face.key for face in found.faces}) == 2


# --- Against Shapely --------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(
    st.integers(60, 200),
    st.integers(60, 200),
    st.integers(0, 30),
    st.integers(0, 30),
    st.integers(10, 28),
    st.integers(10, 28),
)
def test_a_floor_is_the_room_less_what_stands_on_it(width, depth, along, away, length, across):
    cabinet = Fixture(
        "c",
        FixtureKind.CABINET,
        1,
        inches(along),
        inches(away),
        length_mm=inches(length),
        depth_mm=inches(across),
    )
    found = put_together(rectangle(width, depth, surfaces=(floor(),), fixtures=(cabinet,)))
    (face,) = found.faces

    room = shapely.box(0, -depth, width, 0)
    expected = room.difference(shapely.box(along, -away - across, along + length, -away))

    assert float(face.area.value) * 144 == pytest.approx(expected.area, rel=1e-9)
    # Every edge of the floor is a change of plane: at a wall or at the cabinet.
    assert sum(float(change.length_mm) for change in found.changes) / 25.4 == pytest.approx(
        expected.length, rel=1e-6
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(30, 90), min_size=3, max_size=7), st.integers(40, 160))
def test_a_room_of_any_angles_folds_at_every_wall(sizes, radius):
    # Corners on a circle, walked clockwise: no corner is outside, and walls meet at any angle.
    import math

    total = sum(sizes)
    angles, at = [], 0.0
    for size in sizes:
        angles.append(at)
        at -= 2 * math.pi * size / total
    points = [(radius * math.cos(angle), radius * math.sin(angle)) for angle in angles]
    headings = []
    steps = []
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        headings.append(math.degrees(math.atan2(y1 - y0, x1 - x0)))
        steps.append(math.dist((x0, y0), (x1, y1)))
    turns = [
        (before - after) % 360 for before, after in zip(headings, [*headings[1:], headings[0]], strict=True)
    ]
    turns = [D(str(round(turn, 6))) for turn in turns]
    turns[-1] = D(360) - sum(turns[:-1])
    walked = tuple(
        replace(leg, turn_degrees=turn)
        for leg, turn in zip(legs(*[str(round(step, 4)) for step in steps]), turns, strict=True)
    )
    numbers = tuple(range(1, len(sizes) + 1))
    found = put_together(Room("r", "Room", inches(96), walked, surfaces=(floor(), wall(*numbers))))

    assert len(found.changes) == 2 * len(sizes)
    assert all(change.inside for change in found.changes)
    assert len(found.corners) == len(sizes)
    expected = shapely.Polygon([(float(x), float(y)) for x, y in found.traverse.vertices]).area / 25.4**2
    assert float(found.faces[0].area.value) * 144 == pytest.approx(expected, rel=1e-9)


# --- What cannot be ---------------------------------------------------------------------------------------


def niche(**more):
    given = {
        "walls": (1,),
        "along_mm": inches(10),
        "base_mm": inches(40),
        "length_mm": inches(12),
        "height_mm": inches(24),
        "depth_mm": inches(4),
    }
    return box(SurfaceKind.NICHE, "Niche", **(given | more))


IMPOSSIBLE = [
    (
        "an opening beyond its wall",
        rectangle(60, 96, openings=(Opening("d", OpeningKind.DOOR, 1, inches(40), inches(30), inches(80)),)),
        "room.beyond-wall",
        "rooms[0].openings[0].width",
        "Room: door d ends 5′ 10″ along wall 1, which is 5′ 0″ long.",
    ),
    (
        "an opening above the ceiling",
        rectangle(60, 96, openings=(Opening("d", OpeningKind.DOOR, 1, inches(4), inches(30), inches(99)),)),
        "room.above-ceiling",
        "rooms[0].openings[0].height",
        "Room: door d reaches 8′ 3″ up wall 1, which is 8′ 0″ high.",
    ),
    (
        "a door behind a tub",
        rectangle(
            60,
            96,
            openings=(Opening("d", OpeningKind.DOOR, 1, inches(4), inches(30), inches(80)),),
            fixtures=(Fixture("tub", FixtureKind.TUB, 1, length_mm=inches(60), depth_mm=inches(30)),),
        ),
        "room.blocked",
        "rooms[0].openings[0].along",
        "Room: tub stands in front of d in wall 1.",
    ),
    (
        "a niche bigger than its wall",
        rectangle(60, 96, surfaces=(niche(length_mm=inches(61)),)),
        "surface.niche-too-big",
        "rooms[0].surfaces[0].length",
        "Room: Niche is 5′ 1″ by 2′ 0″, bigger than wall 1 (5′ 0″ by 8′ 0″).",
    ),
    (
        "an unknown wall",
        rectangle(60, 96, surfaces=(niche(walls=(7,)),)),
        "room.unknown-wall",
        "rooms[0].surfaces[0].walls",
        "Room: Niche stands at wall 7, but the room has 4 walls.",
    ),
    (
        "a drain outside the floor",
        rectangle(
            60,
            96,
            surfaces=(floor(),),
            fixtures=(Fixture("d", FixtureKind.DRAIN, 1, inches(30), inches(100), diameter_mm=inches(4)),),
        ),
        "room.outside",
        "rooms[0].fixtures[0].away",
        "Room: drain d lies outside the room's floor.",
    ),
    (
        "a drain outside the shower floor it is said to be in",
        rectangle(
            60,
            96,
            surfaces=(
                Surface(
                    "pan",
                    SurfaceKind.SHOWER_FLOOR,
                    "Shower floor",
                    Substrate.MORTAR_BED,
                    walls=(1,),
                    length_mm=inches(60),
                    depth_mm=inches(30),
                ),
            ),
            fixtures=(
                Fixture(
                    "d", FixtureKind.DRAIN, 1, inches(30), inches(40), diameter_mm=inches(4), surface="pan"
                ),
            ),
        ),
        "room.outside",
        "rooms[0].fixtures[0].along",
        "Room: drain d lies outside Shower floor, which it is said to go through.",
    ),
    (
        "a tub longer than the room",
        rectangle(
            60,
            96,
            surfaces=(floor(),),
            fixtures=(Fixture("tub", FixtureKind.TUB, 1, length_mm=inches(66), depth_mm=inches(30)),),
        ),
        "room.outside",
        "rooms[0].fixtures[0].along",
        "Room: tub does not fit inside the room where it is placed.",
    ),
    (
        "a wet wall on gypsum board alone",
        rectangle(60, 96, surfaces=(wall(1, substrate=Substrate.GYPSUM_BOARD, exposure=Exposure.WET),)),
        "surface.gypsum-in-wet-area",
        "rooms[0].surfaces[0].substrate",
        "Room: Wall wall1 is a wet-area wall on gypsum board alone; it needs a backer that the local code "
        "approves for wet areas first. Plan new backer board, or name the backer that is there.",
    ),
    (
        "tile kept and removed",
        rectangle(60, 96, surfaces=(floor(substrate=Substrate.EXISTING_TILE, remove=Covering.TILE),)),
        "surface.contradiction",
        "rooms[0].surfaces[0].remove",
        "Room: Floor is to be laid on existing tile, and the tile is to be removed; choose one.",
    ),
    (
        "two surfaces in one place",
        rectangle(60, 96, surfaces=(wall(1), wall(1, key="again", length_mm=inches(20), name="Again"))),
        "surface.overlap",
        "rooms[0].surfaces[1]",
        "Room: Again and Wall wall1 cover the same place; give each its own part.",
    ),
    (
        "a bench without its height",
        rectangle(
            60,
            96,
            surfaces=(
                floor(),
                box(SurfaceKind.BENCH, "Bench", walls=(1,), length_mm=inches(60), depth_mm=inches(15)),
            ),
        ),
        "room.measurement-missing",
        "rooms[0].surfaces[1].height",
        "Room: Bench needs its height, above zero.",
    ),
    (
        "a key twice",
        rectangle(60, 96, surfaces=(floor(), floor())),
        "room.key-twice",
        "rooms[0].surfaces[1].key",
        "Room: the key floor is given twice; each needs its own.",
    ),
    (
        "a floor without walls",
        Room("r", "Room", inches(96), surfaces=(floor(),)),
        "room.no-plan",
        "rooms[0].surfaces[0]",
        "Room: Floor needs the room's walls, and none were measured.",
    ),
]


@pytest.mark.parametrize(
    ("room", "rule", "place", "sentence"), [row[1:] for row in IMPOSSIBLE], ids=[row[0] for row in IMPOSSIBLE]
)
def test_an_impossible_room_is_refused_with_room_thing_and_rule(room, rule, place, sentence):
    with pytest.raises(DomainError) as caught:
        take_off(room)

    assert caught.value.rule == rule
    assert caught.value.place == place
    assert str(caught.value.reason) == sentence


def test_new_backer_board_cures_a_wet_wall_on_gypsum_board():
    room = rectangle(
        60,
        96,
        surfaces=(
            wall(1, substrate=Substrate.GYPSUM_BOARD, exposure=Exposure.WET, new_board=True),
            floor(condition=Condition.ROUGH),
        ),
    )

    takeoff = take_off(room)

    assert {"board", "screws"} <= {need.material for need in takeoff.needs}

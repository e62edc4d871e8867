"""Knee walls, columns and the returns of openings, worked out by hand in inches."""

from decimal import Decimal as D

import pytest

from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Opening, OpeningKind, Substrate, Surface, SurfaceKind
from estimates.takeoff.units import inches

from .cast import area, floor, rectangle, take_off, wall


def surface(kind, **sizes):
    return Surface(
        "it",
        kind,
        kind.value.capitalize(),
        Substrate.CEMENT_BOARD,
        walls=(1,),
        **{f"{name}_mm": inches(str(size)) for name, size in sizes.items()},
    )


def room_with(*surfaces, openings=()):
    return take_off(rectangle(60, 96, surfaces=surfaces, openings=openings)).rooms[0]


def parts(room):
    ours = [face for face in room.faces if face.surface == "it"]
    return {face.key.removeprefix("r.it."): face.area.value * 144 for face in ours}


def folds(room):
    return sorted((change.inside, change.length_mm / D("25.4")) for change in room.changes)


def test_a_knee_wall_has_a_top_two_sides_and_its_free_end():
    # 48 x 4.5 on plan, 42 high, its near end against wall 4, 36 from wall 1.
    room = room_with(floor(), surface(SurfaceKind.KNEE_WALL, away=36, length=48, depth="4.5", height=42))

    assert parts(room) == {"top": 216, "front": 2016, "back": 2016, "far": 189}
    assert area(room, "floor") * 144 == 60 * 96 - 216
    # Outside: the top's three free edges, and two up the free end. Inside: round its foot 48 + 4.5 + 48, and
    # where it meets wall 4, both sides 42 and the top 4.5; then the floor with the walls: 60, 96, 60, and
    # wall 4 in two, 36 and 96 - 40.5 = 55.5.
    assert folds(room) == sorted(
        [(False, D(size)) for size in ("48", "48", "4.5", "42", "42")]
        + [(True, D(size)) for size in ("48", "48", "4.5", "42", "42", "4.5", "60", "96", "60", "36", "55.5")]
    )


def test_a_column_has_four_sides_to_the_ceiling_and_no_top():
    # 10 x 12, 96 high, free in the room.
    room = room_with(floor(), surface(SurfaceKind.COLUMN, along=20, away=40, length=10, depth=12))

    assert parts(room) == {"front": 960, "back": 960, "near": 1152, "far": 1152}
    assert area(room, "floor") * 144 == 60 * 96 - 120
    ours = [change for change in room.changes if any("r.it" in (key or "") for key in change.faces)]
    # Up its four edges 96 each, outside; round its foot 10, 10, 12, 12, inside.
    assert sorted((change.inside, change.length_mm / D("25.4")) for change in ours) == [
        (False, 96),
        (False, 96),
        (False, 96),
        (False, 96),
        (True, 10),
        (True, 10),
        (True, 12),
        (True, 12),
    ]
    # At its foot four outside corners, in the room's corners four inside ones.
    assert sum(not corner.inside for corner in room.corners) == 4
    assert sum(corner.inside for corner in room.corners) == 4


def test_a_windows_return_has_jambs_a_head_and_a_sill():
    # A window 24 x 36, 40 up, in a wall 5 deep.
    window = Opening("w", OpeningKind.WINDOW, 1, inches(18), inches(24), inches(36), inches(40))
    it = surface(SurfaceKind.RETURN, along=18, base=40, length=24, height=36, depth=5)

    room = room_with(wall(1), it, openings=(window,))

    assert parts(room) == {"left": 180, "right": 180, "sill": 120, "head": 120}
    assert area(room, "wall1") * 144 == 60 * 96 - 24 * 36
    ours = [change for change in room.changes if any("r.it" in (key or "") for key in change.faces)]
    # Outside, to the wall: 24 + 24 + 36 + 36. Inside, where jambs meet sill and head: four of 5.
    assert sorted((change.inside, change.length_mm / D("25.4")) for change in ours) == [
        (False, 24),
        (False, 24),
        (False, 36),
        (False, 36),
        (True, 5),
        (True, 5),
        (True, 5),
        (True, 5),
    ]


def test_a_doors_return_goes_to_the_floor_and_has_no_sill():
    door = Opening("d", OpeningKind.DOOR, 1, inches(10), inches(30), inches(80))
    it = surface(SurfaceKind.RETURN, along=10, length=30, height=80, depth=5)

    room = room_with(wall(1), it, openings=(door,))

    assert parts(room) == {"left": 400, "right": 400, "head": 150}


@pytest.mark.parametrize(
    ("it", "place"),
    [
        (surface(SurfaceKind.KNEE_WALL, length=48, depth="4.5"), "height"),
        (surface(SurfaceKind.COLUMN, length=10), "depth"),
        (surface(SurfaceKind.RETURN, length=24, height=36), "depth"),
        (surface(SurfaceKind.COLUMN, along=55, length=10, depth=10), "length"),
    ],
)
def test_what_is_not_measured_or_does_not_fit_is_refused(it, place):
    with pytest.raises(DomainError) as caught:
        take_off(rectangle(60, 96, surfaces=(it,)))

    assert caught.value.place == f"rooms[0].surfaces[0].{place}"
    assert str(caught.value.reason).startswith("Room: ")

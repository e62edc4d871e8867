"""Rooms nobody thought of: random plans full of random things are taken off soundly or refused in words.

``TAKEOFF_ROOMS=1000`` makes it the nightly size; the normal suite tries a few dozen.
"""

import itertools
import math
import os
from decimal import Decimal as D
from random import Random

import pytest
import shapely

from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import (
    Condition,
    Exposure,
    Fixture,
    FixtureKind,
    Opening,
    OpeningKind,
    Pattern,
    Room,
    Substrate,
    Surface,
    SurfaceKind,
    TileChoice,
)
from estimates.takeoff.practice import Practice
from estimates.takeoff.result import Lie
from estimates.takeoff.units import inches

from .cast import every_figure, legs, take_off

COUNT = int(os.environ.get("TAKEOFF_ROOMS", "40"))
BATCH = 20


def size(chance, low, high):
    return inches(D(chance.randint(low * 16, high * 16)) / 16)


def maybe(chance, low, high):
    return chance.choice([D(0), size(chance, low, high)])


def outline(chance):
    """A rectangle or an L walked either way, or a square with one corner cut off at 45 degrees."""
    shape, hand = chance.choice(["rectangle", "rectangle", "l", "cut"]), chance.choice([1, -1])
    if shape == "rectangle":
        width, depth = chance.randint(30, 160), chance.randint(30, 160)
        return legs(width, depth, width, depth, turns=(90 * hand,) * 4)
    if shape == "l":
        a, b, c, d = (chance.randint(*span) for span in ((40, 160), (30, 120), (10, 35), (10, 60)))
        turns = tuple(hand * turn for turn in (90, 90, -90, 90, 90, 90))
        return legs(a, b, c, d, a - c, b + d, turns=turns)
    side, cut = chance.randint(60, 140), chance.randint(8, 25)
    slant = str(round(cut * math.sqrt(2), 4))
    return legs(side, side - cut, slant, side - cut, side, turns=(90, 45, 45, 90, 90))


# What each kind of surface is measured by, in inches.
MEASURED = {
    SurfaceKind.FLOOR: {},
    SurfaceKind.WALL: {"base": (0, 30), "height": (10, 60)},
    SurfaceKind.SHOWER_FLOOR: {"length": (20, 60), "depth": (20, 40)},
    SurfaceKind.BENCH: {"along": (0, 20), "length": (10, 60), "depth": (8, 20), "height": (6, 20)},
    SurfaceKind.CURB: {
        "along": (0, 20),
        "away": (0, 30),
        "length": (10, 60),
        "depth": (3, 6),
        "height": (3, 6),
    },
    SurfaceKind.NICHE: {
        "along": (1, 20),
        "base": (5, 50),
        "length": (4, 20),
        "height": (4, 30),
        "depth": (2, 5),
    },
    SurfaceKind.COUNTER: {"length": (10, 40), "depth": (10, 25), "height": (1, 4)},
    SurfaceKind.BACKSPLASH: {"length": (10, 40), "height": (4, 20)},
    SurfaceKind.KNEE_WALL: {
        "along": (0, 20),
        "away": (0, 40),
        "length": (10, 60),
        "depth": (4, 6),
        "height": (20, 48),
    },
    SurfaceKind.COLUMN: {"along": (0, 40), "away": (0, 40), "length": (4, 14), "depth": (4, 14)},
    SurfaceKind.RETURN: {
        "along": (1, 20),
        "base": (0, 40),
        "length": (10, 36),
        "height": (10, 40),
        "depth": (3, 8),
    },
}


def surface(chance, kind, walls):
    numbers = (chance.randint(1, walls),)
    if kind is SurfaceKind.WALL:
        numbers = tuple(sorted(chance.sample(range(1, walls + 1), chance.randint(1, walls))))
    elif kind is SurfaceKind.FLOOR or (
        kind in (SurfaceKind.COUNTER, SurfaceKind.BACKSPLASH) and chance.random() < 0.5
    ):
        numbers = ()
    tile = TileChoice(chance.choice(["tile12", "tile6"]), chance.choice([Pattern.STRAIGHT, Pattern.HALF]))
    return Surface(
        kind.name.lower(),
        kind,
        kind.value.capitalize(),
        chance.choice(list(Substrate)) if kind is SurfaceKind.FLOOR else Substrate.CEMENT_BOARD,
        chance.choice(list(Condition)),
        chance.choice(list(Exposure)),
        walls=numbers,
        membrane=chance.random() < 0.85,
        new_board=chance.random() < 0.2,
        tile=tile if chance.random() < 0.25 else None,
        **{f"{name}_mm": size(chance, *span) for name, span in MEASURED[kind].items()},
    )


def random_room(seed):
    chance = Random(seed)  # seeded: the same number makes the same room
    walked = outline(chance)
    count = len(walked)
    openings = tuple(
        Opening(
            f"o{at}",
            chance.choice(list(OpeningKind)),
            chance.randint(1, count),
            size(chance, 0, 20),
            size(chance, 10, 36),
            size(chance, 20, 60),
            maybe(chance, 1, 30),
        )
        for at in range(chance.randint(0, 2))
    )
    fixtures = tuple(
        Fixture(
            f"f{at}",
            chance.choice([kind for kind in FixtureKind if kind is not FixtureKind.SINK]),
            chance.randint(1, count),
            maybe(chance, 0, 30),
            maybe(chance, 1, 30),
            maybe(chance, 1, 50),
            size(chance, 1, 6),
            size(chance, 10, 60),
            size(chance, 10, 30),
        )
        for at in range(chance.randint(0, 2))
    )
    kinds = chance.sample(list(SurfaceKind), chance.randint(1, 5))
    return Room(
        "r",
        "Room",
        inches(96),
        walked,
        openings=openings,
        surfaces=tuple(surface(chance, kind, count) for kind in kinds),
        fixtures=fixtures,
    )


def flat(ring):
    return [(float(x), float(y)) for x, y in ring]


def check_strips(room):
    """Strips run the whole change of plane, are as wide as the practice asks and lap end to end."""
    practice = Practice()
    by_change = {}
    for strip in room.strips:
        assert strip.width_mm >= practice.strip_width.mm
        by_change.setdefault(strip.change, []).append(strip)
    for change in room.changes:
        strips = by_change.get(change.key, [])
        if strips:
            assert (strips[0].start_mm, strips[-1].end_mm) == (0, change.length_mm)
        for before, after in itertools.pairwise(strips):
            assert before.end_mm - after.start_mm >= practice.butt_lap.mm


def check_shingles_of(room):
    """No wall lap faces the water: over a lying seam the upper sheet lies on the lower."""
    upright = {face.key for face in room.faces if face.lie is Lie.UPRIGHT}
    sheets = {sheet.key: sheet for sheet in room.sheets}
    for lap in room.laps:
        over, under = sheets[lap.over], sheets[lap.under]
        assert over.face == under.face
        if over.face in upright and lap.side == over.along_x:
            assert min(y for _, y in over.outline) > min(y for _, y in under.outline)
            assert max(y for _, y in over.outline) >= max(y for _, y in under.outline)


def check_rolls(plan, room):
    """Shapely lays the pieces on their rolls: they fit, none overlap, and each is what its place needs."""
    longest = {sheet.key: (sheet.across_mm, sheet.along_mm) for sheet in room.sheets}
    strips = {one.key: {one.width_mm, one.end_mm - one.start_mm} for one in room.strips}
    for roll in plan.rolls:
        boxes = []
        for one in roll.placed:
            boxes.append(
                shapely.box(
                    *map(float, (one.x_mm, one.y_mm, one.x_mm + one.across_mm, one.y_mm + one.along_mm))
                )
            )
            if one.piece_key in strips:
                assert {one.across_mm, one.along_mm} == strips[one.piece_key]
            else:
                across, along = longest[one.piece_key]
                assert (one.across_mm, one.along_mm) == ((along, across) if one.turned else (across, along))
        assert sum(box.area for box in boxes) == pytest.approx(shapely.union_all(boxes).area, rel=1e-9)
        assert all(box.bounds[0] >= 0 and box.bounds[1] >= 0 for box in boxes)
        # The roll of the cast: 39 in by 100 ft.
        assert all(box.bounds[2] <= float(inches(39)) + 1e-6 for box in boxes)
        assert all(box.bounds[3] <= float(inches(1200)) + 1e-6 for box in boxes)


def check(takeoff):
    for figure in every_figure(takeoff):
        assert figure.evaluate() == figure.value
    (room,) = takeoff.rooms
    for face in room.faces:
        shape = shapely.Polygon(flat(face.outline), [flat(hole) for hole in face.holes])
        assert shape.is_valid
        sheets = [shapely.Polygon(flat(one.outline)) for one in room.sheets if one.face == face.key]
        if sheets:
            assert shape.difference(shapely.union_all(sheets).buffer(0.01)).area < 1
    by_key = {sheet.key: sheet for sheet in room.sheets}
    for lap in room.laps:
        assert by_key[lap.over].order > by_key[lap.under].order
        assert lap.width_mm >= inches(2 if lap.side else "1.5")
    keys = {face.key for face in room.faces}
    for change in room.changes:
        assert change.length_mm > 0
        assert change.faces[0] in keys
        assert change.faces[1] is None or change.faces[1] in keys
    strips = {change.key for change in room.changes if change.has_strip}
    assert {strip.change for strip in room.strips} == strips
    check_strips(room)
    check_shingles_of(room)
    if by_key or room.strips:
        check_rolls(takeoff.cut_plan, room)
    marks = [*by_key, *(strip.key for strip in room.strips)]
    cut = [placed.piece_key for roll in takeoff.cut_plan.rolls for placed in roll.placed] if marks else []
    assert sorted(cut) == sorted(marks)


@pytest.mark.parametrize("batch", range(0, COUNT, BATCH))
def test_a_random_room_is_taken_off_soundly_or_refused_in_words(batch):
    covered = 0
    for seed in range(batch, min(batch + BATCH, COUNT)):
        try:
            takeoff = take_off(random_room(seed))
        except DomainError as error:
            assert error.place.startswith("rooms[0]."), seed  # noqa: PT017
            assert str(error.reason).startswith("Room"), seed  # noqa: PT017
        else:
            check(takeoff)
            covered += bool(takeoff.rooms[0].sheets)
    # Rooms that are all refused would prove nothing.
    assert covered >= 1

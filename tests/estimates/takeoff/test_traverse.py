"""The compass rule against published traverses, and rooms against Shapely, hand sums and invariants."""

from __future__ import annotations

import math
import pickle
from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Point as ShapelyPoint
from shapely import Polygon as ShapelyPolygon

from estimates.takeoff.compass import Course, balance, cos_sin
from estimates.takeoff.polygon import first_crossing, perimeter, point_in_polygon, signed_area
from estimates.takeoff.traverse import (
    LEFT,
    RIGHT,
    CornerKind,
    CrossingError,
    Leg,
    MisclosureError,
    Tolerance,
    TraverseError,
    close_traverse,
    closing_turn,
    suggest,
    trace,
)
from estimates.takeoff.units import System, inches


def bearing(quadrant: str, degrees: str, minutes: int = 0) -> Decimal:
    """Return the azimuth of a bearing such as N 26 10 E, to a hundred-millionth of a degree."""
    angle = Decimal(degrees) + Decimal(minutes) / 60
    azimuth = {"NE": angle, "SE": 180 - angle, "SW": 180 + angle, "NW": 360 - angle}[quadrant]
    return azimuth.quantize(Decimal("1e-8"))


def feet(*walls: tuple[str | int, int | str]) -> list[Leg]:
    return [Leg(inches(12) * Decimal(length), Decimal(turn)) for length, turn in walls]


ZERO, QUARTER = Decimal(0), Decimal(90)


def near(values: Sequence[Decimal], expected: Sequence[str], within: str) -> bool:
    return all(abs(a - Decimal(b)) <= Decimal(within) for a, b in zip(values, expected, strict=True))


# --- Published traverses ----------------------------------------------------------------------------------

# Purdue University, ASM 215, "Traverse Calculations" (engineering.purdue.edu/~asm215/topics/travcalc.html).
PURDUE = [
    Course(Decimal("285.10"), bearing("NE", "26", 10)),
    Course(Decimal("610.45"), bearing("SE", "75", 25)),
    Course(Decimal("720.48"), bearing("SW", "15", 30)),
    Course(Decimal("203.00"), bearing("NW", "1", 42)),
    Course(Decimal("647.02"), bearing("NW", "53", 6)),
]


def test_purdue_example() -> None:
    # The page rounds every step to 0.01 ft and evens two corrections out, hence the tolerances.
    found = balance(PURDUE)
    assert found.perimeter == Decimal("2466.05")
    assert near(found.latitudes, ["255.88", "-153.70", "-694.28", "202.91", "388.48"], "0.01")
    assert near(found.departures, ["125.72", "590.78", "-192.54", "-6.02", "-517.41"], "0.01")
    assert near([found.latitude_sum, found.departure_sum, found.linear], ["-0.71", "0.53", "0.89"], "0.01")
    assert near(found.latitude_corrections, ["0.08", "0.18", "0.21", "0.06", "0.18"], "0.01")
    assert near(found.departure_corrections, ["-0.06", "-0.13", "-0.15", "-0.05", "-0.14"], "0.01")
    assert near(found.balanced_latitudes, ["255.96", "-153.52", "-694.07", "202.97", "388.66"], "0.01")
    assert near(found.balanced_departures, ["125.66", "590.65", "-192.69", "-6.07", "-517.55"], "0.01")
    assert found.precision is not None
    assert 2700 < found.precision < 2850  # printed 1/2771 from the rounded 0.89; 1:2791 unrounded
    assert sum(found.balanced_latitudes) == 0
    assert sum(found.balanced_departures) == 0


def test_purdue_example_walked_as_a_room() -> None:
    # The same five courses as walls: deflection angles from the bearings, so the plan is turned, not changed.
    # Interior angles from the bearings by hand: at A 53 06 + 26 10 -> 180 - 79 16 = 100 44, and so on.
    azimuths = [course.azimuth for course in PURDUE]
    turns = [
        (after - before + 540) % 360 - 180
        for before, after in zip(azimuths, azimuths[1:] + azimuths[:1], strict=True)
    ]
    room = close_traverse([Leg(c.length, turn) for c, turn in zip(PURDUE, turns, strict=True)])
    assert room.is_right_handed
    assert near([room.misclosure_mm], ["0.8833"], "0.0005")
    by_hand = [Decimal(100 * 60 + 44), Decimal(101 * 60 + 35), Decimal(89 * 60 + 5), Decimal(17 * 60 + 12)]
    by_hand.append(Decimal(231 * 60 + 24))
    assert sum(by_hand) == 540 * 60
    # Balancing moves the angles a little; the sharpest, at D between 720 ft and 203 ft, by a minute or two.
    assert near([a * 60 for a in room.interior_degrees], [str(a) for a in by_hand], "2")
    assert sum(room.interior_degrees) == 540
    assert [c.value for c in room.corners] == ["inside", "inside", "inside", "inside", "outside"]
    # The area from the published coordinates (see test_published_areas) within their rounding.
    assert near([room.area_mm2], ["272608"], "5")


def test_four_course_example() -> None:
    # "Compass Rule", scribd.com/document/493615208: metres; corrections printed to 0.0001 m.
    found = balance(
        [
            Course(Decimal("80.40"), bearing("NE", "76")),
            Course(Decimal("46.30"), bearing("SE", "36")),
            Course(Decimal("72.80"), bearing("SW", "61")),
            Course(Decimal("68.00"), bearing("NW", "38")),
        ]
    )
    assert found.perimeter == Decimal("267.50")
    assert near(found.latitudes, ["19.451", "-37.457", "-35.294", "53.585"], "0.001")
    assert near(found.departures[:3], ["78.012", "27.214", "-63.672"], "0.001")
    assert near(found.latitude_corrections, ["-0.0857", "-0.0493", "-0.0776", "-0.0724"], "0.0006")
    assert near(found.departure_corrections, ["0.0935", "0.0538", "0.0846", "0.0791"], "0.0002")
    assert near(found.balanced_latitudes, ["19.3653", "-37.5063", "-35.3716", "53.5126"], "0.0006")
    assert near(found.balanced_departures[:3], ["78.1055", "27.2678", "-63.5874"], "0.0006")


def test_partial_example() -> None:
    # justaaa.com/civil-engineering/19749: linear misclosure 0.045 ft, precision about 1:22,500.
    found = balance(
        [
            Course(Decimal("314.02"), bearing("NW", "22", 36) - Decimal(40) / 3600),
            Course(Decimal("264.49"), bearing("SW", "60", 39) + Decimal(24) / 3600),
            Course(Decimal("213.50"), bearing("SE", "38", 46) - Decimal(10) / 3600),
            Course(Decimal("217.69"), bearing("NE", "88", 22) + Decimal(58) / 3600),
        ]
    )
    assert near(found.latitudes, ["289.883", "-129.611", "-166.460", "6.144"], "0.001")
    assert near(found.departures, ["-120.733", "-230.556", "133.691", "217.603"], "0.001")
    assert near([found.linear], ["0.045"], "0.0005")


# --- Published polygon areas ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "area", "within"),
    [
        pytest.param(
            # US Navy, Engineering Aid manual (tpub.com/inteng/7i.htm): corners of a traverse balanced as
            # Purdue's, closed in four. The page's total was not seen: double area by hand from its corners.
            ["0 591.64", "125.66 847.60", "716.31 694.07", "523.62 0"],
            "323953.70",
            "0.005",
            id="navy",
        ),
        pytest.param(
            # jerrymahun.com, COGO chapter H, example H-2: printed cross sums 2,190,612 and 1,909,624.
            ["406.31 1259.97", "235.12 1489.47", "65.81 1126.40", "317.89 942.04", "675.32 1282.54"],
            str(Decimal(2_190_612 - 1_909_624) / 2),
            "1",
            id="cogo-h2",
        ),
        pytest.param(
            # jerrymahun.com, traverse computations chapter G, example 1: eight printed cross products.
            ["500.000 2000.000", "323.614 1561.426", "526.996 1488.321", "719.336 1686.956"],
            str(
                (
                    Decimal("647228.0") + Decimal("822865.2") + Decimal("1070602.9") + Decimal("843478.0")
                    - Decimal("780713.0") - Decimal("481641.5") - Decimal("889019.1") - Decimal("1438672.0")
                )
                / -2
            ),
            "0.1",
            id="traverse-g1",
        ),
        pytest.param(
            # jerrymahun.com, self-study solution, traverse area 2: "250,550 square feet, give or take 20".
            ["600.000 1000.000", "254.542 1209.288", "97.543 566.876", "470.303 397.969"],
            "250550",
            "20",
            id="traverse-area-2",
        ),
        pytest.param(
            # Purdue's printed corners; area of the rounded corners by hand.
            ["10000 10000", "10255.96 10125.66", "10102.44 10716.31", "9408.37 10523.62", "9611.34 10517.55"],
            "272608.13",
            "0.005",
            id="purdue",
        ),
    ],
)  # fmt: skip
def test_published_areas(points: list[str], area: str, within: str) -> None:
    corners = [(Decimal(p.split()[0]), Decimal(p.split()[1])) for p in points]
    assert near([abs(signed_area(corners))], [area], within)


# --- Rooms by hand ----------------------------------------------------------------------------------------


def test_a_bath_of_five_by_eight_feet_is_exact() -> None:
    room = close_traverse(feet((8, 90), (5, 90), (8, 90), (5, 90)))
    assert room.vertices == (
        (ZERO, ZERO),
        (inches(96), ZERO),
        (inches(96), -inches(60)),
        (ZERO, -inches(60)),
    )
    assert room.area_mm2 == inches(96) * inches(60)
    assert room.precision is None
    assert not room.is_balanced
    assert room.balanced == room.legs
    assert room.interior_degrees == (QUARTER,) * 4
    assert set(room.corners) == {CornerKind.INSIDE}
    assert room.corrections == ((ZERO, ZERO),) * 4


def test_a_quarter_inch_is_balanced_in_proportion_to_the_walls() -> None:
    # 8' 0 1/4" where 8' 0" stands: the walk ends 1/4 in (6.35 mm) short along x. Perimeter 312.25 in.
    # By hand: wall 1 gets 6.35 * 96/312.25 = 1.9523 mm, wall 2 6.35 * 60/312.25 = 1.2202 mm.
    room = close_traverse(feet((8, 90), (5, 90), ("8.0208333333333333333333333333", 90), (5, 90)))
    assert near([room.misclosure_mm], ["6.35"], "0.0001")
    assert room.precision == 1249  # 312.25 / 0.25
    assert near([x for x, _ in room.corrections], ["1.9523", "1.2202", "1.9574", "1.2202"], "0.0001")
    assert [y for _, y in room.corrections] == [0, 0, 0, 0]
    assert near(room.interior_degrees, ["90.0459", "90.0459", "89.9541", "89.9541"], "0.0001")


def test_an_l_shape_has_one_outside_corner() -> None:
    # 10 x 8 less 4 x 3: 80 - 12 = 68 sq ft.
    room = close_traverse(feet((10, 90), (5, 90), (4, -90), (3, 90), (6, 90), (8, 90)))
    assert room.area_mm2 == 68 * inches(12) ** 2
    assert [c.value for c in room.corners] == ["inside"] * 3 + ["outside"] + ["inside"] * 2
    assert room.interior_degrees == (*[QUARTER] * 3, Decimal(270), *[QUARTER] * 2)


def test_a_wall_in_two_parts_has_a_straight_corner() -> None:
    room = close_traverse(feet((3, 0), (5, 90), (5, 90), (8, 90), (5, 90)))
    assert room.corners[1] is CornerKind.STRAIGHT
    assert room.area_mm2 == 40 * inches(12) ** 2


def test_a_bay_of_45_degrees() -> None:
    # A square of 6 ft with one corner cut off at 45 degrees, 2 ft along each wall: 36 - 2 = 34 sq ft.
    # The cut is 2 * sqrt(2) ft = 33.94 in, typed 33 15/16 in.
    cut = inches("33.9375") / inches(12)
    room = close_traverse(feet((4, 45), (str(cut), 45), (4, 90), (6, 90), (6, 90)))
    assert near([room.area_mm2 / inches(12) ** 2], ["34"], "0.01")
    assert near(room.interior_degrees, ["90", "135", "135", "90", "90"], "0.01")


# --- Refusals ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("walls", "kind", "rule", "sentence"),
    [
        (
            feet((8, 90), (5, 90), (7, 90), (5, 90)),
            MisclosureError,
            "walk.misclosure",
            "The walk ends 1′ 0″ from where it began; up to 3″ is balanced. Wall 3 would close it at "
            "8′ 0″ instead of 7′ 0″. So would wall 1 at 7′ 0″ instead of 8′ 0″.",
        ),
        (
            # The walls of an L-shape with every turn said right, the last worked out from the others.
            feet((10, 90), (5, 90), (4, 90), (3, 90), (6, 90), (8, -90)),
            MisclosureError,
            "walk.misclosure",
            "The walk ends 15′ 7 1/2″ from where it began; up to 4 5/16″ is balanced. It closes if "
            "the turn after wall 3 is to the left, not to the right.",
        ),
        (
            feet((10, 90), (20, 90), (5, 90), (7, 90)),
            MisclosureError,
            "walk.misclosure",
            "The walk ends 13′ 11 3/16″ from where it began; up to 5″ is balanced. No single wall closes it; "
            "wall 4 at 20′ 0″ instead of 7′ 0″ comes nearest, within 5′ 0″.",
        ),
        (
            feet((10, 90), (5, 90), (4, 90), (3, 90), (6, 90), (8, 90)),
            TraverseError,
            "walk.turns",
            "The turns add up to 540°; once round a room they add up to 360° to the right or 360° to the "
            "left. They do if the turn after wall 3 is to the left, not to the right.",
        ),
        (
            feet((12, -90), (4, -90), (12, -90), (4, 90)),
            TraverseError,
            "walk.turns",
            "The turns add up to −180°; once round a room they add up to 360° to the right or 360° to the "
            "left. They do if the turn after wall 4 is to the left, not to the right.",
        ),
        (
            feet((10, 45), (20, 90), (5, 90), (7, 90)),
            TraverseError,
            "walk.turns",
            "The turns add up to 315°; once round a room they add up to 360° to the right or 360° to the "
            "left. The turn after wall 4 would have to be 135°.",
        ),
        (
            feet((8, 180), (8, 180)),
            TraverseError,
            "walk.too-few",
            "The walk has 2 walls; a room has three or more.",
        ),
        ([], TraverseError, "walk.too-few", None),
        (
            feet((8, 90), (5, 180), (5, 90), (8, 0)),
            TraverseError,
            "walk.doubling-back",
            "Wall 2: a turn of 180° doubles back along the wall; less than 180° was expected.",
        ),
        (feet((8, 90), (5, 90), (0, 90), (5, 90)), TraverseError, "walk.length", None),
    ],
)  # fmt: skip
def test_refusals(walls: list[Leg], kind: type[TraverseError], rule: str, sentence: str | None) -> None:
    with pytest.raises(kind) as caught:
        close_traverse(walls)
    assert caught.value.rule == rule
    if sentence is not None:
        assert str(caught.value.reason) == sentence
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_two_walls_that_cross_are_named() -> None:
    # A hook that comes back through its first wall. By hand: right 6, down 4, left 2, up 6 (through wall 1 at
    # x = 4), left 2, down 4 ... closed so that the turns sum to 360.
    walls = feet((6, 90), (4, 90), (2, 90), (6, -90), (2, -90), (4, 90), (2, 90), (2, 90))
    with pytest.raises(CrossingError) as caught:
        close_traverse(walls)
    assert caught.value.facts["walls"] == (1, 4)
    assert str(caught.value) == "Wall 1 and wall 4 cross or touch; check their lengths and turns."


def test_misclosure_carries_its_numbers() -> None:
    with pytest.raises(MisclosureError) as caught:
        close_traverse(feet((8, 90), (5, 90), (7, 90), (5, 90)), system=System.METRIC)
    facts = caught.value.facts
    assert facts["misclosure_mm"] == inches(12)
    assert facts["limit_mm"] == inches(3)  # 1 in 100 of 25 ft
    assert [(s.wall, s.wanted_mm, s.remaining_mm) for s in facts["suggestions"]] == [
        (3, inches(96), 0),
        (1, inches(84), 0),
    ]
    assert caught.value.place == "walls[2].length"
    assert "0.305 m" in str(caught.value)


def test_a_mistaken_turn_is_placed_at_its_wall() -> None:
    with pytest.raises(MisclosureError) as caught:
        close_traverse(feet((10, 90), (5, 90), (4, 90), (3, 90), (6, 90), (8, -90)))
    assert caught.value.facts["turn_wall"] == 3
    assert caught.value.facts["suggestions"] == ()
    assert caught.value.place == "walls[2].turn"


def test_tolerance_is_a_setting() -> None:
    walls = feet((8, 90), (5, 90), ("8.02", 90), (5, 90))
    assert close_traverse(walls).is_balanced
    with pytest.raises(MisclosureError):
        close_traverse(walls, tolerance=Tolerance(absolute_mm=Decimal(1), ratio=Decimal("0.0001")))


def test_an_unfinished_walk_is_traced() -> None:
    assert trace([]) == ((ZERO, ZERO),)
    walked = trace(feet((8, 90), (5, -45), (1, 90)))
    assert walked[:3] == ((ZERO, ZERO), (inches(96), ZERO), (inches(96), -inches(60)))
    diagonal = inches(12) * Decimal(math.sqrt(0.5))  # on at 45 degrees to the left of straight down
    assert near(walked[3], [str(inches(96) + diagonal), str(-inches(60) - diagonal)], "0.0001")


def test_the_last_turn_follows_from_the_others() -> None:
    assert closing_turn([RIGHT] * 3) == RIGHT
    assert closing_turn([LEFT] * 3) == LEFT
    assert closing_turn([RIGHT, RIGHT, RIGHT, RIGHT, RIGHT]) == LEFT
    assert closing_turn([Decimal(120), Decimal(100)]) == 140
    assert closing_turn([RIGHT]) == RIGHT  # unfinished: as if nothing was said


# --- Properties -------------------------------------------------------------------------------------------

units = st.integers(-3_000_000, 3_000_000).map(lambda n: Decimal(n) / 10_000)
points = st.tuples(units, units)


@st.composite
def simple_polygons(draw: st.DrawFn) -> list[tuple[Decimal, Decimal]]:
    """A star-shaped polygon: corners at growing bearings round a centre, every gap under 180 degrees."""
    count = draw(st.integers(4, 12))
    centre = draw(points)
    corners = []
    for index in range(count):
        angle = 2 * math.pi * (index + draw(st.floats(0.05, 0.75))) / count
        radius = draw(st.integers(1_000, 30_000))
        offset = Decimal(radius * math.cos(angle)), Decimal(radius * math.sin(angle))
        corners.append(
            tuple((c + o).quantize(Decimal("0.0001")) for c, o in zip(centre, offset, strict=True))
        )
    return corners if draw(st.booleans()) else corners[::-1]  # type: ignore[return-value]


def as_walk(corners: Sequence[tuple[Decimal, Decimal]]) -> list[Leg]:
    """Measure a polygon's sides and deflection angles, as a measurer would, with floats."""
    sides = [
        (float(b[0] - a[0]), float(b[1] - a[1]))
        for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]
    turns = []
    for (ax, ay), (bx, by) in zip(sides, [*sides[1:], sides[0]], strict=True):
        turns.append(
            Decimal(-math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))).quantize(Decimal("1e-9"))
        )
    turns[-1] = closing_turn(turns[:-1])
    lengths = [Decimal(math.hypot(*side)).quantize(Decimal("0.0001")) for side in sides]
    return [Leg(length, turn) for length, turn in zip(lengths, turns, strict=True)]


@given(simple_polygons(), points)
def test_polygon_services_agree_with_shapely(
    corners: list[tuple[Decimal, Decimal]], probe: tuple[Decimal, Decimal]
) -> None:
    reference = ShapelyPolygon([(float(x), float(y)) for x, y in corners])
    assert reference.is_valid
    assert float(abs(signed_area(corners))) == pytest.approx(reference.area, rel=1e-9)
    assert (signed_area(corners) > 0) == reference.exterior.is_ccw
    assert float(perimeter(corners)) == pytest.approx(reference.length, rel=1e-9)
    assert first_crossing(corners) is None
    here = ShapelyPoint(float(probe[0]), float(probe[1]))
    assume(reference.exterior.distance(here) > 1e-6)
    assert point_in_polygon(probe, corners) == reference.contains(here)
    assert all(point_in_polygon(corner, corners) for corner in corners)


@given(st.lists(st.tuples(*[st.integers(0, 6).map(Decimal)] * 2), min_size=3, max_size=8, unique=True))
def test_crossings_agree_with_shapely(corners: list[tuple[Decimal, Decimal]]) -> None:
    # A coarse grid makes touching, overlapping and straight-on sides common. Shapely calls a ring simple when
    # it meets itself nowhere but at its ends.
    ring = ShapelyPolygon([(int(x), int(y)) for x, y in corners]).exterior
    assert (first_crossing(corners) is None) == ring.is_simple


@settings(deadline=None)
@given(simple_polygons())
def test_any_simple_room_walked_either_way_is_found_again(corners: list[tuple[Decimal, Decimal]]) -> None:
    walk = as_walk(corners)
    room = close_traverse(walk)
    reference = ShapelyPolygon([(float(x), float(y)) for x, y in corners])
    assert float(room.area_mm2) == pytest.approx(reference.area, rel=1e-6, abs=1)
    assert ShapelyPolygon([(float(x), float(y)) for x, y in room.vertices]).is_valid
    assert room.is_right_handed == (not reference.exterior.is_ccw)
    assert sum(room.interior_degrees) == 180 * (len(walk) - 2)
    # The other way round: the mirror image of the walk, wall by wall.
    mirrored = close_traverse([Leg(leg.length_mm, -leg.turn_degrees) for leg in walk])
    assert mirrored.area_mm2 == room.area_mm2
    assert mirrored.corners == room.corners
    assert mirrored.is_right_handed != room.is_right_handed
    assert [y for _, y in mirrored.vertices] == [-y for _, y in room.vertices]


def measured(draw: st.DrawFn) -> list[Leg]:
    """An L-shaped room measured with slips of up to an eighth of an inch on each wall."""
    a, b = draw(st.integers(60, 200)), draw(st.integers(60, 200))
    c, d = draw(st.integers(12, a - 12)), draw(st.integers(12, b - 12))
    lengths = (a, b - d, c, d, a - c, b)
    slips = [Decimal(draw(st.integers(-2, 2))) / 16 for _ in lengths]
    turns = (RIGHT, RIGHT, LEFT, RIGHT, RIGHT, RIGHT)
    return [Leg(inches(n + slip), turn) for n, slip, turn in zip(lengths, slips, turns, strict=True)]


measured_rooms = st.composite(measured)()


@given(measured_rooms)
def test_a_balanced_plan_closes_exactly_and_corrections_follow_length(walk: list[Leg]) -> None:
    room = close_traverse(walk)
    raw = trace(walk)
    assert room.misclosure == raw[-1]
    assert [sum(column) for column in zip(*room.corrections, strict=True)] == [-raw[-1][0], -raw[-1][1]]
    for leg, (dx, dy) in zip(walk, room.corrections, strict=True):
        share = leg.length_mm / room.perimeter_mm
        assert abs(dx + room.misclosure[0] * share) <= Decimal("0.0001")
        assert abs(dy + room.misclosure[1] * share) <= Decimal("0.0001")
    steps = [
        (b[0] - a[0] + c[0], b[1] - a[1] + c[1])
        for a, b, c in zip(raw, raw[1:], room.corrections, strict=False)
    ]
    assert [sum(column) for column in zip(*steps, strict=True)] == [0, 0]
    if room.misclosure_mm == 0:
        assert room.balanced == room.legs


@given(measured_rooms, st.integers(1, 5))
def test_starting_at_another_wall_gives_the_same_room(walk: list[Leg], start: int) -> None:
    room, again = close_traverse(walk), close_traverse(walk[start:] + walk[:start])
    if not room.is_balanced:
        assert again.area_mm2 == room.area_mm2
    # Balanced areas agree to rounding on the grid: the perimeter times half a step or so.
    assert abs(again.area_mm2 - room.area_mm2) <= room.perimeter_mm * Decimal("0.0002")
    assert abs(again.misclosure_mm - room.misclosure_mm) < Decimal("0.0001")
    assert again.corners == room.corners[start:] + room.corners[:start]


@given(measured_rooms, st.integers(0, 5), st.sampled_from([-24, -12, 12, 24]))
def test_a_wall_misread_by_feet_is_named_with_its_true_length(walk: list[Leg], wall: int, slip: int) -> None:
    wrong = [*walk]
    wrong[wall] = Leg(walk[wall].length_mm + inches(slip), walk[wall].turn_degrees)
    assume(wrong[wall].length_mm > 0)
    named = {one.wall: one for one in suggest(wrong)}
    assume(wall + 1 in named)
    # Up to 1/8 in on each of the other walls along its direction, at most four of them.
    assert abs(named[wall + 1].wanted_mm - walk[wall].length_mm) <= inches("0.75")


@given(st.integers(-100_000, 100_000))
def test_sines_of_any_angle(hundredths: int) -> None:
    angle = Decimal(hundredths) / 100
    cos, sin = cos_sin(angle)
    assert float(cos) == pytest.approx(math.cos(math.radians(angle)), abs=1e-12)
    assert float(sin) == pytest.approx(math.sin(math.radians(angle)), abs=1e-12)
    if angle % 90 == 0:
        assert {abs(cos), abs(sin)} == {0, 1}


def test_a_figure_of_eight_names_the_walls_that_cross_not_the_sum_of_its_turns() -> None:
    """Right, right, then left twice: it closes on its start, its turns sum to 0, and walls 1 and 4 cross.

    By hand: (0, 0) (6, 0) (6, -4) (3, -4) (3, 2) (0, 2); wall 1 along y = 0 meets wall 4 along x = 3.
    """
    walk = [(6, 90), (4, 90), (3, 90), (6, -90), (3, -90), (2, -90)]
    legs = [Leg(Decimal(length * 1000), Decimal(turn)) for length, turn in walk]

    with pytest.raises(CrossingError) as refusal:
        close_traverse(legs)

    assert refusal.value.facts["walls"] == (1, 4)

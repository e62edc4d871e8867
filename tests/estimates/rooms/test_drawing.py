"""The drawings: well formed, to scale, readable, and safe whatever was typed.

Scales are checked against the geometry and, for the area drawn, against Shapely. Line widths follow
ISO 128-2 (wide to narrow at least 2 to 1), metric scales ISO 5455.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from shapely import union_all
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from estimates.rooms import drawing
from estimates.rooms.drawing import BATCHED, MEASURED, MEMBRANE, TILED, Layer
from estimates.rooms.drawing.paper import LineType
from estimates.rooms.measured import core_room
from estimates.takeoff import model, run
from estimates.takeoff.cutting import CutRoll
from estimates.takeoff.cutting.model import Placed
from estimates.takeoff.document import read_document
from estimates.takeoff.outline import parse_outline
from estimates.takeoff.space import shape_of
from estimates.takeoff.traverse import close_traverse
from estimates.takeoff.units import System, inches

from .factories import bath

ROOMS = sorted((Path(__file__).parents[3] / "fixtures" / "rooms").glob("*.json"))
SVG = "{http://www.w3.org/2000/svg}"
PAIR = re.compile(r"(-?[\d.]+) (-?[\d.]+)")


def say(message: str) -> str:
    return message


def parse(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def marked(svg: str, mark: str) -> list[list[tuple[float, float]]]:
    """Return the paths that carry *mark*, as points with y up."""
    found = []
    for path in parse(svg).iter(f"{SVG}path"):
        if path.get("data-mark") == mark:
            found.append([(float(x), -float(y)) for x, y in PAIR.findall(path.get("d") or "")])
    return found


def circle(svg: str, mark: str) -> tuple[float, float, float]:
    for one in parse(svg).iter(f"{SVG}circle"):
        if one.get("data-mark") == mark:
            return float(one.get("cx", 0)), -float(one.get("cy", 0)), float(one.get("r", 0))
    raise AssertionError(mark)


def rings(svg: str, mark: str) -> list[Polygon]:
    """Return every closed line that carries *mark*."""
    found = []
    for path in parse(svg).iter(f"{SVG}path"):
        if path.get("data-mark") == mark:
            for line in (path.get("d") or "").split("Z"):
                points = [(float(x), -float(y)) for x, y in PAIR.findall(line)]
                if len(points) > 2:
                    found.append(Polygon(points))
    return found


def area_of(found: list[Polygon]) -> float:
    """Return the area of rings of which each one inside another is cut out of it."""
    return sum(
        ring.area * (-1 if any(other.contains(ring) for other in found if other is not ring) else 1)
        for ring in found
    )


def marked_circles(svg: str, mark: str) -> list[tuple[float, float, float]]:
    return [
        (float(one.get("cx", 0)), -float(one.get("cy", 0)), float(one.get("r", 0)))
        for one in parse(svg).iter(f"{SVG}circle")
        if one.get("data-mark") == mark
    ]


def texts(svg: str) -> list[str]:
    return [one.text or "" for one in parse(svg).iter(f"{SVG}text")]


def walked(text: str, system: System = System.INCH, **things: Any) -> model.Room:
    return model.Room("room", "Room", Decimal(2400), parse_outline(text, system).legs, **things)


def plan(room: model.Room, **options: Any) -> str:
    return drawing.plan_svg(room, **{"system": System.INCH, "translate": say, **options})


@pytest.fixture(scope="module")
def taken_off() -> list[tuple[model.Room, Any, Any, System]]:
    """Every example room with its takeoff, and the job's cut plan."""
    found = []
    for path in ROOMS:
        document = read_document(path.read_text())
        takeoff = run(
            document.room_set,
            document.materials,
            document.practice,
            start=datetime(2026, 12, 1, 8, tzinfo=UTC),
        )
        for room, result in zip(document.room_set.rooms, takeoff.rooms, strict=True):
            found.append((room, result, takeoff.cut_plan, document.room_set.system))
    return found


# --- To scale ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "system", "scale"),
    [
        ("8' x 5'", System.INCH, 24),
        ("10' x 8' less 4' x 3'", System.INCH, 16),
        ("2 m R45, 1 m R45, 1.5 m, 2707, 2207", System.METRIC, 20),
        ("8' 5' 8' 0 1/4 5'", System.INCH, 12),
    ],
)
def test_walls_are_drawn_to_scale(text: str, system: System, scale: int) -> None:
    traverse = close_traverse(parse_outline(text, system).legs)

    (walls,) = marked(plan(walked(text, system), system=system, scale=scale), "walls")

    for (x, y), (true_x, true_y) in zip(walls, traverse.vertices, strict=True):
        assert abs(x * scale - float(true_x)) <= 0.005 * scale + 1e-6
        assert abs(y * scale - float(true_y)) <= 0.005 * scale + 1e-6
    assert Polygon(walls).area * scale**2 == pytest.approx(float(traverse.area_mm2), rel=1e-3)


def test_paper_has_its_true_size() -> None:
    sheet = parse(plan(walked("8' x 5'"), scale=20))

    _, _, width, height = (float(one) for one in sheet.get("viewBox", "").split())
    assert sheet.get("width") == f"{width:g}mm"
    assert sheet.get("height") == f"{height:g}mm"
    # 96 in at 1:20 is 121.92 mm, and dimensions stand on both sides of it.
    assert width > 121.92 + 2 * 7


def test_a_screen_drawing_fills_its_column_and_no_more() -> None:
    sheet = parse(plan(walked("3' x 3'"), width_mm=92))

    assert sheet.get("width") is None
    assert 85 <= float(sheet.get("viewBox", "").split()[2]) <= 95


@pytest.mark.parametrize(
    ("extent", "space", "system", "expected"),
    [
        # 2438.4 / 24 = 101.6 mm and 30 mm each side: 161.6 of 180; 1524 / 24 = 63.5 + 60 = 123.5 of 125.
        ((2438.4, 1524.0), (180.0, 125.0), System.INCH, 24),
        ((2438.4, 1524.0), (180.0, 120.0), System.INCH, 32),
        ((2400.0, 1500.0), (180.0, 125.0), System.METRIC, 25),
        ((2400.0, 1500.0), (181.0, 136.0), System.METRIC, 20),
        ((99000.0, 1500.0), (180.0, 120.0), System.METRIC, 500),
    ],
)
def test_the_largest_usual_scale_that_fits(
    extent: tuple[float, float], space: tuple[float, float], system: System, expected: int
) -> None:
    assert drawing.paper_scale(extent, space, system) == expected


def test_a_scale_is_stated_in_the_words_of_the_site() -> None:
    assert "2′ 0″ · 1 in = 24 in" in texts(plan(walked("8' x 5'"), scale=24))
    assert "0.500 m · 1:20" in texts(
        plan(walked("2.4 m x 1.5 m", System.METRIC), system=System.METRIC, scale=20)
    )


# --- What stands where ------------------------------------------------------------------------------------


def test_an_opening_and_fixtures_stand_where_they_were_measured() -> None:
    svg = plan(core_room(bath(), "room"), scale=10)

    # Wall 4 runs up from (0, -60 in) to (0, 0): the door begins 15 in along it and is 30 in wide.
    (door,) = marked(svg, "opening door")
    assert sorted({round(y * 10 / 25.4, 1) for _, y in door}) == [-45.0, -15.0]
    # Wall 3 runs from (96, -60) back to (0, -60): 63 in along it is x = 33 in, 12 in away is y = -48 in.
    x, y, radius = circle(svg, "fixture flange")
    assert [round(value * 10 / 25.4, 1) for value in (x, y, radius)] == [33.0, -48.0, 2.0]
    # The tub fills wall 2 (x = 96 in) and reaches 30 in into the room.
    (tub,) = marked(svg, "fixture tub")
    assert [round(value * 10 / 25.4, 1) for value in Polygon(tub).bounds] == [66.0, -60.0, 96.0, 0.0]


def test_the_name_of_a_cabinet_stands_on_white_where_its_cross_runs_through() -> None:
    block: dict[str, Any] = {
        "wall": 1,
        "along_mm": Decimal("300"),
        "length_mm": Decimal("900"),
        "depth_mm": Decimal("600"),
    }

    def whites(kind: model.FixtureKind) -> int:
        fixture = model.Fixture(key="one", kind=kind, **block)
        return plan(walked("8' x 5'", fixtures=(fixture,))).count('fill="#fff"')

    # A tub has its bowl and no cross, so it needs one white less.
    assert whites(model.FixtureKind.CABINET) == whites(model.FixtureKind.TUB) + 1


def test_a_room_walked_to_the_left_has_its_things_inside() -> None:
    legs = parse_outline("8' L 5' L 8' L 5' L", System.INCH).legs
    drain = model.Fixture("drain", model.FixtureKind.DRAIN, 1, inches(48), inches(20), diameter_mm=inches(4))
    room = model.Room("room", "Left", Decimal(2400), legs, fixtures=(drain,))

    svg = plan(room, scale=10)

    x, y, _ = circle(svg, "fixture drain")
    assert [round(value * 10 / 25.4, 1) for value in (x, y)] == [48.0, 20.0]
    assert Polygon(marked(svg, "walls")[0]).contains(Spot(x, y))


def test_dimensions_are_those_that_were_measured_and_not_the_balanced_ones() -> None:
    svg = plan(walked("8' 5' 8' 0 1/4 5'"))

    assert {"1 · 8′ 0″", "2 · 5′ 0″", "3 · 8′ 0 1/4″", "4 · 5′ 0″"} <= set(texts(svg))


def test_angles_that_are_not_square_are_written_in_their_corners() -> None:
    svg = plan(walked("2 m R45, 1 m R45, 1.5 m, 2707, 2207", System.METRIC), system=System.METRIC)

    # Walls that turn by 45 degrees stand at 180 - 45.
    assert [one for one in texts(svg) if one.endswith("°")] == ["135°", "135°"]


def test_elevation_shows_openings_from_inside() -> None:
    window = model.Opening("w", model.OpeningKind.WINDOW, 1, inches(12), inches(24), inches(30), inches(48))
    right = walked("8' x 5'", openings=(window,))
    left = model.Room(
        "room",
        "Left",
        Decimal(2400),
        parse_outline("8' L 5' L 8' L 5' L", System.INCH).legs,
        openings=(window,),
    )

    spans = [
        Polygon(
            marked(drawing.elevation_svg(one, 1, system=System.INCH, translate=say, scale=10), "opening w")[0]
        ).bounds
        for one in (right, left)
    ]

    # Seen from inside, a wall walked with the room at the right starts at the left; the other way round it
    # starts at the right: 96 - 12 - 24 = 60.
    assert [[round(value * 10 / 25.4, 1) for value in span] for span in spans] == [
        [12.0, 48.0, 36.0, 78.0],
        [60.0, 48.0, 84.0, 78.0],
    ]


def test_an_elevation_of_a_wall_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="7"):
        drawing.elevation_svg(walked("8' x 5'"), 7, system=System.INCH, translate=say)


# --- What is wrong ----------------------------------------------------------------------------------------


def test_a_gap_is_drawn_with_its_size_and_the_wall_to_check() -> None:
    svg = plan(walked("8' 5' 7' 5'"))

    assert marked(svg, "gap")
    assert marked(svg, "wrong wall 3")
    assert "gap 1′ 0″" in texts(svg)


def test_crossing_walls_are_marked() -> None:
    # The fourth wall runs up through the first one, and the sixth comes down through it again.
    room = walked("10' 6' 3' 8' L 3' L 8' 4' 6'")

    svg = plan(room)

    wrong = [one.get("data-mark") for one in parse(svg).iter() if "wrong" in (one.get("data-mark") or "")]
    assert wrong == ["wrong wall 1", "wrong wall 4"]
    x, y, _ = circle(svg, "crossing")
    # It crosses 10 - 3 = 7 ft along the first wall, which is drawn 120 in long.
    (first,) = marked(svg, "wrong wall 1")
    assert x == pytest.approx(first[0][0] + (first[1][0] - first[0][0]) * 0.7, abs=0.02)
    assert y == pytest.approx(first[0][1], abs=0.02)


@pytest.mark.parametrize("text", ["8'", "8' 5'", "8' 5' 8'"])
def test_an_unfinished_walk_is_drawn_as_far_as_it_goes(text: str) -> None:
    (walls,) = marked(plan(walked(text)), "walls")

    assert len(walls) == len(text.split()) + 1


# --- Whole rooms ------------------------------------------------------------------------------------------


def test_every_drawing_of_every_example_room_is_well_formed(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    drawn = 0
    for room, found, cut_plan, system in taken_off:
        options: dict[str, Any] = {"system": system, "translate": say}
        svgs = [
            drawing.plan_svg(room, found, layers=layers, **options)
            for layers in (MEASURED, MEMBRANE, TILED, BATCHED, frozenset(Layer), frozenset[Layer]())
        ]
        svgs += [drawing.elevation_svg(room, n, found, **options) for n in range(1, len(room.legs) + 1)]
        svgs += [
            drawing.face_svg(face, found, layers=layers, **options)
            for face in found.faces
            for layers in (MEMBRANE, TILED, BATCHED)
        ]
        svgs += [drawing.roll_svg(roll, roll_width_mm=Decimal(1000), **options) for roll in cut_plan.rolls]
        for svg in svgs:
            sheet = parse(svg)
            assert sheet.get("role") == "img"
            assert [child.tag for child in sheet[:2]] == [f"{SVG}title", f"{SVG}desc"]
            # The content security policy refuses inline styles.
            assert not any(one.get("style") for one in sheet.iter())
            assert "nan" not in svg
            drawn += 1
    assert drawn > 60


def test_every_sheet_and_strip_of_a_floor_is_drawn(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    for room, found, _, system in taken_off:
        if not room.legs:
            continue
        svg = drawing.plan_svg(room, found, system=system, translate=say, layers=MEMBRANE, scale=10)
        floors = {face.key for face in found.faces if face.surface_kind == "floor"}
        for sheet in found.sheets:
            if sheet.face in floors:
                (drawn,) = marked(svg, f"sheet {sheet.key}")
                true = Polygon([(float(x), float(y)) for x, y in sheet.outline])
                assert Polygon(drawn).area * 100 == pytest.approx(true.area, rel=2e-3)
        changes = {one.key for one in found.changes if floors & set(one.faces)}
        strips = [one for one in found.strips if one.change in changes]
        outline = Polygon(marked(svg, "walls")[0]).buffer(0.1)
        for strip in strips:
            # One leg of the strip lies on the floor, inside the walls.
            legs = [Polygon(band) for band in marked(svg, f"strip {strip.key}")]
            assert all(outline.contains(leg) for leg in legs)
            true_area = float((strip.end_mm - strip.start_mm) * strip.width_mm / 2)
            assert any(leg.area * 100 == pytest.approx(true_area, rel=0.03) for leg in legs)


def test_each_batch_is_outlined_to_scale_and_numbered_on_every_face_it_lies_on(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    for _, found, _, system in taken_off:
        for face in found.faces:
            svg = drawing.face_svg(face, found, system=system, translate=say, layers=BATCHED, scale=10)
            for batch in found.batches:
                patches = [one for one in batch.patches if one.face == face.key and not one.is_strip]
                true = union_all([shape_of(one.outline, one.holes) for one in patches])
                drawn = rings(svg, f"batch {batch.number}")
                # An outline, and inside it the edges of what is cut out.
                assert area_of(drawn) * 100 == pytest.approx(true.area, rel=6e-3, abs=30)
                numbers = marked_circles(svg, f"batch number {batch.number}")
                assert bool(numbers) is bool(patches)
                for x, y, _ in numbers:
                    assert true.buffer(50).contains(Spot(x * 10, y * 10))


def test_the_legend_names_a_strip_of_another_batch_only_where_one_is_drawn(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    told = set()
    for room, found, _, system in taken_off:
        plan = drawing.plan_svg(room, found, system=system, translate=say, layers=BATCHED, scale=20)
        faces = [
            drawing.face_svg(face, found, system=system, translate=say, layers=BATCHED, scale=20)
            for face in found.faces
        ]
        drawn = any(
            rings(svg, f"batch {batch.number} strip") for svg in (plan, *faces) for batch in found.batches
        )
        named = "strip spread with another batch" in texts(plan)
        assert named is drawn, room.key
        told.add(named)
    # Among the rooms are some with such strips and some without.
    assert told == {True, False}


def test_the_wet_rooms_faces_show_what_comes_through_them(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    room, found, _, system = next(one for one in taken_off if one[0].key == "wet")
    floor = next(face for face in found.faces if face.surface_kind == "shower floor")
    (wall,) = [face for face in found.faces if face.wall == 4]

    on_floor = drawing.face_svg(floor, found, system=system, translate=say, scale=10)
    on_wall = drawing.face_svg(wall, found, system=system, translate=say, scale=10)

    # The drain is 4 in across, 28 in along wall 1 and 30 in away from it; the mixer 5 in, 30 in over 40 in.
    assert circle(on_floor, "fixture drain") == pytest.approx((71.12, -76.2, 5.08), abs=0.01)
    assert circle(on_wall, "fixture valve") == pytest.approx((76.2, 101.6, 6.35), abs=0.01)
    assert "drain 4″" in texts(on_floor)
    assert "mixer 5″" in texts(on_wall)
    elevation = drawing.elevation_svg(room, 4, found, system=system, translate=say, scale=10)
    assert circle(elevation, "fixture valve") == pytest.approx((76.2, 101.6, 6.35), abs=0.01)


def test_an_elevation_shows_strips_corner_pieces_and_what_stands_against_the_wall(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    room, found, _, system = next(one for one in taken_off if one[0].key == "wet")

    svg = drawing.elevation_svg(room, 1, found, system=system, translate=say, layers=MEMBRANE, scale=10)

    (wall,) = [face for face in found.faces if face.wall == 1 and face.surface_kind == "wall"]
    mine = {one.key for one in found.changes if wall.key in one.faces}
    strips = [one for one in found.strips if one.change in mine]
    assert strips
    assert all(marked(svg, f"strip {one.key}") for one in strips)
    # The bench stands against wall 2, 15 in deep and 18 in high: its end is seen at the right of wall 1.
    (bench,) = marked(svg, "standing bench")
    assert Polygon(bench).bounds == pytest.approx((144.78, 0, 182.88, 45.72), abs=0.02)
    # Four corners of the niche, the foot of wall 4, and the bench's end: its foot, its edge and its back.
    assert len([one for one in parse(svg).iter() if "corner " in (one.get("data-mark") or "")]) == 8


def test_a_long_roll_stays_on_its_page() -> None:
    placed = tuple(
        Placed(f"P{n}", 1, Decimal(0), Decimal(n * 1500), Decimal(900), Decimal(1500), False)
        for n in range(20)
    )
    svg = drawing.roll_svg(
        CutRoll("roll", 1, Decimal(30000), placed, (), ()),
        roll_width_mm=Decimal(1000),
        system=System.METRIC,
        translate=say,
        true_size=True,
    )

    assert float((parse(svg).get("height") or "").removesuffix("mm")) <= 230


def test_a_roll_shows_every_piece_at_its_size() -> None:
    placed = tuple(
        Placed(f"P{n}", 1, Decimal(0), Decimal(n * 1500), Decimal(900), Decimal(1500), False)
        for n in range(6)
    )
    roll = CutRoll("roll", 1, Decimal(9000), placed, (), ())

    svg = drawing.roll_svg(roll, roll_width_mm=Decimal(1000), system=System.METRIC, translate=say)

    # A roll 1 m wide takes up to 46 mm of paper: 1:25. A piece that runs over a row's end has two parts.
    for piece in placed:
        parts = marked(svg, f"piece {piece.piece_key}")
        assert sum(Polygon(one).area for one in parts) * 25**2 == pytest.approx(900 * 1500, rel=1e-3)


def test_a_counter_without_walls_is_drawn_with_its_sink(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    room, found, _, system = next(one for one in taken_off if not one[0].legs)

    svg = drawing.plan_svg(room, found, system=system, translate=say, layers=MEMBRANE, scale=10)

    counter = next(one for one in room.surfaces if one.kind == "counter")
    (drawn,) = marked(svg, f"surface {counter.key}")
    assert counter.length_mm
    assert counter.depth_mm
    assert Polygon(drawn).area * 100 == pytest.approx(float(counter.length_mm * counter.depth_mm), rel=1e-3)
    sink = next(one for one in room.fixtures if one.kind == "sink")
    assert Polygon(drawn).contains(Polygon(marked(svg, f"fixture {sink.key}")[0]))


# --- Safe and readable ------------------------------------------------------------------------------------


def test_whatever_was_typed_is_escaped() -> None:
    evil = "<script>alert('1')</script> & \"q\" \x00\x08"
    data = bath(name=evil)
    data = replace(data, surfaces=(replace(data.surfaces[0], kind="bench", name=evil),))
    surface = replace(
        core_room(data, "room").surfaces[0],
        walls=(1,),
        length_mm=inches(20),
        depth_mm=inches(15),
        height_mm=inches(18),
        key=evil,
    )
    room = replace(core_room(data, "room"), surfaces=(surface,))

    for svg in (
        plan(room),
        drawing.elevation_svg(room, 1, system=System.INCH, translate=say, name='x" onload="y'),
    ):
        assert "<script" not in svg
        assert not [key for one in parse(svg).iter() for key in one.attrib if key.startswith("on")]
    assert any("alert" in one for one in texts(plan(room)))


def test_wide_lines_are_at_least_twice_the_narrow_ones() -> None:
    narrow = [LineType.EDGE, LineType.HIDDEN, LineType.CENTRE, LineType.DIMENSION, LineType.STRIP]

    assert all(LineType.WALL.value[0] >= 2 * one.value[0] for one in narrow)
    # Without colour the kinds still differ, by width or by dashes.
    looks = [(one.value[0], one.value[2]) for one in (LineType.WALL, *narrow[:3], LineType.WRONG)]
    assert len(set(looks)) == len(looks)


def test_words_go_through_the_translation() -> None:
    room = core_room(bath(), "room")

    assert any(
        "PUERTA" in one for one in texts(plan(room, translate=lambda text: text.replace("door", "PUERTA")))
    )


def test_a_mixer_on_a_narrow_wall_is_named_above_and_below_it_not_over_the_dimensions(
    taken_off: list[tuple[model.Room, Any, Any, System]],
) -> None:
    room, found, _, system = next(one for one in taken_off if one[0].key == "wet")

    narrow = texts(drawing.elevation_svg(room, 4, found, system=system, translate=say, scale=50))
    wide = texts(drawing.elevation_svg(room, 4, found, system=system, translate=say, scale=10))

    # The wall is 60 in, 30.5 mm on paper at 1:50, with the mixer in its middle: no room beside it.
    assert {"mixer 5″", "3′ 4″"} <= set(narrow)
    assert "mixer 5″, 3′ 4″" in wide

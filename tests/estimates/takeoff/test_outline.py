"""Outlines as people write them: walks, rectangles and L-shapes, and the rules for the ambiguous."""

from __future__ import annotations

import pickle
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimates.takeoff.errors import DomainError
from estimates.takeoff.lengths import exact_text, from_units
from estimates.takeoff.outline import (
    Shape,
    WalkError,
    parse_outline,
    parse_turn,
    parse_walk,
    walk_text,
)
from estimates.takeoff.traverse import Leg, close_traverse, closing_turn
from estimates.takeoff.units import System, inches

INCH, METRIC = System.INCH, System.METRIC
BATH = [("96", 90), ("60", 90), ("96", 90), ("60", 90)]


def read(text: str, system: System = INCH) -> list[tuple[str, float]]:
    """Return the walls as (inches, degrees)."""
    walls = parse_walk(text, system)
    return [(f"{(w.leg.length_mm / inches(1)).normalize():f}", float(w.leg.turn_degrees)) for w in walls]


@pytest.mark.parametrize(
    "text",
    [
        "8'0 5'0 8'0 5'0",
        "8' 5' 8' 5'",
        "8', 5', 8', 5'",
        "8';5';8';5'",
        "8'\n5'\r\n8'\n5'\n",
        "8' R 5' R 8' R 5' R",
        "8'R5'R8'R5'R",
        "8' right 5' Right 8' R90 5' R 90°",
        "8ft 5ft 8ft 5ft",
        "96 60 96 60",
        "96 R 60 R 96 R 60",
        "8'-0\" 5'-0\" 8'-0\" 5'-0\"",
        '8\' 0" 5\' 0" 96" 60 in',
        "8′\u00a00″\u00a05′\u00a00″\u00a08′ 5′",
        "2438.4 mm 1524 mm 243.84 cm 1,5240 m",
    ],
)
def test_one_bath_many_ways(text: str) -> None:
    assert read(text) == BATH
    room = close_traverse([wall.leg for wall in parse_walk(text, INCH)])
    assert room.area_mm2 == 40 * inches(12) ** 2


@pytest.mark.parametrize(
    ("text", "walls"),
    [
        # A fraction belongs to the number before it, inches to the feet before them.
        ("8'0 5'0 8'0 1/4 5'0", [("96", 90), ("60", 90), ("96.25", 90), ("60", 90)]),
        ("8' 4 1/2\" 5' 8' 4 1/2 5'", [("100.5", 90), ("60", 90), ("100.5", 90), ("60", 90)]),
        ("100 1/2 50 100 1/2 50", [("100.5", 90), ("50", 90), ("100.5", 90), ("50", 90)]),
        ("8' 4 5' 3 8' 4 5' 3", [("100", 90), ("63", 90), ("100", 90), ("63", 90)]),
        ("8' 0 5' 0 8' 0 5' 0", BATH),
        ("8', 4, 8', 4", [("96", 90), ("4", 90), ("96", 90), ("4", 90)]),
        # Turns.
        ("12' L 4' L 12' L 4'", [("144", -90), ("48", -90), ("144", -90), ("48", -90)]),
        ("12' l 4' l 12' l 4'", [("144", -90), ("48", -90), ("144", -90), ("48", -90)]),
        ("8'0 l 5'0 l 8'0 l 5'0", [("96", -90), ("60", -90), ("96", -90), ("60", -90)]),
        ("12' L 4' R 3'6 R45 6'", [("144", -90), ("48", 90), ("42", 45), ("72", 90)]),
        ("8' R 45 5' L 30.5 6'", [("96", 45), ("60", -30.5), ("72", 90)]),
        ("8' R 45° 5' L30.5 6' R0", [("96", 45), ("60", -30.5), ("72", 0)]),
        ("100 R45 1/2 60", [("100", 45), ("0.5", 90), ("60", 90)]),
        # A number after a letter and a space: the angle before a length, else a wall.
        ("100 R 45 60 50", [("100", 45), ("60", 90), ("50", 90)]),
        ("100 R 50 R 100 R 50", [("100", 90), ("50", 90), ("100", 90), ("50", 90)]),
        ("100 R, 50 R, 100 R, 50", [("100", 90), ("50", 90), ("100", 90), ("50", 90)]),
        ("100 R 4 1/2 60", [("100", 90), ("4.5", 90), ("60", 90)]),
        # The last turn completes the round where it can.
        ("10' 5' 4' L 3' 6' 8'", [("120", 90), ("60", 90), ("48", -90), ("36", 90), ("72", 90), ("96", 90)]),
        ("10' R120 10' R120 10'", [("120", 120), ("120", 120), ("120", 120)]),
    ],
)
def test_the_rules_for_what_is_ambiguous(text: str, walls: list[tuple[str, float]]) -> None:
    assert read(text) == walls


def test_metric_walks() -> None:
    for text in ("2,55 m, 3,10 m, 2,55 m, 3,10 m", "2 m 55 cm 310 cm 2550 3100", "2,55m,3,10m,2,55m,3,10m"):
        assert [wall.leg.length_mm for wall in parse_walk(text, METRIC)] == [2550, 3100, 2550, 3100]


def test_what_was_typed_is_kept() -> None:
    walls = parse_walk("8'0  L, 5'-6½\"; 8'  0 1/4  R45 5 ft", INCH)
    assert [wall.typed for wall in walls] == ["8'0", "5'-6½\"", "8' 0 1/4", "5 ft"]
    assert walk_text(walls, INCH) == "8'0 L, 5'-6½\", 8' 0 1/4 R45, 5 ft"


@pytest.mark.parametrize(
    ("text", "rule", "place", "sentence"),
    [
        ("", "walk.empty", "", "No wall is given; write the lengths as walked, such as 8' 5' 8' 5'."),
        ("R 8'", "walk.turn-first", "", "“R” turns before the first wall; a length was expected."),
        (
            "8' R L 5'",
            "walk.two-turns",
            "walls[0].turn",
            "Wall 1: “L” is a second turn; a length was expected.",
        ),
        (
            "8' 5' R190 8'",
            "walk.degrees",
            "walls[1].turn",
            "Wall 2: 190° is no turn; less than 180° was expected.",
        ),
        (
            "8' 5' 8' 14 5'",
            "length.inches-overflow",
            "walls[2].length",
            "Wall 3: “8' 14” has 14 inches after the feet; less than 12 was expected. Two lengths are "
            "parted by a comma.",
        ),
        (
            "8' 5O 8'",
            "length.letter",
            "walls[0].length",
            "Wall 1: “5O”: there is a letter O where a zero may be meant.",
        ),
        (
            "8'0 l2'0 8'0",
            "length.letter",
            "walls[1].length",
            "Wall 2: “l2'0”: there is a letter l where a one may be meant.",
        ),
        (
            "8'0,5'0,8'0,5'0",
            "length.comma",
            "walls[0].length",
            "Wall 1: “0,5” can be one number or two; put a space after a comma between walls.",
        ),
        (
            "8' 5' foo",
            "length.unknown-unit",
            "walls[2].length",
            "Wall 3: “foo” is not a unit of length; ft, in, m, cm or mm was expected.",
        ),
        ("8' -5'", "length.negative", "walls[1].length", None),
        (
            "8', 0, 8'",
            "length.zero",
            "walls[1].length",
            "Wall 2: “0” is zero; a length above zero was expected.",
        ),
        ("8' R45.5.5 5'", "length.unexpected", "walls[1].length", None),
        ("8' 1e3 5'", "length.exponent", "walls[0].length", None),
        ("9 " * 101, "walk.too-many", "", "The walk goes on after 100 walls; no more are read as one room."),
        ("10x8x3", "outline.sides", "", "“10x8x3” has 3 sides; two were expected, such as 8' x 5'."),
        ("8' x", "length.empty", "sides[1]", "Side 2: No length is given; write one such as 8' 4 1/2\"."),
        ("8' x 5' 14", "length.inches-overflow", "sides[1]", None),
        (
            "10x8 less 10x3",
            "outline.cut-too-large",
            "",
            "The cut-out of 10 is as large as the side of 10; less was expected.",
        ),
        ("10x8 less 4x9", "outline.cut-too-large", "", None),
        ("10x8 less 4x3 at 7", "outline.corner", "", "“7” is not a corner; 1, 2, 3 or 4 was expected."),
        ("10x8 less 4x3 at", "outline.corner", "", None),
        ("10x8 less 4", "outline.sides", "", None),
        ("10x8 less 4x3 less 1x1", "outline.sides", "", None),
    ],
)
def test_refusals_name_the_wall(text: str, rule: str, place: str, sentence: str | None) -> None:
    with pytest.raises(WalkError) as caught:
        parse_outline(text, INCH)
    assert (caught.value.rule, caught.value.place) == (rule, place)
    if sentence is not None:
        assert str(caught.value.reason) == sentence
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


@pytest.mark.parametrize(
    "text",
    ["8' x 5'", "8'x5'", "8'X5'", "8' × 5'", "8 ft by 5 ft", "96x60", "96 BY 60", "8'0 * 5'0", "8'\nx 5'"],
)
def test_rectangles(text: str) -> None:
    outline = parse_outline(text, INCH)
    assert outline.shape is Shape.RECTANGLE
    assert close_traverse(outline.legs).area_mm2 == 40 * inches(12) ** 2
    assert [leg.length_mm for leg in outline.legs] == [inches(96), inches(60)] * 2


def test_a_metric_rectangle_may_part_thousands() -> None:
    outline = parse_outline("2 550 mm x 1 800 mm", METRIC)
    assert [leg.length_mm for leg in outline.legs] == [2550, 1800, 2550, 1800]


@pytest.mark.parametrize(
    ("at", "outside"),
    [
        # Worked by hand: 10 ft along +x, 8 ft down; the outside corner lies 4 ft and 3 ft in from the corner
        # that is missing. Where corner 1 is missing the walk starts 4 ft further along, so x is less by 4.
        ("", (6, -5)),
        (" at 3", (6, -5)),
        (" at corner 1", (0, -3)),
        (" AT 2", (6, -3)),
        (" at 4", (4, -5)),
    ],
)
def test_l_shapes(at: str, outside: tuple[int, int]) -> None:
    outline = parse_outline(f"10' x 8' less 4' x 3'{at}", INCH)
    room = close_traverse(outline.legs)
    assert outline.shape is Shape.L_SHAPE
    assert room.area_mm2 == 68 * inches(12) ** 2  # 80 - 12
    juts = [v for v, kind in zip(room.vertices, room.corners, strict=True) if kind.value == "outside"]
    assert juts == [(inches(12 * outside[0]), inches(12 * outside[1]))]
    # Every way leads through the same walls: what is printed walks to the same room.
    assert [w.leg for w in parse_walk(walk_text(outline.walls, INCH), INCH)] == list(outline.legs)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("", "90"), ("R", "90"), (" l ", "-90"), ("Left", "-90"), ("R45", "45"), ("L 30.5", "-30.5"),
     ("r 30,5°", "30.5"), ("45", "45"), ("-45", "-45"), ("−45 deg", "-45"), ("0", "0")],
)  # fmt: skip
def test_a_turn_on_its_own(text: str, degrees: str) -> None:
    assert parse_turn(text) == Decimal(degrees)


@pytest.mark.parametrize("text", ["X", "R180", "200", "+", "°", "R-45", "nan", "LR", "R 45 30'", "R٤٥"])
def test_no_turn(text: str) -> None:
    with pytest.raises(WalkError) as caught:
        parse_turn(text)
    assert caught.value.rule == "walk.degrees"


# --- Properties -------------------------------------------------------------------------------------------

lengths = st.one_of(
    st.integers(1, 19_200).map(lambda n: Decimal(n) * Decimal("1.5875")),
    st.integers(1, 300_000).map(Decimal),
    st.integers(1, 3_048_000_000).map(from_units),
)
turns = st.one_of(
    st.sampled_from([Decimal(90), Decimal(-90), Decimal(0), Decimal(45)]),
    st.integers(-179_999, 179_999).map(lambda n: Decimal(n) / 1000),
)
legs = st.lists(st.builds(Leg, lengths, turns), min_size=1, max_size=12)
systems = st.sampled_from(System)


@given(legs, systems)
def test_a_walk_reads_back_as_it_was_printed(walk: list[Leg], system: System) -> None:
    walls = parse_walk(walk_text(walk, system), system)
    assert [wall.leg for wall in walls] == walk
    assert walk_text(walls, system) == walk_text(walk, system)


@given(legs, st.lists(st.sampled_from([", ", "; ", "\n", " ,\n"]), min_size=12, max_size=12))
def test_every_sure_separator_parts_walls_alike(walk: list[Leg], separators: list[str]) -> None:
    pieces = [f"{exact_text(leg.length_mm, INCH)} R{leg.turn_degrees}".replace("R-", "L") for leg in walk]
    text = "".join(piece + separator for piece, separator in zip(pieces, separators, strict=False))
    assert [wall.leg for wall in parse_walk(text, INCH)] == walk


@given(st.text(max_size=60) | st.text(alphabet="0123456789 '\"/-.,;½mcftinRLlxby°\n", max_size=40), systems)
def test_any_text_is_an_outline_or_a_sentence(text: str, system: System) -> None:
    try:
        outline = parse_outline(text, system)
    except DomainError as error:
        sentence = str(error)
    else:
        sentence = "."
        assert outline.walls
        again = parse_walk(walk_text(outline.walls, system), system)
        assert [wall.leg for wall in again] == list(outline.legs)
    assert sentence.endswith(".")


@given(st.integers(24, 400), st.integers(24, 400), st.data())
def test_l_shapes_close_for_every_corner(a: int, b: int, data: st.DataObject) -> None:
    c, d = data.draw(st.integers(1, a - 1)), data.draw(st.integers(1, b - 1))
    for corner in (1, 2, 3, 4):
        room = close_traverse(parse_outline(f"{a} x {b} less {c} x {d} at {corner}", INCH).legs)
        assert room.area_mm2 == (a * b - c * d) * inches(1) ** 2
        assert closing_turn(leg.turn_degrees for leg in room.legs[:-1]) == room.legs[-1].turn_degrees

"""The line and the rows of walls keep in step, whichever was edited."""

import pytest
from django.http import QueryDict

from estimates.rooms.walk import keep_in_step
from estimates.takeoff.units import System

from .factories import typed


def fields(**changes: str) -> QueryDict:
    made = QueryDict(mutable=True)
    made.update(typed(**changes))
    return made


def rows(made: QueryDict) -> list[tuple[str | None, str | None]]:
    total = int(made["walls-TOTAL_FORMS"])
    return [(made.get(f"walls-{at}-length"), made.get(f"walls-{at}-turn")) for at in range(total)]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("8' x 5'", [("8'", "R"), ("5'", "R"), ("8'", "R"), ("5'", "R")]),
        (
            "10' x 8' less 4' x 3'",
            [("10'", "R"), ("5' 0\"", "R"), ("4'", "L"), ("3'", "R"), ("6' 0\"", "R"), ("8'", "R")],
        ),
        (
            "6' R45 3' R45 5' 4' 4'",
            [("6'", "R45"), ("3'", "R45"), ("5'", "R"), ("4'", "R"), ("4'", "R")],
        ),
    ],
)
def test_an_edited_line_makes_the_rows(line: str, expected: list[tuple[str, str]]) -> None:
    made = fields(outline_text=line)

    assert keep_in_step(made, System.INCH).led == "line"
    assert rows(made) == expected
    assert (made["outline_text"], made["line_read"]) == (line, line)


def test_edited_rows_write_the_line_anew() -> None:
    made = fields(outline_text="8' x 5'", line_read="8' x 5'", walls__TOTAL_FORMS="4")
    for at, length in enumerate(("8'", "5'", "8' 0 1/4\"", "5'")):
        made[f"walls-{at}-length"] = length

    assert keep_in_step(made, System.INCH).led == "rows"
    assert made["outline_text"] == made["line_read"] == "8', 5', 8' 0 1/4\", 5'"


def test_a_line_that_says_the_same_stays_as_it_was_typed() -> None:
    made = fields(outline_text="8' x 5'", line_read="8' x 5'", walls__TOTAL_FORMS="4")
    for at, length in enumerate(("96", "60", "96", "60")):
        made[f"walls-{at}-length"] = length

    assert keep_in_step(made, System.INCH).led == "none"
    assert made["outline_text"] == "8' x 5'"


def test_a_line_that_cannot_be_read_leaves_the_rows_alone() -> None:
    made = fields(outline_text="8' 14\" 5'", walls__TOTAL_FORMS="1", walls__0__length="8'")

    found = keep_in_step(made, System.INCH)

    assert found.error is not None
    assert found.error.rule == "length.inches-overflow"
    assert (rows(made), made["outline_text"]) == ([("8'", None)], "8' 14\" 5'")


def test_heights_stay_with_their_walls_when_the_line_is_edited() -> None:
    made = fields(outline_text="9' x 5'", line_read="8' x 5'", walls__TOTAL_FORMS="4")
    made["walls-1-height"] = "7'"

    keep_in_step(made, System.INCH)

    assert [made[f"walls-{at}-height"] for at in range(4)] == ["", "7'", "", ""]


def test_a_forged_number_of_rows_does_no_harm() -> None:
    for total in ("-1", "x", "99999999999999999999", ""):
        assert keep_in_step(fields(walls__TOTAL_FORMS=total), System.INCH).error is None

"""JSON in and out: the schemas, what is read, what is refused and where, and figures that evaluate again.

The schemas are checked against the JSON Schema 2020-12 meta-schema by the jsonschema library.
"""

import copy
import json
from datetime import datetime
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from estimates.takeoff.answer import write_takeoff
from estimates.takeoff.document import read_document, read_measure
from estimates.takeoff.errors import DomainError
from estimates.takeoff.json_shape import schema
from estimates.takeoff.model import (
    BondMethod,
    Condition,
    Covering,
    Exposure,
    FixtureKind,
    OpeningKind,
    Pattern,
    Role,
    Substrate,
    SurfaceKind,
)
from estimates.takeoff.units import Measure, System, inches
from estimates.takeoff.working import Figure, Given, Origin, Round, Step

from .cast import EXAMPLES, ROOMS, example, taken_off


def content():
    return json.loads((ROOMS / "bath_with_tub.json").read_text(encoding="utf-8"))


def changed(path, value):
    """Return the bath's document with one thing changed; None removes it."""
    whole = content()
    *way, last = path
    inner = whole
    for step in way:
        inner = inner[step]
    if value is None:
        del inner[last]
    else:
        inner[last] = value
    return json.dumps(whole)


def test_the_schemas_are_schemas_with_versioned_names():
    # A minor number is added where the schema has only grown: what was read before is still read.
    for name, version in (("input", "1.2"), ("output", "1.2")):
        Draft202012Validator.check_schema(schema(name))
        assert schema(name)["$id"] == f"ledgerboard/takeoff-{name}/{version}"


def test_the_schema_knows_every_word_of_the_model():
    parts = schema("input")["$defs"]
    surface, fixture = parts["surface"]["properties"], parts["fixture"]["properties"]
    for words, kind in (
        (surface["kind"], SurfaceKind),
        (surface["substrate"], Substrate),
        (surface["condition"], Condition),
        (surface["exposure"], Exposure),
        (surface["remove"], Covering),
        (surface["method"], BondMethod),
        (surface["tile"]["properties"]["pattern"], Pattern),
        (fixture["kind"], FixtureKind),
        (parts["opening"]["properties"]["kind"], OpeningKind),
        (parts["material"]["properties"]["role"], Role),
    ):
        assert words["enum"] == [member.value for member in kind]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_examples_fit_the_input_schema_and_their_answers_the_output_schema(name):
    given_ = json.loads((ROOMS / f"{name}.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema("input")).validate(given_)

    answer = json.loads(json.dumps(write_takeoff(taken_off(name), example(name).room_set.system)))

    Draft202012Validator(schema("output")).validate(answer)
    assert "cost" not in json.dumps(answer)
    assert "invented" in given_["note"]


def read_figure(row):
    """Build a figure from its JSON, as a reader with nothing but the file could."""
    lines = []
    for line in row["lines"]:
        if "formula" in line:
            lines.append(
                Step(
                    line["symbol"],
                    None,
                    line["formula"],
                    D(line["value"]),
                    line["unit"],
                    Round(line["rounding"]),
                    line["places"],
                )
            )
        else:
            lines.append(Given(line["symbol"], None, D(line["value"]), line["unit"], Origin(line["origin"])))
    return Figure(row["key"], None, D(row["value"]), row["unit"], tuple(lines))


def figures_in(value):
    if isinstance(value, dict):
        if "lines" in value and "value" in value:
            yield read_figure(value)
        for inner in value.values():
            yield from figures_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from figures_in(inner)


@pytest.mark.parametrize("name", EXAMPLES)
def test_figures_evaluate_again_from_the_json_alone(name):
    answer = json.loads(json.dumps(write_takeoff(taken_off(name), System.INCH)))

    found = list(figures_in(answer))

    assert len(found) > 50
    assert all(figure.evaluate() == figure.value for figure in found)


# --- What is read -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("5' 0\"", inches(60)),
        ("60 in", inches(60)),
        (60, inches(60)),
        (60.5, inches("60.5")),
        ("1.524 m", inches(60)),
    ],
)
def test_lengths_are_texts_or_numbers_in_the_sites_unit(written, expected):
    document = read_document(changed(("rooms", 0, "fixtures", 0, "length"), written))

    assert document.room_set.rooms[0].fixtures[0].length_mm == expected


def test_a_number_on_a_metric_site_is_millimetres():
    whole = content()
    whole["units"] = "metric"
    whole["rooms"][0]["fixtures"][0]["length"] = 1524

    document = read_document(json.dumps(whole))

    assert document.room_set.rooms[0].fixtures[0].length_mm == 1524


@pytest.mark.parametrize(
    "walls",
    [
        [{"length": "5'"}, {"length": "8'"}, {"length": "5'"}, {"length": "8'"}],
        [
            {"length": 60, "turn": 90},
            {"length": 96, "turn": "R"},
            {"length": 60, "turn": 90.0},
            {"length": 96},
        ],
    ],
)
def test_walls_row_by_row_make_the_room_that_the_walk_makes(walls):
    whole = content()
    walked = read_document(json.dumps(whole)).room_set.rooms[0].legs
    del whole["rooms"][0]["walk"]
    whole["rooms"][0]["walls"] = walls

    assert read_document(json.dumps(whole)).room_set.rooms[0].legs == walked


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("55 sq ft/gal", Measure(D(55), "sq ft/gal")),
        ("39 3/8 in", Measure(D("39.375"), "in")),
        ("3/8 in", Measure(D("0.375"), "in")),
        ("10.1 fl oz", Measure(D("10.1"), "fl oz")),
        (3, Measure(D(3), "")),
        ({"value": 15, "unit": "min"}, Measure(D(15), "min")),
    ],
)
def test_quantities_keep_the_unit_they_were_printed_in(written, expected):
    assert read_measure(written) == expected


def test_practice_rates_and_calendar_can_be_set_by_name():
    whole = content()
    whole["practice"] = {"side_lap": "3 in", "crew_size": 3, "flood_test": 48}
    whole["rates"] = {"set_floor_tile": {"likely": 16, "crew": 2}}
    whole["calendar"] = {"start_of_day": "07:00", "end_of_day": "15:30", "holidays": ["2026-12-25"]}

    practice = read_document(json.dumps(whole)).practice

    assert practice.side_lap.value == Measure(D(3), "in")
    assert practice.crew_size.number == 3
    assert practice.flood_test.to("h") == 48
    assert (practice.rates["set_floor_tile"].likely, practice.rates["set_floor_tile"].crew) == (16, 2)
    assert practice.calendar.start_of_day.hour == 7


def test_the_document_says_when_work_may_begin():
    assert example("bath_with_tub").start == datetime(2026, 12, 1, 8)  # noqa: DTZ001 (local to the site)


# --- What is refused --------------------------------------------------------------------------------------

REFUSED = [
    ("a missing key", (("units",), None), "document.schema", "", "“units” is missing here."),
    (
        "an unknown key",
        (("rooms", 0, "surfaces", 0, "lenght"), 5),
        "document.schema",
        "rooms[0].surfaces[0].lenght",
        None,
    ),
    (
        "an unknown word",
        (("rooms", 0, "surfaces", 0, "condition"), "wavy"),
        "document.schema",
        "rooms[0].surfaces[0].condition",
        "“wavy” was read; expected one of smooth, rough, uneven, sealed.",
    ),
    (
        "a length of nonsense",
        (("rooms", 0, "fixtures", 0, "length"), "5' 14\""),
        "length.inches-overflow",
        "rooms[0].fixtures[0].length",
        None,
    ),
    (
        "a length below zero",
        (("rooms", 0, "fixtures", 0, "length"), -5),
        "document.schema",
        "rooms[0].fixtures[0].length",
        "“-5” was read; expected a number > 0.",
    ),
    (
        "a length beyond reason",
        (("rooms", 0, "fixtures", 0, "length"), 1e9),
        "document.schema",
        "rooms[0].fixtures[0].length",
        None,
    ),
    ("a broken walk", (("rooms", 0, "walk"), "5' x"), None, "rooms[0].walk", None),
    (
        "both walk and walls",
        (("rooms", 0, "walls"), [{"length": 5}] * 4),
        "document.schema",
        "rooms[0]",
        "give either “walk” or “walls”, not both.",
    ),
    (
        "a quantity without number",
        (("materials", 0, "pack", "content"), "some"),
        "document.quantity",
        "materials[0].pack.content",
        "“some” is no quantity; write a number and its unit, such as 55 sq ft/gal.",
    ),
    (
        "a quantity in an unknown unit",
        (("materials", 0, "pack", "content"), "3 furlongs"),
        "document.quantity",
        "materials[0].pack.content",
        "“3 furlongs” has the unit “furlongs”, which is not one of those known here.",
    ),
    ("an unknown setting", (("practice",), {"lap": "2 in"}), "practice.unknown", "practice.lap", None),
    (
        "a setting in the wrong kind of unit",
        (("practice",), {"side_lap": "2 gal"}),
        "units.kind",
        "practice.side_lap",
        "A figure in gal cannot be turned into in.",
    ),
    ("an unknown activity", (("rates",), {"dance": {"likely": 3}}), "labour.activity", "rates.dance", None),
    (
        "rates that do not fall",
        (("rates",), {"grout": {"optimistic": 1}}),
        "labour.rate",
        "rates.grout",
        None,
    ),
    ("no day", (("calendar",), {"holidays": ["25.12."]}), "document.moment", "calendar.holidays[0]", None),
    ("no moment", (("start",), "tomorrow"), "document.moment", "start", None),
    ("no height", (("rooms", 0, "height"), None), "document.height", "rooms[0].height", None),
]


@pytest.mark.parametrize(
    ("change", "rule", "place", "sentence"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED]
)
def test_what_does_not_fit_is_refused_at_its_place(change, rule, place, sentence):
    with pytest.raises(DomainError) as caught:
        read_document(changed(*change))

    assert caught.value.place.startswith(place)
    assert rule is None or caught.value.rule == rule
    assert sentence is None or str(caught.value.reason) == sentence
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('{\n  "units": "inch",\n}', "line 3, column 1"),
        ("", "line 1, column 1"),
        ('{"a": 1, "a": 2}', ""),
        ('{"a": NaN}', ""),
        ("[" * 100_000, ""),
        ('{"a": 1e999999999999999999999}', ""),
    ],
)
def test_what_is_no_json_is_refused(text, place):
    with pytest.raises(DomainError) as caught:
        read_document(text)

    assert caught.value.place == place


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.text(max_size=8)
    | st.sampled_from(["5'", "inch", "floor"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(st.data(), json_values)
def test_a_document_with_anything_anywhere_is_read_or_refused(data, value):
    whole = copy.deepcopy(content())
    inner = whole
    while True:
        keys = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
        step = data.draw(st.sampled_from(keys))
        if isinstance(inner[step], dict | list) and inner[step] and data.draw(st.booleans()):
            inner = inner[step]
        else:
            inner[step] = value
            break
    try:
        read_document(json.dumps(whole))
    except DomainError as error:
        assert str(error.reason)  # noqa: PT017

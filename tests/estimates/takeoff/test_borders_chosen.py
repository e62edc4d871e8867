"""Borders and accents chosen for a surface: counted, priced by their own tile, covered by the geometry."""

import copy
import json
from dataclasses import replace
from decimal import Decimal as D

import pytest
from jsonschema import Draft202012Validator
from shapely import union_all

from estimates.takeoff.answer import write_takeoff
from estimates.takeoff.document import read_document
from estimates.takeoff.errors import DomainError
from estimates.takeoff.json_shape import schema
from estimates.takeoff.model import Accent, TileChoice
from estimates.takeoff.result import TilePart
from estimates.takeoff.run import run
from estimates.takeoff.space import shape_of
from estimates.takeoff.units import inches

from .cast import ROOMS, START, example, figure, floor, materials, rectangle, take_off, wall

BORDERED = TileChoice("tile12", border="tile6")


def accent(**values):
    sizes = {"along_mm": inches(12), "base_mm": inches(24), "width_mm": inches(18), "height_mm": inches(30)}
    return Accent("tile6", **(sizes | values))


def parts(takeoff):
    return [(one.part, one.material) for one in takeoff.rooms[0].tiled]


def test_a_border_runs_round_the_floor_in_its_own_tile():
    takeoff = take_off(rectangle(60, 96, surfaces=(floor(tile=BORDERED),)))

    assert parts(takeoff) == [(TilePart.FIELD, "tile12"), *[(TilePart.BORDER, "tile6")] * 4]
    needs = {need.material: need.quantity.value for need in takeoff.needs if need.role.value == "tile"}
    # Each side of 60 in takes 60 / 6.125 = 9.8 tiles, of 96 in 15.7: between 48 and 56 with mitred corners.
    assert 48 <= needs["tile6"] <= 60
    # The field: 60 - 2 * 6.125 by 96 - 2 * 6.125 in, in 12 1/8 in modules: 4 x 7 tiles.
    assert 26 <= needs["tile12"] <= 30


def test_the_parts_lie_on_the_face_apart_and_leave_only_joints():
    takeoff = take_off(
        rectangle(60, 96, surfaces=(floor(tile=replace(BORDERED, accent=accent())),)),
    )
    room = takeoff.rooms[0]
    (face,) = room.faces
    shapes = [shape_of(one.layout.region.outer, one.layout.region.holes) for one in room.tiled]

    assert {one.part for one in room.tiled} == set(TilePart)
    whole = shape_of(face.outline, face.holes)
    assert whole.buffer(0.01).contains(union_all(shapes))
    for at, one in enumerate(shapes):
        assert all(one.intersection(other).area < 0.1 for other in shapes[:at])
    # Joints of 1/8 in round the border (about 2 * (60 + 96) in), at its mitres and round the accent.
    left = whole.area - sum(one.area for one in shapes)
    assert 0 < left < float(inches(1) * inches(420)) / 8
    assert figure(room, "tile6").evaluate() == figure(room, "tile6").value


def test_mortar_grout_and_hours_take_the_face_once():
    plain = take_off(rectangle(60, 96, surfaces=(floor(tile=TileChoice("tile12")),)))
    bordered = take_off(rectangle(60, 96, surfaces=(floor(tile=BORDERED),)))

    def of(takeoff, role):
        return next(need.quantity.value for need in takeoff.needs if need.role.value == role)

    assert of(bordered, "mortar") == pytest.approx(of(plain, "mortar"), rel=D("0.02"))
    # The small tile of the border has twice the joints of the field.
    assert of(plain, "grout") < of(bordered, "grout") < of(plain, "grout") * 2
    hours = [
        {row.activity: row.hours.value for row in takeoff.hours}["set_floor_tile"]
        for takeoff in (plain, bordered)
    ]
    assert hours[0] == hours[1]


def test_every_figure_of_a_bordered_room_evaluates_again():
    room = rectangle(60, 96, surfaces=(floor(tile=replace(BORDERED, accent=accent())), wall(1)))
    takeoff = take_off(room)
    figures = [one for found in takeoff.rooms for one in found.figures]
    figures += [one for need in takeoff.needs for one in (need.quantity, need.packs)]

    assert all(one.evaluate() == one.value for one in figures)


@pytest.mark.parametrize(
    ("choice", "rule", "sentence"),
    [
        (
            TileChoice("tile12", accent=accent(width_mm=inches(70))),
            "tiling.accent",
            "Room: the accent does not lie wholly on any face of Floor.",
        ),
        (TileChoice("tile12", border="marble"), "material.unknown", "Floor is tiled with “marble”"),
        (TileChoice("tile12", border="grout"), "material.no-tile", "is grout and no tile"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place(choice, rule, sentence):
    with pytest.raises(DomainError) as refused:
        take_off(rectangle(60, 96, surfaces=(floor(tile=choice),)))

    assert refused.value.rule == rule
    assert refused.value.place.startswith("rooms[0].surfaces[0].tile")
    assert sentence in str(refused.value.reason)


def test_a_border_wider_than_the_floor_names_the_room():
    room = rectangle(20, 96, surfaces=(floor(tile=TileChoice("tile6", border="tile12")),))

    with pytest.raises(DomainError) as refused:
        run(replace(example("wet_room").room_set, rooms=(room,)), materials(), start=START)

    assert refused.value.rule == "tiling.border"
    assert str(refused.value.reason).startswith("Room, Floor: a border of")


def test_a_document_chooses_them_and_the_answer_says_which_part_is_which():
    document = json.loads((ROOMS / "wet_room.json").read_text(encoding="utf-8"))
    document["format"] = "ledgerboard/takeoff-input/1.2"
    tile = document["rooms"][0]["surfaces"][1]["tile"]
    tile["accent"] = {
        "material": "tile12", "along": "10 in", "base": "50 in", "width": "12 in", "height": "12 in"
    }  # fmt: skip
    document["rooms"][0]["surfaces"][0]["tile"]["border"] = "tile6"
    found = read_document(json.dumps(copy.deepcopy(document)))

    takeoff = run(found.room_set, found.materials, found.practice, start=START)

    answer = json.loads(json.dumps(write_takeoff(takeoff, found.room_set.system)))
    Draft202012Validator(schema("output")).validate(answer)
    told = [(one["face"], one["part"]) for one in answer["rooms"][0]["tiled"]]
    assert told.count(("wet.pan", "border")) == 4
    # Of walls 1, 2 and 4 the accent lies on the first it fits.
    assert [face for face, part in told if part == "accent"] == ["wet.walls.w1"]

"""What cannot be is refused through the command: the sentence names the room, the thing and the rule."""

import copy
import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from .cast import ROOMS

WET = json.loads((ROOMS / "wet_room.json").read_text(encoding="utf-8"))
ROOM = "Wet room (invented): "


def part(document, kind, key):
    rows = document["materials"] if kind == "materials" else document["rooms"][0][kind]
    return next(row for row in rows if row["key"] == key)


def refused(tmp_path: Path, document) -> str:
    path = tmp_path / "room.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(CommandError) as error:
        call_command("takeoff", str(path), stdout=StringIO())
    return str(error.value)


@pytest.mark.parametrize(
    ("walk", "place", "sentence"),
    [
        ("6' 5' 6' 4'", "rooms[0].walls[3].length", "The walk ends 1′ 0″ from where it began"),
        ("10' 6' 3' 8' L 3' L 8' 4' 6'", "rooms[0]", "Wall 1 and wall 4 cross or touch"),
        ("6' 5'", "rooms[0]", "The walk has 2 walls; a room has three or more."),
    ],
)
def test_impossible_rooms(tmp_path, walk, place, sentence):
    document = copy.deepcopy(WET)
    document["rooms"][0]["walk"] = walk

    told = refused(tmp_path, document)

    assert f"{place}: {ROOM}{sentence}" in told


@pytest.mark.parametrize(
    ("kind", "key", "changes", "place", "sentence"),
    [
        (
            "fixtures", "drain", {"along": "90 in"}, "fixtures[0].along",
            "drain stands 7′ 6″ along wall 1, which is 6′ 0″ long.",
        ),
        ("fixtures", "drain", {"away": "70 in"}, "fixtures[0].away", "drain lies outside the room's floor."),
        (
            "fixtures", "drain", {"along": "66 in", "surface": "pan"}, "fixtures[0].along",
            "drain lies outside Wet floor, which it is said to go through.",
        ),
        (
            "surfaces", "niche", {"length": "84 in"}, "surfaces[3].length",
            "Niche is 7′ 0″ by 2′ 0″, bigger than wall 1 (6′ 0″ by 8′ 0″).",
        ),
        (
            "surfaces", "walls", {"new_board": False}, "surfaces[1].substrate",
            "Walls is a wet-area wall on gypsum board alone",
        ),
        (
            "surfaces", "pan", {"substrate": "gypsum board"}, "surfaces[0].substrate",
            "Wet floor is part of a shower and on gypsum board alone",
        ),
        (
            "surfaces", "walls", {"substrate": "poured gypsum"}, "surfaces[1].substrate",
            "Walls stands upright, and poured gypsum lies on a floor.",
        ),
        (
            "surfaces", "pan", {"substrate": "existing tile", "remove": "tile"}, "surfaces[0].remove",
            "Wet floor is to be laid on existing tile, and the tile is to be removed; choose one.",
        ),
        (
            "surfaces", "pan", {"substrate": "sheet vinyl", "remove": "resilient flooring"},
            "surfaces[0].remove",
            "Wet floor is to be laid on sheet vinyl, and that is to be removed; choose one.",
        ),
    ],
)  # fmt: skip
def test_impossible_things(tmp_path, kind, key, changes, place, sentence):
    document = copy.deepcopy(WET)
    part(document, kind, key).update(changes)

    assert f"rooms[0].{place}: {ROOM}{sentence}" in refused(tmp_path, document)


@pytest.mark.parametrize(
    ("key", "facts", "place", "sentence"),
    [
        (
            "membrane", {"roll width": "1.5 in"}, "materials[0].facts.roll width",
            "The roll of Sheet membrane 39 in (invented) leaves 1 1/2″ to lay, no more than the lap of 2″ "
            "(setting “Lap between neighbouring sheets”); it would cover nothing.",
        ),
        (
            "agent", {"coverage smooth": "0 sq ft/gal"}, "materials[3].facts.coverage smooth",
            "Coverage on smooth substrate of Acrylic bonding agent (invented) must be above zero "
            "(got 0 sq ft/gal).",
        ),
        (
            "mortar", {"coverage": "0 sq ft/each"}, "materials[7].facts.coverage",
            "Coverage with its trowel of Setting mortar (invented) must be above zero (got 0 sq ft/each).",
        ),
        (
            "tile6", {"width": "80 in", "height": "70 in"}, "rooms[0].surfaces[0].tile",
            f"{ROOM}one tile of Wall tile 6 x 6 (invented) is bigger than Wet floor; check the tile's size.",
        ),
    ],
)  # fmt: skip
def test_impossible_materials(tmp_path, key, facts, place, sentence):
    document = copy.deepcopy(WET)
    part(document, "materials", key)["facts"].update(facts)

    assert f"{place}: {sentence}" in refused(tmp_path, document)

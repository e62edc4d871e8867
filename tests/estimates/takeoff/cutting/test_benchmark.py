"""Reading published instances, and the command that solves a folder of them."""

from __future__ import annotations

import json

import pytest
from django.core.management import CommandError, call_command

from estimates.takeoff.cutting.benchmark import read_instance
from estimates.takeoff.errors import DomainError

BINS = {"name": "five", "kind": "1d", "capacity": 10, "items": [6, 4, 5, 5, 3], "optimum": 3}
STRIP = {
    "name": "pinwheel",
    "kind": "2d-strip",
    "strip_width": 3,
    "items": [[2, 1], [1, 2], [2, 1], [1, 2], [1, 1]],
    "optimum": 3,
    "guillotine_optimum": 4,
}


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("{", "x.json:1:2"),
        ("[]", "x.json"),
        (json.dumps({**BINS, "kind": "3d"}), "x.json: kind"),
        (json.dumps({**BINS, "capacity": 0}), "x.json: capacity"),
        (json.dumps({**BINS, "items": []}), "x.json: items"),
        (json.dumps({**BINS, "items": [1, 2.5]}), "x.json: items[1]"),
        (json.dumps({**BINS, "items": [11]}), "x.json: items[0]"),
        (json.dumps({**STRIP, "items": [[1, 2, 3]]}), "x.json: items[0]"),
        (json.dumps({**STRIP, "rotation": "no"}), "x.json: rotation"),
        (json.dumps({**STRIP, "optimum": "3"}), "x.json: optimum"),
    ],
)
def test_a_broken_file_is_told_by_its_place(text, place):
    with pytest.raises(DomainError) as caught:
        read_instance(text, "x.json")

    assert caught.value.place == place
    assert "\n" not in str(caught.value)


def test_the_command_prints_what_was_reached_as_json(tmp_path, capsys):
    (tmp_path / "a.json").write_text(json.dumps(BINS))
    (tmp_path / "b.json").write_text(json.dumps(STRIP))

    call_command("benchmark_cutting", str(tmp_path), "--json")

    first, second = json.loads(capsys.readouterr().out)["instances"]
    assert (first["name"], first["value"], first["bound"], first["optimum"]) == ("five", 3, 3, 3)
    assert (second["value"], second["bound"], second["optimum"], second["guillotine_optimum"]) == (4, 4, 3, 4)


def test_the_command_prints_a_table(tmp_path, capsys):
    (tmp_path / "a.json").write_text(json.dumps(BINS))

    call_command("benchmark_cutting", str(tmp_path))

    assert "five" in capsys.readouterr().out


@pytest.mark.parametrize("content", [b"{", b"\xff\xfe", None])
def test_the_command_stops_with_one_line(tmp_path, content):
    if content is not None:
        (tmp_path / "a.json").write_bytes(content)

    with pytest.raises(CommandError) as caught:
        call_command("benchmark_cutting", str(tmp_path))

    assert "\n" not in str(caught.value)
    assert content is None or "a.json" in str(caught.value)

"""``manage.py takeoff``: a table or JSON, one line for a broken file, and no database."""

import io
import json
import os
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command
from jsonschema import Draft202012Validator

from estimates.takeoff.json_shape import schema

from .cast import EXAMPLES, ROOMS


def output(*arguments):
    out = io.StringIO()
    call_command("takeoff", *arguments, stdout=out)
    return out.getvalue()


def path(name):
    return str(ROOMS / f"{name}.json")


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_table_names_rooms_needs_hours_and_cautions(name):
    text = output(path(name))

    for heading in ("Room: ", "Needed for the whole job", "Man-hours", "Sequence", "Cautions", "Cut list"):
        assert heading in text
    assert "{" not in text


def test_working_opens_every_figure():
    text = output(path("bath_with_tub"), "--working")

    # The floor's runs: breadth 66 in, roll 39, lap 2.
    assert "n = max(ceil((B - o) / (w - o)), 1) = 2 each" in text
    assert "common practice, no source" in text
    assert "data sheet of Acrylic bonding agent (invented)" in text


@pytest.mark.parametrize("name", EXAMPLES)
def test_json_fits_the_output_schema(name):
    Draft202012Validator(schema("output")).validate(json.loads(output(path(name), "--json")))


def test_a_start_can_be_given():
    found = json.loads(output(path("bath_with_tub"), "--json", "--start", "2027-01-04T09:00"))

    assert found["schedule"]["start"] == "2027-01-04T09:00:00"


def test_a_dash_reads_standard_input(monkeypatch):
    class Stdin:
        buffer = io.BytesIO((ROOMS / "bath_with_tub.json").read_bytes())

    monkeypatch.setattr(sys, "stdin", Stdin)

    assert "Hall bath (invented)" in output("-")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('{"units": "inch",}', "line 1, column 18"),
        ("[]", "“[]” was read; expected object."),
        ("\xff", "no UTF-8"),
    ],
)
def test_a_broken_file_gets_one_line(tmp_path, text, says):
    broken = tmp_path / "broken.json"
    broken.write_bytes(text.encode("latin-1"))

    with pytest.raises(CommandError) as caught:
        output(str(broken))

    assert says in str(caught.value)
    assert str(broken) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_impossible_room_gets_one_line_that_names_its_place(tmp_path):
    whole = json.loads((ROOMS / "wet_room.json").read_text(encoding="utf-8"))
    whole["rooms"][0]["surfaces"][3]["length"] = "7'"
    broken = tmp_path / "niche.json"
    broken.write_text(json.dumps(whole), encoding="utf-8")

    with pytest.raises(CommandError) as caught:
        output(str(broken))

    assert str(caught.value) == (
        f"{broken}: rooms[0].surfaces[3].length: Wet room (invented): Niche is 7′ 0″ by 2′ 0″, bigger than "
        "wall 1 (6′ 0″ by 8′ 0″)."
    )


def test_a_missing_file_and_a_bad_start_get_one_line():
    for arguments in (("nowhere.json",), (path("bath_with_tub"), "--start", "soon")):
        with pytest.raises(CommandError) as caught:
            output(*arguments)
        assert "\n" not in str(caught.value)


def test_it_runs_on_a_bare_machine_without_secret_or_database(tmp_path):
    bare = {"PATH": os.environ["PATH"], "LEDGERBOARD_VAR": str(tmp_path)}
    bare["DATABASE_URL"] = "postgres://nobody@127.0.0.1:1/nowhere"

    done = subprocess.run(
        [sys.executable, "manage.py", "takeoff", path("bath_with_tub")],
        cwd=ROOMS.parents[1],
        capture_output=True,
        text=True,
        check=False,
        env=bare,
    )

    assert done.returncode == 0, done.stderr
    assert "Hall bath (invented)" in done.stdout


def test_from_the_shell_it_fails_with_a_code_and_without_a_traceback(tmp_path):
    broken = tmp_path / "broken.json"
    broken.write_text("{", encoding="utf-8")

    done = subprocess.run(
        [sys.executable, "manage.py", "takeoff", str(broken)],
        cwd=ROOMS.parents[1],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode != 0
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr

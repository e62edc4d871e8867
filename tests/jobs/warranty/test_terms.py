"""The care in a record speaks of what the job has."""

import datetime

import pytest

from jobs.warranty.snapshot import places_of
from jobs.warranty.terms import DEFAULT_CARE, DEFAULT_TERMS, Place, Terms, care_of

DAY = datetime.date(2026, 6, 1)


def work(*surfaces, fixtures=()):
    room = {
        "surfaces": [{"kind": kind, "exposure": exposure} for kind, exposure in surfaces],
        "fixtures": [{"kind": kind} for kind in fixtures],
    }
    return {"room_set": {"rooms": [room]}}


@pytest.mark.parametrize(
    ("sold", "places"),
    [
        pytest.param(work(("floor", "dry")), {Place.FLOOR}, id="foyer"),
        pytest.param(
            work(("floor", "dry"), ("shower floor", "wet"), ("curb", "wet")),
            {Place.FLOOR, Place.WET, Place.DRAIN},
            id="bath with shower",
        ),
        pytest.param(
            work(("floor", "wet"), ("wall", "wet"), fixtures=("tub",)), {Place.FLOOR, Place.WET}, id="tub"
        ),
        pytest.param(work(("floor", "dry"), fixtures=("drain",)), {Place.FLOOR, Place.DRAIN}, id="laundry"),
        pytest.param(work(("counter", "dry"), ("backsplash", "dry")), {Place.COUNTER}, id="kitchen"),
        pytest.param({}, None, id="not measured"),
    ],
)
def test_what_a_job_has_is_read_from_its_frozen_rooms(sold, places):
    assert places_of(sold) == places


def test_a_foyer_is_not_told_to_dry_its_shower():
    care = Terms(2, DEFAULT_TERMS, DEFAULT_CARE).frozen(DAY, {Place.FLOOR})["care"]

    told = " ".join(care)
    assert "shower" not in told
    assert "drain" not in told
    assert "trivet" not in told
    assert "Keep grit off the floor" in told
    assert "Look at the soft joints" in told
    # The word that says what a line is about is not printed.
    assert not any(line.startswith(("Floor:", "Counter:", "Wet room:", "Drain:")) for line in care)


def test_where_nothing_was_measured_every_line_is_kept():
    assert len(care_of(DEFAULT_CARE, None)) == len(DEFAULT_CARE.splitlines())


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("Piso: Use fieltro.", ["Use fieltro."]),
        ("Cubierta: Use una tabla.", []),
        ("FLOOR :  Use felt.", ["Use felt."]),
        ("Note: call us first.", ["Note: call us first."]),
        ("Floor:", ["Floor:"]),
    ],
)
def test_the_word_may_stand_in_either_language_and_other_colons_are_left(line, kept):
    assert care_of(line, {Place.FLOOR}) == kept

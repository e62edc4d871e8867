"""Knee walls, columns and the returns of openings: measured on the page, stored, drawn and taken off."""

from dataclasses import replace

import pytest

from estimates.rooms.drawing import MEASURED, plan_svg
from estimates.rooms.measured import SurfaceData
from estimates.rooms.rows import SurfaceForm
from estimates.rooms.selectors import takeoff_room
from estimates.takeoff.assembly import assemble
from estimates.takeoff.practice import Practice
from estimates.takeoff.units import System
from tests.estimates.rooms.factories import bath, feet, room

pytestmark = pytest.mark.django_db

MORE = (
    SurfaceData(
        "knee wall", "Knee wall", "cement board", walls=(4,), away=feet("30"), length=feet("24"),
        depth=feet("5"), height=feet("42"), key="knee",
    ),
    SurfaceData(
        "column", "Column", "cement board", walls=(1,), along=feet("40"), away=feet("20"),
        length=feet("8"), depth=feet("8"), key="column",
    ),
    SurfaceData(
        "return", "Window return", "cement board", walls=(1,), along=feet("10"), base=feet("40"),
        length=feet("24"), height=feet("30"), depth=feet("4"), key="return",
    ),
)  # fmt: skip


def test_they_are_stored_drawn_and_assembled():
    stored = takeoff_room(room(data=replace(bath(), surfaces=(*bath().surfaces, *MORE))))

    faces = assemble(stored, Practice(), System.INCH).faces
    drawn = plan_svg(stored, system=System.INCH, translate=str, layers=MEASURED)

    assert {face.surface for face in faces} >= {"knee", "column", "return"}
    for key in ("knee", "column", "return"):
        assert f"surface {key}" in drawn


@pytest.mark.parametrize("kind", ["knee wall", "column", "return"])
def test_a_kind_asks_for_its_measurements_and_its_wall(kind):
    typed = {
        "kind": kind,
        "substrate": "cement board",
        "condition": "smooth",
        "exposure": "dry",
        "remove": "nothing",
        "method": "acrylic bonding agent",
    }

    form = SurfaceForm(typed, system=System.INCH)

    assert not form.is_valid()
    assert {"walls", *SurfaceForm.NEEDED[kind]} <= set(form.errors)

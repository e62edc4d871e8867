"""Sealant: volumes of fillets against lengths per cartridge, and where the beads run.

The lengths per cartridge were computed from the geometry of the section (a square millimetre over a metre is
a millilitre; a US fluid ounce is 231/128 cu in, NIST SP 811). The one printed table that could be found is
wrong by a factor of two by its own formula, and is not used.
"""

import math
from decimal import Decimal as D

import pytest

from estimates.takeoff.model import Exposure, Fixture, FixtureKind
from estimates.takeoff.phrases import phrase
from estimates.takeoff.practice import Practice
from estimates.takeoff.sealant import _volume
from estimates.takeoff.tilework import joint_volume
from estimates.takeoff.units import Measure, System, inches
from estimates.takeoff.working import Origin, Working

from .cast import figure, floor, rectangle, take_off, wall


def run_of(value, unit):
    work = Working("L", phrase("Length"))
    work.given("L", phrase("Length"), D(str(value)), unit, Origin.GEOMETRY)
    return work.figure()


@pytest.mark.parametrize(
    ("leg", "feet"),
    [("0.25", "48.61"), ("0.375", "21.60"), ("0.5", "12.15")],  # of a fillet, from 10.1 fl oz
)
def test_a_cartridge_of_10_1_fl_oz_runs_so_many_feet(leg, feet):
    practice = Practice().override("fillet_leg", Measure(D(leg), "in"))

    volume = _volume("r", run_of(feet, "ft"), practice, System.INCH, "in")

    assert float(volume.value) == pytest.approx(10.1, rel=5e-4)


@pytest.mark.parametrize(
    ("leg", "metres", "cartridge"),
    [(6, "16.67", 300), (8, "9.38", 300), (10, "6.00", 300), (6, "17.22", 310)],
)
def test_a_metric_cartridge_runs_so_many_metres(leg, metres, cartridge):
    practice = Practice().override("fillet_leg", Measure(D(leg), "mm"))

    volume = _volume("r", run_of(metres, "m"), practice, System.METRIC, "mm")

    assert float(volume.value) == pytest.approx(cartridge, rel=1e-3)


@pytest.mark.parametrize(
    ("width", "depth", "feet"),
    [
        ("0.125", "0.125", "97.21"),
        ("0.25", "0.25", "24.30"),
        ("0.375", "0.25", "16.20"),
        ("0.5", "0.5", "6.08"),
    ],
)
def test_a_movement_joint_takes_a_cartridge_every_so_many_feet(width, depth, feet):
    practice = (
        Practice()
        .override("joint_width", Measure(D(width), "in"))
        .override("joint_depth", Measure(D(depth), "in"))
    )

    volume = joint_volume("r", run_of(feet, "ft"), practice, System.INCH)

    assert float(volume.value) == pytest.approx(10.1, rel=1e-3)


def test_a_pipe_through_the_membrane_is_sealed_all_round():
    pipe = Fixture("p", FixtureKind.PIPE, 1, inches(30), inches(20), diameter_mm=inches(3))

    without = take_off(rectangle(60, 96, surfaces=(floor(),)))
    sealed = take_off(rectangle(60, 96, surfaces=(floor(),), fixtures=(pipe,)))

    more = figure(sealed.rooms[0], "bead").value - figure(without.rooms[0], "bead").value
    assert float(more) == pytest.approx(math.pi * 3 / 12)


def test_a_pipe_through_bare_wall_is_not_counted():
    # The surround ends at 60 in; this spout is at 70.
    spout = Fixture("s", FixtureKind.SPOUT, 1, inches(30), base_mm=inches(70), diameter_mm=inches(1))
    surround = wall(1, exposure=Exposure.WET, height_mm=inches(60))

    plain = take_off(rectangle(60, 96, surfaces=(surround,)))
    found = take_off(rectangle(60, 96, surfaces=(surround,), fixtures=(spout,)))

    assert figure(found.rooms[0], "bead").value == figure(plain.rooms[0], "bead").value


def test_a_fixture_can_name_the_face_it_pierces():
    low = Fixture(
        "s", FixtureKind.SPOUT, 1, inches(30), base_mm=inches(50), diameter_mm=inches(1), surface="wall1"
    )
    found = take_off(rectangle(60, 96, surfaces=(wall(1),), fixtures=(low,)))

    assert any(row.activity == "membrane_penetrations" for row in found.hours)

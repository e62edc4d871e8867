"""The limits of the checks against the standards they cite, as trade pages quote them.

ANSI A108.02 4.2.2 (flatness): quoted at floortrendsmag.com/articles/112509 and fcimag.com/articles/91628;
the limit of small tile over 12 in is from memory. ANSI A108.5 2.2.3 (contact): quoted at
tile-magazine.com/articles/91948. IRC P2709.1 and UPC 408.7 (slope): 1/4 in per foot, quoted at
thebuildingcodeforum.com/forum/threads/shower-pan.11885. EJ171 (movement joints): trade reference manual
2024/25 p. 23. IRC R307.2 (6 ft above the floor): quoted at inspectorsjournal.com/topic/4540. Laps of 2 in
and 1 1/2 in: common practice, no source.
"""

from decimal import Decimal

import pytest

from estimates.takeoff.lengths import to_units
from estimates.takeoff.model import BondMethod, Exposure, Substrate, SurfaceKind
from estimates.takeoff.sequence import HoldPoint
from estimates.takeoff.units import System, inches
from jobs.inspections import checklist, limits, models
from jobs.inspections.checklist import JobFacts, Kind, RoomFacts, Scope, plan
from jobs.inspections.verdicts import shown

from .factories import facts, shower, surface


def length(value: str) -> int:
    """Whole ten-thousandths of a millimetre of so many inches, rounded half up."""
    return int((Decimal(value) * 254_000).to_integral_value("ROUND_HALF_UP"))


@pytest.mark.parametrize(
    ("edge", "over_10_ft", "over_short", "passes"),
    [
        # (longest edge in, gap in 10 ft, gap in 24 in or 12 in): the worked cases of the clause.
        ("12", "0.20", "0.05", True),
        ("24", "0.20", "0.05", False),
        ("24", "0.125", "0.0625", True),  # at the limit
        ("24", "0.126", "0.0625", False),
        ("24", "0.10", "0.07", False),  # both spans must pass
        ("15", "0.20", "0.05", False),  # an edge of exactly 15 in is large
        ("14.99", "0.20", "0.05", True),
        ("12", "0.25", "0.0625", True),
        ("12", "0.26", "0.0625", False),
    ],
)
def test_flatness_by_tile_size(edge, over_10_ft, over_short, passes):
    long, short = limits.flatness(inches(edge), System.INCH)

    assert (long.admits(length(over_10_ft)) and short.admits(length(over_short))) is passes


@pytest.mark.parametrize(("edge_mm", "over_3_m", "short"), [(600, 3, 2), (300, 6, 2)])
def test_a_metric_site_reads_whole_millimetres(edge_mm, over_3_m, short):
    """The large tile's 3 mm in 3 m and 2 mm in 610 mm are the clause's own; the small tile's from memory."""
    found = limits.flatness(Decimal(edge_mm), System.METRIC)

    assert [limit.most for limit in found] == [over_3_m * 10_000, short * 10_000]


@pytest.mark.parametrize(
    ("exposure", "per_cent", "passes"),
    [
        (Exposure.DRY, 80, True),
        (Exposure.DRY, 79, False),
        (Exposure.WET, 95, True),
        (Exposure.WET, 94, False),
        (Exposure.WET, 100, True),
    ],
)
def test_mortar_contact(exposure, per_cent, passes):
    assert limits.contact(exposure).admits(per_cent * 100) is passes


@pytest.mark.parametrize(
    ("run_in", "fall_in", "passes"),
    [
        # 36 in of run: 0.75 in at least, 1.50 in at most (worked from IRC P2709.1).
        (36, "0.75", True),
        (36, "0.74", False),
        (36, "1.50", True),
        (36, "1.51", False),
    ],
)
def test_slope_of_a_shower_floor(run_in, fall_in, passes):
    per_foot = Decimal(fall_in) * 12 / run_in

    assert limits.fall(System.INCH).admits(length(str(per_foot))) is passes


def test_slope_on_a_metric_site_is_the_same_slope():
    """UPC 408.7 prints 20.8 mm per metre."""
    limit = limits.fall(System.METRIC)

    assert limit.least is not None
    assert limit.most is not None
    assert round(limit.least / 10_000, 1) == 20.8
    assert round(limit.most / 10_000, 1) == 41.7


@pytest.mark.parametrize(
    ("exposure", "feet", "passes"),
    [
        (Exposure.DRY, 25, True),
        (Exposure.DRY, 26, False),
        (Exposure.WET, 12, True),
        (Exposure.WET, 13, False),
    ],
)
def test_movement_joint_spacing(exposure, feet, passes):
    assert limits.joint_spacing(exposure).admits(length(str(feet * 12))) is passes


@pytest.mark.parametrize(
    ("key", "least"),
    [("side_laps", "2"), ("butt_laps", "1.5"), ("wall_height", "72"), ("slope_under", "0.25")],
)
def test_least_lengths(key, least):
    [check, *_] = [one for one in plan(facts()) if one.template.key == key]

    assert check.limit is not None
    assert check.limit.least == length(least)
    assert check.limit.most is None


@pytest.mark.parametrize(
    ("method", "hours"),
    # The acrylic agent 2 h, organic adhesive (ANSI A136.1) 4 h, mortar (A118.4) overnight; common practice.
    [(BondMethod.ACRYLIC, 2), (BondMethod.ORGANIC, 4), (BondMethod.MORTAR, 12)],
)
def test_the_cure_follows_the_bonding_method(method, hours):
    room = RoomFacts("r", "Bath", (surface(method=method),))
    [laid] = [one for one in plan(facts(room)) if one.template.kind is Kind.LAID]

    assert laid.wait.total_seconds() == hours * 3600


# --- Which checks a job gets ------------------------------------------------------------------------------


def keys(job: JobFacts) -> list[str]:
    return [check.template.key for check in plan(job)]


def test_a_shower_gets_every_hold_point():
    assert {check.template.hold for check in plan(facts())} == set(HoldPoint)


def test_a_dry_tiled_floor_without_membrane_gets_no_membrane_check():
    floor = surface(
        kind=SurfaceKind.FLOOR, exposure=Exposure.DRY, membrane=False, substrate=Substrate.CONCRETE
    )
    found = plan(facts(RoomFacts("hall", "Foyer", (floor,))))

    assert not {check.template.hold for check in found} & {HoldPoint.MEMBRANE, HoldPoint.FLOOD_TEST}
    assert "joints_even" not in [check.template.key for check in found]  # concrete has no boards


def test_the_flood_test_is_for_shower_floors_and_where_it_is_asked_for():
    floor = RoomFacts("r", "Laundry", (surface(kind=SurfaceKind.FLOOR),))
    counter = RoomFacts("k", "Kitchen", (surface(kind=SurfaceKind.COUNTER),))

    assert "flood" in keys(facts())
    assert "flood" not in keys(facts(floor))
    assert "flood" in keys(facts(floor, flood_test_asked=True))
    assert "flood" not in keys(facts(counter, flood_test_asked=True))  # water does not stand there


def test_a_room_whose_membrane_has_no_lap_is_not_asked_for_one():
    assert "side_laps" not in keys(facts(shower(side_laps=False)))
    assert "penetrations" not in keys(facts(shower(has_penetrations=False)))


def test_every_room_and_surface_gets_its_own_checks():
    found = plan(facts(shower("a", "Up"), shower("b", "Down")))
    places = [(check.template.key, check.room, check.surface) for check in found]

    assert len(places) == len(set(places))
    assert sum(check.template.key == "flat_long" for check in found) == 4
    assert sum(check.template.key == "final" for check in found) == 1


def test_every_template_cites_a_source_and_fits_its_row():
    for template in checklist.TEMPLATES:
        assert template.source
        assert (template.kind in {Kind.READING, Kind.FLOOD}) == bool(template.instrument)
        assert template.kind is not Kind.READING or template.limit is not None
        assert template.scope in Scope
        for name in ("key", "label", "ask", "source", "instrument"):
            most = models.PlannedCheck._meta.get_field(name).max_length
            assert len(getattr(template, name)) <= most, (template.key, name)


def test_the_choices_of_the_database_are_those_of_the_core():
    assert models.Hold.values == [hold.value for hold in HoldPoint]
    assert models.Kind.values == [kind.value for kind in checklist.Kind]
    assert models.Quantity.values == [quantity.value for quantity in limits.Quantity]
    assert models.Step.values == [step.value for step in checklist.Step]


@pytest.mark.parametrize(
    ("mm", "system", "text"),
    [
        ("1.5875", System.INCH, "1/16″"),
        ("0.3969", System.INCH, "1/64″"),
        ("50.8", System.INCH, "2″"),
        ("57.15", System.INCH, "2 1/4″"),
        ("1.778", System.INCH, "0.07″"),
        ("1828.8", System.INCH, "6′ 0″"),
        ("1.8", System.METRIC, "1.8 mm"),
        ("20.8333", System.METRIC, "20.83 mm"),
        ("0", System.INCH, "0″"),
    ],
)
def test_a_reading_is_printed_as_finely_as_it_was_read(mm, system, text):
    assert shown(to_units(Decimal(mm)), limits.Quantity.LENGTH, system) == text

"""Places on a plan and the marks on it, to scale."""

import re
from decimal import Decimal

import pytest

from jobs.punchlist import services as punch
from jobs.punchlist.plans import length_of, plans_of, share_of
from tests.estimates.quotes.changes.factories import job_with_a_room_added
from tests.jobs.punchlist.factories import add
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db


def where(plan, across, down):
    return punch.Where(room_key=plan.key, room_name=plan.name, across=across, down=down)


def centres(drawing):
    found = re.findall(r'data-mark="punch (\d+)"><circle cx="([\d.-]+)" cy="([\d.-]+)"', drawing)
    return {int(number): (float(x), float(y)) for number, x, y in found}


def test_the_plan_knows_its_room_s_size_from_the_frozen_drawing():
    """The bath of the factory is walked as 8 ft by 5 ft; a foot is 304.8 mm (exactly, by its definition)."""
    (plan,) = plans_of(sold_job())

    assert sorted([plan.width_mm, plan.depth_mm]) == pytest.approx(
        [Decimal("1524"), Decimal("2438.4")], abs=1
    )
    assert plan.name == "Bath 1"


def test_a_room_that_a_signed_change_added_has_its_plan():
    plans = plans_of(job_with_a_room_added())

    assert [plan.name for plan in plans] == ["Bath 1", "Second bath"]
    assert all(plan.box is not None for plan in plans)


def test_marks_stand_where_they_were_put_to_scale():
    job = sold_job()
    (plan,) = plans_of(job)
    add(job, "Near the corner", where=where(plan, 0, 0))
    add(job, "In the middle", where=where(plan, 5000, 5000))
    add(job, "Somewhere", where=punch.Where(room_key=plan.key, room_name=plan.name))
    two_feet = share_of(Decimal("609.6"), plan.width_mm)
    add(job, "Two feet in", where=where(plan, two_feet, 0))

    drawing = plan.marked(job.punch_items.all())

    marks = centres(drawing)
    assert set(marks) == {1, 2, 4}
    assert marks[1] == pytest.approx((plan.box.left, plan.box.top), abs=0.01)
    middle = (plan.box.left + plan.box.width / 2, plan.box.top + plan.box.depth / 2)
    assert marks[2] == pytest.approx(middle, abs=0.01)
    # 609.6 mm at 1:n are 609.6 / n mm on the drawing; a ten-thousandth of the room is a quarter of a mm.
    assert marks[4][0] - marks[1][0] == pytest.approx(609.6 / plan.scale, abs=0.02)
    assert drawing.endswith("</g></svg>")


def test_a_mark_stands_at_the_same_place_in_every_language():
    from django.utils import translation

    job = sold_job()
    with translation.override("en"):
        (english,) = plans_of(job)
    with translation.override("es"):
        (spanish,) = plans_of(job)

    assert english.drawing != spanish.drawing
    assert english.box == spanish.box


@pytest.mark.parametrize(
    ("length", "whole", "share"),
    [
        ("0", "2438.4", 0),
        ("2438.4", "2438.4", 10_000),
        ("609.6", "2438.4", 2500),
        ("1", "3", 3333),
        ("2", "3", 6667),
    ],
)
def test_shares_of_a_room(length, whole, share):
    assert share_of(Decimal(length), Decimal(whole)) == share
    assert abs(length_of(share, Decimal(whole)) - Decimal(length)) <= 1

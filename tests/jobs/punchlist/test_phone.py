"""A punch list on a phone in a real browser: a tap on the plan, lengths without script."""

import re

import pytest
from django.urls import reverse

from jobs.punchlist.models import PunchItem
from jobs.punchlist.plans import plans_of
from tests.accessibility.conftest import sentences
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def job(installer, office_manager):
    return sold_job(crew=(installer,), by=office_manager)


def new(job):
    return reverse("punchlist:item-new", args=[job.pk])


def test_a_tap_on_the_plan_stores_where_it_was_tapped(browse, installer, job):
    page = browse(installer, width=390, height=844, has_touch=True)
    page.goto(new(job))
    plan = page.locator(".tap-plan svg")
    box = page.locator(".tap-plan path[data-mark=walls]").bounding_box()
    # A quarter of the way from the left wall, half of the way down.
    x, y = box["x"] + box["width"] * 0.25, box["y"] + box["height"] * 0.5
    own = plan.bounding_box()
    plan.tap(position={"x": x - own["x"], "y": y - own["y"]})
    assert page.locator(".tap").count() == 1
    page.fill("#id_text", "Chipped edge")
    page.locator("button.btn:not(.quiet)").click()
    page.wait_for_url(re.compile("punch-list/$"))

    item = PunchItem.objects.get()
    # A finger is no instrument: within two per cent of the room.
    assert item.across == pytest.approx(2500, abs=200)
    assert item.down == pytest.approx(5000, abs=200)
    assert page.locator('[data-mark="punch 1"]').count() == 1
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not [one for one in sentences(page) if one.startswith(("serious", "critical"))]


def test_without_script_and_by_keyboard_the_lengths_are_typed(browse, installer, job):
    (plan,) = plans_of(job)
    page = browse(installer, width=390, height=844, java_script_enabled=False)
    page.goto(new(job))
    page.focus("#id_text")
    page.keyboard.type("Hollow tile")
    page.keyboard.press("Tab")
    page.select_option("#id_room", plan.key)
    page.focus("#id_from_left")
    page.keyboard.type("2'")
    page.keyboard.press("Tab")
    page.keyboard.type("1' 6\"")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("punch-list/$"))

    item = PunchItem.objects.get()
    # 24 in and 18 in of 96 in by 60 in, whichever way the plan lies.
    expected = (2500, 3000) if plan.width_mm > plan.depth_mm else (4000, 1875)
    assert (item.across, item.down) == expected


def test_a_long_word_does_not_push_the_page_sideways(browse, installer, job):
    page = browse(installer, width=390, height=844)
    page.goto(new(job))
    page.fill("#id_text", "W" * 120)
    page.locator("button.btn:not(.quiet)").click()
    page.wait_for_url(re.compile("punch-list/$"))
    for address in (page.url, PunchItem.objects.get().get_absolute_url()):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), address

"""Visits moved in a real browser: by dragging and by keyboard, with what would follow shown first."""

import datetime
from zoneinfo import ZoneInfo

import pytest

from jobs.schedule import services
from jobs.schedule.models import Plan
from tests.accessibility.conftest import findings

from .factories import planned, visits

pytestmark = pytest.mark.django_db(transaction=True)

ZONE = ZoneInfo("America/Chicago")
# A Monday far ahead, so that nothing of it is over.
MONDAY = datetime.date(2198, 6, 4)
DAY = datetime.timedelta(days=1)
WEEKS = f"/calendar/?from={MONDAY.isoformat()}"


def days(plan):
    return [visit.day for visit in visits(plan)]


def block(page, day):
    return page.locator(f'.board .visit[data-day="{day.isoformat()}"]').first


def test_a_visit_is_dragged_looked_at_and_stored(browse, office_manager, installer, other_installer):
    assert MONDAY.weekday() == 0
    plan = planned(installer, other_installer, starts_on=MONDAY)
    before = days(plan)
    fill = before[1]
    page = browse(office_manager)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(WEEKS)
    row = page.locator(".board tbody tr").first
    target = row.locator(f'td[data-day="{(fill + DAY).isoformat()}"]')

    start, end = block(page, fill).bounding_box(), target.bounding_box()
    page.mouse.move(start["x"] + 8, start["y"] + 8)
    page.mouse.down()
    page.mouse.move(end["x"] + 30, end["y"] + 10, steps=6)
    page.mouse.up()
    page.locator("#look >> text=Moves along").wait_for()

    # Nothing is stored yet, and the page is still the calendar.
    assert days(plan) == before
    assert page.url.endswith(WEEKS)
    assert [one for one in findings(page) if one["impact"] in ("serious", "critical")] == []
    page.get_by_role("button", name="Store it").click()
    page.locator(".notice.success").wait_for()
    assert days(plan)[1] == fill + DAY
    assert page.locator(".undo").is_visible()

    page.get_by_role("button", name="Undo it").click()
    page.locator(".notice.success").wait_for()
    assert days(plan) == before
    assert faults == []


def test_a_visit_is_moved_by_keyboard_alone_and_everything_is_announced(
    browse, office_manager, installer, other_installer
):
    plan = planned(installer, other_installer, starts_on=MONDAY)
    last = days(plan)[-1]
    page = browse(office_manager)
    page.goto(WEEKS)
    said = page.locator("#look-said")

    block(page, last).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.locator("#look [data-state=ready]").wait_for()
    assert "Nothing else moves." in said.text_content()

    page.keyboard.press("Escape")
    assert said.text_content() == "Left as it was."
    assert days(plan)[-1] == last
    assert page.locator("#look").is_hidden()

    page.keyboard.press("ArrowRight")
    page.locator("#look [data-state=ready]").wait_for()
    page.keyboard.press("Enter")
    page.locator(".notice.success").wait_for()
    assert days(plan)[-1] == last + DAY


def test_a_move_into_a_cure_is_announced_and_cannot_be_stored(
    browse, office_manager, installer, other_installer
):
    plan = planned(installer, other_installer, starts_on=MONDAY)
    last = days(plan)[-1]
    page = browse(office_manager)
    page.goto(WEEKS)

    block(page, last).focus()
    for _number in range(3):
        page.keyboard.press("ArrowLeft")
    page.locator("#look [data-state=refused]").wait_for()

    assert "It can begin on" in page.locator("#look-said").text_content()
    page.keyboard.press("Enter")
    assert days(plan)[-1] == last


def test_the_second_of_two_is_told_in_the_browser(browse, office_manager, owner, installer, other_installer):
    plan = planned(installer, other_installer, starts_on=MONDAY)
    page = browse(owner)
    page.goto(WEEKS)
    first = visits(plan)[0]
    seen = Plan.objects.get(pk=plan.pk).revision
    services.visit_move(visit=first, seen=seen, day=MONDAY + DAY, by=office_manager)
    stored = days(plan)

    block(page, MONDAY).focus()
    page.keyboard.press("ArrowRight")
    page.locator("#look [data-state=refused]").wait_for()

    assert "Priya has changed this plan since you looked at it" in page.locator("#look").text_content()
    assert page.get_by_role("link", name="Look at it as it stands now").is_visible()
    assert days(plan) == stored


def test_without_script_a_block_opens_its_form(browse, office_manager, installer):
    plan = planned(installer, starts_on=MONDAY)
    page = browse(office_manager, java_script_enabled=False)
    page.goto(WEEKS)

    block(page, MONDAY).click()
    page.get_by_label("Day").fill((MONDAY + DAY).isoformat())
    page.get_by_role("button", name="Show what would follow").click()
    assert days(plan)[0] == MONDAY
    page.get_by_role("button", name="Store it").last.click()

    assert days(plan)[0] == MONDAY + DAY


def test_a_phone_shows_a_list_by_day_that_fits(browse, installer, other_installer):
    planned(installer, other_installer, starts_on=MONDAY)
    page = browse(installer, width=390, height=844)
    page.goto(WEEKS)

    assert page.locator(".one-day").first.is_visible()
    assert page.locator(".board").is_hidden()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390

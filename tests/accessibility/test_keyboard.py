"""The room page by keyboard alone: every control is reached, seen to be reached, and does its work."""

import re

import pytest

from estimates.rooms.models import Room
from tests.contracting.factories import SiteFactory

pytestmark = pytest.mark.django_db(transaction=True)

# The focused element, and whether anything but its colour of text shows that it has the focus.
FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const style = getComputedStyle(one), box = one.getBoundingClientRect();
  return {
    name: one.id || one.name && one.name + '=' + one.value || one.textContent.trim().slice(0, 40),
    seen: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
    inside: box.width > 0 && box.height > 0 && box.bottom > 0 && box.top < innerHeight,
    // Links inside a line of text may be smaller (WCAG 2.2, 2.5.8, "inline").
    wide: one.closest('p, li, td, dd, .trail') && one.tagName === 'A' || box.width >= 24 && box.height >= 24
      || one.matches('input[type=checkbox], input[type=radio]'),
  };
}"""


@pytest.mark.parametrize("width", [1360, 390])
def test_a_room_is_measured_and_saved_by_keyboard_alone(browse, office_manager, width):
    page = browse(office_manager, width=width, height=844)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    keyboard = page.keyboard
    keyboard.type("Hall bath")
    keyboard.press("Tab")
    keyboard.press("Tab")
    keyboard.type("8' x 5'")
    page.locator("#part-closure .mark.ok").wait_for()
    tab_to(page, "starter=tub-bath")
    keyboard.press("Enter")
    page.locator("#surfaces-3-row").wait_for(state="attached")
    # Rows fold: one is opened, changed and stays open while the page draws.
    page.wait_for_function("document.activeElement.tagName === 'SUMMARY'")
    keyboard.press("Enter")
    tab_to(page, re.compile(r"^id_\w+-0-\w+"))
    tab_to(page, re.compile(r"^(Save|save=1)"))
    keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/rooms/\d+/$"))

    assert Room.objects.get().surfaces.count() == 4


def tab_to(page, wanted, most=120):
    for _ in range(most):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        name = focused["name"] if focused else ""
        if name == wanted or (hasattr(wanted, "match") and wanted.match(name)):
            return
    pytest.fail(f"{wanted} is not reached by Tab.")


@pytest.mark.parametrize("width", [1360, 390])
def test_every_stop_of_the_tab_key_is_seen_and_the_way_leads_out(browse, office_manager, width):
    page = browse(office_manager, width=width, height=844)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    page.locator("#id_outline_text").fill("8' x 5'")
    page.get_by_role("button", name="Bathroom with tub").click()
    page.locator("#surfaces-3-row").wait_for(state="attached")
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.locator("a.skip").focus()
    stops = []
    for _ in range(400):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused is None or focused["name"].startswith("Skip"):
            break
        stops.append(focused)
    names = [stop["name"] for stop in stops]

    assert len(stops) < 400, "The focus does not leave the page."
    for wanted in ("id_name", "id_height", "id_walls-3-height", "id_surfaces-0-kind", "id_notes", "save=1"):
        assert wanted in names, wanted
    assert names.index("id_name") < names.index("id_outline_text") < names.index("id_walls-0-length")
    assert [stop["name"] for stop in stops if not stop["seen"]] == []
    assert [stop["name"] for stop in stops if not stop["inside"]] == []
    assert [stop["name"] for stop in stops if not stop["wide"]] == []


def test_the_first_stop_skips_to_the_content(browse, office_manager):
    page = browse(office_manager)
    page.goto("/customers/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")

    assert page.evaluate("document.activeElement.closest('main') !== null")

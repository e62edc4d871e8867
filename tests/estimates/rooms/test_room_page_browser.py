"""The room page in a real browser: drawn as it is typed, by keyboard, at desk and phone width."""

import datetime
import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from contracting.staff.models import User
from estimates.rooms import drawing
from estimates.rooms.measured import core_room
from estimates.rooms.models import Room
from estimates.takeoff import model
from estimates.takeoff.outline import parse_outline
from estimates.takeoff.units import System
from tests.contracting.factories import SiteFactory

from .factories import bath

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route

pytestmark = pytest.mark.django_db(transaction=True)

Browse = Callable[..., "Page"]
OUTLINES = [
    "8' x 5'",
    "5' x 8'",
    "10' x 8' less 4' x 3'",
    "12' x 10' less 9' 6 x 8'",
    "6' 7 R45 3' 3 3/8 R45 4' 11 8' 10 9/16 7' 2 7/8",
    "5' 3 L 3 57 63 60",
    "12' L 4' L 12' L 4'",
    "20' 4' 3' L 2' 14' 2' L 3' 4'",
    "3' x 3'",
    "2' x 14'",
]


def test_a_bath_is_measured_with_few_keys_and_clicks(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    typed = "Hall bath"
    page.keyboard.type(typed)
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("8' x 5'")
    page.locator("#part-drawing [data-mark=walls]").wait_for()
    page.get_by_role("button", name="Bathroom with tub").click()
    page.locator("#part-drawing [data-mark='fixture new-1']").first.wait_for()
    page.get_by_role("button", name="Save the room").click()
    page.wait_for_url(re.compile(r"/rooms/\d+/$"))

    # 9 + 2 + 7 keys and 2 clicks of the 120 that the whole way to an issued quote may take.
    assert Room.objects.get().surfaces.count() == 4
    assert page.locator("h1").inner_text() == "Hall bath"
    assert faults == []


def test_line_and_rows_keep_in_step_while_typing(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    page.locator("#id_outline_text").fill("8' 5' 8' 0 1/4 5'")
    page.locator("#id_walls-3-length").wait_for()
    assert page.locator("#part-closure").inner_text().strip().startswith("Closes within 1/4″")

    third = page.locator("#id_walls-2-length")
    third.fill("7'")
    page.locator("#part-closure .mark.stop").wait_for()
    assert page.locator("#id_outline_text").input_value() == "8', 5', 7', 5'"
    assert page.locator("#part-drawing [data-mark='wrong wall 3']").count() == 1
    # The cell under the cursor is not taken away from the writer.
    assert page.evaluate("document.activeElement.id") == "id_walls-2-length"
    third.fill("8'")
    page.locator("#part-closure .mark.ok").wait_for()

    # A wall more is typed into the empty last row, and another empty one follows.
    page.locator("#id_walls-4-length").fill("1'")
    page.locator("#id_walls-5-length").wait_for()


def test_tab_out_of_the_line_loses_no_wall(browse: Browse, office_manager: User) -> None:
    """The cursor is in the first wall's empty cell before the line's walls have come."""
    page = browse(office_manager)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    page.locator("#id_outline_text").focus()
    page.keyboard.type("8' 5' 8' 5'")
    page.keyboard.press("Tab")
    page.locator("#id_walls-3-length").wait_for()
    assert page.evaluate("document.activeElement.id") == "id_walls-0-length"
    assert page.locator("#id_walls-0-length").input_value() == "8'"

    # What is typed there now leads, and a line typed anew and left leads again.
    page.keyboard.type("9'")
    page.locator("#part-closure .mark.stop").wait_for()
    assert page.locator("#id_outline_text").input_value() == "9', 5', 8', 5'"
    page.locator("#id_outline_text").fill("7' 3' 7' 3'")
    page.keyboard.press("Tab")
    page.locator("#part-closure .mark.ok").wait_for()
    cells = [page.locator(f"#id_walls-{at}-length").input_value() for at in range(4)]
    assert cells == ["7'", "3'", "7'", "3'"]


def test_an_answer_overtaken_by_typing_takes_nothing_back(browse: Browse, office_manager: User) -> None:
    """A slow line: two walls are on their way when the others are typed and the line is left."""
    page = browse(office_manager)
    page.clock.install()
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    held: list[Route] = []
    page.route("**/plan/", lambda route: held.append(route) if not held else route.continue_())
    page.clock.pause_at(datetime.datetime.now(datetime.UTC) + datetime.timedelta(minutes=1))

    page.locator("#id_outline_text").focus()
    page.keyboard.type("8' 5'")
    with page.expect_request("**/plan/"):
        page.clock.run_for(200)
    page.keyboard.type(" 8' 5'")
    page.keyboard.press("Tab")
    with page.expect_response("**/plan/") as answered:
        held[0].continue_()
    answered.value.finished()
    page.locator("#part-drawing svg").first.wait_for()
    assert page.locator("#id_outline_text").input_value() == "8' 5' 8' 5'"

    page.clock.run_for(200)
    page.locator("#id_walls-3-length").wait_for()
    cells = [page.locator(f"#id_walls-{at}-length").input_value() for at in range(4)]
    assert cells == ["8'", "5'", "8'", "5'"]


def test_walls_are_typed_one_after_the_other_with_enter(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    page.locator("#id_walls-0-length").focus()
    for number, length in enumerate(("8'", "5'", "8'", "5'")):
        page.keyboard.type(length)
        page.keyboard.press("Enter")
        page.locator(f"#id_walls-{number + 1}-length:focus").wait_for()

    page.locator("#part-closure .mark.ok").wait_for()
    assert page.locator("#id_outline_text").input_value() == "8', 5', 8', 5'"
    assert not Room.objects.exists()


def test_a_wrong_length_is_said_beside_its_field_and_taken_back(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager, width=390, height=844)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    height = page.locator("#id_height")
    height.fill("8' 14\"")
    page.locator("#id_height_error").wait_for()
    assert height.get_attribute("aria-invalid") == "true"
    assert height.get_attribute("aria-describedby") == "id_height_error"
    height.fill("8' 4\"")
    page.locator("#id_height_error").wait_for(state="detached")
    assert height.get_attribute("aria-invalid") is None


def test_a_row_is_added_by_keyboard_and_shows_only_its_measurements(
    browse: Browse, office_manager: User
) -> None:
    page = browse(office_manager)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    page.locator("#id_outline_text").fill("8' x 5'")

    page.locator("button[value='fixtures:drain']").press("Enter")
    page.locator("#id_fixtures-0-wall").wait_for()

    assert page.locator("#id_fixtures-0-diameter").is_visible()
    assert not page.locator("#id_fixtures-0-depth").is_visible()
    page.locator("#id_fixtures-0-kind").select_option("tub")
    assert page.locator("#id_fixtures-0-depth").is_visible()
    assert not page.locator("#id_fixtures-0-diameter").is_visible()
    # Nothing typed before is lost by the added row.
    assert page.locator("#id_outline_text").input_value() == "8' x 5'"


def test_the_page_works_without_script(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager, java_script_enabled=False)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")

    page.locator("#id_name").fill("Hall bath")
    page.locator("#id_outline_text").fill("8' x 5'")
    page.get_by_role("button", name="Draw it").click()
    assert page.locator(".only-wide [data-mark=walls]").count() == 1
    page.locator("button[value='surfaces:floor']").click()
    page.locator("#surfaces-0-row > summary").click()
    assert page.locator("#id_surfaces-0-levelling").is_visible()
    assert not page.locator("#id_surfaces-0-depth").is_visible()
    page.get_by_role("button", name="Save the room").click()

    assert Room.objects.get().surfaces.get().kind == "floor"


def test_the_phone_has_no_sideways_scrolling(browse: Browse, office_manager: User) -> None:
    page = browse(office_manager, width=390, height=844)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    page.locator("#id_outline_text").fill("10' x 8' less 4' x 3'")
    page.locator("#part-drawing [data-mark=walls]").wait_for()

    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def rooms() -> list[tuple[str, model.Room]]:
    made = [
        (line, model.Room("room", line, model.Decimal(2400), parse_outline(line, System.INCH).legs))
        for line in OUTLINES
    ]
    return [*made, ("bath", replace(core_room(bath(), "room"), name="bath"))]


OVERLAPS = """() => [...document.querySelectorAll('svg')].map(svg => {
  // Each text's own box, turned as the text is turned: corners on the screen.
  const boxes = [...svg.querySelectorAll('text')].map(text => {
    const box = text.getBBox(), to = text.getScreenCTM();
    const corner = (x, y) => { const p = new DOMPoint(x, y).matrixTransform(to); return [p.x, p.y]; };
    const pad = box.height * 0.18;  // ascent and descent that no figure fills
    return { words: text.textContent, ring: [
      corner(box.x, box.y + pad), corner(box.x + box.width, box.y + pad),
      corner(box.x + box.width, box.y + box.height - pad), corner(box.x, box.y + box.height - pad)] };
  });
  return { id: svg.getAttribute('aria-labelledby'), boxes };
})"""


@pytest.mark.parametrize("width_mm", [158.0, 92.0])
def test_no_text_covers_another(browser: Any, width_mm: float) -> None:
    """Measured by the browser in real type, for L-shapes, jogs, odd angles, narrow walls and a bath."""
    from shapely.geometry import Polygon

    svgs = [
        drawing.plan_svg(room, system=System.INCH, translate=str, width_mm=width_mm, name=f"r{n}")
        for n, (_, room) in enumerate(rooms())
    ]
    page = browser.new_page()
    page.set_content(
        "".join(
            f"<div style='width:{width_mm}mm'><style>svg{{width:100%}}</style>{svg}</div>" for svg in svgs
        )
    )

    covered = []
    for sheet in page.evaluate(OVERLAPS):
        rings = [(one["words"], Polygon(one["ring"])) for one in sheet["boxes"]]
        for at, (words, ring) in enumerate(rings):
            for other, there in rings[at + 1 :]:
                if ring.intersection(there).area > 0.02 * min(ring.area, there.area):
                    covered.append((sheet["id"], words, other))
    page.close()

    assert covered == []


def test_two_quick_taps_add_two_rows_and_what_is_typed_meanwhile_stays(
    browse: Browse, office_manager: User
) -> None:
    page = browse(office_manager)
    page.goto(f"/rooms/site/{SiteFactory().pk}/new/")
    page.locator("#id_name").fill("Guest bath")

    def slowly(route: Any) -> None:
        page.wait_for_timeout(400)
        route.continue_()

    page.route(lambda address: address.endswith("/new/"), slowly)
    page.locator("button[value='fixtures:drain']").click()
    page.locator("button[value='fixtures:flange']").click()
    page.locator("#id_notes").fill("Watch the joists.")
    page.locator("#fixtures-1-row").wait_for()

    kinds = [page.locator(f"[name=fixtures-{at}-kind]").input_value() for at in (0, 1)]
    assert kinds == ["drain", "flange"]
    assert page.locator("#id_notes").input_value() == "Watch the joists."
    assert page.locator("#id_name").input_value() == "Guest bath"

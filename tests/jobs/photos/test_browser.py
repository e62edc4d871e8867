"""Pages of photos in a browser: arrows by pointer and by keyboard, keys between photos, axe."""

import pytest
from django.urls import reverse

from jobs.photos.models import About, Photo
from tests.accessibility.conftest import findings
from tests.jobs.inspections.factories import check, planned_job

from .factories import as_file, job, photo, scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("width", [390, 1360])
def test_arrows_are_drawn_by_pointer_and_by_keyboard(browse, installer, width):
    taken = photo(job(crew=(installer,)), installer, as_file(scene(800, 600)))
    page = browse(installer, width=width, height=844)
    page.goto(reverse("photos:describe", args=[taken.pk]))
    box = page.locator("[data-arrow-editor] svg.arrows").bounding_box()

    def at(x, y):
        return box["x"] + box["width"] * x, box["y"] + box["height"] * y

    page.mouse.move(*at(0.2, 0.8))
    page.mouse.down()
    page.mouse.move(*at(0.4, 0.6), steps=4)
    page.mouse.move(*at(0.5, 0.5), steps=4)
    page.mouse.up()
    # A tap is no arrow.
    page.mouse.click(*at(0.8, 0.2))
    page.get_by_role("button", name="Add an arrow").click()
    # The tip of the new arrow has the focus, at 50 50; its tail stands at 35 65.
    for key in ("ArrowRight", "ArrowRight", "Shift+ArrowUp", "ArrowLeft"):
        page.keyboard.press(key)
    assert page.locator("[data-arrow-said]").text_content() == "51 % from the left, 45 % from the top"
    page.get_by_role("button", name="Add an arrow").click()
    page.keyboard.press("Delete")
    assert page.locator("[data-arrow-said]").text_content() == "Arrow 3 is removed."
    page.get_by_label("Caption").fill("Seam")
    page.get_by_role("button", name="Save").click()

    page.wait_for_url(f"**{taken.get_absolute_url()}")
    said = Photo.objects.get().said
    assert said.caption == "Seam"
    drawn, typed = said.arrows
    assert drawn == pytest.approx([2000, 8000, 5000, 5000], abs=60)
    assert typed == [3500, 6500, 5100, 4500]
    assert page.locator("svg.arrows g.arrow").count() == 2


def test_arrow_keys_go_from_photo_to_photo_and_over_the_gallery(browse, installer):
    made = job(crew=(installer,))
    first, second = (photo(made, installer, as_file(scene(120, 90, seed))) for seed in (1, 2))
    page = browse(installer)
    page.goto(first.get_absolute_url())

    page.keyboard.press("ArrowRight")
    page.wait_for_url(f"**{second.get_absolute_url()}")
    page.keyboard.press("ArrowLeft")
    page.wait_for_url(f"**{first.get_absolute_url()}")
    page.goto(reverse("photos:gallery", args=[made.pk]))
    page.locator("ul.photos a").first.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{second.get_absolute_url()}")


def test_no_page_of_photos_has_a_serious_finding(browse, installer, office_manager):
    made = planned_job(crew=(installer,))
    planned = check(made, "side_laps")
    photo(made, installer, caption="Lap", about=About.CHECK, ref=str(planned.pk), arrows=[[1, 1, 5000, 5000]])
    taken = photo(made, installer, as_file(scene(200, 300, 7)))
    said = []
    for width in (390, 1360):
        page = browse(office_manager, width=width, height=844)
        for address in (
            reverse("photos:gallery", args=[made.pk]),
            reverse("photos:add", args=[made.pk]),
            taken.get_absolute_url(),
            reverse("photos:describe", args=[taken.pk]),
            planned.get_absolute_url(),
            reverse("warranty:photos", args=[made.pk]),
        ):
            assert page.goto(address).status == 200
            said += [
                (width, address, one["id"], one["nodes"][0]["html"][:120])
                for one in findings(page)
                if one["impact"] in {"serious", "critical"}
                or one["id"] in {"heading-order", "page-has-heading-one"}
            ]
            assert not page.evaluate("document.documentElement.scrollWidth > window.innerWidth"), address

    assert said == []

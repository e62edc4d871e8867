"""The main job as its user does it: from a blank room to a quote's PDF, and who sees what of it afterwards.

A real Chromium drives the pages of a live server on the invented company and price list of the demo, and a
real Celery worker renders the paper. Key presses and clicks are counted from the blank room to the issued
quote; fewer than 120 are allowed (the server's times are printed, not judged: ``pytest -s``).
"""

import datetime
import re
from pathlib import Path

import pytest
from django.utils import timezone

from contracting.staff.demo import PASSWORD, load_company
from contracting.staff.models import User
from estimates.pricelists.demo import load_price_list
from estimates.quotes.models import Estimate, Quote
from estimates.quotes.templatetags.figures import money
from estimates.rooms.models import Room
from jobs.work.models import CrewMember, Job
from tests.contracting.factories import CustomerFactory, SiteFactory
from tests.estimates.quotes.factories import estimate_of

from .conftest import PATIENCE_SECONDS, Hands, ServerClock, pdf_pages

pytestmark = pytest.mark.django_db(transaction=True)

MOST_KEYS_AND_CLICKS = 120
# What the office alone may read; none of it may stand on a customer's paper.
OFFICE_WORDS = ("margin", "markup", "overhead", "profit", "burden", "cost")
MONEY = re.compile(r"\$\s?\d|\d[.,]\d\d\s?(USD|\$)")
DESK, PHONE = 1360, 390


def site():
    return SiteFactory(
        customer=CustomerFactory(name="Ada Lowell", billing_address="7 Fernhill Road"),
        name="Fernhill",
        street="7 Fernhill Road",
        city="Exampleton",
        built_year=1999,
        tax_base="materials",
        tax_basis_points=825,
    )


def sign_in(page, username):
    page.goto("/sign-in/")
    page.locator("#id_username").fill(username)
    page.locator("#id_password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(r"/$"))


def walk_a_bath(page):
    page.locator("#id_name").fill("Hall bath")
    page.locator("#id_outline_text").fill("8' x 5'")
    page.locator("#part-closure .mark.ok").wait_for()


def button(page, name):
    return page.get_by_role("button", name=name, exact=True)


def link(page, name):
    return page.get_by_role("link", name=name, exact=True)


@pytest.mark.parametrize(
    ("width", "walk", "closes"),
    [
        pytest.param(DESK, "8' 5' 8' 5'", "closes", id="desk"),
        # The second long wall is a quarter inch over, as tapes are; the walk is balanced.
        pytest.param(PHONE, "8' 5' 8'0 1/4 5'", "1/4", id="phone"),
    ],
)
def test_an_office_manager_measures_a_bath_and_holds_its_quote(
    browse, worker, clock: ServerClock, width, walk, closes
):
    load_company()
    load_price_list()
    place = site()
    page = browse(width=width, height=844 if width == PHONE else 900, accept_downloads=True)
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("response", lambda answer: faults.append(answer.url) if answer.status >= 400 else None)
    clock.step("sign in")
    sign_in(page, "office")
    page.goto(f"/customers/sites/{place.pk}/")
    link(page, "Rooms").click()

    hands = Hands(page)
    clock.step("open a blank room")
    hands.clicks_on(link(page, "Measure the first room"))
    page.wait_for_url(re.compile(r"/rooms/site/\d+/new/$"))
    clock.step("type its name and walk its walls")
    hands.types("Hall bath")
    hands.presses("Tab")
    hands.presses("Tab")
    hands.types(walk)
    page.locator("#part-closure .mark.ok").wait_for()
    assert closes in page.locator("#part-closure").inner_text().lower()
    clock.step("tub, flange, door and surfaces")
    hands.clicks_on(button(page, "Bathroom with tub"))
    page.locator("#part-drawing [data-mark^='fixture']").first.wait_for(state="attached")
    for what in ("wall", "fixture", "opening"):
        assert page.locator(f"#part-drawing [data-mark^='{what}']").count() > 0, what
    clock.step("save the room")
    hands.clicks_on(button(page, "Save the room"))
    page.wait_for_url(re.compile(r"/rooms/\d+/$"))
    clock.step("price it")
    hands.clicks_on(link(page, "Price it"))
    page.wait_for_url(re.compile(r"/estimates/new/\d+/$"))
    hands.clicks_on(button(page, "Start the estimate"))
    page.wait_for_url(re.compile(r"/estimates/\d+/$"))
    clock.step("issue the quote")
    hands.clicks_on(button(page, "Issue the quote"))
    page.wait_for_url(re.compile(r"/quotes/\d+/$"))

    assert hands.count < MOST_KEYS_AND_CLICKS
    clock.step("wait for the paper and download it")
    ready_link = link(page, "Save it")
    ready_link.wait_for(timeout=PATIENCE_SECONDS * 1000)
    with page.expect_download() as coming:
        ready_link.click()
    pages = pdf_pages(Path(coming.value.path()).read_bytes())
    print(f"\n{width} px: {hands.keys} key presses + {hands.clicks} clicks = {hands.count}\n{clock.table()}")

    quote = Quote.objects.select_related("document").get()
    waited = quote.document.finished_at - quote.document.created_at
    print(f"  the worker's paper, from asking to the file: {waited.total_seconds() * 1000:.0f} ms")
    check_paper(pages, quote, coming.value.suggested_filename)
    room = Room.objects.get()
    assert {row.kind for row in room.fixtures.all()} >= {"tub", "flange"}
    assert [row.kind for row in room.openings.all()] == ["door"]
    assert {row.kind for row in room.surfaces.all()} == {"floor", "wall"}
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert faults == []


def check_paper(pages, quote, filename):
    text = "\n".join(pages)
    words = text.lower()
    office = quote.snapshot["office"]
    # By hand: a 5 ft by 8 ft bath has 40 sq ft of floor, of which the tub of 30 in by 60 in takes 12.5.
    for said in ("Ada Lowell", "7 Fernhill Road", "Hall bath", "Quill & Venn Tile", f"Quote {quote.number}"):
        assert said in text, said
    for cents in (quote.price_cents, quote.tax_cents, quote.total_cents):
        assert money(cents, "USD") in text
    assert quote.total_cents == quote.price_cents + quote.tax_cents
    assert quote.price_cents == sum(line["price_cents"] for line in office["lines"])
    # The plan: its walls with their measured lengths, and where the tub and the door are.
    for said in ("8′", "5′", "Tub", "door", "1 in = "):
        assert said.lower() in words, said
    for word in OFFICE_WORDS:
        assert not re.search(rf"\b{word}", words), word
    for cents in (office["cost_cents"], quote.cost_cents, quote.price_cents - quote.cost_cents):
        assert money(cents, "USD") not in text
    assert not re.search(r"cost|margin|\d\d\d[.]\d\d", filename)


def test_a_signed_quote_shows_its_crew_the_work_and_no_money(browse, worker, tmp_path):
    people = load_company()
    load_price_list()
    place = site()
    page = browse(accept_downloads=True)
    page.set_default_timeout(30_000)
    sign_in(page, "office")
    page.goto(f"/rooms/site/{place.pk}/new/")
    walk_a_bath(page)
    button(page, "Bathroom with tub").click()
    page.locator("#part-drawing [data-mark^='fixture']").first.wait_for(state="attached")
    button(page, "Save the room").click()
    link(page, "Price it").click()
    button(page, "Start the estimate").click()
    button(page, "Issue the quote").click()
    link(page, "The customer has signed").click()
    page.get_by_label("Signed by").fill("Ada Lowell")
    button(page, "Accepted: make the job").click()
    page.wait_for_url(re.compile(r"/jobs/\d+/$"))
    job, quote = Job.objects.get(), Quote.objects.get()
    link(page, "Plan start and crew").click()
    page.get_by_label("Starts on").fill((timezone.localdate() + datetime.timedelta(days=7)).isoformat())
    page.get_by_label("Sam Thorne").check()
    button(page, "Save the plan").click()
    page.wait_for_url(re.compile(rf"/jobs/{job.pk}/$"))
    assert CrewMember.objects.get().person == people["sam"]

    crew = browse(width=PHONE, height=844, accept_downloads=True)
    crew.set_default_timeout(PATIENCE_SECONDS * 1000)
    sign_in(crew, "sam")
    crew.get_by_role("link", name=re.compile("Hall bath")).first.click()
    crew.wait_for_url(re.compile(rf"/jobs/{job.pk}/$"))
    assert crew.locator("#cuts").is_visible()
    assert crew.locator("table.cuts tbody tr").count() > 3
    assert crew.locator("article.room-work figure svg:visible").first.is_visible()
    assert crew.locator("#sequence").is_visible()
    assert moneyless(crew)
    button(crew, "Crew sheet").click()
    keep = link(crew, "Save it")
    keep.wait_for(timeout=PATIENCE_SECONDS * 1000)
    with crew.expect_download() as coming:
        keep.click()
    paper = "\n".join(pdf_pages(Path(coming.value.path()).read_bytes()))
    assert "Hall bath" in paper
    assert not MONEY.search(paper)
    room = Room.objects.get()
    for address in ("/", "/jobs/", f"/rooms/{room.pk}/", f"/rooms/site/{place.pk}/", f"/jobs/{job.pk}/log/"):
        assert crew.goto(address).status == 200
        assert moneyless(crew), address
    for address in (
        f"/estimates/{quote.estimate_id}/",
        f"/estimates/quotes/{quote.pk}/",
        "/prices/",
        "/company/",
        "/margins/",
        f"/rooms/{room.pk}/edit/",
    ):
        assert crew.goto(address).status in {403, 404}, address
        assert moneyless(crew), address

    other = browse(width=PHONE, height=844)
    sign_in(other, "luis")
    assert other.goto(f"/jobs/{job.pk}/").status == 404

    owner = browse()
    sign_in(owner, "owner")
    for address in ("/margins/", "/company/edit/", f"/margins/{job.pk}/"):
        assert owner.goto(address).status == 200, address


def moneyless(page):
    """Return whether the page's source, with all its attributes, says no sum of money."""
    return not MONEY.search(page.content()) and "cents" not in page.content()


def test_of_two_editors_the_second_is_told_and_loses_nothing(browse):
    people = load_company()
    load_price_list()
    estimate = estimate_of(by=people["office"])
    first, second = browse(), browse(width=PHONE, height=844)
    sign_in(first, "office")
    sign_in(second, "owner")
    address = f"/estimates/{estimate.pk}/"
    first.goto(address)
    second.goto(address)
    first.locator("#id_travel_cents").fill("45")
    first.locator("#price-form button").click()
    first.get_by_text("Saved.").wait_for()

    second.locator("#id_overhead_basis_points").fill("14")
    second.locator("#price-form button").click()
    second.locator("#conflict").wait_for()

    said = second.locator("#conflict").inner_text()
    assert "Priya" in said or "office" in said
    assert "travel from 0.00 to 45.00" in said
    # What the second typed stands there unsaved, and what they left alone shows the first one's value.
    assert second.locator("#id_overhead_basis_points").input_value() == "14"
    assert second.locator("#id_travel_cents").input_value() == "45.00"
    assert Estimate.objects.get().overhead_basis_points != 1400
    second.locator("#price-form button").click()
    second.get_by_text("Saved.").wait_for()
    stored = Estimate.objects.get()
    assert (stored.travel_cents, stored.overhead_basis_points) == (4500, 1400)


def test_of_two_measurers_the_second_is_told_and_loses_nothing(browse, office_manager: User, owner: User):
    place = site()
    page = browse(office_manager)
    page.goto(f"/rooms/site/{place.pk}/new/")
    walk_a_bath(page)
    button(page, "Save the room").click()
    page.wait_for_url(re.compile(r"/rooms/\d+/$"))
    room = Room.objects.get()
    other = browse(owner)
    for one in (page, other):
        one.goto(f"/rooms/{room.pk}/edit/")
    page.locator("#id_name").fill("Guest bath")
    button(page, "Save the room").click()
    page.wait_for_url(re.compile(rf"/rooms/{room.pk}/$"))

    other.locator("#id_notes").fill("The tub stays.")
    button(other, "Save the room").click()
    other.locator("#form-changed").wait_for()

    assert "Guest bath" in other.locator("#form-changed").inner_text()
    assert other.locator("#id_notes").input_value() == "The tub stays."
    room.refresh_from_db()
    assert (room.name, room.notes) == ("Guest bath", "")


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_refused_save_keeps_everything_typed(browse, office_manager: User, script):
    page = browse(office_manager, width=PHONE, height=844, java_script_enabled=script)
    page.goto(f"/rooms/site/{site().pk}/new/")
    page.locator("#id_name").fill("Hall bath")
    page.locator("#id_outline_text").fill("8' 5' 8' 5'")
    if script:
        page.locator("#part-closure .mark.ok").wait_for()
    button(page, "Bathroom with tub").click()
    page.locator("#surfaces-0-row").wait_for()
    page.locator("#id_notes").fill("Joists run along wall 1. ½″ out of level.")
    page.locator("#id_height").fill("8' 14\"")
    rows = page.locator(".thing").count()
    button(page, "Save the room").click()
    page.locator("#form-errors").wait_for()

    assert not Room.objects.exists()
    wrong = page.locator("#div_id_height .error").inner_text()
    assert "8' 14\"" in wrong
    assert page.locator("#id_height").input_value() == "8' 14\""
    assert page.locator("#id_name").input_value() == "Hall bath"
    assert page.locator("#id_notes").input_value() == "Joists run along wall 1. ½″ out of level."
    assert page.locator("#id_outline_text").input_value() == "8' 5' 8' 5'"
    assert page.locator("#id_walls-3-length").input_value() == "5'"
    assert page.locator(".thing").count() == rows
    page.locator("#id_height").fill("8' 4\"")
    button(page, "Save the room").click()
    page.wait_for_url(re.compile(r"/rooms/\d+/$"))
    assert Room.objects.get().surfaces.count() == 4

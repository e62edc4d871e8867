"""The room page without script: everything it does, it does by forms and links."""

import re
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from contracting.customers.models import Site
from contracting.staff.models import User
from estimates.rooms import selectors
from estimates.rooms.models import Room
from estimates.takeoff.lengths import parse_length
from estimates.takeoff.units import System
from tests.contracting.factories import SiteFactory

from .factories import FLOOR, room, typed

pytestmark = pytest.mark.django_db


class Fields(HTMLParser):
    """What a browser would post from a page, and what it shows as wrong."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self.select = ""
        self.textarea = ""
        self.ids: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if found.get("id"):
            self.ids.append(str(found["id"]))
        name = found.get("name") or ""
        if tag == "input" and name and (found.get("type") != "checkbox" or "checked" in found):
            self.fields[name] = found.get("value") or ("on" if found.get("type") == "checkbox" else "")
        elif tag == "select":
            self.select = name
        elif tag == "option" and "selected" in found:
            self.fields[self.select] = found.get("value") or ""
        elif tag == "textarea":
            self.textarea = name
            self.fields[name] = ""

    def handle_data(self, data: str) -> None:
        if self.textarea:
            self.fields[self.textarea] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self.fields[self.textarea] = self.fields[self.textarea].removeprefix("\n")
            self.textarea = ""


def fields(answer: Any) -> dict[str, str]:
    return Fields(answer.content.decode()).fields


@pytest.fixture
def site() -> Site:
    return SiteFactory()


@pytest.fixture
def office(client: Client, office_manager: User) -> Client:
    client.force_login(office_manager)
    return client


def new(site: Site) -> str:
    return reverse("rooms:room-new", args=[site.pk])


def test_a_bath_is_measured_in_three_posts_without_script(office: Client, site: Site) -> None:
    drawn = office.post(new(site), {**typed(outline_text="8' x 5'"), "draw": "1"})
    laid_out = office.post(new(site), {**fields(drawn), "starter": "tub-bath"})
    saved = office.post(new(site), {**fields(laid_out), "save": "1"})

    stored = Room.objects.get()
    assert saved.status_code == 302
    assert saved.url == reverse("rooms:room", args=[stored.pk])
    found = selectors.room_data(stored)
    assert [wall.length.typed for wall in found.walls] == ["8'", "5'", "8'", "5'"]
    assert [(one.kind, one.name) for one in found.surfaces] == [
        ("floor", "Floor"),
        ("wall", "Back wall"),
        ("wall", "Left end wall"),
        ("wall", "Right end wall"),
    ]
    assert [one.kind for one in found.fixtures] == ["tub", "flange", "mixer", "spout"]


def test_editing_starts_from_what_was_typed_and_changes_nothing_by_itself(office: Client) -> None:
    stored = room()
    before = selectors.room_data(stored)
    address = reverse("rooms:room-edit", args=[stored.pk])

    office.post(address, {**fields(office.get(address)), "save": "1"})

    assert selectors.room_data(selectors.room_with_parts(stored.pk)) == before


def test_everything_typed_survives_a_refused_save(office: Client, site: Site) -> None:
    posted = typed(
        name="Käte's <bath>",
        height="8' 14\"",
        outline_text="8' x 5'",
        notes="\nsecond line & more",
        fixtures__TOTAL_FORMS="1",
        fixtures__0__kind="flange",
        fixtures__0__wall="nine",
        fixtures__0__along="1O in",
        fixtures__0__diameter="",
        **FLOOR,
    )

    answer = office.post(new(site), {**posted, "save": "1"})

    shown = fields(answer)
    assert answer.status_code == 200
    assert not Room.objects.exists()
    kept = {name: value for name, value in posted.items() if "TOTAL" not in name and name != "line_read"}
    assert {name: shown[name] for name in kept} == kept
    assert [shown[f"walls-{at}-length"] for at in range(4)] == ["8'", "5'", "8'", "5'"]


def test_the_summary_links_to_the_fields_that_are_wrong(office: Client, site: Site) -> None:
    posted = typed(
        height="8' 14\"",
        outline_text="8' x 5'",
        fixtures__TOTAL_FORMS="1",
        fixtures__0__kind="flange",
        fixtures__0__along="1O in",
    )

    page = office.post(new(site), {**posted, "save": "1"}).content.decode()

    summary = page[page.index('id="form-errors"') : page.index("</ul>")]
    targets = re.findall(r'href="#([^"]+)"', summary)
    assert targets == [
        "id_height",
        "id_fixtures-0-along",
        "id_fixtures-0-diameter",
        "id_fixtures-0-wall",
    ]
    assert set(targets) <= set(Fields(page).ids)
    assert "has 14 inches after the feet" in page
    assert "there is a letter O where a zero may be meant" in page
    assert 'aria-describedby="id_height_error"' in page


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("8' 5' 7' 5'", "Wall 3 would close it at 8′ 0″ instead of 7′ 0″."),
        ("10' 6' 3' 8' L 3' L 8' 4' 6'", "Wall 1 and wall 4 cross or touch"),
        ("8' 5'", "The walk has 2 walls"),
        ("8' x", "x"),
        ("8' nan", "is not a number"),
    ],
)
def test_a_walk_that_makes_no_room_is_refused_in_words(
    office: Client, site: Site, line: str, sentence: str
) -> None:
    answer = office.post(new(site), {**typed(outline_text=line), "save": "1"})

    assert answer.status_code == 200
    assert not Room.objects.exists()
    page = answer.content.decode()
    assert sentence in page[page.index('id="form-errors"') :]
    assert fields(answer)["outline_text"] == line


def test_a_rule_of_the_trade_is_said_beside_its_field(office: Client, site: Site) -> None:
    posted = typed(outline_text="8' x 5'", **FLOOR)
    posted |= {
        "surfaces-0-kind": "wall",
        "surfaces-0-walls": "2",
        "surfaces-0-substrate": "gypsum board",
    }

    page = office.post(new(site), {**posted, "save": "1"}).content.decode()

    beside = page[page.index('id="id_surfaces-0-substrate_error"') :]
    assert "wet-area wall on gypsum board alone" in beside[:600]


def test_a_surface_on_a_wall_that_is_gone_is_said_beside_its_walls(office: Client, site: Site) -> None:
    posted = typed(outline_text="8' x 5'", **FLOOR)
    posted |= {"surfaces-0-kind": "wall", "surfaces-0-walls": "5", "surfaces-0-substrate": "cement board"}

    page = office.post(new(site), {**posted, "save": "1"}).content.decode()

    beside = page[page.index('id="id_surfaces-0-walls_error"') :]
    assert "stands at wall 5, but the room has 4 walls" in beside[:300]


def test_a_measurement_of_another_kind_is_neither_wrong_nor_stored(office: Client, site: Site) -> None:
    posted = typed(outline_text="8' x 5'", **FLOOR) | {"surfaces-0-depth": "rubbish", "surfaces-0-walls": "?"}

    assert office.post(new(site), {**posted, "save": "1"}).status_code == 302
    assert Room.objects.get().surfaces.get().depth is None


def test_a_row_is_added_and_one_removed_without_script(office: Client, site: Site) -> None:
    added = office.post(new(site), {**typed(outline_text="8' x 5'"), "add": "fixtures:drain"})
    shown = fields(added)
    assert (shown["fixtures-TOTAL_FORMS"], shown["fixtures-0-kind"]) == ("1", "drain")
    assert not Room.objects.exists()

    office.post(new(site), {**shown, "fixtures-0-DELETE": "on", "save": "1"})

    assert Room.objects.get().fixtures.count() == 0


@pytest.mark.parametrize(
    "extra",
    [
        {"add": "ceilings:flat"},
        {"add": "surfaces:moat"},
        {"starter": "castle"},
        {"walls-TOTAL_FORMS": "-3", "name": "", "save": "1"},
        {"surfaces-TOTAL_FORMS": "99999999", "save": "1"},
        {"fixtures-TOTAL_FORMS": "x"},
        {"surfaces-TOTAL_FORMS": "1", "surfaces-0-kind": "moat", "save": "1"},
        {"revision": "x", "save": "1"},
        {"name": "x" * 5000, "save": "1"},
        {"outline_text": "8' " * 400, "save": "1"},
        {"height": "0", "save": "1"},
        {"name": "\x00", "save": "1"},
    ],
)
def test_forged_fields_get_the_page_back_and_never_a_fault(
    office: Client, site: Site, extra: dict[str, str]
) -> None:
    posted = {**typed(outline_text="8' x 5'"), **extra}

    assert office.post(new(site), posted).status_code == 200
    assert office.post(reverse("rooms:plan", args=[site.pk]), posted).status_code == 200
    assert not Room.objects.exists()


def test_two_people_editing_one_room_lose_nothing(office: Client) -> None:
    stored = room()
    address = reverse("rooms:room-edit", args=[stored.pk])
    mine = fields(office.get(address))
    office.post(address, {**fields(office.get(address)), "height": "9'", "save": "1"})

    told = office.post(address, {**mine, "notes": "Watch the joists.", "save": "1"})

    page = told.content.decode()
    assert "Priya saved this room while you were editing it." in page
    changed = page[page.index('id="form-changed"') : page.index("</table>")]
    assert re.findall(r"<td>(?:<b>)?([^<]*)", changed) == [
        "Ceiling height", "9&#x27;", "8&#x27;", "Notes", "–", "Watch the joists.",
    ]  # fmt: skip
    assert fields(told)["notes"] == "Watch the joists."
    assert Room.objects.get().notes == ""
    # Saving again is a choice made knowingly.
    office.post(address, {**fields(told), "save": "1"})
    assert (Room.objects.get().notes, Room.objects.get().height_typed) == ("Watch the joists.", "8'")


def test_the_live_answer_has_the_plan_the_rows_and_the_closure(office: Client, site: Site) -> None:
    answer = office.post(
        reverse("rooms:plan", args=[site.pk]),
        {**typed(outline_text="8' 5' 8' 0 1/4 5'", fixtures__TOTAL_FORMS="1", fixtures__0__kind="flange"),
         "fixtures-0-diameter": "four", "width": "150"},
    )  # fmt: skip

    page = answer.content.decode()
    svg = ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])
    assert float(svg.get("viewBox", "").split()[2]) == pytest.approx(150, abs=4)
    assert "Closes within 1/4″ over 26′ 0 1/4″ (1 in 1249). Balanced along the walls." in page
    assert re.findall(r'name="walls-\d-length" value="([^"]*)"', page) == [
        "8&#x27;", "5&#x27;", "8&#x27; 0 1/4", "5&#x27;",
    ]  # fmt: skip
    # Only what was typed wrong is said while somebody types, not what is only missing.
    assert re.findall(r'data-wrong="([^"]+)"', page) == ["id_fixtures-0-diameter"]
    assert not Room.objects.exists()


def test_a_long_walk_that_misses_by_inches_is_balanced_and_asks_to_measure_again(
    office: Client, site: Site
) -> None:
    answer = office.post(
        reverse("rooms:plan", args=[site.pk]), {**typed(outline_text="30' 20' 30' 3 20'"), "width": "150"}
    )

    page = answer.content.decode()
    assert '<span class="mark hold"></span>' in page
    # By hand: the walk ends 3 in beyond its start along walls 1 and 3, whose perimeter is 100 ft 3 in.
    assert (
        "Closes only within 3″ over 100′ 3″ (1 in 401). Balanced along the walls; better measure again. "
        "Wall 3 would close it at 30′ 0″ instead of 30′ 3″. So would wall 1 at 30′ 3″ instead of 30′ 0″."
    ) in page


def test_a_line_that_cannot_be_read_is_not_said_to_close(office: Client, site: Site) -> None:
    before = {**typed(outline_text="8' 5' 8' 5'"), "walls-TOTAL_FORMS": "4"}
    for at, length in enumerate(["8'", "5'", "8'", "5'"]):
        before |= {f"walls-{at}-length": length, f"walls-{at}-turn": "R", f"walls-{at}-height": ""}
    answer = office.post(
        reverse("rooms:plan", args=[site.pk]),
        {**before, "line_read": "8' 5' 8' 5'", "outline_text": "8' 5O' 8' 5'", "width": "150"},
    )

    page = answer.content.decode()
    assert "The line cannot be read as it is; the plan shows what was read last." in page
    assert "Closes exactly" not in page
    assert 'data-wrong="id_outline_text"' in page


def test_the_live_answer_takes_two_queries_more_than_signing_in(office: Client, site: Site) -> None:
    from django.db import connection

    with CaptureQueriesContext(connection) as queries:
        office.post(reverse("rooms:plan", args=[site.pk]), typed(outline_text="8' x 5'"))

    # The session, the person, the site with its customer, the company's settings.
    assert len(queries) == 4


@pytest.mark.parametrize("name", ["rooms:rooms", "rooms:room", "rooms:room-edit"])
def test_pages_count_the_same_queries_at_2_and_at_20(office: Client, site: Site, name: str) -> None:
    from django.db import connection

    counted = []
    for total in (2, 20):
        for number in range(Room.objects.count(), total):
            room(site, name=f"Room {number}")
        pk = site.pk if name == "rooms:rooms" else Room.objects.latest("pk").pk
        with CaptureQueriesContext(connection) as queries:
            assert office.get(reverse(name, args=[pk])).status_code == 200
        counted.append((len(queries), [query["sql"] for query in queries]))

    assert counted[0][0] == counted[1][0], counted[1][1]
    assert counted[0][0] < 12


def test_an_installer_sees_plan_and_areas_and_no_way_to_change_them(client: Client, installer: User) -> None:
    stored = room()
    client.force_login(installer)

    page = client.get(reverse("rooms:room", args=[stored.pk])).content.decode()

    assert "27.5" in page
    assert "<svg" in page
    assert reverse("rooms:room-edit", args=[stored.pk]) not in page
    assert "$" not in page
    # The customer's own page is for the office.
    assert stored.site.customer.get_absolute_url() not in page


def test_a_metric_site_reads_and_shows_millimetres(office: Client) -> None:
    site = SiteFactory(units="metric")

    office.post(new(site), {**typed(height="2400", outline_text="2.4 m x 1500"), "save": "1"})

    stored = Room.objects.get()
    assert stored.height is not None
    assert stored.height.mm == parse_length("2.4 m", System.METRIC)
    assert "1.500 m" in office.get(stored.get_absolute_url()).content.decode()


def test_removing_copying_and_asking_for_the_sheet(office: Client) -> None:
    stored = room()

    copied = office.post(reverse("rooms:room-copy", args=[stored.pk]))
    assert copied.url == reverse("rooms:room-edit", args=[Room.objects.latest("pk").pk])
    removed = office.post(reverse("rooms:room-remove", args=[stored.pk]))
    assert removed.url == reverse("rooms:rooms", args=[stored.site_id])
    assert [one.name for one in Room.objects.all()] == ["Hall bath (2)"]
    asked = office.post(reverse("rooms:measuring-sheet", args=[stored.site_id]))
    assert asked.url.startswith("/documents/")


def test_a_saved_room_goes_back_to_the_estimate_it_was_measured_for(office: Client, site: Site) -> None:
    posted = {**typed(outline_text="8' x 5'"), "save": "1"}

    answer = office.post(f"{new(site)}?estimate=12", posted)

    assert answer.url == f"{reverse('rooms:room', args=[Room.objects.get().pk])}?estimate=12"


def test_a_fresh_row_has_its_usual_size_and_asks_for_nothing_yet(office: Client, site: Site) -> None:
    curb = {**typed(outline_text="8' x 5'"), "add": "surfaces:curb"}
    page = office.post(new(site), curb).content.decode()
    (height,) = re.findall(r'<input[^>]*name="surfaces-0-height"[^>]*>', page)
    assert 'value="6&quot;"' in height
    assert "was expected here" not in page

    # The next row added does not scold for the one before it; a fault in what was typed is still said.
    again = {
        **curb, "add": "fixtures:drain", "surfaces-TOTAL_FORMS": "1", "surfaces-0-kind": "curb",
        "surfaces-0-name": "Curb", "surfaces-0-substrate": "cement board", "surfaces-0-condition": "smooth",
        "surfaces-0-exposure": "wet", "surfaces-0-remove": "nothing",
        "surfaces-0-method": "acrylic bonding agent", "surfaces-0-height": "six",
    }  # fmt: skip
    page = office.post(new(site), again).content.decode()
    assert page.count('class="error"') == 1
    assert "“six”" in page
    saved = office.post(new(site), {**again, "save": "1"} | {"add": []}).content.decode()
    assert "Write the number of a wall, such as 2." in saved


def test_a_sink_past_the_edge_of_its_counter_says_by_how_much(office: Client, site: Site) -> None:
    posted = {
        **typed(outline_text="", surfaces__TOTAL_FORMS="1", fixtures__TOTAL_FORMS="1"), "save": "1",
        "surfaces-0-kind": "counter", "surfaces-0-name": "Counter", "surfaces-0-substrate": "plywood",
        "surfaces-0-condition": "smooth", "surfaces-0-exposure": "dry", "surfaces-0-remove": "nothing",
        "surfaces-0-method": "acrylic bonding agent", "surfaces-0-length": "8'", "surfaces-0-depth": "25",
        "surfaces-0-height": "1 1/2", "fixtures-0-kind": "sink", "fixtures-0-along": "30",
        "fixtures-0-away": "12", "fixtures-0-length": "30", "fixtures-0-depth": "18",
    }  # fmt: skip
    page = office.post(new(site), posted).content.decode()

    # 12 + 18 = 30 in from the wall on a counter 25 in deep; beside the field that puts it there.
    assert "sink would end at 2′ 6″, and Counter ends at 2′ 1″." in page
    assert 'id="id_fixtures-0-away_error"' in page


def test_a_sink_without_a_counter_is_named_by_its_place(office: Client, site: Site) -> None:
    posted = {
        **typed(outline_text="8' x 5'", fixtures__TOTAL_FORMS="1", fixtures__0__kind="sink"),
        "fixtures-0-length": "30", "fixtures-0-depth": "18", "width": "150",
    }  # fmt: skip
    page = office.post(reverse("rooms:plan", args=[site.pk]), posted).content.decode()

    assert "sink 1 is cut into a counter" in page
    assert "new-1 is cut" not in page

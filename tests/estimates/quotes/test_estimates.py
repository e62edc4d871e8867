"""The living estimate: constraints, making one, changing one, two editors at once."""

import datetime
import re
import threading
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.urls import reverse
from django.utils import formats

from contracting.customers.models import Site
from estimates.pricelists.models import MaterialFact, Price
from estimates.quotes import estimate_services as services
from estimates.quotes.calculation import calculate
from estimates.quotes.models import (
    Detail,
    Estimate,
    EstimateChange,
    EstimateLine,
    EstimateMaterial,
    EstimateRoom,
    NumberSeries,
    Override,
    Pattern,
    PaymentStage,
    SurfaceTile,
)
from estimates.quotes.pricing import Detail as PricedDetail
from estimates.quotes.pricing import Kind
from estimates.quotes.slots import SLOTS, USE_OF_SURFACE
from estimates.takeoff import model
from tests.contracting.factories import SiteFactory, UserFactory
from tests.estimates.pricelists.factories import MaterialFactory, usual_price_list

from .factories import AT, DAY, bath, company, estimate_of, ready

pytestmark = pytest.mark.django_db


# --- The database keeps the promise -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("estimate_has_title", {"title": ""}),
        ("estimate_status_known", {"status": "lost!"}),
        ("estimate_detail_known", {"detail": "all"}),
        ("estimate_margin_below_all", {"profit_basis_points": 10_000}),
        ("estimate_margin_below_all", {"profit_rule": "half"}),
        ("estimate_overhead_believable", {"overhead_basis_points": 20_001}),
        ("estimate_tax_base_known", {"tax_base": "some"}),
        ("estimate_tax_at_most_half", {"tax_basis_points": 5001}),
        ("estimate_deposit_at_most_all", {"deposit_basis_points": 10_001}),
        ("estimate_valid_days_in_range", {"valid_days": 0}),
    ],
)
def test_constraints_of_an_estimate(name, values):
    """The database refuses what a form may have let through."""
    estimate = estimate_of(0)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        Estimate.objects.filter(pk=estimate.pk).update(**values)


def _line(estimate, **values):
    filled = {"step": "tile", "text": "x", "cost_cents": 1, "quantity_millionths": 1} | values
    return EstimateLine.objects.create(estimate=estimate, **filled)


def _override(estimate, **values):
    filled = {
        "key": "k",
        "what": "price",
        "price_cents": 1,
        "reason": "r",
        "by": estimate.created_by,
        "at": AT,
    }
    return Override.objects.create(estimate=estimate, **filled | values)


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("estimate_line_has_text", lambda one: _line(one, text="")),
        ("estimate_line_quantity", lambda one: _line(one, quantity_millionths=0)),
        ("estimate_line_believable", lambda one: _line(one, cost_cents=10**11)),
        ("override_has_reason", lambda one: _override(one, reason="")),
        ("override_sets_one_thing", lambda one: _override(one, quantity_millionths=5)),
        ("override_sets_one_thing", lambda one: _override(one, what="quantity")),
        (
            "payment_stage_share_in_range",
            lambda one: PaymentStage.objects.create(estimate=one, due="x", share_basis_points=0),
        ),
        (
            "estimate_material_pattern_known",
            lambda one: EstimateMaterial.objects.create(
                estimate=one, slot="grout", material=MaterialFactory.create(), pattern="zigzag"
            ),
        ),
        (
            "surface_tile_pattern_known",
            lambda one: SurfaceTile.objects.create(
                estimate=one, room=bath(one.site, "x"), surface_key="floor", pattern="zigzag"
            ),
        ),
    ],
)
def test_constraints_of_its_parts(name, make):
    """Lines, changes by hand, payments and tiles."""
    estimate = estimate_of(0)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make(estimate)


@pytest.mark.parametrize(
    "twice",
    [
        lambda one: EstimateRoom.objects.create(estimate=one, room=one.estimate_rooms.get().room),
        lambda one: EstimateMaterial.objects.create(
            estimate=one, slot="grout", material=MaterialFactory.create(role="grout")
        ),
        lambda one: [_override(one), _override(one)],
        lambda one: [
            SurfaceTile.objects.create(
                estimate=one, room=one.estimate_rooms.get().room, surface_key="floor", pattern="straight"
            )
            for _ in range(2)
        ],
        lambda one: [
            EstimateMaterial.objects.create(estimate=one, slot="membrane", material=row.material)
            for row in one.materials.filter(slot="membrane")
        ],
        lambda one: [
            EstimateChange.objects.create(estimate=one, revision=2, by=one.created_by, at=AT)
            for _ in range(2)
        ],
        lambda one: Estimate.objects.filter(pk=one.pk).update(
            number=estimate_of(0, site=one.site, by=one.created_by).number
        ),
    ],
)
def test_what_there_is_once(twice):
    """A room, a slot, a change by hand, a surface's tile, a roll size, a logged save, a number."""
    usual_price_list()
    estimate = estimate_of(1)
    with pytest.raises(IntegrityError), transaction.atomic():
        twice(estimate)


def test_a_membrane_may_come_in_several_roll_sizes():
    """The cut plan chooses between them, so the slot takes many."""
    usual_price_list()
    estimate = estimate_of(0)
    EstimateMaterial.objects.create(
        estimate=estimate, slot="membrane", material=MaterialFactory.create(role="membrane")
    )
    assert estimate.materials.filter(slot="membrane").count() == 2


def test_choices_are_those_of_the_core():
    """Patterns, surfaces and details of database and core name the same things."""
    assert set(Pattern.values) == {one.value for one in model.Pattern}
    assert set(USE_OF_SURFACE) == set(model.SurfaceKind)
    assert set(Detail.values) == {one.value for one in PricedDetail}
    assert {slot.role for slot in SLOTS.values()} == {role.value for role in model.Role}


# --- Making one -------------------------------------------------------------------------------------------


def test_a_bath_needs_no_input_but_its_room():
    """Company defaults, the site's tax, the usual materials: the price is there at once."""
    estimate = ready()
    found = calculate(estimate)

    assert (estimate.tax_base, estimate.tax_basis_points) == ("materials", 825)
    assert (estimate.profit_basis_points, estimate.overhead_basis_points) == (3000, 1200)
    assert found.error is None
    assert found.can_be_issued
    assert found.priced.margin == pytest.approx(Decimal("0.30"), abs=Decimal("0.0005"))
    assert {line.step for line in found.priced.lines} >= {"waterproofing", "tile", "grout", "clean_up"}


def test_numbers_are_given_once():
    """Each series counts on by one."""
    numbers = [estimate_of(0).number for _ in range(3)]
    assert numbers == [1001, 1002, 1003]
    assert NumberSeries.objects.get(name="estimate").last_number == 1003


def test_the_price_is_that_of_its_day():
    """A later price changes nothing until the estimate asks for prices of a later day."""
    estimate = ready()
    before = calculate(estimate).priced.cost_cents
    for pk in {row.material_id for row in estimate.materials.all()}:
        Price.objects.create(material_id=pk, starts_on=DAY + datetime.timedelta(1), cents=9900)
    assert calculate(estimate).priced.cost_cents == before

    estimate.price_on = DAY + datetime.timedelta(1)
    assert calculate(estimate).priced.cost_cents > before


def test_the_customers_own_tile_is_counted_and_not_priced():
    """The line stays, at nothing, and a missing price of it is no problem."""
    estimate = ready()
    tile = estimate.materials.get(slot="tile: floor")
    tile.material.prices.all().delete()
    assert [problem.key for problem in calculate(estimate).problems] == [f"price:m{tile.material_id}"]

    EstimateMaterial.objects.filter(pk=tile.pk).update(customer_supplied=True)
    found = calculate(Estimate.objects.get(pk=estimate.pk))
    line = next(one for one in found.priced.lines if one.customer_supplied)
    assert found.problems == ()
    assert (line.price_cents, line.cost_cents) == (0, 0)
    assert line.quantity > 0


def test_a_surface_may_get_another_tile_or_none():
    """One surface's choice overrides the slot's; "no tile" takes setting and grout away."""
    estimate = ready()
    room = estimate.estimate_rooms.get().room
    other = MaterialFactory.create(role="tile", name="Another tile", cents=9000)
    SurfaceTile.objects.create(estimate=estimate, room=room, surface_key="floor", material=other)
    names = {str(line.label) for line in calculate(estimate).priced.lines}
    assert "Another tile" in names
    assert "Usual tile" not in names

    SurfaceTile.objects.update(material=None)
    steps = {line.step for line in calculate(Estimate.objects.get(pk=estimate.pk)).priced.lines}
    assert "tile" not in steps


def test_what_comes_on_sheets_is_bought_by_the_sheet():
    """A 2 in mosaic on 12 in sheets: 27.5 sq ft of floor take about 28 sheets, not about 900 pieces."""
    estimate = ready()
    tile = estimate.materials.get(slot="tile: floor").material
    for name, value in (("width", 2), ("height", 2), ("sheet width", 12), ("sheet height", 12)):
        MaterialFact.objects.update_or_create(
            material=tile, name=name, defaults={"value_millionths": value * 1_000_000, "unit": "in"}
        )
    found = calculate(estimate)
    line = next(one for one in found.priced.lines if str(one.label) == "Usual tile")

    assert line.unit == "sheets"
    assert 27 <= line.quantity <= 40


def test_a_room_that_cannot_be_taken_off_is_named():
    """Without grout on the list the takeoff's refusal stands on the page, with the room it lies in."""
    estimate = ready()
    estimate.materials.filter(slot="mortar").delete()
    found = calculate(Estimate.objects.get(pk=estimate.pk))

    assert found.priced is None
    assert "needs mortar" in str(found.error.reason)


@pytest.mark.parametrize("field", ["disposal_cents", "levelling_cents", "travel_cents", "permits_cents"])
def test_entered_costs_have_their_place(field):
    """Each is a line of the whole job with its own working."""
    estimate = ready(**{field: 12_345})
    lines = [line for line in calculate(estimate).priced.lines if line.kind is Kind.OTHER]
    assert [(line.cost_cents, line.room) for line in lines] == [(12_345, "")]


# --- Changing one -----------------------------------------------------------------------------------------


def test_a_save_is_logged_with_what_it_changed():
    """Who, when, from what to what; what stays the same is not named."""
    estimate = estimate_of(0)
    services.estimate_save(
        estimate=estimate,
        revision=1,
        values={"travel_cents": 5000, "detail": "room"},
        by=estimate.created_by,
        at=AT,
    )
    change = estimate.changes.get()

    assert estimate.revision == 2
    assert [(row["label"], row["before"], row["after"]) for row in change.fields] == [
        ("travel", "0.00", "50.00")
    ]


def test_the_second_editor_is_told_and_nothing_is_stored():
    """Their save names the changes since the revision they began with."""
    estimate = estimate_of(0)
    first, second = Estimate.objects.get(pk=estimate.pk), Estimate.objects.get(pk=estimate.pk)
    services.estimate_save(
        estimate=first, revision=1, values={"travel_cents": 5000}, by=estimate.created_by, at=AT
    )
    with pytest.raises(services.EditConflictError) as caught:
        services.estimate_save(
            estimate=second, revision=1, values={"permits_cents": 700}, by=estimate.created_by, at=AT
        )

    assert [row["name"] for change in caught.value.changes for row in change.fields] == ["travel_cents"]
    estimate.refresh_from_db()
    assert (estimate.travel_cents, estimate.permits_cents) == (5000, 0)


def test_two_editors_on_the_page_lose_nothing(client, office_manager):
    """The second sees both: their own number where they typed, the other's where they did not."""
    estimate = ready()
    client.force_login(office_manager)
    address = estimate.get_absolute_url()
    page = client.get(address)
    form = page.context["form"]
    typed = {name: form._start(name) for name in form.model_fields if name != "flood_test_asked"}
    typed |= {"revision": form["revision"].value(), "began": form["began"].value()}

    assert client.post(address, typed | {"profit_basis_points": "35"}).status_code == 302
    refused = client.post(address, typed | {"travel_cents": "80"})

    assert "Somebody else saved this estimate" in refused.text
    merged = refused.context["form"]
    assert (merged["travel_cents"].value(), merged["profit_basis_points"].value()) == ("80", "35")
    estimate.refresh_from_db()
    assert (estimate.travel_cents, estimate.profit_basis_points) == (0, 3500)

    again = {name: merged[name].value() for name in typed}
    assert client.post(address, again).status_code == 302
    estimate.refresh_from_db()
    assert (estimate.travel_cents, estimate.profit_basis_points) == (8000, 3500)


@pytest.mark.parametrize("page", ["estimate-rooms", "estimate-lines", "estimate-texts", "estimate-materials"])
def test_every_page_tells_the_second_editor(page, client, office_manager):
    """What was typed stays, who changed what is told, and saving again stores it."""
    estimate = ready()
    client.force_login(office_manager)
    address = reverse(f"quotes:{page}", args=[estimate.pk])
    got = client.get(address).context
    if page == "estimate-lines":
        typed = {
            "line-TOTAL_FORMS": 1,
            "line-INITIAL_FORMS": 0,
            "line-0-text": "Typed by me",
            "line-0-step": "tile",
        }
        typed |= {"line-0-cost": "5", "stage-TOTAL_FORMS": 0, "stage-INITIAL_FORMS": 0, "revision": 1}
    else:
        form = got["form"]
        names = [name for name in form.fields if form[name].value() not in (None, False)]
        typed = {name: form[name].value() for name in names}
        typed |= {"title": "Typed by me", "tile: floor pattern": "third offset"}
        typed |= {"rooms": []} if page == "estimate-rooms" else {}
    services.estimate_save(
        estimate=Estimate.objects.get(pk=estimate.pk),
        revision=1,
        values={"travel_cents": 5000},
        by=estimate.created_by,
        at=AT,
    )
    refused = client.post(address, typed)

    assert "Somebody else saved this estimate" in refused.text
    assert "travel from 0.00 to 50.00" in refused.text
    assert "Typed by me" in refused.text or page in ("estimate-rooms", "estimate-materials")
    typed["revision"] = 2
    assert client.post(address, typed).status_code == 302
    estimate.refresh_from_db()
    assert (estimate.revision, estimate.travel_cents) == (3, 5000)


def test_lines_that_are_refused_stay_on_the_page(client, office_manager):
    """Each error beside its field; a broken form of another site's making is no 500."""
    estimate = estimate_of(0)
    client.force_login(office_manager)
    address = reverse("quotes:estimate-lines", args=[estimate.pk])
    typed = {
        "revision": "1",
        "line-TOTAL_FORMS": "2",
        "line-INITIAL_FORMS": "0",
        "line-0-text": "Haul away",
        "line-0-step": "nonsense",
        "line-0-quantity": "lots",
        "line-1-step": "tile",
        "line-1-cost": "5",
        "stage-TOTAL_FORMS": "1",
        "stage-INITIAL_FORMS": "0",
        "stage-0-due": "some day",
    }
    page = client.post(address, typed)

    assert 'value="Haul away"' in page.text
    assert 'value="lots"' in page.text
    assert "Say what this line is for." in page.text
    assert "A payment needs both" in page.text
    assert client.post(address, {"revision": "x"}).status_code == 200
    assert not estimate.lines.exists()


def test_a_refused_number_stays_where_it_was_typed(client, office_manager):
    """The sentence stands beside the field, and the rest of the page is there."""
    estimate = ready()
    client.force_login(office_manager)
    page = client.post(
        estimate.get_absolute_url(),
        {"revision": "1", "profit_rule": "margin", "profit_basis_points": "120", "travel_cents": "much"},
    )
    assert "A margin of 100 % or more leaves no price that covers the cost" in page.text
    assert "Read “much”: expected an amount such as 1,234.50." in page.text
    assert 'value="much"' in page.text


def test_rooms_of_another_site_are_refused():
    """An estimate is for one site."""
    estimate = estimate_of(0)
    stranger = bath(SiteFactory.create())
    with pytest.raises(ValidationError, match="another site"):
        services.estimate_rooms_set(
            estimate=estimate, revision=1, rooms=[stranger], by=estimate.created_by, at=AT
        )


def test_payments_over_the_whole_price_are_refused():
    """Deposit 30 % and 80 % more is 110 %."""
    estimate = estimate_of(0, deposit_basis_points=3000)
    with pytest.raises(ValidationError, match="110 %"):
        services.estimate_lines_set(
            estimate=estimate,
            revision=1,
            lines=[],
            stages=[PaymentStage(due="half way", share_basis_points=8000)],
            by=estimate.created_by,
            at=AT,
        )


def test_a_material_of_another_kind_is_refused():
    """Grout cannot stand where mortar is asked for."""
    estimate = estimate_of(0)
    with pytest.raises(ValidationError, match="cannot be used there"):
        services.estimate_spec_set(
            estimate=estimate,
            revision=1,
            materials=[EstimateMaterial(slot="mortar", material=MaterialFactory.create(role="grout"))],
            tiles=[],
            by=estimate.created_by,
            at=AT,
        )


# --- Its pages --------------------------------------------------------------------------------------------


def test_the_whole_way_on_the_screen(client, office_manager):
    """New customer, estimate, line by hand, a price by hand, issue."""
    company()
    usual_price_list()
    client.force_login(office_manager)
    client.post(reverse("quotes:estimate-where"), {"name": "A. Sample", "street": "5 Example Road"})
    site = Site.objects.get()
    room = bath(site)
    client.post(reverse("quotes:estimate-new", args=[site.pk]), {"title": "Hall bath", "rooms": [room.pk]})
    estimate = Estimate.objects.get()

    lines = {
        "revision": "1",
        "line-TOTAL_FORMS": "2",
        "line-INITIAL_FORMS": "0",
        "line-0-text": "Haul away the vanity",
        "line-0-step": "demolition",
        "line-0-cost": "85",
        "line-1-step": "tile",
        "stage-TOTAL_FORMS": "1",
        "stage-INITIAL_FORMS": "0",
        "stage-0-due": "when the membrane is in",
        "stage-0-share": "40",
    }
    client.post(reverse("quotes:estimate-lines", args=[estimate.pk]), lines)
    key = f"labour:{room.pk}:tile"
    by_hand = reverse("quotes:by-hand", args=[estimate.pk]) + f"?key={key}"
    assert "Reason" in client.post(by_hand, {"revision": "2", "price": "450"}).text
    client.post(by_hand, {"revision": "2", "price": "450", "quantity": "6", "reason": "agreed"})
    page = client.get(estimate.get_absolute_url())

    assert "written by hand" in page.text
    assert "set by hand: agreed" in page.text
    assert "Haul away the vanity" in page.text
    priced = page.context["priced"]
    line = next(one for one in priced.lines if one.key == key)
    assert (line.price_cents, line.quantity) == (45_000, Decimal(6))
    assert [str(part.due) for part in priced.payments][1] == "when the membrane is in"

    client.post(by_hand, {"revision": "3", "undo": "1"})
    assert not estimate.overrides.exists()
    issued = client.post(reverse("quotes:issue", args=[estimate.pk]), follow=True)
    assert "Quote Q-1001 r1 is issued." in issued.text


def test_every_working_on_the_page_evaluates_to_its_figure(client, office_manager):
    """The page prints no figure that its printed formula does not give."""
    estimate = ready()
    found = calculate(estimate)
    figures = [figure for room in found.takeoff.rooms for figure in room.figures]
    figures += [need.packs for need in found.takeoff.needs] + [need.quantity for need in found.takeoff.needs]
    figures += [line.price_working for line in found.priced.lines]
    assert len(figures) > 20
    for figure in figures:
        assert figure.evaluate() == figure.value, figure.key


def test_materials_page_offers_what_the_rooms_need(client, office_manager):
    """A bath is not asked for a counter's tile; a tile for one surface is taken down with its joint."""
    estimate = ready()
    other = MaterialFactory.create(role="tile", name="Another tile", cents=9000)
    room = estimate.estimate_rooms.get().room
    client.force_login(office_manager)
    address = reverse("quotes:estimate-materials", args=[estimate.pk])
    page = client.get(address)
    form = page.context["form"]
    assert "tile: floor" in form.fields
    assert "tile: counter" not in form.fields

    typed = {name: form[name].value() for name in form.fields if form[name].value() not in (None, False)}
    name = f"{room.pk} floor"
    bad = client.post(address, typed | {name: other.pk, f"{name} joint": "1O"})
    assert bad.status_code == 200
    assert 'value="1O"' in bad.text
    assert client.post(address, typed | {name: other.pk, f"{name} joint": '1/8"'}).status_code == 302
    row = estimate.surface_tiles.get()
    assert (row.material, row.joint.mm) == (other, Decimal("3.175"))


@pytest.mark.parametrize("rooms", [2, 20])
def test_estimate_page_takes_the_same_queries(rooms, client, office_manager, django_assert_max_num_queries):
    """However many rooms: what belongs to them is read at once."""
    estimate = ready(rooms=rooms)
    client.force_login(office_manager)
    with django_assert_max_num_queries(27):
        assert client.get(estimate.get_absolute_url()).status_code == 200


@pytest.mark.parametrize("count", [2, 20])
def test_estimate_list_takes_the_same_queries(count, client, office_manager, django_assert_num_queries):
    """Session, user, count, page, and the company for its currency."""
    user = UserFactory.create()
    for _ in range(count):
        estimate_of(0, by=user)
    client.force_login(office_manager)
    with django_assert_num_queries(4):
        page = client.get(reverse("quotes:estimates"))
    assert page.text.count("being written") >= count


def test_estimate_list_finds_by_name_street_number_and_status(client, office_manager):
    """And says what to do when nothing matches."""
    estimate = estimate_of(0, title="Foyer over old tile")
    estimate_of(0, title="Kitchen counter")
    client.force_login(office_manager)
    address = reverse("quotes:estimates")
    for text in ("foyer", str(estimate.number), estimate.site.customer.name):
        page = client.get(address, {"q": text})
        assert "Foyer over old tile" in page.text, text
        assert "Kitchen counter" not in page.text, text
    assert "No estimate matches" in client.get(address, {"status": "won"}).text


@pytest.mark.django_db(transaction=True)
def test_numbers_drawn_at_once_differ():
    """Two people start an estimate at the same moment on any database."""
    site, user = SiteFactory.create(), UserFactory.create()
    numbers: list[int] = []
    gate = threading.Barrier(4)

    def start() -> None:
        gate.wait()
        numbers.append(services.estimate_create(site=site, title="x", rooms=[], by=user, on=DAY).number)
        connection.close()

    threads = [threading.Thread(target=start) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(set(numbers)) == 4


def test_a_change_is_told_in_the_readers_own_words(client, office_manager):
    estimate = ready(by=office_manager)
    services.estimate_save(
        estimate=estimate,
        revision=1,
        values={"start_on": datetime.date(2026, 11, 22)},
        by=office_manager,
        at=AT,
    )
    type(office_manager).objects.update(language="es")
    client.force_login(office_manager)

    page = client.get(reverse("quotes:estimate-changes", args=[estimate.pk])).content.decode()

    assert "22 nov 2026" in page
    assert "2026-11-22" not in page
    assert "work could start" not in page


def test_a_working_writes_its_day_as_the_reader_does(client, office_manager):
    estimate = ready(by=office_manager)
    client.force_login(office_manager)

    page = client.get(estimate.get_absolute_url()).content.decode()

    assert "cost of an hour from Jan 1, 2026" in page
    assert not re.search(r"from \d{4}-\d\d-\d\d", page)


def test_an_estimate_of_lines_by_hand_alone_can_be_issued_from_its_page(client, office_manager):
    estimate = ready(rooms=0, by=office_manager)
    client.force_login(office_manager)
    assert "Issue the quote" not in client.get(estimate.get_absolute_url()).content.decode()
    EstimateLine.objects.create(
        estimate=estimate, text="Regrout", step="grout", quantity_millionths=1_000_000, cost_cents=20_000
    )

    page = client.get(estimate.get_absolute_url()).content.decode()

    assert re.search(r'value="issue">\s*Issue the quote', page)
    # Nothing is measured at the site, so there is nothing to choose from.
    assert "Choose rooms" not in page


def test_a_missing_price_leads_to_its_material_and_says_when_it_begins(client, office_manager):
    estimate = ready(by=office_manager)
    price = Price.objects.filter(material__role="grout").get()
    Price.objects.filter(pk=price.pk).update(starts_on=DAY + datetime.timedelta(days=7))
    client.force_login(office_manager)

    page = client.get(estimate.get_absolute_url()).content.decode()

    assert f"{price.material.name} has no price on that day." in page
    begins = formats.date_format(DAY + datetime.timedelta(days=7), "SHORT_DATE_FORMAT")
    assert f"Its price begins on {begins}: set “Prices of” to that day" in page
    assert f'<a href="{price.material.get_absolute_url()}">Give it a price</a>' in page

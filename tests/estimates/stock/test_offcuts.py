"""The shelf of offcuts: cut up first, for one quote at a time; what a job leaves returns to it."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from estimates.pricelists.models import Material
from estimates.quotes.calculation import calculate
from estimates.quotes.services import quote_issue, quote_withdraw
from estimates.rooms.fields import Length
from estimates.stock.models import Offcut, OffcutPromise
from estimates.stock.selectors import on_shelf, stock_for
from estimates.stock.services import Piece, offcut_save, offcut_take
from jobs.work import services as work_services
from jobs.work.offcuts import offcuts_left
from jobs.work.papers import crew_sheet_context, crew_sheet_request
from tests.estimates.quotes.factories import AT, DAY, estimate_of, ready

pytestmark = pytest.mark.django_db


def inches(text: str) -> Length:
    return Length(f"{text} in", Decimal(text) * Decimal("25.4"))


def membrane() -> Material:
    return Material.objects.filter(role="membrane", is_active=True).order_by("pk").first()


def shelved(width="36", length="240", **values):
    return offcut_save(
        offcut=Offcut(),
        piece=Piece(membrane(), inches(width), inches(length)),
        place="Van 1",
        by=None,
        **values,
    )


@pytest.fixture
def estimate(office_manager):
    return ready(by=office_manager)


def test_an_estimate_cuts_up_what_lies_on_the_shelf_before_it_buys(estimate):
    before = calculate(estimate).takeoff
    # 20 ft of a 36 in roll: the bath's floor is 66 x 60 in, two runs of 60 in and its strips.
    one = shelved()

    after = calculate(estimate).takeoff

    assert before.stock_used == ()
    assert after.stock_used == (f"offcut-{one.pk}",)
    packs = {need.role.value: need.packs.value for need in after.needs}
    assert packs["membrane"] == 0


def test_while_a_quote_stands_no_other_estimate_is_offered_its_offcut(estimate, office_manager):
    shelved()
    other = estimate_of(by=office_manager)

    quote = quote_issue(estimate=estimate, by=office_manager, at=AT)

    assert OffcutPromise.objects.get().quote == quote
    assert calculate(other).takeoff.stock_used == ()
    # Its own estimate, of which a revision may be issued, still has it.
    assert calculate(estimate).takeoff.stock_used
    quote_withdraw(quote=quote, note="", by=office_manager, at=AT)
    assert calculate(other).takeoff.stock_used


def test_an_offcut_that_is_gone_keeps_the_quote_from_being_issued(estimate, office_manager, monkeypatch):
    one = shelved()
    found = calculate(estimate)
    offcut_take(offcut=one, why="", at=timezone.now())
    monkeypatch.setattr("estimates.quotes.services.calculate", lambda estimate: found)

    with pytest.raises(ValidationError, match="no longer on the shelf"):
        quote_issue(estimate=estimate, by=office_manager, at=AT)

    assert not estimate.quotes.exists()


def test_a_job_says_where_its_offcut_lies_and_puts_back_what_it_leaves(client, estimate, office_manager):
    one = shelved()
    quote = quote_issue(estimate=estimate, by=office_manager, at=AT)
    work_services.quote_sign_on_paper(quote=quote, name="Ada", signed_on=DAY, by=office_manager)
    job = work_services.job_from_quote(quote=quote, by=office_manager)
    sheet = crew_sheet_context(crew_sheet_request(job=job, by=office_manager).snapshot)
    assert sheet["rolls"][0]["name"] == f"offcut from the shelf, {membrane().name} (Van 1)"
    # The drawing of an offcut has the offcut's own width.
    assert "3′ 0″" in sheet["rolls"][0]["drawing"]
    left = offcuts_left(job)
    assert left
    client.force_login(office_manager)
    address = reverse("work:offcuts", args=[job.pk])

    page = client.get(address)
    kept = client.post(address, {"kept": [left[0].piece.origin], "place": "Shop"})
    client.post(address, {"kept": [left[0].piece.origin], "place": "Shop"})

    assert left[0].size in page.content.decode()
    assert kept.status_code == 302
    one.refresh_from_db()
    assert one.taken_for == f"job {job.number}"
    (back,) = Offcut.objects.filter(taken_at=None)
    assert (back.place, back.width.mm, back.length.mm) == (
        "Shop",
        left[0].piece.width.mm,
        left[0].piece.length.mm,
    )
    assert back.material == membrane()


def test_the_office_keeps_the_shelf(client, office_manager, estimate):
    client.force_login(office_manager)
    typed = {"material": membrane().pk, "width": '18 1/2"', "length": "6' 2\"", "place": "Shop"}

    client.post(reverse("stock:offcut-new"), typed)

    one = Offcut.objects.get()
    assert (one.width.mm, one.length.mm, one.added_by) == (
        Decimal("469.9"),
        Decimal("1879.6"),
        office_manager,
    )
    page = client.get(reverse("stock:offcuts")).content.decode()
    assert "18 1/2" in page
    client.post(reverse("stock:offcut-edit", args=[one.pk]), typed | {"place": "Van 2"})
    assert Offcut.objects.get().place == "Van 2"
    client.post(reverse("stock:offcut-take", args=[one.pk]), {"why": "a repair"})
    assert Offcut.objects.get().taken_for == "a repair"
    assert client.get(reverse("stock:offcut-edit", args=[one.pk])).status_code == 404
    with pytest.raises(ValidationError, match="already"):
        offcut_take(offcut=one, why="", at=timezone.now())


@pytest.mark.parametrize(
    ("typed", "mm"),
    [("450 mm", "450"), ("45 cm", "450"), ("1.2 m", "1200"), ("18 in", "457.2"), ("18", "457.2")],
)
def test_a_piece_is_written_in_either_unit_and_the_page_says_what_a_bare_number_is(
    client, office_manager, estimate, typed, mm
):
    client.force_login(office_manager)
    page = client.get(reverse("stock:offcut-new")).content.decode()

    client.post(
        reverse("stock:offcut-new"),
        {"material": membrane().pk, "width": typed, "length": typed, "place": ""},
    )

    # Beside the width and beside the length.
    assert page.count("A bare number is in inches.") == 2
    one = Offcut.objects.get()
    assert (one.width.typed, one.width.mm, one.length.mm) == (typed, Decimal(mm), Decimal(mm))


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("width", "wide", "wide"),
        ("width", "0", "0"),
        ("width", "1000", "is the unit missing?"),
        ("length", "", "required"),
        ("length", "400 ft", "is the unit missing?"),
        ("material", "999999", "valid"),
    ],
)
def test_bad_pieces_are_told_beside_the_field(client, office_manager, estimate, field, value, sentence):
    client.force_login(office_manager)
    typed = {"material": membrane().pk, "width": "18 in", "length": "6 ft", "place": ""} | {field: value}

    page = client.post(reverse("stock:offcut-new"), typed)

    assert page.status_code == 200
    assert sentence in page.content.decode()
    assert not Offcut.objects.exists()


def test_only_membrane_is_kept(estimate):
    tile = Material.objects.filter(role="tile").first()
    with pytest.raises(ValidationError, match="membrane"):
        offcut_save(offcut=Offcut(), piece=Piece(tile, inches("5"), inches("5")), place="", by=None)


@pytest.mark.parametrize(
    "values",
    [
        {"width_units": 0},
        {"length_units": 0},
        {"taken_for": "somebody"},
    ],
)
def test_the_database_keeps_the_promise(estimate, values):
    row = {"material": membrane(), "width_units": 10, "length_units": 10} | values
    with pytest.raises(IntegrityError), transaction.atomic():
        Offcut.objects.create(**row)


def test_an_offcut_of_a_job_is_shelved_once(estimate):
    row = {"material": membrane(), "width_units": 10, "length_units": 10, "origin": "job-1-roll-1-1"}
    Offcut.objects.create(**row)
    with pytest.raises(IntegrityError), transaction.atomic():
        Offcut.objects.create(**row)


@pytest.mark.parametrize("count", [2, 20])
def test_the_shelf_takes_the_same_queries(estimate, count, django_assert_num_queries):
    for _ in range(count):
        shelved("10", "20")
    with django_assert_num_queries(2):
        assert len([list(one.promises.all()) for one in on_shelf()]) == count
    keys = {membrane().pk: "m"}
    with django_assert_num_queries(1):
        assert len(stock_for(estimate.pk, keys)) == count


def test_an_estimate_without_membrane_asks_for_no_stock(estimate, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert stock_for(estimate.pk, {}) == ()

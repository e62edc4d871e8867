"""Counts entered instead of what was counted: both are kept, with the reason, and both are shown."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from estimates.practice.selectors import company_settings
from estimates.quotes.calculation import calculate
from estimates.quotes.models import Estimate
from estimates.rooms.counts import Entered, counted, counts_save
from estimates.rooms.models import CountOverride, Room
from estimates.rooms.selectors import room_with_parts, takeoff_room
from estimates.takeoff.errors import DomainError
from estimates.takeoff.model import Counted
from estimates.takeoff.units import Measure
from tests.estimates.quotes.factories import ready

pytestmark = pytest.mark.django_db


@pytest.fixture
def room(office_manager) -> Room:
    estimate = ready(by=office_manager)
    return room_with_parts(estimate.estimate_rooms.get().room_id)


def typed(**values):
    names = [f"{what.name}_{part}" for what in Counted for part in ("quantity", "reason")]
    return {name: values.get(name, "") for name in names}


def test_the_page_shows_what_is_counted(client, office_manager, room):
    client.force_login(office_manager)

    page = client.get(reverse("rooms:room-counts", args=[room.pk])).content.decode()

    # A 5 ft by 8 ft bath with a 30 in deep tub across its end: the floor is 66 in by 60 in. Its strips run
    # along three walls, 66 + 60 + 66 in less the 30 in door: see the tub's side, which is sealed instead.
    found = counted(room, company_settings())
    assert found[Counted.STRIPS].value == pytest.approx(Decimal(66 + 60 + 66) / 12, abs=Decimal("2.6"))
    assert found[Counted.INSIDE].unit == "each"
    assert page.count("Counted:") == 4


def test_what_is_entered_stands_instead_and_both_are_in_the_working(client, office_manager, room):
    client.force_login(office_manager)
    address = reverse("rooms:room-counts", args=[room.pk])

    answer = client.post(
        address,
        typed(
            BEAD_quantity="12' 6\"",
            BEAD_reason="The old flange is wider",
            INSIDE_quantity="7",
            INSIDE_reason="A {pipe} chase in the corner",
        ),
    )

    assert answer.status_code == 302
    overrides = takeoff_room(room_with_parts(room.pk)).overrides
    assert overrides[Counted.BEAD].quantity == Measure(Decimal("12.5"), "ft")
    assert overrides[Counted.INSIDE].quantity == Measure(Decimal(7), "each")
    estimate = Estimate.objects.get()
    taken = calculate(estimate).takeoff
    assert taken is not None
    figure = next(one for one in taken.rooms[0].figures if one.key.endswith(".bead"))
    assert figure.value == Decimal("12.5")
    assert figure.evaluate() == figure.value
    told = {str(line.source) for line in figure.lines if getattr(line, "source", None)}
    assert "The old flange is wider" in told
    pieces = next(one for one in taken.needs if one.role == "inside corner piece")
    assert pieces.quantity.value == 7
    panel = client.get(reverse("quotes:room-takeoff", args=[estimate.pk, room.pk])).content.decode()
    assert "entered" in panel
    assert "The old flange is wider" in panel


def test_an_emptied_pair_is_counted_again(office_manager, room):
    entered = {Counted.OUTSIDE: Entered("3", Measure(Decimal(3), "each"), "seen")}
    counts_save(room=room, entered=entered, by=office_manager)
    assert CountOverride.objects.get().by == office_manager

    counts_save(room=room_with_parts(room.pk), entered={}, by=office_manager)

    assert not CountOverride.objects.exists()


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"INSIDE_quantity": "7"}, "Say why it is entered and not counted."),
        ({"INSIDE_quantity": "seven"}, "Say why it is entered and not counted."),
        ({"INSIDE_quantity": "seven"}, "Read “seven”: expected a whole number of pieces from 0 to"),
        ({"INSIDE_reason": "because"}, "A reason without a count"),
        ({"INSIDE_quantity": "-1", "INSIDE_reason": "x"}, "expected a whole number of pieces"),
        ({"INSIDE_quantity": "²", "INSIDE_reason": "x"}, "expected a whole number of pieces"),
        ({"INSIDE_quantity": "99999999999", "INSIDE_reason": "x"}, "expected a whole number of pieces"),
        ({"BEAD_quantity": "a lot", "BEAD_reason": "x"}, "a lot"),
    ],
)
def test_bad_counts_are_told_beside_the_field_and_kept(client, office_manager, room, values, sentence):
    client.force_login(office_manager)

    page = client.post(reverse("rooms:room-counts", args=[room.pk]), typed(**values))

    assert page.status_code == 200
    assert sentence in page.content.decode()
    for value in values.values():
        assert f'value="{value}"' in page.content.decode()
    assert not CountOverride.objects.exists()


def test_a_reason_of_blanks_is_refused_by_the_service(office_manager, room):
    with pytest.raises(DomainError) as refused:
        counts_save(
            room=room,
            entered={Counted.STRIPS: Entered("1'", Measure(Decimal(1), "ft"), "  ")},
            by=office_manager,
        )
    assert refused.value.rule == "override.reason"


@pytest.mark.parametrize(
    "values",
    [
        {"what": "nothing known"},
        {"reason": ""},
    ],
)
def test_the_database_keeps_the_promise(room, values):
    row = {"what": "strips", "typed": "1", "quantity_millionths": 1, "unit": "ft", "reason": "x"} | values
    with pytest.raises(IntegrityError), transaction.atomic():
        CountOverride.objects.create(room=room, **row)


def test_one_count_of_a_kind_stands_for_a_room(room):
    row = {"what": "strips", "typed": "1", "quantity_millionths": 1, "unit": "ft", "reason": "x"}
    CountOverride.objects.create(room=room, **row)
    with pytest.raises(IntegrityError), transaction.atomic():
        CountOverride.objects.create(room=room, **row)

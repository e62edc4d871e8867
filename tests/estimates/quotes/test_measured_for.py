"""Rooms go into the estimate they were measured for, one by one, and come out of it again."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from estimates.quotes.estimate_services import estimate_room_add, estimate_room_remove
from estimates.quotes.forms import NewEstimateForm
from estimates.quotes.models import Estimate
from estimates.rooms.models import Room
from tests.contracting.factories import SiteFactory
from tests.estimates.rooms.test_page import typed

from .factories import AT, bath, estimate_of, ready


@pytest.fixture
def estimate(db) -> Estimate:
    return ready()


@pytest.fixture
def office(client, office_manager):
    client.force_login(office_manager)
    return client


def names(estimate) -> list[str]:
    return [row.room.name for row in estimate.estimate_rooms.select_related("room")]


def measure(office, estimate, name, **values):
    posted = {**typed(name=name, outline_text="8' x 5'", **values), "save": "1"}
    address = reverse("rooms:room-new", args=[estimate.site_id])
    return office.post(f"{address}?estimate={estimate.pk}", posted, follow=True)


def test_a_room_measured_from_an_estimate_goes_into_it_and_no_other_does(office, estimate):
    bath(estimate.site, "Attic bath")

    page = measure(office, estimate, "Guest bath").content.decode()

    assert names(estimate) == ["Bath 1", "Guest bath"]
    assert f"It stands in estimate {estimate.number}" in page
    again = office.get(estimate.get_absolute_url()).content.decode()
    assert "Add “Attic bath”" in again
    assert "Add “Guest bath”" not in again
    assert "Take “Guest bath” out of the estimate" in again


def test_a_room_edited_from_an_estimate_is_not_put_into_it(office, estimate):
    other = bath(estimate.site, "Attic bath")
    posted = {**typed(name="Attic bath", outline_text="8' x 5'", revision=str(other.revision)), "save": "1"}

    office.post(f"{reverse('rooms:room-edit', args=[other.pk])}?estimate={estimate.pk}", posted)

    assert names(estimate) == ["Bath 1"]


def test_an_accepted_estimate_takes_no_room_and_says_so(office, estimate):
    Estimate.objects.filter(pk=estimate.pk).update(status=Estimate.Status.WON)

    page = measure(office, estimate, "Guest bath").content.decode()

    assert Room.objects.filter(name="Guest bath").exists()
    assert names(estimate) == ["Bath 1"]
    assert f"The customer has accepted estimate {estimate.number}" in page


@pytest.mark.parametrize("asked", ["999", "x", "99999999999999999999"])
def test_an_estimate_that_is_none_is_passed_over(office, estimate, asked):
    posted = {**typed(name="Guest bath", outline_text="8' x 5'"), "save": "1"}

    answer = office.post(f"{reverse('rooms:room-new', args=[estimate.site_id])}?estimate={asked}", posted)

    assert answer.status_code == 302
    assert Room.objects.filter(name="Guest bath").exists()


def test_a_copy_made_from_an_estimate_goes_into_it_too(office, estimate):
    room = estimate.estimate_rooms.get().room
    answer = office.post(f"{reverse('rooms:room-copy', args=[room.pk])}?estimate={estimate.pk}")

    assert answer.url.endswith(f"?estimate={estimate.pk}")
    assert names(estimate) == ["Bath 1", "Bath 1 (2)"]


def test_rooms_are_added_and_taken_out_one_by_one(office, estimate):
    first, second = bath(estimate.site, "Attic bath"), bath(estimate.site, "Guest bath")

    office.post(reverse("quotes:room-in", args=[estimate.pk, second.pk]))
    assert names(estimate) == ["Bath 1", "Guest bath"]
    page = office.post(reverse("quotes:room-out", args=[estimate.pk, second.pk]), follow=True)
    assert names(estimate) == ["Bath 1"]
    assert "“Guest bath” is taken out of the estimate; it stays measured." in page.content.decode()
    assert Room.objects.filter(pk__in=[first.pk, second.pk]).count() == 2
    assert estimate.changes.count() == 2


def test_a_room_is_added_over_somebody_elses_save_and_never_twice(estimate):
    other, by = bath(estimate.site, "Attic bath"), estimate.created_by
    Estimate.objects.filter(pk=estimate.pk).update(revision=7)

    assert estimate_room_add(estimate=estimate, room=other, by=by, at=AT)
    assert not estimate_room_add(estimate=estimate, room=other, by=by, at=AT)
    assert names(estimate) == ["Bath 1", "Attic bath"]
    assert Estimate.objects.get(pk=estimate.pk).revision == 8
    assert estimate_room_remove(estimate=estimate, room=other, by=by, at=AT)
    assert not estimate_room_remove(estimate=estimate, room=other, by=by, at=AT)


def test_a_room_of_another_site_is_refused(estimate):
    elsewhere = bath(SiteFactory.create(), "Elsewhere")

    with pytest.raises(ValidationError, match="another site"):
        estimate_room_add(estimate=estimate, room=elsewhere, by=estimate.created_by, at=AT)


def test_rooms_of_another_estimate_are_not_offered_as_left_over(office, estimate):
    second = estimate_of(0, site=estimate.site)
    estimate_room_add(estimate=second, room=bath(estimate.site, "Attic bath"), by=estimate.created_by, at=AT)
    page = office.get(estimate.get_absolute_url()).content.decode()
    chooser = office.get(reverse("quotes:estimate-rooms", args=[estimate.pk])).content.decode()

    assert "in no estimate yet" not in page
    assert f"(in estimate {second.number})" in chooser


def test_a_new_estimate_ticks_what_nobody_has_priced_yet(estimate):
    fresh = bath(estimate.site, "Attic bath")
    form = NewEstimateForm(site=estimate.site)

    assert form.initial["rooms"] == [fresh]
    assert form.initial["title"] == "Attic bath"
    assert f"Bath 1 (in estimate {estimate.number})" in str(form["rooms"])


def test_a_customer_and_a_site_show_what_was_measured_and_estimated_for_them(office, estimate):
    fresh = bath(estimate.site, "Attic bath")
    for page in (estimate.site.customer.get_absolute_url(), estimate.site.get_absolute_url()):
        shown = office.get(page).content.decode()
        assert f'<a href="{estimate.get_absolute_url()}">{estimate.number} Bath floors</a>' in shown
        assert "being written" in shown
        assert "not quoted yet" in shown
    assert f'<a href="{fresh.get_absolute_url()}">Attic bath</a>' in shown
    assert "1 surface<" in shown

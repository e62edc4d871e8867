"""A room's part of an estimate, as the room's own page shows it."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from contracting.staff.models import User
from estimates.quotes.calculation import calculate
from estimates.quotes.room_panel import room_panel

from .factories import bath, ready

pytestmark = pytest.mark.django_db


def test_the_panel_holds_the_rooms_own_share_of_the_job() -> None:
    found = calculate(ready())
    (room,) = found.rooms

    panel = room_panel(found, room.pk)

    assert panel is not None
    assert 'data-mark="sheet A"' in panel.drawings.wide
    assert panel.man_hours.value == sum(one.hours.value for one in panel.hours)
    assert {one.room for one in panel.hours} == {str(room.pk)}
    assert panel.needs
    # One room makes the whole job: its share of a material is all that the job needs before packs.
    whole = {figure.value for _, _, figure in panel.needs}
    assert found.takeoff is not None
    assert whole <= {figure.value for need in found.takeoff.needs for _, figure in need.by_room}


def test_the_rooms_page_shows_it_without_a_price(client: Client, office_manager: User) -> None:
    estimate = ready()
    room = estimate.estimate_rooms.get().room
    client.force_login(office_manager)
    address = reverse("quotes:room-takeoff", args=[estimate.pk, room.pk])

    page = client.get(f"{reverse('rooms:room', args=[room.pk])}?estimate={estimate.pk}").content.decode()
    panel = client.get(address).content.decode()

    assert f'hx-get="{address}"' in page
    assert "<svg" in panel
    assert "$" not in panel
    # What is counted is said by name, as on the estimate's own page.
    assert re.search(r"<b>\d+ tiles</b>", panel)
    assert " each</b>" not in panel


def test_a_room_of_another_job_is_not_there(client: Client, office_manager: User) -> None:
    estimate = ready()
    other = bath(estimate.site, "Attic bath")
    client.force_login(office_manager)

    assert client.get(reverse("quotes:room-takeoff", args=[estimate.pk, other.pk])).status_code == 404


def test_the_panel_shows_tile_and_batches_beside_the_membrane(client, office_manager):
    estimate = ready(by=office_manager)
    client.force_login(office_manager)
    room = estimate.estimate_rooms.get().room_id

    page = client.get(reverse("quotes:room-takeoff", args=[estimate.pk, room])).content.decode()

    for name in ("plan-wide", "tiled-plan-wide", "batched-plan-narrow"):
        assert page.count(f'id="{name}-title"') == 1
    assert 'data-mark="batch number 1"' in page
    assert 'data-mark="cut tiles' in page

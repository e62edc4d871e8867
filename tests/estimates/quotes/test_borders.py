"""A border chosen for one surface on the materials page: stored, and counted by its own tile."""

import pytest
from django.urls import reverse

from estimates.pricelists.models import Material
from estimates.quotes.calculation import calculate
from estimates.quotes.models import SurfaceTile
from tests.estimates.pricelists.factories import MaterialFactory
from tests.estimates.quotes.factories import ready

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(client, office_manager):
    estimate = ready(by=office_manager)
    client.force_login(office_manager)
    address = reverse("quotes:estimate-materials", args=[estimate.pk])
    form = client.get(address).context["form"]
    typed = {}
    for name in form.fields:
        value = form[name].value()
        if value not in (None, False):
            typed[name] = getattr(value, "typed", value)
    row = estimate.estimate_rooms.get().room
    return estimate, address, typed, f"{row.pk} floor"


def test_a_border_is_counted_by_its_own_tile(client, page):
    estimate, address, typed, name = page
    usual = Material.objects.filter(role="tile", is_usual=True).first()
    edge = MaterialFactory.create(role="tile", name="Border 6 x 6", cents=100)

    saved = client.post(address, typed | {name: str(usual.pk), f"{name} border": str(edge.pk)})

    assert saved.status_code == 302, saved.context["form"].errors
    assert SurfaceTile.objects.get().border == edge
    takeoff = calculate(estimate).takeoff
    tiles = {need.material for need in takeoff.needs if need.role.value == "tile"}
    assert tiles == {f"m{usual.pk}", f"m{edge.pk}"}
    again = client.get(address).context["form"]
    assert again[f"{name} border"].value() == str(edge.pk)


def test_a_border_needs_the_surfaces_own_tile(client, page):
    _, address, typed, name = page
    edge = MaterialFactory.create(role="tile", name="Border 6 x 6", cents=100)

    told = client.post(address, typed | {name: "", f"{name} border": str(edge.pk)})

    assert told.status_code == 200
    assert "own tile here to give it a border" in told.content.decode()
    assert not SurfaceTile.objects.exists()

"""An accent chosen for one surface on the materials page: stored, counted, priced, drawn, frozen, refused in
place."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from estimates.pricelists.models import Material
from estimates.quotes.calculation import calculate
from estimates.quotes.changes.frozen import held_by
from estimates.quotes.drawings import room_plans
from estimates.quotes.models import Estimate, SurfaceAccent
from estimates.quotes.services import quote_issue
from tests.estimates.pricelists.factories import MaterialFactory
from tests.estimates.quotes.factories import AT, ready

pytestmark = pytest.mark.django_db

SIZES = {"width": "18", "height": "1' 6\"", "along": "12 1/2", "base": "10"}


@pytest.fixture
def page(client, office_manager):
    estimate = ready(by=office_manager)
    client.force_login(office_manager)
    address = reverse("quotes:estimate-materials", args=[estimate.pk])
    room = estimate.estimate_rooms.get().room
    return estimate, address, f"{room.pk} floor"


@pytest.fixture
def glass():
    return MaterialFactory.create(role="tile", name="Glass 12 x 24", cents=700)


def typed_on(client, address):
    """What the browser would send back from the page as it stands."""
    form = client.get(address).context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {
        name: getattr(value, "typed", value) for name, value in values.items() if value not in (None, False)
    }


def accent_of(name, tile, **sizes):
    return {f"{name} accent": str(tile.pk)} | {
        f"{name} accent {part}": value for part, value in (SIZES | sizes).items()
    }


def test_an_accent_is_counted_priced_and_drawn_by_its_own_tile(client, page, glass):
    estimate, address, name = page
    before = calculate(Estimate.objects.get(pk=estimate.pk))

    saved = client.post(address, typed_on(client, address) | accent_of(name, glass))

    assert saved.status_code == 302, saved.context["form"].errors
    row = SurfaceAccent.objects.get()
    assert (row.material, row.width.mm, row.height.typed) == (glass, Decimal("457.2"), "1' 6\"")
    assert (row.along.mm, row.base.mm) == (Decimal("317.5"), Decimal("254"))
    found = calculate(estimate)
    needs = {need.material: need for need in found.takeoff.needs}
    # 18 x 18 in = 324 sq in are more than one tile of 12 x 24 in; one of 12 x 18 and one of 5 7/8 x 18 in
    # with a joint between them fill it. One more at most where it breaks.
    assert 2 <= needs[f"m{glass.pk}"].quantity.value <= 3
    lines = {line.key: line for line in found.priced.lines}
    assert any(f"m{glass.pk}" in key for key in lines)
    assert found.priced.price_cents > before.priced.price_cents
    parts = [(one.part.value, one.material) for one in found.takeoff.rooms[0].tiled]
    assert ("accent", f"m{glass.pk}") in parts
    plan = room_plans(found)[name.split()[0]]["tiled"]
    assert 'data-mark="accent' in plan
    assert "border or accent, of another tile" in plan
    assert "border or accent" not in room_plans(before)[name.split()[0]]["tiled"]


def test_what_was_chosen_stands_on_the_page_and_in_the_log(client, page, glass):
    estimate, address, name = page
    client.post(address, typed_on(client, address) | accent_of(name, glass) | {f"{name} accent own": "on"})

    again = typed_on(client, address)

    assert again[f"{name} accent"] == str(glass.pk)
    assert again[f"{name} accent along"] == "12 1/2"
    assert again[f"{name} accent own"] is True
    assert '<details class="more accent" open' in client.get(address).content.decode()
    (change,) = estimate.changes.get().fields
    assert change["name"] == "surface_accents"
    assert "Glass 12 x 24" in change["after"]
    # The same once more changes nothing, and without its tile and sizes it is gone.
    client.post(address, again)
    assert estimate.changes.count() == 1
    bare = {key: value for key, value in again.items() if " accent" not in key}
    client.post(address, bare)
    assert not SurfaceAccent.objects.exists()


def test_what_the_customer_supplies_is_not_charged(client, page, glass):
    estimate, address, name = page
    client.post(address, typed_on(client, address) | accent_of(name, glass) | {f"{name} accent own": "on"})

    need = next(one for one in calculate(estimate).takeoff.needs if one.material == f"m{glass.pk}-own")

    assert need.customer_supplied


def test_the_quote_freezes_it(client, page, glass, office_manager):
    estimate, address, name = page
    client.post(address, typed_on(client, address) | accent_of(name, glass))
    estimate.refresh_from_db()

    quote = quote_issue(estimate=estimate, by=office_manager, at=AT)

    (surface,) = quote.snapshot["paper"]["rooms"][0]["surfaces"]
    assert surface["accent"] == "Glass 12 x 24"
    assert surface["accent_size"].count("1′ 6″") == 2
    # What is measured again later keeps it.
    held = held_by(quote)
    assert held.room_set == calculate(estimate).given.room_set
    assert held.room_set.rooms[0].surfaces[0].tile.accent.width_mm == Decimal("457.2")


@pytest.mark.parametrize(
    ("sizes", "at", "sentence"),
    [
        ({"width": ""}, "accent width", "Say how wide the accent is."),
        ({"height": ""}, "accent height", "Say how high the accent is."),
        ({"width": "0"}, "accent width", "0"),
        ({"along": "a bit"}, "accent along", "“a” is no length"),
        ({"width": "12'"}, "accent", "the accent does not lie wholly on any face of Floor"),
        ({"along": "90"}, "accent", "the accent does not lie wholly on any face of Floor"),
    ],
)
def test_what_does_not_fit_is_told_at_its_field_and_nothing_is_lost(client, page, glass, sizes, at, sentence):
    _, address, name = page
    typed = typed_on(client, address) | accent_of(name, glass, **sizes)

    told = client.post(address, typed)

    assert told.status_code == 200
    form = told.context["form"]
    assert sentence in " ".join(form.errors[f"{name} {at}"])
    assert form[f"{name} accent height"].value() == typed[f"{name} accent height"]
    assert not SurfaceAccent.objects.exists()


def test_sizes_need_a_tile_and_the_accent_a_tiled_surface(client, page, glass):
    _, address, name = page
    typed = typed_on(client, address)

    sizes = client.post(address, typed | {f"{name} accent width": "10"})
    untiled = client.post(address, typed | accent_of(name, glass) | {name: "none"})

    assert "Choose the accent" in " ".join(sizes.context["form"].errors[f"{name} accent"])
    assert untiled.context["form"].errors[f"{name} accent"] == ["A surface without tile has no accent."]


def test_an_accent_in_the_way_of_the_border_is_told_at_the_border(client, page, glass):
    _, address, name = page
    usual = Material.objects.filter(role="tile", is_usual=True).first()
    chosen = {name: str(usual.pk), f"{name} border": str(glass.pk)}

    told = client.post(
        address, typed_on(client, address) | accent_of(name, glass, along="1", base="1") | chosen
    )

    assert "or the accent" in " ".join(told.context["form"].errors[f"{name} border"])


@pytest.mark.parametrize(
    "wrong", [{"width_units": 0}, {"height_units": 0}, {"pattern": "zigzag"}, {"surface_key": "floor"}]
)
def test_the_database_keeps_the_promise(page, glass, wrong):
    estimate = page[0]
    room = estimate.estimate_rooms.get().room
    row = {"estimate": estimate, "room": room, "material": glass, "width_units": 1, "height_units": 1}
    SurfaceAccent.objects.create(**row, surface_key="floor")

    with pytest.raises(IntegrityError), transaction.atomic():
        SurfaceAccent.objects.create(**{**row, "surface_key": "wall", **wrong})

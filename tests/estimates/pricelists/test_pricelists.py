"""The price list: constraints, services, price files, pages."""

import datetime
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse

from estimates.pricelists import price_files, selectors, services
from estimates.pricelists.measures import from_millionths
from estimates.pricelists.models import (
    AgentUse,
    Material,
    MaterialFact,
    MaterialRole,
    Price,
    Supplier,
    TileUse,
)
from estimates.takeoff.errors import DomainError
from estimates.takeoff.materials import PACK_UNITS, check_material
from estimates.takeoff.model import BondMethod, Role

from .factories import MaterialFactory, SupplierFactory, usual_price_list

pytestmark = pytest.mark.django_db
DAY = datetime.date(2026, 6, 1)


def test_roles_are_those_of_the_core():
    """The database knows exactly the roles that the takeoff knows."""
    assert set(AgentUse.values) == {method.value for method in BondMethod}
    assert set(MaterialRole.values) == {role.value for role in Role} == {role.value for role in PACK_UNITS}


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("material_role_known", {"role": "paint"}),
        ("material_use_fits_its_role", {"role": "grout", "use": TileUse.WALL}),
        ("material_has_name_and_code", {"name": ""}),
        ("material_pack_positive", {"pack_millionths": 0}),
        ("material_waste_at_most_double", {"waste_basis_points": 10001}),
        ("material_usual_is_sold", {"is_usual": True, "is_active": False}),
    ],
)
def test_constraints_of_a_material(name, values):
    """The database refuses what a form may have let through."""
    row = MaterialFactory.create()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        Material.objects.filter(pk=row.pk).update(**values)


def test_one_usual_material_a_role_and_use():
    """Two usual grouts cannot be; two tiles for different uses and two roll sizes can."""
    MaterialFactory.create(role="tile", use="wall", is_usual=True)
    MaterialFactory.create(role="tile", use="floor", is_usual=True)
    MaterialFactory.create(role="membrane", is_usual=True)
    MaterialFactory.create(role="membrane", is_usual=True)
    MaterialFactory.create(role="grout", is_usual=True)
    with pytest.raises(IntegrityError), transaction.atomic():
        MaterialFactory.create(role="grout", is_usual=True)


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("supplier_has_name", lambda row: Supplier.objects.create(name="")),
        ("price_believable", lambda row: Price.objects.create(material=row, starts_on=DAY, cents=10**11)),
        (
            "material_fact_positive",
            lambda row: MaterialFact.objects.create(material=row, name="x", value_millionths=0, unit="in"),
        ),
    ],
)
def test_other_constraints(name, make):
    """No nameless supplier, no price of a hundred million, no data-sheet value of nothing."""
    row = MaterialFactory.create()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make(row)


def test_price_and_fact_are_unique():
    """A material has one price a day and one value of a name."""
    row = MaterialFactory.create(cents=100)
    with pytest.raises(IntegrityError), transaction.atomic():
        Price.objects.create(material=row, starts_on=datetime.date(2026, 1, 1), cents=5)
    with pytest.raises(IntegrityError), transaction.atomic():
        MaterialFact.objects.create(material=row, name="width", value_millionths=5, unit="in")


@pytest.mark.parametrize(
    ("day", "cents"),
    [
        ("2025-12-31", None),
        ("2026-01-01", 4850),
        ("2026-06-30", 4850),
        ("2026-07-01", 5200),
        ("2027-07-01", 5200),
    ],
)
def test_the_price_on_a_day_is_the_newest_that_has_started(day, cents):
    """No end dates, so no gaps and no overlaps."""
    row = MaterialFactory.create(cents=4850)
    services.price_set(material=row, starts_on=datetime.date(2026, 7, 1), cents=5200)
    offered = selectors.materials_on(datetime.date.fromisoformat(day), [row.pk])[row.pk]

    assert offered.cents == cents


@pytest.mark.parametrize("count", [2, 20])
def test_materials_on_a_day_take_two_queries(count, django_assert_num_queries):
    """However many materials: rows with prices, and their facts."""
    pks = [MaterialFactory.create(cents=100).pk for _ in range(count)]
    with django_assert_num_queries(2):
        offered = selectors.materials_on(DAY, pks)
    assert len(offered) == count
    for found in offered.values():
        check_material(found.material)


def test_a_new_usual_material_takes_the_place_of_the_old():
    """Saving is enough; nobody has to untick the old one first."""
    old = MaterialFactory.create(role="grout", is_usual=True)
    new = MaterialFactory.create(role="grout")
    new.is_usual = True
    facts = {"density": from_millionths(1_900_000, "kg/L")}
    services.material_save(material=new, facts=facts)
    old.refresh_from_db()

    assert (old.is_usual, new.is_usual) == (False, True)


def test_a_material_without_its_data_sheet_is_refused_whole():
    """The core names what is missing, and nothing is stored."""
    row = Material(
        role="grout",
        name="x",
        code="x",
        supplier=SupplierFactory.create(),
        pack_label="bag",
        pack_millionths=25_000_000,
        pack_unit="lb",
    )
    with pytest.raises(DomainError, match="lacks its Density"):
        services.material_save(material=row, facts={})
    assert not Material.objects.exists()


# --- Price files ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"PK\x03\x04rest", "This is a spreadsheet"),
        (b"%PDF-1.7", "not a text file"),
        (b"material code\x00", "not a text file"),
        ("material code;starts on;prix\xe9".encode("latin-1"), "not UTF-8"),
        (b"  \n", "is empty"),
        (b"x" * 1_000_001, "larger than 1 MB"),
    ],
)
def test_what_is_no_price_file_is_refused(content, says):
    """Whatever its name says."""
    with pytest.raises(price_files.FileRefused, match=says):
        price_files.decode(content)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("code,price\n1,2\n", "missing: material code, starts on"),
        ("material code,starts on,price\n\n", "no prices"),
        ('material code,starts on,price\n"a"b,2026-01-01,5\n', "not CSV"),
        ("material code,starts on,price\n" + "a,2026-01-01,5\n" * 5001, "more than 5000 lines"),
    ],
)
def test_a_file_without_its_columns_is_refused(text, says):
    """With the columns it should have."""
    with pytest.raises(price_files.FileRefused, match=says):
        price_files.read_prices(text)


def test_every_line_says_what_is_wrong_with_it():
    """Unknown code, unread date, unread price, twice the same day."""
    MaterialFactory.create(code="A1")
    rows = price_files.read_prices(
        "price;material code;starts on;ours\n48.50;A1;2026-07-01;x\n5;B2;2026-07-01\n"
        "5;A1;07/01/2026\n4.855;A1;2026-08-01\n-5;A1;2026-08-01\n6;A1;2026-07-01\n5;;2026-07-01\n"
    )

    assert [(row.line, row.error) for row in rows] == [
        (2, ""),
        (3, "No material has the code “B2”."),
        (4, "Read “07/01/2026”: expected a date such as 2027-01-15."),
        (5, "Read “4.855”: expected a price such as 48.50."),
        (6, "Read “-5”: expected a price such as 48.50."),
        (7, "Line 2 already has a price of this material from that day."),
        (8, "The material code is missing."),
    ]


def test_import_is_all_or_nothing(client, office_manager):
    """With one wrong line nothing is stored; mended, a preview, then the prices."""
    row = MaterialFactory.create(code="A1", cents=4850)
    client.force_login(office_manager)
    address = reverse("pricelists:import")
    bad = b"material code,starts on,price\nA1,2026-07-01,52\nZZ,2026-07-01,52\n"
    page = client.post(address, {"file": SimpleUploadedFile("p.csv", bad)})

    assert "1 line cannot be used, so nothing is stored" in page.text
    assert "No material has the code “ZZ”." in page.text
    forced = client.post(address, {"text": bad.decode()})
    assert "Nothing was stored" in forced.text
    assert row.prices.count() == 1

    good = b"\xef\xbb\xbfmaterial code,starts on,price\nA1,2026-07-01,52\nA1,2026-01-01,49.90\n"
    preview = client.post(address, {"file": SimpleUploadedFile("p.csv", good)})
    assert "2 prices were read without an error" in preview.text
    assert "replaces $48.50" in preview.text
    assert row.prices.count() == 1

    client.post(address, {"text": preview.context["form"].initial["text"]})
    assert list(row.prices.values_list("cents", flat=True)) == [5200, 4990]


def test_a_spreadsheet_by_another_name_gets_a_sentence(client, office_manager):
    """No 500, and the page is there to try again."""
    client.force_login(office_manager)
    page = client.post(reverse("pricelists:import"), {"file": SimpleUploadedFile("p.csv", b"PK\x03\x04")})
    assert "This is a spreadsheet, whatever its name says" in page.text


def test_the_saved_list_reads_back(client, office_manager):
    """What is exported can be imported; a name that looks like a formula is made harmless."""
    MaterialFactory.create(code="A1", name="=1+1", cents=4850)
    client.force_login(office_manager)
    text = client.get(reverse("pricelists:export")).text

    assert "'=1+1" in text
    rows = price_files.read_prices(text)
    assert [(row.code, row.cents, row.error) for row in rows] == [("A1", 4850, "")]


# --- Pages ------------------------------------------------------------------------------------------------


def test_price_list_page_says_todays_price_and_the_next(client, office_manager, time_machine):
    """By kind, with what is missing marked."""
    time_machine.move_to("2026-06-01 12:00Z")
    row = MaterialFactory.create(role="grout", cents=4850, is_usual=True)
    services.price_set(material=row, starts_on=datetime.date(2026, 7, 1), cents=5200)
    MaterialFactory.create(role="mortar")
    client.force_login(office_manager)
    text = client.get(reverse("pricelists:materials")).text

    assert "$48.50" in text
    assert "$52.00" in text
    assert "no price" in text


@pytest.mark.parametrize("count", [2, 20])
def test_price_list_page_takes_the_same_queries(count, client, office_manager, django_assert_max_num_queries):
    """Five and no more: session, user, count, page, company."""
    for _ in range(count):
        MaterialFactory.create(cents=100)
    client.force_login(office_manager)
    with django_assert_max_num_queries(6):
        client.get(reverse("pricelists:materials"))


def test_a_material_is_entered_with_its_units(client, office_manager):
    """Typed as printed, kept as printed; a wrong unit is told beside its field and nothing is lost."""
    supplier = SupplierFactory.create()
    client.force_login(office_manager)
    address = reverse("pricelists:material-new") + "?role=bonding+agent"
    typed = {
        "name": "Own agent",
        "code": "BA-3",
        "supplier": supplier.pk,
        "pack_label": "pail",
        "waste": "10",
        "is_active": "on",
        "is_usual": "on",
        "pack": "3 gal",
        "fact_coverage_smooth": "55 sq ft/gal",
        "fact_coverage_rough": "40 lb",
        "fact_open_time": "15 min",
        "fact_wait_non_porous": "15 min",
        "fact_cure": "2 h",
        "price": "84.90",
        "price_from": "2026-01-01",
    }
    refused = client.post(address, typed)
    assert "Read “40 lb”: expected a figure such as 12 sq ft/gal." in refused.text
    assert 'value="55 sq ft/gal"' in refused.text

    client.post(address, typed | {"fact_coverage_rough": "40"})
    row = Material.objects.get()
    assert (row.pack_millionths, row.pack_unit, row.waste_basis_points) == (3_000_000, "gal", 1000)
    assert row.facts.get(name="coverage rough").value_millionths == 40_000_000
    assert row.prices.get().cents == 8490
    shown = client.get(row.get_absolute_url()).text
    assert "55\u202fsq ft/gal" in shown


def test_a_code_that_is_taken_is_told(client, office_manager):
    """The database's uniqueness comes back as a sentence."""
    MaterialFactory.create(code="A1")
    row = MaterialFactory.create(role="sealant")
    client.force_login(office_manager)
    page = client.post(
        reverse("pricelists:material-edit", args=[row.pk]),
        {
            "name": "x",
            "code": "A1",
            "supplier": row.supplier_id,
            "pack_label": "c",
            "pack": "10 fl oz",
            "is_active": "on",
        },
    )
    assert "Material with this Code already exists." in page.text


def test_price_is_added_and_removed(client, office_manager):
    """From a day on; an unread price stays in the form with its reason."""
    row = MaterialFactory.create()
    client.force_login(office_manager)
    address = reverse("pricelists:price-add", args=[row.pk])
    assert "expected an amount" in client.post(address, {"price_from": "2026-01-01", "price": "lots"}).text
    client.post(address, {"price_from": "2026-01-01", "price": "1,048.50"})
    price = row.prices.get()
    assert price.cents == 104850
    client.post(reverse("pricelists:price-remove", args=[price.pk]))
    assert not row.prices.exists()


def test_supplier_pages(client, office_manager):
    """Added, changed, listed with what is bought there."""
    client.force_login(office_manager)
    client.post(reverse("pricelists:supplier-new"), {"name": "Invented Supply", "is_active": "on"})
    supplier = Supplier.objects.get()
    MaterialFactory.create(supplier=supplier, name="Plain white", cents=100)
    assert "Plain white" in client.get(supplier.get_absolute_url()).text
    assert "Invented Supply" in client.get(reverse("pricelists:suppliers")).text
    again = client.post(reverse("pricelists:supplier-new"), {"name": "Invented Supply"})
    assert "already exists" in again.text


def test_installers_see_no_prices(client, installer):
    """403 at every address of the price list."""
    row = MaterialFactory.create(cents=100)
    client.force_login(installer)
    for name, arguments in [
        ("materials", []),
        ("material-new", []),
        ("material", [row.pk]),
        ("material-edit", [row.pk]),
        ("suppliers", []),
        ("supplier", [row.supplier_id]),
        ("supplier-new", []),
        ("supplier-edit", [row.supplier_id]),
        ("import", []),
        ("export", []),
    ]:
        assert client.get(reverse(f"pricelists:{name}", args=arguments)).status_code == 403, name
    assert client.post(reverse("pricelists:price-add", args=[row.pk])).status_code == 403
    assert client.post(reverse("pricelists:price-remove", args=[row.prices.get().pk])).status_code == 403


def test_the_usual_price_list_is_whole():
    """The factory used by the estimate's tests gives every role a data sheet that the core accepts."""
    rows = usual_price_list()
    for offered in selectors.materials_on(DAY, [row.pk for row in rows.values()]).values():
        check_material(offered.material)
    assert {row.role for row in selectors.usual_materials()} == set(MaterialRole.values)


@pytest.mark.parametrize(
    ("label", "holds", "unit", "said"),
    [("bag", 1, "each", "bag"), ("box", 15, "each", "box of 15"), ("pail", 2, "gal", "pail, 2 gal")],
)
def test_a_pack_is_said_as_the_yard_says_it(client, office_manager, label, holds, unit, said):
    role = "bonding agent" if unit == "gal" else "tile"
    MaterialFactory.create(
        role=role, pack_label=label, pack_millionths=holds * 1_000_000, pack_unit=unit, name="Some stuff"
    )
    client.force_login(office_manager)

    page = client.get(reverse("pricelists:materials")).content.decode()

    assert f'<td data-label="Pack">{said}</td>' in re.sub(r"\s+</td>", "</td>", page)

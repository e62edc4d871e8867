"""The purchase list: what is in stock, ordered, received and to come, and who may say so."""

import datetime
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from jobs.margins.models import Ledger
from jobs.margins.services import MaterialPart, StepPart, budget_change
from jobs.work.daily import services as daily
from jobs.work.models import DeliveryEntry, SupplyEntry
from jobs.work.papers import purchase_list_context, purchase_list_request
from jobs.work.supply import selectors, services
from tests.jobs.margins import factories as margins
from tests.jobs.work.factories import job as sold_job

pytestmark = pytest.mark.django_db
PACK = 1_000_000


@pytest.fixture
def job(installer, office_manager):
    """Two rolls of membrane (m1) and thirty boxes of tile (m2), by tests/jobs/margins/factories.py."""
    return margins.job(installer)


def line(job, key="m2"):
    return next(one for one in selectors.lines_of(job) if one.planned.key == key)


def packs(job, key="m2"):
    one = line(job, key)
    return {
        name: getattr(one, name) / PACK
        for name in ("to_buy", "ordered", "received", "returned", "to_order", "to_come", "over")
    }


def receive(job, by, count, key="m2", **values):
    return services.line_receive(
        key=uuid.uuid4(), job=job, by=by, material_key=key, packs_millionths=count * PACK, **values
    )


def stock(job, by, count, note, key="m2"):
    return services.stock_set(
        key=uuid.uuid4(), job=job, by=by, material_key=key, packs_millionths=count * PACK, note=note
    )


def order(job, by, count, key="m2", **values):
    return services.order_log(
        key=uuid.uuid4(), job=job, by=by, material_key=key, packs_millionths=count * PACK, **values
    )


def test_a_line_counts_from_needed_over_stock_and_orders_to_received(job, installer, office_manager):
    """By hand: 30 needed, 4 in stock, 26 to buy; 20 ordered, 15 came, 1 of them broken and sent back."""
    services.stock_set(
        key=uuid.uuid4(),
        job=job,
        by=installer,
        material_key="m2",
        packs_millionths=4 * PACK,
        note="In the van",
    )
    order(job, office_manager, 20, reference="PO 17", expected_on=datetime.date(2999, 1, 1))
    receive(job, installer, 15, lot_numbers="L 1, L 2")
    receive(job, installer, -1)

    assert packs(job) == {
        "to_buy": 26, "ordered": 20, "received": 14, "returned": 1, "to_order": 6, "to_come": 12, "over": 0,
    }  # fmt: skip
    assert line(job).lots == "L 1, L 2"
    assert line(job).expected_on == datetime.date(2999, 1, 1)


def test_more_than_needed_is_shown_and_stays(job, installer):
    receive(job, installer, 33)
    assert packs(job)["over"] == 3
    assert packs(job)["to_come"] == packs(job)["to_order"] == 0


def test_what_came_without_an_order_need_not_be_ordered(job, installer, office_manager):
    receive(job, installer, 30)
    receive(job, installer, 2, "m1")
    with pytest.raises(ValidationError, match="Everything of this supplier is ordered or here"):
        services.order_rest(key=uuid.uuid4(), job=job, by=office_manager, supplier="")


def test_the_rest_of_a_supplier_is_ordered_once(job, office_manager):
    order(job, office_manager, 10)
    key = uuid.uuid4()
    for _ in range(2):
        made = services.order_rest(key=key, job=job, by=office_manager, supplier="", reference="PO 18")
        assert {(one.material_key, one.packs_millionths // PACK) for one in made} == {("m1", 2), ("m2", 20)}
    assert packs(job)["to_order"] == 0
    assert SupplyEntry.objects.count() == 3


def test_an_order_taken_back_counts_no_more_and_stays_on_record(job, office_manager):
    made = order(job, office_manager, 30)
    services.order_strike(key=uuid.uuid4(), order=made, by=office_manager)
    assert packs(job)["ordered"] == 0
    assert SupplyEntry.objects.count() == 2
    with pytest.raises(ValidationError, match="taken this order back already"):
        services.order_strike(key=uuid.uuid4(), order=made, by=office_manager)


def test_the_newest_word_on_stock_counts_and_needs_a_reason(job, installer):
    def say(count, note="Shelf 3"):
        return stock(job, installer, count, note)

    with pytest.raises(ValidationError, match="Say where they lie"):
        say(2, "")
    with pytest.raises(ValidationError, match="needs no more than the list says"):
        say(31)
    with pytest.raises(ValidationError, match="Nothing of this was said to be in stock"):
        say(0, "")
    say(2)
    say(5)
    assert packs(job)["to_buy"] == 25
    say(0, "")
    assert packs(job)["to_buy"] == 30
    assert SupplyEntry.objects.count() == 3


def test_the_crew_receive_and_tell_of_stock_and_order_nothing(job, installer):
    with pytest.raises(PermissionDenied):
        order(job, installer, 1)
    with pytest.raises(PermissionDenied):
        services.order_rest(key=uuid.uuid4(), job=job, by=installer, supplier="")


def test_a_line_received_twice_with_one_key_came_once_and_costs_as_foreseen(job, installer):
    key = uuid.uuid4()
    for _ in range(2):
        services.line_receive(
            key=key, job=job, by=installer, material_key="m2", packs_millionths=30 * PACK, lot_numbers="L"
        )
    assert DeliveryEntry.objects.get().cost_cents == 90_000
    assert Ledger.objects.get(job=job).material_cents == 90_000


def test_a_signed_change_adds_to_the_list(job, office_manager):
    budget_change(
        job=job,
        key=uuid.uuid4(),
        title="A niche",
        agreed_on=margins.DAY,
        price_cents=10_000,
        steps=[StepPart("tile", material_cents=6_000)],
        materials=[MaterialPart("m2", "Floor tile 12 in", "box", "tile", 2 * PACK, 6_000)],
    )
    assert packs(job)["to_buy"] == 32


def test_what_the_customer_supplies_is_received_with_its_lots_and_costs_nothing(installer, office_manager):
    job = margins.job(installer)
    tile = {"key": "m9", "role": "tile", "name": "Her own tile", "packs": "5", "pack": "box"}
    job.quote.snapshot["work"]["materials"].append(tile | {"customer_supplied": True})
    made = receive(job, installer, 5, "m9", lot_numbers="B 2")

    assert (made.cost_cents, made.is_cost_confirmed, made.material_name) == (0, True, "Her own tile")
    assert Ledger.objects.get(job=job).open_cost_count == 0
    (customers,) = selectors.customers_lines(selectors.lines_of(job))
    assert (customers.to_come, customers.lots) == (0, "B 2")
    with pytest.raises(ValidationError, match="there is nothing to order"):
        order(job, office_manager, 1, "m9")


@pytest.mark.django_db(transaction=True)
def test_of_two_who_order_the_rest_at_once_nothing_is_ordered_twice(installer, office_manager, owner):
    job = margins.job(installer)

    def rest(by):
        try:
            return services.order_rest(key=uuid.uuid4(), job=job, by=by, supplier="")
        except ValidationError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as people:
        answers = list(people.map(rest, [office_manager, owner] * 4))

    assert sum(isinstance(answer, list) for answer in answers) == 1
    assert SupplyEntry.objects.count() == 2


def test_the_database_keeps_orders_and_stock(job, office_manager):
    made = order(job, office_manager, 3)
    common = {
        "job": job, "day": margins.DAY, "by": office_manager, "at": made.at, "material_key": "m2",
        "material_name": "Tile", "packs_millionths": PACK, "kind": "order",
    }  # fmt: skip
    rows = [
        {"kind": "gift"},
        {"packs_millionths": 0},
        {"material_key": ""},
        {"kind": "stock"},
        {"kind": "stock", "note": "Shelf", "reference": "PO"},
    ]
    for change in (
        lambda: SupplyEntry.objects.filter(pk=made.pk).update(packs_millionths=PACK),
        *(lambda row=row: SupplyEntry.objects.create(key=uuid.uuid4(), **common | row) for row in rows),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


def post(client, job, name, **values):
    return client.post(reverse(f"work:purchases-{name}", args=[job.pk]), {"key": str(uuid.uuid4()), **values})


def page(client, job):
    return client.get(reverse("work:purchases", args=[job.pk])).content.decode()


def test_an_installer_receives_a_line_in_one_tap_and_sees_no_money(client, installer, job):
    client.force_login(installer)
    shown = page(client, job)
    assert 'value="30"' in shown
    for secret in ("$", "invoice", "Ordered all", "take it back"):
        assert secret not in shown
    answer = post(client, job, "receive", material_key="m2", packs_millionths="30", lot_numbers="L 9")

    assert answer.status_code == 302
    assert DeliveryEntry.objects.get().lot_numbers == "L 9"
    assert "all here" in page(client, job)
    assert "$" not in page(client, job)


def test_the_office_orders_and_enters_the_invoice_on_the_page(client, office_manager, installer, job):
    receive(job, installer, 15)
    client.force_login(office_manager)
    post(client, job, "order-rest", supplier="", reference="PO 19", expected_on="2026-06-10")
    assert "PO 19" in page(client, job)
    made = SupplyEntry.objects.get(material_key="m1")
    post(client, job, "order-strike", order=made.pk)
    delivery = DeliveryEntry.objects.get()
    bad = post(client, job, "invoice", delivery=delivery.pk, cost_cents="a lot")
    assert "Read “a lot”" in bad.content.decode()
    assert 'value="a lot"' in bad.content.decode()
    post(client, job, "invoice", delivery=delivery.pk, cost_cents="512.50")

    assert DeliveryEntry.objects.get(supersedes=delivery).cost_cents == 51_250
    assert packs(job, "m1")["ordered"] == 0


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("receive", {"material_key": "m2", "packs_millionths": "many"}, "Enter a number."),
        ("receive", {"material_key": "m2", "packs_millionths": "0"}, "greater than or equal to 0.001"),
        ("receive", {"material_key": "nothing", "packs_millionths": "1"}, "Say what came"),
        ("stock", {"material_key": "m2", "packs_millionths": "2", "note": ""}, "Say where they lie"),
        ("stock", {"material_key": "gone", "packs_millionths": "2", "note": "Van"}, "not on the job"),
        ("order", {"material_key": "m2", "packs_millionths": "2", "expected_on": "soon"}, "valid date"),
        ("order-strike", {"order": "x"}, "Not saved yet."),
    ],
)
def test_a_wrong_act_is_told_on_the_page(client, office_manager, job, name, values, said):
    client.force_login(office_manager)
    answer = post(client, job, name, **values)
    assert answer.status_code == 200
    assert said in answer.content.decode()


def test_somebody_else_s_order_or_delivery_is_not_there(client, office_manager, installer, job):
    other = margins.job(installer)
    foreign = order(other, office_manager, 1)
    came = receive(other, installer, 1)
    client.force_login(office_manager)
    assert post(client, job, "order-strike", order=foreign.pk).status_code == 404
    assert post(client, job, "invoice", delivery=came.pk, cost_cents="1").status_code == 404


def test_the_paper_is_a_snapshot_less_stock(office_manager, installer):
    job = sold_job(crew=(installer,), by=office_manager)
    first = next(one for one in selectors.lines_of(job) if one.planned.packs_millionths >= PACK)
    services.stock_set(
        key=uuid.uuid4(), job=job, by=installer, material_key=first.planned.key, packs_millionths=PACK,
        note="Shelf 2",
    )  # fmt: skip
    document = purchase_list_request(job=job, by=office_manager)
    rows = [row for _name, rows in purchase_list_context(document.snapshot)["suppliers"] for row in rows]
    row = next(row for row in rows if row["key"] == first.planned.key)

    assert row["in_stock"] == "1"
    assert int(row["packs"]) - int(row["buy"]) == 1
    assert "cents" not in str(document.snapshot["materials"])
    services.stock_set(
        key=uuid.uuid4(), job=job, by=installer, material_key=first.planned.key, packs_millionths=0, note=""
    )
    document.refresh_from_db()
    again = purchase_list_context(document.snapshot)
    assert any(row.get("in_stock") == "1" for _name, rows in again["suppliers"] for row in rows)


def test_the_page_reads_as_many_queries_for_many_entries(
    client, office_manager, installer, job, django_assert_max_num_queries
):
    client.force_login(office_manager)
    counts = []
    for wanted in (2, 20):
        while DeliveryEntry.objects.count() < wanted:
            receive(job, installer, 1)
            order(job, office_manager, 1)
        with django_assert_max_num_queries(16) as counted:
            page(client, job)
        counts.append(len(counted))
    assert counts[0] == counts[1]


def test_a_callback_s_material_is_no_delivery_of_the_list(job, office_manager):
    daily.delivery_log(
        act=margins.act(job, office_manager), material_key="m2", packs_millionths=PACK, step="callback"
    )
    assert packs(job)["received"] == 0
    assert selectors.not_on_the_list(job, selectors.lines_of(job)) == []


def test_the_next_order_typed_into_an_old_form_is_refused_and_not_called_ordered(office_manager):
    """Somebody goes back in the browser, where the form still has its key."""
    job = sold_job()
    first, second = [line for line in selectors.lines_of(job) if not line.planned.is_customers][:2]
    given = {"key": uuid.uuid4(), "job": job, "by": office_manager, "packs_millionths": PACK}
    made = services.order_log(**given, material_key=first.planned.key)

    assert services.order_log(**given, material_key=first.planned.key) == made
    with pytest.raises(ValidationError, match="has this key already"):
        services.order_log(**given, material_key=second.planned.key)
    with pytest.raises(ValidationError, match="has this key already"):
        services.order_log(**given | {"packs_millionths": 2 * PACK}, material_key=first.planned.key)
    with pytest.raises(ValidationError, match="has this key already"):
        services.stock_set(**given, material_key=first.planned.key, note="Second shelf")

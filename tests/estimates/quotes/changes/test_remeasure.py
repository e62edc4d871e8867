"""Rooms measured again: the quote's prices and practice, and the difference to what was frozen."""

import json

import pytest
from django.core.exceptions import ValidationError

from contracting.staff.models import LabourCost
from estimates.practice.selectors import company_practice
from estimates.pricelists.models import Price
from estimates.quotes.calculation import calculate
from estimates.quotes.changes import remeasure, services
from estimates.quotes.changes.frozen import held_by, read_back
from estimates.quotes.models import Estimate
from estimates.quotes.snapshot import plain
from estimates.takeoff import model
from estimates.takeoff.practice import Practice
from jobs.inspections.models import PlannedCheck
from jobs.inspections.services import plan_follows_change, plan_from_job
from jobs.margins.models import BudgetMaterial, Ledger
from jobs.work import papers
from jobs.work.supply.selectors import lines_of
from tests.contracting.factories import UserFactory
from tests.estimates.quotes.factories import bath

from .factories import draft, job_of_lines, job_of_rooms, measured_again, now, today

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return job_of_rooms()


def only_room(job):
    return job.quote.estimate.estimate_rooms.get().room


def test_what_was_frozen_is_read_back_exactly(job):
    frozen = job.quote.snapshot
    practice = read_back(Practice, frozen["office"]["practice"])
    assert practice == company_practice()
    assert json.loads(json.dumps(plain(practice))) == frozen["office"]["practice"]
    rooms = read_back(model.RoomSet, frozen["work"]["room_set"])
    assert json.loads(json.dumps(plain(rooms))) == frozen["work"]["room_set"]


def test_the_same_measurements_change_nothing(job):
    found = remeasure.measure(job.quote, [only_room(job)])
    assert (found["steps"], found["materials"], found["drift_cents"]) == ([], [], 0)


def test_a_longer_room_costs_more_at_the_prices_of_the_quote(job):
    room = measured_again(only_room(job), long=120)
    found = remeasure.measure(job.quote, [room])

    steps = {row["step"]: row for row in found["steps"]}
    assert steps["tile"]["price_cents"] > 0
    assert steps["tile"]["minutes"] > 0
    assert all(row["after_cents"] - row["before_cents"] == row["price_cents"] for row in found["steps"])
    # By hand: two walls are 2 ft longer each, so 4 ft more of changes of plane; 2 ft by 5 ft more of floor
    # take at least 10 sq ft more of membrane.
    [figures] = found["figures"]
    more = {one["label"]["message"]: float(one["after"]) - float(one["before"]) for one in figures["figures"]}
    assert more["Changes of plane under strips"] == 4
    assert more["Membrane cut for this room"] >= 10

    # Dearer wages, prices and another practice of today do not touch it.
    LabourCost.objects.create(starts_on="2026-01-02", pay_cents_per_hour=9900, burden_basis_points=9000)
    Price.objects.update(cents=99_999)
    Estimate.objects.filter(pk=job.quote.estimate_id).update(profit_basis_points=9000)
    again = remeasure.measure(job.quote, [room])
    assert again["steps"] == found["steps"]


def test_the_difference_is_that_of_a_quote_of_the_longer_room():
    """The way round: the frozen quote and the difference make the quote that the longer room would get."""
    job = job_of_rooms()
    room = measured_again(only_room(job), long=120)
    found = remeasure.measure(job.quote, [room])
    fresh = job_of_rooms(first=False)
    estimate = fresh.quote.estimate
    estimate.estimate_rooms.all().delete()
    estimate.estimate_rooms.create(room=measured_again(bath(estimate.site, "Longer"), long=120))
    priced = calculate(Estimate.objects.get(pk=estimate.pk)).priced
    difference = sum(row["price_cents"] for row in found["steps"])
    assert job.quote.price_cents + difference == priced.price_cents


def test_an_extra_room_can_be_added(job):
    extra = bath(job.quote.site, "Second bath")
    found = remeasure.measure(job.quote, [extra])
    assert found["rooms"] == [{"key": str(extra.pk), "name": "Second bath", "is_new": True}]
    assert sum(row["price_cents"] for row in found["steps"]) > 0


def test_a_room_added_by_a_signed_change_belongs_to_the_job_from_then_on(job):
    order = draft(job.quote)
    order = services.change_measure(
        order=order, revision=order.revision, rooms=[bath(job.quote.site, "Second bath")]
    )
    order = services.change_issue(order=order, by=UserFactory(), at=now())
    services.change_accept_on_paper(order=order, name="Ada", signed_on=today(), by=UserFactory())

    assert [room["name"] for room in papers.work_of(job)["rooms"]] == ["Bath 1", "Second bath"]
    again = remeasure.measure(job.quote, [only_room(job)])
    assert (again["steps"], again["materials"], again["drift_cents"]) == ([], [], 0)


def test_a_room_added_by_a_signed_change_is_inspected_too(job):
    plan_from_job(job=job, by=UserFactory())
    before = list(PlannedCheck.objects.order_by("pk").values())
    order = draft(job.quote)
    order = services.change_measure(
        order=order, revision=order.revision, rooms=[bath(job.quote.site, "Guest bath")]
    )
    order = services.change_issue(order=order, by=UserFactory(), at=now())
    services.change_accept_on_paper(order=order, name="R. Moss", signed_on=today(), by=UserFactory())

    rows = PlannedCheck.objects.order_by("pk")
    assert list(rows.values())[: len(before)] == before
    added = rows[len(before) :]
    assert {row.room_name for row in added} == {"Guest bath"}
    first = {(row["key"], row["surface_name"]) for row in before if row["room_name"] == "Bath 1"}
    assert {(row.key, row.surface_name) for row in added} == first

    # Followed twice, nothing is added twice.
    assert plan_follows_change(order=order, by=UserFactory()) == []


def measured_order(job, long=120):
    order = draft(job.quote, *[])
    measured_again(only_room(job), long=long)
    return services.change_measure(order=order, revision=order.revision, rooms=[only_room(job)])


def test_measured_and_signed_it_moves_budget_work_and_materials(job):
    before = Ledger.objects.get(job=job)
    order = services.change_issue(order=measured_order(job), by=UserFactory(), at=now())
    services.change_accept_on_paper(order=order, name="Ada", signed_on=today(), by=UserFactory())

    after = Ledger.objects.get(job=job)
    assert after.price_cents - before.price_cents == order.price_cents
    assert after.budget_cents - before.budget_cents == order.cost_cents
    packs = {row["key"]: row["packs"] for row in order.measured["materials"]}
    assert packs
    added = BudgetMaterial.objects.filter(budget__job=job, change__isnull=False)
    assert {row.material_key for row in added} >= set(packs)
    # The crew's pages show the room as it is now.
    work = papers.work_of(job)
    assert work["room_set"] == order.snapshot["work"]["whole"]["room_set"]
    assert work["changes"][0]["rooms"][0]["figures"]
    assert "cents" not in json.dumps(work)


def test_the_purchase_list_describes_what_the_measured_change_needs(job):
    before = {line.planned.key: line.described for line in lines_of(job)}
    order = services.change_issue(order=measured_order(job), by=UserFactory(), at=now())
    services.change_accept_on_paper(order=order, name="Ada", signed_on=today(), by=UserFactory())

    sold = {one["key"]: one for one in papers.work_of(job)["materials"]}
    told = {line.planned.key: line.described for line in lines_of(job)}
    assert {key: one.quantity for key, one in told.items()} == {key: sold[key]["quantity"] for key in told}
    assert any(told[key].quantity != one.quantity for key, one in before.items())
    assert {key: one.supplier for key, one in told.items()} == {
        key: one.supplier for key, one in before.items()
    }


def test_a_second_measurement_is_compared_with_the_first_signed_one(job):
    first = services.change_issue(order=measured_order(job, 120), by=UserFactory(), at=now())
    late = measured_order(job, 120)
    late = services.change_issue(order=late, by=UserFactory(), at=now())
    accept = {"name": "Ada", "signed_on": today(), "by": UserFactory()}
    services.change_accept_on_paper(order=first, **accept)

    with pytest.raises(ValidationError, match="signed since this one was issued"):
        services.change_accept_on_paper(order=late, **accept)
    back = remeasure.measure(job.quote, [measured_again(only_room(job), long=96)])
    gained = sum(row["price_cents"] for row in first.measured["steps"])
    assert sum(row["price_cents"] for row in back["steps"]) == -gained


def test_a_room_measured_once_more_before_the_issue_is_refused(job):
    order = measured_order(job)
    measured_again(only_room(job), long=130)
    with pytest.raises(ValidationError, match="take it over again"):
        services.change_issue(order=order, by=UserFactory(), at=now())


def test_a_quote_without_rooms_says_what_to_do():
    job = job_of_lines()
    assert held_by(job.quote) is None
    with pytest.raises(ValidationError, match="lines by hand"):
        remeasure.measure(job.quote, [bath(job.quote.site)])

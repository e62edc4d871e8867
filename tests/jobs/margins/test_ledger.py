"""Budget and running totals: what the quote gives, and that the totals are the sum of the entries."""

import datetime
import random
import uuid

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from jobs.margins import ledger
from jobs.margins.models import Budget, BudgetMaterial, BudgetStep, Ledger, LedgerMaterial, LedgerStep
from jobs.margins.selectors import JobMargin
from jobs.margins.services import MaterialPart, StepPart, budget_change, budget_from_quote
from jobs.margins.standing import standing_of
from jobs.margins.variance import Labour
from jobs.work.daily import services
from jobs.work.models import Job
from tests.jobs.margins import factories
from tests.jobs.margins.factories import DAY, act

pytestmark = pytest.mark.django_db


def test_the_budget_is_what_the_quote_said():
    job = factories.job()
    found = {row.step: row for row in BudgetStep.objects.filter(budget__job=job)}

    assert (found["tile"].minutes, found["tile"].labour_cents, found["tile"].material_cents) == (
        1200,
        80000,
        90000,
    )
    assert found["demolition"].other_cents == 20000
    assert found["waterproofing"].price_cents == 135000
    rows = BudgetMaterial.objects.filter(budget__job=job).order_by("material_key")
    assert [(row.name, row.packs_millionths, row.cost_cents) for row in rows] == [
        ("Sheet membrane 98 ft", 2_000_000, 50000),
        ("Floor tile 12 in", 30_000_000, 90000),
    ]
    kept = Ledger.objects.get(job=job)
    assert (kept.quoted_price_cents, kept.quoted_cost_cents, kept.overhead_cents) == (415000, 280000, 28000)
    assert kept.budget_cents == 280000
    assert job.budget.work_days == 5


def test_a_second_budget_of_a_job_is_the_first():
    job = factories.job()

    assert budget_from_quote(job=job) == Budget.objects.get(job=job)
    assert BudgetStep.objects.filter(budget__job=job).count() == 3


def test_one_material_in_two_rooms_is_one_material_of_the_budget():
    lines = [factories.material("m2", "30", 50000, 1), factories.material("m2", "30", 40000, 1, room="2")]
    row = BudgetMaterial.objects.get(budget__job=factories.job(lines=lines))

    assert (row.packs_millionths, row.cost_cents) == (30_000_000, 90000)


def test_a_signed_change_adds_to_price_and_budget_once():
    job, key = factories.job(), uuid.uuid4()
    change = {
        "title": "A niche",
        "agreed_on": DAY,
        "price_cents": 60000,
        "steps": [StepPart("tile", 120, 8000, 10000, 0, 60000)],
        "materials": [MaterialPart("m9", "Niche", "piece", "tile", 10**6, 10000)],
    }

    for _ in range(2):
        budget_change(job=job, key=key, **change)

    kept = Ledger.objects.get(job=job)
    assert (kept.price_cents, kept.budget_cents) == (475000, 298000)
    assert (kept.quoted_price_cents, kept.quoted_cost_cents) == (415000, 280000)
    standing = standing_of(job)
    assert standing.split.scope == standing.split.whole == 60000 - 18000
    with pytest.raises(ValidationError, match="do not add up"):
        budget_change(job=job, key=uuid.uuid4(), **change | {"materials": []})
    with pytest.raises(ValidationError, match="no budget yet"):
        budget_change(job=factories.job(with_budget=False), key=uuid.uuid4(), **change)


def test_a_deduction_never_makes_a_job_more_than_done_nor_its_end_cheaper_than_today(
    installer, office_manager
):
    """600.00 come off the tile by a material and a cost that the quote did not name."""
    factories.pay()
    job = factories.job(installer, stage="tile")
    services.hours_log(act=act(job, installer), person=installer, step="tile", minutes=1200)
    services.delivery_log(
        act=act(job, office_manager), material_key="m2", packs_millionths=30 * 10**6, cost_cents=90000
    )
    budget_change(
        job=job,
        key=uuid.uuid4(),
        title="No bench",
        agreed_on=DAY,
        price_cents=-60000,
        steps=[StepPart("tile", 0, 0, -40000, -20000, -60000)],
        materials=[MaterialPart("change-1-1", "Bench tile", "", "tile", -(10**6), -40000)],
    )

    standing = standing_of(job)
    row = JobMargin(job, Ledger.objects.get(job=job))

    # Budget 2,800.00 less 600.00. All of the tile is used and bought, so all of the deduction counts too;
    # substrate and membrane (200.00, 400.00 and 500.00) lie behind a job at its tile.
    assert (standing.budget_cents, standing.earned_cents) == (220000, 220000)
    assert (row.earned_cents, row.forecast_cost_cents) == (220000, 170000)
    assert standing.actual_cents == 170000
    assert standing.split.whole == standing.margin_cents - standing.quoted_margin_cents


def test_what_a_change_adds_to_a_finished_step_is_not_done_until_somebody_says_so(installer, office_manager):
    """The tile is all done on Monday; on Tuesday the customer signs for as much again."""
    factories.pay()
    job = factories.job(installer, stage="tile")
    services.hours_log(act=act(job, installer), person=installer, step="tile", minutes=1200)
    services.progress_log(act=act(job, installer), step="tile", done_basis_points=10_000)
    before = standing_of(job)

    budget_change(
        job=job,
        key=uuid.uuid4(),
        title="The hall too",
        agreed_on=DAY + datetime.timedelta(days=1),
        price_cents=120000,
        steps=[StepPart("tile", 1200, 80000, 0, 0, 120000)],
    )

    standing = standing_of(job)
    tile = next(one for one in standing.elements if isinstance(one, Labour) and one.step == "tile")
    # Half of 1,600.00 is earned, and the other half is still to be spent.
    assert (tile.budget_cents, tile.earned_cents, tile.done) == (160000, 80000, 5_000)
    # The tile itself, 900.00, is not paid yet and no longer counts as all used.
    assert standing.margin_cents == before.margin_cents + 120000 - 80000 - 90000
    assert standing.split.whole == standing.margin_cents - standing.quoted_margin_cents
    kept = state(job)
    ledger.rebuild([job.pk])
    assert state(job) == kept

    later = act(job, installer, day=DAY + datetime.timedelta(days=2))
    services.progress_log(act=later, step="tile", done_basis_points=10_000)
    assert standing_of(job).earned_cents == standing.earned_cents + 80000 + 90000


def state(job):
    rows = [
        LedgerStep.objects.filter(job=job).order_by("step").values(),
        LedgerMaterial.objects.filter(job=job).order_by("material_key").values(),
        Ledger.objects.filter(job=job).values(),
    ]
    return [[{name: value for name, value in row.items() if name != "id"} for row in found] for found in rows]


@pytest.mark.parametrize("seed", range(4))
def test_the_running_totals_equal_the_sum_of_the_entries(seed, installer, office_manager):
    chance = random.Random(seed)
    if seed:
        factories.pay()
    job = factories.job(installer, office_manager, with_budget=seed != 3)
    past = {"hours": [], "delivery": [], "cost": []}

    for number in range(40):
        kind = chance.choice(["hours", "delivery", "cost", "progress", "note"])
        old = chance.choice([None, *past.get(kind, [])]) if number > 5 else None
        day = DAY.replace(day=chance.randint(1, 28))
        who = act(job, office_manager, day=day)
        step = chance.choice(["tile", "grout", "waterproofing", "clean_up"])
        if kind == "hours":
            spent = chance.choice([0, 30, 45]) if old else chance.randint(1, 50)
            made = services.hours_log(act=who, person=installer, step=step, minutes=spent, supersedes=old)
        elif kind == "delivery":
            count = chance.choice([0, 1, -1, 7]) if old else chance.randint(1, 20)
            made = services.delivery_log(
                act=who,
                material_key=old.material_key if old else chance.choice(["m1", "m2", ""]),
                material_name="Wedges",
                step=old.step if old else step,
                packs_millionths=count * 10**6,
                cost_cents=chance.choice([None, 5000]),
                supersedes=old,
            )
        elif kind == "cost":
            amount = chance.choice([0, 777]) if old else 1234
            made = services.cost_log(act=who, step=step, what="Skip", amount_cents=amount, supersedes=old)
        elif kind == "progress":
            services.progress_log(act=who, step=step, done_basis_points=chance.randint(0, 10_000))
            continue
        else:
            services.note_log(act=who, kind="other", text="Note")
            continue
        if old:
            past[kind].remove(old)
        past[kind].append(made)
    kept = state(job)
    assert kept[2][0]["last_day"] is not None

    ledger.rebuild([job.pk])

    assert state(job) == kept


def test_a_doubled_act_moves_the_totals_once(installer):
    factories.pay()
    job = factories.job(installer)
    who = act(job, installer)
    for _ in range(3):
        services.hours_log(act=who, person=installer, step="tile", minutes=60)

    assert Ledger.objects.get(job=job).labour_cents == 4000


def test_a_finished_job_has_its_actual_margin(installer, office_manager):
    factories.pay()
    job = factories.job(installer)
    services.hours_log(act=act(job, installer), person=installer, step="tile", minutes=1320)
    services.delivery_log(
        act=act(job, office_manager), material_key="m2", packs_millionths=31 * 10**6, cost_cents=96100
    )
    Job.objects.filter(pk=job.pk).update(stage="complete")
    job.refresh_from_db()

    standing = standing_of(job)

    # 22 h for 880.00 and 961.00 of tile are all it cost; price 4,150.00, overhead 280.00.
    assert standing.margin_cents == 415000 - 88000 - 96100 - 28000
    # 2 h over at 40.00, one box over at 30.00, 31 boxes 1.00 dearer; what was not used at all is gained.
    assert standing.split.hours == 40000 - 8000
    assert standing.split.quantity == 50000 - 3000
    assert standing.split.price == 20000 - 3100
    assert (standing.split.rate, standing.split.scope) == (0, 0)


@pytest.mark.parametrize(
    ("act_of", "name"),
    [
        (lambda job: Budget.objects.filter(job=job).update(price_cents=-1), "budget_price_not_negative"),
        (lambda job: Budget.objects.filter(job=job).update(price_cents=10**12), "budget_believable"),
        (
            lambda job: BudgetStep.objects.filter(budget__job=job).update(minutes=-1),
            "budget_step_not_negative",
        ),
        (lambda job: BudgetMaterial.objects.update(packs_millionths=0), "budget_material_not_negative"),
        (lambda job: BudgetStep.objects.update(step="tile"), None),
        (lambda job: BudgetMaterial.objects.update(material_key="m1"), None),
        (
            lambda job: Budget.objects.create(
                job=job,
                currency="USD",
                price_cents=1,
                overhead_cents=0,
                quote_sha256="",
                frozen_at="2026-01-01T00:00Z",
            ),
            None,
        ),
        (
            lambda job: LedgerStep.objects.bulk_create(
                [LedgerStep(job=job, step="a"), LedgerStep(job=job, step="a")]
            ),
            None,
        ),
    ],
)
def test_the_database_keeps_the_rules(act_of, name):
    job = factories.job()
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        act_of(job)

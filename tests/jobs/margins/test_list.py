"""The owner's list: what it sorts by in the database is what it shows, and it reads few queries."""

import itertools
import random

import pytest

from jobs.margins import earned, selectors
from jobs.margins.earned import Position
from jobs.margins.models import Ledger
from jobs.margins.standing import standing_of
from jobs.work.daily import services
from jobs.work.models import Job, Stage
from tests.jobs.margins import factories
from tests.jobs.margins.factories import act

pytestmark = pytest.mark.django_db


@pytest.fixture
def jobs(installer, office_manager):
    chance = random.Random(7)
    factories.pay()
    made = []
    for number, stage in enumerate(
        ["scheduled", "substrate", "membrane", "tile", "punch", "complete", "tile"]
    ):
        lines = [one | {"price_cents": one["price_cents"] * (1 + number % 3)} for one in factories.LINES]
        job = factories.job(installer, lines=lines)
        for step in ("waterproofing", "tile"):
            minutes = chance.randint(100, 700)
            services.hours_log(
                act=act(job, office_manager, day=factories.DAY.replace(day=number + 1)),
                person=installer,
                step=step,
                minutes=minutes,
            )
        if number % 2:
            services.delivery_log(act=act(job, installer), material_key="m2", packs_millionths=31 * 10**6)
            services.cost_log(
                act=act(job, office_manager), step="demolition", what="Skip", amount_cents=31000
            )
        if number == 6:
            services.progress_log(act=act(job, installer), step="tile", done_basis_points=2500)
        Job.objects.filter(pk=job.pk).update(stage=stage)
        made.append(job)
    return made


def rows(**values):
    return [selectors.JobMargin(row.job, row) for row in selectors.margins(stage="", **values)]


def test_the_list_agrees_with_the_jobs_own_page(jobs):
    for row in rows():
        standing = standing_of(row.job, row.ledger)
        at = Position(
            *(
                earned.Decimal(value).scaleb(-2)
                for value in (standing.budget_cents, standing.earned_cents, standing.actual_cents)
            )
        )

        assert row.earned_cents == standing.earned_cents
        assert row.margin_cents == standing.margin_cents
        assert row.moved_cents == standing.split.whole
        assert row.forecast_cost_cents == int(earned.at_completion(at).value * 100)


@pytest.mark.parametrize(
    ("sort", "value"),
    [
        ("number", lambda row: row.job.number),
        ("price", lambda row: row.ledger.price_cents),
        ("quoted", lambda row: row.quoted_fraction),
        ("actual", lambda row: row.actual_cents),
        ("done", lambda row: row.done),
        ("now", lambda row: row.now_fraction),
        ("forecast", lambda row: row.forecast_fraction),
        ("moved", lambda row: row.moved_cents),
    ],
)
def test_the_order_is_that_of_what_is_shown(jobs, sort, value):
    values = [value(row) for row in rows(sort=sort)]

    assert values == sorted(values)
    assert [value(row) for row in rows(sort=f"-{sort}")] == sorted(values, reverse=True)


def test_filters(jobs):
    assert len(rows()) == 7
    assert [row.job for row in rows(text=str(jobs[2].number))] == [jobs[2]]
    assert selectors.margins(stage="open").count() == 6
    assert selectors.margins(stage=Stage.COMPLETE).count() == 1
    falling = rows(show="falling")
    assert {row.job.pk for row in falling} == {row.job.pk for row in rows() if row.is_falling}
    assert 0 < len(falling) < 7
    assert [row.job.pk for row in rows(show="loss")] == [
        row.job.pk for row in rows() if row.forecast_margin_cents < 0
    ]


def test_the_totals_are_the_sums_of_the_rows(jobs):
    sums, bands = selectors.summary(selectors.margins(stage=""))
    fractions = [row.forecast_fraction for row in rows()]

    assert sums.count == 7
    assert [forecast for _quoted, forecast in bands] == [
        sum(low <= fraction < high for fraction in map(_printed, fractions))
        for low, high in itertools.pairwise([-99, 0, 0.1, 0.2, 0.3, 0.4, 99])
    ]
    assert sum(quoted for quoted, _forecast in bands) == 7
    assert sums.margin_cents == sum(row.margin_cents for row in rows())
    assert sums.actual_cents == sum(row.actual_cents for row in rows())
    # Each row rounds its forecast to the cent; the sum rounds once.
    assert abs(sums.forecast_margin_cents - sum(row.forecast_margin_cents for row in rows())) <= 4


def _printed(fraction):
    """A margin as it is printed, to a tenth of a per cent; a loss stays one."""
    return fraction if fraction < 0 else round(fraction, 3)


def test_a_job_lies_in_the_band_of_the_margin_that_is_printed_of_it(jobs):
    """A quote of 30 % in whole cents comes to 29.997 %, printed 30.0 %; 29.9 % is below."""
    found = Ledger.objects.filter(job=jobs[0])
    told = {"overhead_cents": 0, "quoted_price_cents": 10_001}
    for cost, band in ((7_001, 4), (7_011, 3), (10_002, 0)):
        found.update(quoted_cost_cents=cost, **told)
        _sums, bands = selectors.summary(selectors.margins(stage="", text=str(jobs[0].number)))
        assert [quoted for quoted, _forecast in bands].index(1) == band


def test_a_cancelled_job_is_shown_only_when_asked_for(jobs):
    Job.objects.filter(pk=jobs[0].pk).update(stage="cancelled")

    assert len(rows()) == 6
    assert selectors.margins(stage="cancelled").count() == 1
    assert Ledger.objects.count() == 7

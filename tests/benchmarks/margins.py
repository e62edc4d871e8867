"""How long the owner's pages take at 10,000 jobs and 1,000,000 entries of the log, on PostgreSQL.

Not part of the tests; it fills an empty database of its own and prints times and query counts::

    python -m contracting.deploy.servers postgres -- python -m tests.benchmarks.margins

``--jobs`` and ``--entries`` make it smaller. The time of a page is the whole request in this process,
middleware, queries and template, without the network.
"""

from __future__ import annotations

import argparse
import datetime
import os
import resource
import statistics
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contracting.settings")
os.environ.setdefault("LEDGERBOARD_DEMO", "1")
os.environ.setdefault("LEDGERBOARD_VAR", tempfile.mkdtemp(prefix="ledgerboard-benchmark-"))

import django

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.urls import reverse  # noqa: E402
from django.utils import timezone  # noqa: E402

from contracting.customers.models import Customer, Site  # noqa: E402
from contracting.staff.models import LabourCost, User  # noqa: E402
from estimates.quotes.models import Estimate, Quote  # noqa: E402
from jobs.billing.models import Account  # noqa: E402
from jobs.margins import ledger, selectors  # noqa: E402
from jobs.margins.models import Budget, BudgetMaterial, BudgetStep, Ledger  # noqa: E402
from jobs.work.daily import services  # noqa: E402
from jobs.work.models import CrewMember, HoursEntry, Job, Stage  # noqa: E402

RUNS = 15
DAY = datetime.date(2026, 6, 1)
# The share of each kind among the entries.
HOURS, DELIVERIES = 0.86, 0.10
STEPS = "ARRAY['demolition','preparation','backer','waterproofing','tile','grout','joints','clean_up']"


@contextmanager
def timed(label: str) -> Iterator[None]:
    start = time.perf_counter()
    yield
    print(f"{label:<58} {time.perf_counter() - start:8.1f} s", flush=True)


def fill(jobs: int, entries: int) -> User:
    """Fill the database: people, jobs with budgets, the log, and the totals as the services keep them."""
    owner = User.objects.create(username="owner", role="owner")
    crew = [User.objects.create(username=f"crew{n}", role="installer") for n in range(12)]
    LabourCost.objects.create(
        starts_on=datetime.date(2020, 1, 1), pay_cents_per_hour=3200, burden_basis_points=2500
    )
    with timed(f"{jobs:,} jobs with their quotes and budgets"):
        _jobs(jobs, owner, crew)
    with timed(f"{entries:,} entries of the log"):
        _log(jobs, entries, owner, crew)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    with timed("the totals, added up job by job from the entries"):
        ledger.rebuild(list(Job.objects.order_by("pk").values_list("pk", flat=True)))
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    return owner


def _jobs(count: int, owner: User, crew: list[User]) -> None:
    customers = Customer.objects.bulk_create(
        [Customer(name=f"Customer {n:05}") for n in range(count // 4 + 1)]
    )
    sites = Site.objects.bulk_create(
        [Site(customer=one, name="House", street=f"{n} Example Street") for n, one in enumerate(customers)]
    )
    numbers = range(1, count + 1)
    estimates = Estimate.objects.bulk_create(
        [
            Estimate(
                number=n,
                title=f"Bath {n}",
                site=sites[n % len(sites)],
                status="won",
                created_by=owner,
                price_on=DAY,
                overhead_basis_points=1000,
                profit_basis_points=3000,
                tax_base="none",
            )
            for n in numbers
        ],
        batch_size=2000,
    )
    prices = {n: 300_000 + n * 7_919 % 400_000 for n in numbers}
    quotes = Quote.objects.bulk_create(
        [
            Quote(
                estimate=one,
                site_id=one.site_id,
                number=f"Q-{n}",
                revision=1,
                status="accepted",
                title=one.title,
                customer_name=f"Customer {n % len(sites):05}",
                site_name="House",
                currency="USD",
                price_cents=prices[n],
                tax_cents=0,
                total_cents=prices[n],
                cost_cents=prices[n] * 6 // 10,
                issued_at=timezone.now(),
                issued_by=owner,
                valid_until=DAY,
                estimate_revision=1,
                snapshot={},
                sha256="0" * 64,
                signed_name="A. Customer",
                answered_on=DAY,
            )
            for n, one in zip(numbers, estimates, strict=True)
        ],
        batch_size=2000,
    )
    stages = [Stage.COMPLETE] * 6 + [Stage.TILE, Stage.MEMBRANE, Stage.SUBSTRATE, Stage.PUNCH]
    jobs = Job.objects.bulk_create(
        [
            Job(
                number=n,
                quote=quote,
                site_id=quote.site_id,
                title=quote.title,
                customer_name=quote.customer_name,
                stage=stages[n % len(stages)],
                starts_on=DAY,
            )
            for n, quote in zip(numbers, quotes, strict=True)
        ],
        batch_size=2000,
    )
    CrewMember.objects.bulk_create([CrewMember(job=job, person=crew[job.number % 12]) for job in jobs])
    Account.objects.bulk_create(
        [
            Account(
                job=job,
                invoiced_cents=prices[job.number] * (job.number % 5) // 4,
                invoiced_price_cents=prices[job.number] * (job.number % 5) // 4,
                received_cents=prices[job.number] * (job.number % 4) // 4,
            )
            for job in jobs
        ],
        batch_size=2000,
    )
    budgets = Budget.objects.bulk_create(
        [
            Budget(
                job=job,
                currency="USD",
                price_cents=prices[job.number],
                overhead_cents=prices[job.number] // 20,
                work_days=8,
                quote_sha256="0" * 64,
                frozen_at=timezone.now(),
            )
            for job in jobs
        ],
        batch_size=2000,
    )
    parts = (
        ("demolition", 8),
        ("backer", 10),
        ("waterproofing", 14),
        ("tile", 20),
        ("grout", 6),
        ("clean_up", 4),
    )
    BudgetStep.objects.bulk_create(
        [
            BudgetStep(
                budget=budget,
                step=step,
                minutes=share * 100,
                labour_cents=budget.price_cents * share // 250,
                material_cents=budget.price_cents // 10 if step in {"tile", "waterproofing"} else 0,
                other_cents=4000 if step == "demolition" else 0,
                price_cents=budget.price_cents * share // 62,
            )
            for budget in budgets
            for step, share in parts
        ],
        batch_size=5000,
    )
    BudgetMaterial.objects.bulk_create(
        [
            BudgetMaterial(
                budget=budget,
                material_key=key,
                name=f"Material {key}",
                pack_label="box",
                step=step,
                packs_millionths=20_000_000,
                cost_cents=budget.price_cents // 10,
            )
            for budget in budgets
            for key, step in (("m1", "waterproofing"), ("m2", "tile"))
        ],
        batch_size=5000,
    )


def _log(jobs: int, entries: int, owner: User, crew: list[User]) -> None:
    hours, deliveries = int(entries * HOURS), int(entries * DELIVERIES)
    common = "gen_random_uuid(), '', %(by)s, now()"
    values = {"by": owner.pk, "crew": crew[0].pk, "jobs": jobs, "first": Job.objects.earliest("pk").pk}
    with connection.cursor() as cursor:
        # Every fiftieth entry corrects the one before it, of the same job.
        cursor.execute(
            f"""INSERT INTO work_hoursentry (id, key, note, by_id, at, job_id, day, supersedes_id, person_id,
                step, minutes, pay_cents_per_hour, burden_basis_points, cost_cents)
            SELECT g, {common}, %(first)s + (g / 2) %% %(jobs)s, DATE '2026-01-01' + (g %% 150)::int,
                CASE WHEN g %% 50 = 1 THEN g - 1 END, %(crew)s + g %% 12, ({STEPS})[1 + g %% 8],
                15 + g %% 50, 3200, 2500, ((15 + g %% 50) * 4000 + 30) / 60
            FROM generate_series(2, %(n)s) AS g""",
            values | {"n": hours + 1},
        )
        cursor.execute(
            f"""INSERT INTO work_deliveryentry (key, note, by_id, at, job_id, day, step, material_key,
                material_name, pack_label, packs_millionths, lot_numbers, cost_cents, is_cost_confirmed)
            SELECT {common}, %(first)s + g %% %(jobs)s, DATE '2026-01-01' + (g %% 150)::int, 'tile',
                'm' || (1 + g %% 2), 'Material', 'box', 2000000, 'L ' || g, 3000 + g %% 4000, g %% 20 <> 0
            FROM generate_series(1, %(n)s) AS g""",
            values | {"n": deliveries},
        )
        cursor.execute(
            f"""INSERT INTO work_costentry (key, note, by_id, at, job_id, day, step, what, amount_cents)
            SELECT {common}, %(first)s + g %% %(jobs)s, DATE '2026-01-01' + (g %% 150)::int, 'demolition',
                'Skip', 500 + g %% 3000
            FROM generate_series(1, %(n)s) AS g""",
            values | {"n": entries - hours - deliveries},
        )
        cursor.execute(
            "SELECT setval(pg_get_serial_sequence('work_hoursentry', 'id'), max(id)) FROM work_hoursentry"
        )


def measure(label: str, act: Callable[[], object]) -> None:
    """Print how long RUNS calls after a first one took, how many queries one makes and their share of it."""
    act()
    spent = []
    for _run in range(RUNS):
        start = time.perf_counter()
        act()
        spent.append((time.perf_counter() - start) * 1000)
    with CaptureQueriesContext(connection) as queries:
        act()
    in_database = sum(float(query["time"]) for query in queries.captured_queries) * 1000
    middle = statistics.median(spent)
    print(
        f"{label:<42} best {min(spent):5.0f}  median {middle:5.0f}  worst {max(spent):5.0f} ms"
        f"  {len(queries):3} queries, {in_database:4.0f} ms in them",
        flush=True,
    )


def pages(owner: User) -> None:
    client = Client(SERVER_NAME="localhost")
    client.force_login(owner)
    job = Job.objects.order_by("pk")[len(Job.objects.all()) // 2]
    margins = reverse("margins:margins")
    addresses = {
        "list, open jobs": margins,
        "list, all jobs, by number": f"{margins}?stage=",
        "list, all jobs, smallest forecast first": f"{margins}?stage=&sort=forecast",
        "list, all jobs, most moved first": f"{margins}?stage=&sort=moved",
        "list, all jobs, page 200 by margin now": f"{margins}?stage=&sort=-now&page=200",
        "list, forecast below the quote": f"{margins}?stage=&show=falling",
        "list, text": f"{margins}?stage=&q=bath+77",
        "a job": reverse("margins:job", args=[job.pk]),
        "the entries behind a job": reverse("margins:entries", args=[job.pk]),
        "the entries behind a trade step": reverse("margins:entries", args=[job.pk]) + "?step=tile",
        "the log of a job": reverse("work:log", args=[job.pk]),
    }
    for label, address in addresses.items():
        if client.get(address).status_code != 200:
            raise SystemExit(f"{address} does not answer")
        measure(label, partial(client.get, address))
    export = f"{reverse('margins:export')}?stage="
    measure("CSV of all jobs", lambda: b"".join(client.get(export).streaming_content))  # type: ignore[attr-defined]

    def log_one() -> None:
        act = services.Act(uuid.uuid4(), job, timezone.localdate(), owner)
        person = job.crew.get()
        services.hours_log(act=act, person=person, step="tile", minutes=1)

    measure("logging one entry", log_one)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--entries", type=int, default=1_000_000)
    asked = parser.parse_args()
    assert connection.vendor == "postgresql", "Run it beside PostgreSQL: see the text above."
    call_command("migrate", verbosity=0)
    owner = fill(asked.jobs, asked.entries)
    print(f"{Ledger.objects.count():,} jobs, {HoursEntry.objects.count():,} entries of hours")
    pages(owner)
    sums, _bands = selectors.summary(selectors.margins(stage=""))
    print(f"of all jobs: price {sums.price_cents / 100:,.2f}, margin now {sums.margin_cents / 100:,.2f}")
    print(f"largest memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()

"""A business of 5,000 customers, sites, rooms, estimates, quotes and jobs, made in bulk."""

import datetime

from django.contrib.auth.hashers import make_password
from django.utils import timezone

from contracting.customers.models import Customer, Site
from contracting.staff.models import User
from estimates.quotes.models import Estimate, Quote
from jobs.margins.models import Budget, Ledger
from jobs.work.models import CrewMember, Job

DAY = datetime.date(2026, 6, 1)
ESTIMATE = {
    "price_on": DAY,
    "overhead_basis_points": 1200,
    "profit_basis_points": 3000,
    "tax_base": "materials",
    "tax_basis_points": 825,
}


def fill(snapshot: dict[str, object], count: int = 5000) -> None:
    """Store *count* of everything; each quote carries *snapshot*, a real one, so rows have their weight."""
    by = User.objects.filter(role="office")[0]
    crew = [
        User(username=f"crew{n}", first_name=f"Crew {n}", role="installer", password=make_password(None))
        for n in range(12)
    ]
    User.objects.bulk_create(crew)
    customers = Customer.objects.bulk_create(
        Customer(name=f"Customer {n:05}", email=f"c{n}@example.com", phone=f"555 {n:05}")
        for n in range(count)
    )
    sites = Site.objects.bulk_create(
        Site(customer=one, name="House", street=f"{n} Example Street", city="Exampleton")
        for n, one in enumerate(customers)
    )
    estimates = Estimate.objects.bulk_create(
        Estimate(number=20_000 + n, title=f"Bath {n}", site=site, status="won", created_by=by, **ESTIMATE)
        for n, site in enumerate(sites)
    )
    now = timezone.now()
    quotes = Quote.objects.bulk_create(
        (
            Quote(
                estimate=estimate,
                site=estimate.site,
                number=f"Q-{estimate.number}",
                revision=1,
                status="accepted",
                title=estimate.title,
                customer_name=customers[n].name,
                site_name=f"House, {n} Example Street",
                currency="USD",
                price_cents=300_000 + n,
                tax_cents=0,
                total_cents=300_000 + n,
                cost_cents=200_000,
                issued_at=now - datetime.timedelta(hours=n),
                issued_by=by,
                valid_until=DAY,
                estimate_revision=1,
                snapshot=snapshot,
                sha256="0" * 64,
                signed_name="A. Customer",
                answered_on=DAY,
            )
            for n, estimate in enumerate(estimates)
        ),
        batch_size=100,
    )
    jobs = Job.objects.bulk_create(
        Job(
            number=20_000 + n,
            quote=quote,
            site=quote.site,
            title=quote.title,
            customer_name=quote.customer_name,
            stage=("scheduled", "membrane", "tile", "complete")[n % 4],
            starts_on=DAY + datetime.timedelta(days=n % 300),
        )
        for n, quote in enumerate(quotes)
    )
    CrewMember.objects.bulk_create(
        CrewMember(job=job, person=crew[(n + place) % len(crew)])
        for n, job in enumerate(jobs)
        for place in range(2)
    )
    Budget.objects.bulk_create(
        Budget(
            job=job,
            currency="USD",
            price_cents=job.quote.price_cents,
            overhead_cents=24_000,
            work_days=5,
            quote_sha256="0" * 64,
            frozen_at=now,
        )
        for job in jobs
    )
    Ledger.objects.filter(job__in=jobs).delete()
    Ledger.objects.bulk_create(
        Ledger(
            job=job,
            quoted_price_cents=job.quote.price_cents,
            quoted_cost_cents=200_000,
            overhead_cents=24_000,
            price_cents=job.quote.price_cents,
            budget_cents=200_000,
            tile_budget_cents=200_000,
            tile_earned_cents=50_000 + n,
            labour_cents=40_000 + (n * 37) % 90_000,
            minutes=600,
        )
        for n, job in enumerate(jobs)
    )

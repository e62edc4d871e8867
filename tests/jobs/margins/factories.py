"""A job with a budget, as an accepted quote's snapshot gives it, without working out a takeoff."""

import datetime
import itertools
import uuid

from contracting.staff.models import LabourCost, PayRate, User
from estimates.quotes.models import Estimate, Quote
from jobs.margins.services import budget_from_quote
from jobs.work.daily import services
from jobs.work.daily.services import Act
from jobs.work.models import CrewMember, Job, LogEntry
from tests.contracting.factories import SiteFactory, UserFactory

DAY = datetime.date(2026, 6, 1)
_numbers = itertools.count(5000)


def material(key: str, packs: str, cost: int, price: int, step: str = "tile", room: str = "1") -> dict:
    working = {"lines": [{"symbol": "n", "value": packs}]}
    return line(f"material:{key}:{room}", "material", step, cost, price) | {"cost_working": working}


def labour(step: str, hours: str, cost: int, price: int, room: str = "1") -> dict:
    return line(f"labour:{room}:{step}", "labour", step, cost, price) | {"quantity": hours, "unit": "h"}


def line(key: str, kind: str, step: str, cost: int, price: int) -> dict:
    return {"key": key, "kind": kind, "step": step, "cost_cents": cost, "price_cents": price}


# 10 h of waterproofing at 40.00 an hour, 20 h of tile at 40.00; membrane 2 rolls, tile 30 boxes; disposal.
LINES = [
    labour("waterproofing", "10", 40000, 60000),
    labour("tile", "20", 80000, 120000),
    material("m1", "2", 50000, 75000, "waterproofing"),
    material("m2", "30", 90000, 130000),
    line("other:disposal", "other cost", "demolition", 20000, 30000),
]
MATERIALS = [
    {"key": "m1", "name": "Sheet membrane 98 ft", "packs": "2", "pack": "roll"},
    {"key": "m2", "name": "Floor tile 12 in", "packs": "30", "pack": "box"},
]


def snapshot(lines: list[dict] | None = None, full_cost: int | None = None) -> dict:
    lines = LINES if lines is None else lines
    cost = sum(one["cost_cents"] for one in lines)
    return {
        "paper": {},
        "work": {
            "materials": MATERIALS,
            "takeoff": {"schedule": {"days_on_site": ["1", "2", "3", "4", "5"]}},
        },
        "office": {
            "lines": lines,
            "cost_cents": cost,
            "full_cost_cents": cost + 28000 if full_cost is None else full_cost,
            "price_cents": sum(one["price_cents"] for one in lines),
        },
    }


def job(
    *crew: User,
    lines: list[dict] | None = None,
    with_budget: bool = True,
    stage: str = "accepted",
    **values: object,
) -> Job:
    """A job of an accepted quote: cost 2,800.00, overhead 280.00, price 4,150.00, quoted margin 1,070.00."""
    by = User.objects.filter(role="office").first() or UserFactory.create(role="office")
    site = SiteFactory.create()
    number = next(_numbers)
    frozen = snapshot(lines)
    estimate = Estimate.objects.create(
        number=number,
        title="Hall bath",
        site=site,
        status="won",
        created_by=by,
        price_on=DAY,
        overhead_basis_points=1000,
        profit_basis_points=3000,
        tax_base="none",
    )
    price = frozen["office"]["price_cents"]
    quote = Quote.objects.create(
        estimate=estimate,
        site=site,
        number=f"Q-{number}",
        revision=1,
        status="accepted",
        title="Hall bath",
        customer_name=site.customer.name,
        site_name=site.street,
        currency="USD",
        price_cents=price,
        tax_cents=0,
        total_cents=price,
        cost_cents=frozen["office"]["full_cost_cents"],
        issued_at=datetime.datetime(2026, 5, 1, tzinfo=datetime.UTC),
        issued_by=by,
        valid_until=DAY,
        estimate_revision=1,
        snapshot=frozen,
        sha256="0" * 64,
        signed_name="A. Customer",
        answered_on=DAY,
    )
    made = Job.objects.create(
        number=number,
        quote=quote,
        site=site,
        title="Hall bath",
        customer_name=quote.customer_name,
        stage=stage,
        starts_on=DAY,
        **values,
    )
    CrewMember.objects.bulk_create([CrewMember(job=made, person=person) for person in crew])
    if with_budget:
        budget_from_quote(job=made)
    return made


def act(job: Job, by: User, *, day: datetime.date = DAY, key: uuid.UUID | None = None, note: str = "") -> Act:
    return Act(key or uuid.uuid4(), job, day, by, note)


def pay(
    cents: int = 3200, burden: int = 2500, starts_on: datetime.date = datetime.date(2026, 1, 1)
) -> LabourCost:
    """The company's cost of an hour: 40.00 with what is usual here."""
    return LabourCost.objects.create(
        starts_on=starts_on, pay_cents_per_hour=cents, burden_basis_points=burden
    )


def own_pay() -> PayRate:
    """A pay rate of one installer."""
    person = UserFactory.create(role="installer")
    return PayRate.objects.create(
        person=person, starts_on=DAY, pay_cents_per_hour=3500, burden_basis_points=2500
    )


def logged_job() -> tuple[Job, dict[str, LogEntry]]:
    """A job at its tile with an entry of each kind, and who wrote them on its crew."""
    pay()
    installer, office = UserFactory.create(role="installer"), UserFactory.create(role="office")
    made = job(installer, stage="tile")
    entries: dict[str, LogEntry] = {
        "hours": services.hours_log(act=act(made, installer), person=installer, step="tile", minutes=450),
        "delivery": services.delivery_log(
            act=act(made, installer), material_key="m2", packs_millionths=31 * 10**6, lot_numbers="L 77"
        ),
        "cost": services.cost_log(
            act=act(made, office), step="demolition", what="Skip, second load", amount_cents=26000
        ),
        "progress": services.progress_log(act=act(made, installer), step="tile", done_basis_points=3000),
        "note": services.note_log(
            act=act(made, installer), kind="delay", text="Water was off until ten", minutes=90
        ),
    }
    return made, entries

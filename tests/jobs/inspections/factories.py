"""A shower room as it was sold, and the job that builds it."""

import datetime
import hashlib
import uuid
from decimal import Decimal

from django.utils import timezone

from contracting.staff.models import User
from estimates.quotes.models import Estimate, Quote
from estimates.takeoff.model import BondMethod, Exposure, Substrate, SurfaceKind
from estimates.takeoff.units import System
from jobs.inspections import services
from jobs.inspections.checklist import JobFacts, RoomFacts, SurfaceFacts
from jobs.inspections.models import CheckRecord, FloodStart, Kind, PlannedCheck
from jobs.work.models import CrewMember, Job, Stage
from tests.contracting.factories import SiteFactory, UserFactory

INCH = 254_000
HOUR = datetime.timedelta(hours=1)


def surface(key: str = "floor", **values: object) -> SurfaceFacts:
    """A wet shower floor of mortar with the acrylic agent and 12 in tile, unless said otherwise."""
    filled: dict[str, object] = {
        "name": key.capitalize(),
        "kind": SurfaceKind.SHOWER_FLOOR,
        "substrate": Substrate.MORTAR_BED,
        "exposure": Exposure.WET,
        "membrane": True,
        "method": BondMethod.ACRYLIC,
        "tile_edge_mm": Decimal("304.8"),
    }
    return SurfaceFacts(key, **(filled | values))  # type: ignore[arg-type]


def shower(key: str = "bath", name: str = "Hall bath", **values: object) -> RoomFacts:
    walls = surface("walls", kind=SurfaceKind.WALL, substrate=Substrate.CEMENT_BOARD)
    return RoomFacts(key, name, (surface(), walls), **values)  # type: ignore[arg-type]


def facts(*rooms: RoomFacts, system: System = System.INCH, **values: object) -> JobFacts:
    return JobFacts(system, rooms or (shower(),), **values)  # type: ignore[arg-type]


def job(*, crew: tuple[User, ...] = (), number: int = 4001, **values: object) -> Job:
    """A job of an accepted quote whose frozen takeoff nobody needs here."""
    by = UserFactory.create()
    site = values.pop("site", None) or SiteFactory.create(time_zone="America/Chicago")
    estimate = Estimate.objects.create(
        number=number,
        title="Shower",
        site=site,
        created_by=by,
        price_on=datetime.date(2026, 6, 1),
        overhead_basis_points=1000,
        profit_basis_points=3000,
        tax_base="none",
    )
    quote = Quote.objects.create(
        estimate=estimate,
        site=site,
        number=str(number),
        revision=1,
        status=Quote.Status.ACCEPTED,
        title="Shower",
        customer_name="Marigold Ferry",
        site_name=str(site),
        currency="USD",
        price_cents=0,
        tax_cents=0,
        total_cents=0,
        cost_cents=0,
        issued_at=timezone.now(),
        issued_by=by,
        valid_until=datetime.date(2026, 7, 1),
        estimate_revision=1,
        snapshot={},
        sha256=hashlib.sha256(b"").hexdigest(),
        signed_name="Marigold Ferry",
        answered_on=datetime.date(2026, 6, 2),
    )
    made = Job.objects.create(
        number=number,
        quote=quote,
        site=site,
        title="Shower",
        customer_name="Marigold Ferry",
        **({"stage": Stage.SUBSTRATE, "starts_on": datetime.date(2026, 6, 10)} | values),
    )
    CrewMember.objects.bulk_create([CrewMember(job=made, person=person) for person in crew])
    return made


def planned_job(*rooms: RoomFacts, by: User | None = None, **values: object) -> Job:
    made = job(**values)  # type: ignore[arg-type]
    services.plan_from_job(job=made, by=by or UserFactory.create(), facts=facts(*rooms))
    return made


def check(of: Job, key: str, surface_key: str = "") -> PlannedCheck:
    """Return the job's check by its key; of several, the first or that of a surface."""
    found = PlannedCheck.objects.filter(plan__job=of, key=key)
    return (found.filter(surface_key=surface_key) if surface_key else found).order_by("position")[0]


def record(planned: PlannedCheck, by: User, **evidence: object) -> CheckRecord:
    """Record a check; without evidence a good one."""
    good: dict[str, object] = {
        Kind.READING: {
            "reading": planned.least if planned.least is not None else planned.most,
            "instrument": "steel tape",
        },
        Kind.ANSWER: {"answer": True, "note": "meter: 3 %" if planned.needs_note else ""},
        Kind.LAID: {"laid_at": timezone.now() - 30 * HOUR, "is_cold": False},
    }[Kind(planned.kind)]  # type: ignore[assignment]
    values = {"key": uuid.uuid4()} | good | evidence
    return services.check_record(planned=planned, by=by, **values)  # type: ignore[arg-type]


def inspected() -> list[int]:
    """Keys of one job with a failed check and a running flood test, made at the first call: job, failed
    check, its record, its non-conformance, flood check, flood start."""
    made = Job.objects.filter(number=4001).first()
    by = UserFactory.create()
    if made is None:
        made = planned_job(by=by)
        record(check(made, "side_laps"), by, reading=INCH)
        FloodStart.objects.create(
            planned=check(made, "flood"),
            level=2 * INCH,
            started_at=timezone.now(),
            laid_at=timezone.now() - 24 * HOUR,
            is_cold=False,
            stands_seconds=86_400,
            instrument="rule",
            by=by,
            recorded_at=timezone.now(),
        )
    failed, flood = check(made, "side_laps"), check(made, "flood")
    found = failed.records.get()
    return [made.pk, failed.pk, found.pk, found.non_conformance.pk, flood.pk, flood.flood_starts.get().pk]


def pass_all(of: Job, by: User, *holds: str, skip: tuple[str, ...] = ()) -> None:
    """Pass every check of *holds* but flood tests and those of *skip*."""
    rows = PlannedCheck.objects.filter(plan__job=of, hold__in=holds).exclude(kind=Kind.FLOOD)
    for planned in rows.exclude(key__in=skip).order_by("position"):
        record(planned, by)

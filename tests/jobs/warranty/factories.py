"""A job that is finished and inspected, with the frozen quote it was sold by."""

import datetime
import hashlib
import uuid
from typing import Any

from django.utils import timezone

from contracting.staff.models import CompanyProfile, User
from estimates.quotes.models import Estimate, Quote
from estimates.takeoff.units import System
from jobs.inspections import services as inspections
from jobs.inspections.checklist import JobFacts
from jobs.inspections.models import FloodStart, Hold, Kind, PlannedCheck
from jobs.warranty import services
from jobs.warranty.models import WarrantyRecord
from jobs.work.models import CrewMember, DeliveryEntry, Job, Stage, StageChange
from tests.contracting.factories import SiteFactory, UserFactory
from tests.jobs.inspections.factories import HOUR, INCH, facts, pass_all

DAY = datetime.date(2026, 6, 1)
# What is inspected of a job that was sold without measured rooms: the final check, made in a moment.
FINAL_ONLY = JobFacts(System.INCH, ())


def drawing(title: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" width="80mm" height="40mm" viewBox="0 0 80 40">'
        f'<title>{title}</title><path d="M2 2H78V38H2Z" fill="none" stroke="#111"/></svg>'
    )


def sold() -> dict[str, Any]:
    """A shower as a quote freezes it, in the keys a warranty record reads; its money has to stay out."""
    caution = {
        "text": {"message": "Cut wet or with extraction.", "parameters": {}},
        "source": "29 CFR 1926.1153",
    }
    surface = {"membrane": True, "new_board": False, "remove": "nothing", "unit": "sq ft"}
    return {
        "paper": {
            "total_cents": 987_654,
            "currency": "USD",
            "rooms": [
                {
                    "name": "Hall bath",
                    "drawing": drawing("measured"),
                    "scale": 24,
                    "surfaces": [
                        {
                            **surface,
                            "name": "Floor",
                            "area": "12",
                            "tile": "Mosaic tile",
                            "pattern": "straight",
                        },
                        {
                            **surface,
                            "name": "Walls",
                            "area": "70",
                            "tile": "Wall tile",
                            "pattern": "straight",
                        },
                    ],
                }
            ],
            "cautions": [caution],
        },
        "work": {
            "rooms": [{"key": "bath", "name": "Hall bath"}],
            "takeoff": None,
            "materials": [
                {
                    "key": key,
                    "role": role,
                    "name": name,
                    "code": f"C-{key}",
                    "supplier": "Invented Supply",
                    "packs": packs,
                    "pack": pack,
                    "customer_supplied": key == "m7",
                }
                for key, role, name, packs, pack in (
                    ("m1", "membrane", "Sheet membrane", "2", "roll"),
                    ("m4", "bonding agent", "Bonding agent", "1", "pail"),
                    ("m7", "tile", "Mosaic tile", "3", "box"),
                )
            ],
            "plans": {
                "bath": {
                    "measured": drawing("measured"),
                    "membrane": drawing("membrane"),
                    "tiled": drawing("tiled"),
                    "scale": 24,
                }
            },
        },
        "office": {"cost_cents": 123_456, "full_cost_cents": 234_567, "price_cents": 987_654},
    }


def company(**values: object) -> CompanyProfile:
    filled: dict[str, object] = {
        "name": "Quarry Lane Tile",
        "tagline": "Tile and waterproofing",
        "address": "1 Kiln Road\nExampleton",
        "phone": "555 0100",
        "email": "office@example.com",
        "licence": "Licence 0000",
    }
    profile, _new = CompanyProfile.objects.update_or_create(pk=1, defaults=filled | values)
    return profile


def job_under_way(
    *rooms: Any,
    number: int = 4001,
    crew: tuple[User, ...] = (),
    stage: str = Stage.PUNCH,
    is_measured: bool = True,
) -> Job:
    """A job with its inspection plan, on its punch list; nothing has been checked."""
    company()
    by = UserFactory.create()
    site = SiteFactory.create(time_zone="America/Chicago")
    estimate = Estimate.objects.create(
        number=number,
        title="Shower",
        site=site,
        created_by=by,
        price_on=DAY,
        overhead_basis_points=1000,
        profit_basis_points=3000,
        tax_base="none",
    )
    quote = Quote.objects.create(
        estimate=estimate,
        site=site,
        number=f"Q-{number}",
        revision=1,
        status=Quote.Status.ACCEPTED,
        title="Shower",
        customer_name="Marigold Ferry",
        site_name=str(site),
        currency="USD",
        price_cents=987_654,
        tax_cents=0,
        total_cents=987_654,
        cost_cents=123_456,
        issued_at=timezone.now(),
        issued_by=by,
        valid_until=DAY + datetime.timedelta(days=30),
        estimate_revision=1,
        snapshot=sold(),
        sha256=hashlib.sha256(b"").hexdigest(),
        signed_name="Marigold Ferry",
        answered_on=DAY,
    )
    job = Job.objects.create(
        number=number,
        quote=quote,
        site=site,
        title="Shower",
        customer_name="Marigold Ferry",
        stage=stage,
        starts_on=DAY,
    )
    StageChange.objects.create(job=job, stage=stage, at=timezone.now(), by=by)
    CrewMember.objects.bulk_create([CrewMember(job=job, person=person) for person in crew])
    inspections.plan_from_job(job=job, by=by, facts=facts(*rooms) if is_measured else FINAL_ONLY)
    return job


def deliver(job: Job, key: str, lots: str, by: User, packs: int = 1, name: str = "Sheet membrane") -> None:
    """Log what came, with what it cost: that must not show."""
    DeliveryEntry.objects.create(
        key=uuid.uuid4(),
        job=job,
        day=DAY,
        by=by,
        at=timezone.now(),
        step="waterproofing",
        material_key=key,
        material_name=name,
        pack_label="roll",
        packs_millionths=packs * 1_000_000,
        lot_numbers=lots,
        cost_cents=543_210,
        is_cost_confirmed=True,
    )


def pass_flood_tests(job: Job, by: User) -> None:
    """Flood every room for 24 h, in the past."""
    now = timezone.now()
    for planned in PlannedCheck.objects.filter(plan__job=job, kind=Kind.FLOOD):
        start = FloodStart.objects.create(
            planned=planned,
            level=3 * INCH,
            level_typed="3",
            started_at=now - 26 * HOUR,
            laid_at=now - 60 * HOUR,
            is_cold=False,
            stands_seconds=86_400,
            instrument="steel rule",
            by=by,
            recorded_at=now - 26 * HOUR,
        )
        inspections.flood_test_end(
            start=start,
            by=by,
            key=uuid.uuid4(),
            level=3 * INCH,
            level_typed="3",
            leak_seen=False,
            instrument="steel rule",
            ended_at=now - HOUR,
        )


def inspected_job(*rooms: Any, skip: tuple[str, ...] = (), **values: Any) -> Job:
    """A job whose every check has passed but those of *skip*; its record can be issued."""
    job = job_under_way(*rooms, **values)
    by = UserFactory.create(first_name="Ivo", role="installer")
    pass_all(job, by, Hold.SUBSTRATE, Hold.MEMBRANE, skip=skip)
    pass_flood_tests(job, by)
    pass_all(job, by, Hold.COVERAGE, Hold.JOINTS, Hold.FINAL, skip=skip)
    return job


def issued(number: int = 4001, *, by: User | None = None, **values: Any) -> WarrantyRecord:
    """The record of such a job; unless said otherwise of one with its final check alone."""
    values = {"is_measured": False} | values
    by = by or UserFactory.create(role="office", first_name="Priya")
    return services.record_issue(job=inspected_job(number=number, **values), by=by, at=timezone.now())

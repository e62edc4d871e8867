"""What a warranty record freezes: everything its paper says, and the same as data. No money in it.

Sentences of the takeoff are stored as phrases, lengths and quantities as text, moments in UTC.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Max, Min

from contracting.staff.models import CompanyProfile, User
from estimates.quotes.changes.selectors import changed_work
from estimates.quotes.snapshot import LETTER_CURRENCIES, company_part, site_part
from estimates.takeoff.lengths import from_units
from estimates.takeoff.model import Exposure, FixtureKind, SurfaceKind
from jobs.inspections.limits import Quantity
from jobs.inspections.models import Kind
from jobs.inspections.papers import record_snapshot
from jobs.inspections.selectors import CheckState, JobChecks
from jobs.inspections.verdicts import limit_text, shown
from jobs.work.models import DeliveryEntry, HoursEntry, Job, Stage

from .photographs import photos_part
from .terms import Place, Terms

# 2: with photos; 3: with signed changes.
FORMAT = 3
MILLION = 1_000_000
# The plans of a room that are printed, in this order; a job sold without measured rooms has none.
PLANS = ("membrane", "tiled")
PLACE_OF = {
    SurfaceKind.FLOOR: {Place.FLOOR},
    SurfaceKind.SHOWER_FLOOR: {Place.WET, Place.DRAIN},
    SurfaceKind.COUNTER: {Place.COUNTER},
    SurfaceKind.BACKSPLASH: {Place.COUNTER},
}


def record_content(
    *,
    checks: JobChecks,
    company: CompanyProfile,
    terms: Terms,
    record: Mapping[str, Any],
    completed_at: datetime.datetime,
) -> dict[str, Any]:
    """Return the content of a warranty record.

    Args:
        checks: every check of the job, as it stands now.
        record: number, place in the chain, date, code and the hash before (see :mod:`.services`).
        completed_at: when the job became complete; the warranty runs from that day at the site.
    """
    job = checks.job
    sold: Mapping[str, Any] = job.quote.snapshot
    paper = sold.get("paper") or {}
    # As it is built: rooms that were measured again, or added, stand in the last signed change.
    changed = changed_work(job.quote)
    work = changed.whole or sold.get("work") or {}
    deliveries = _deliveries(job)
    language = job.site.customer.language
    completed_on = completed_at.astimezone(ZoneInfo(job.site.time_zone)).date()
    return {
        "format": FORMAT,
        "language": language,
        "time_zone": job.site.time_zone,
        "paper": "letter" if company.currency in LETTER_CURRENCIES else "A4",
        "record": dict(record),
        "company": company_part(company),
        "customer": {"name": job.customer_name},
        "site": site_part(job.site),
        "job": {
            "number": job.number,
            "title": job.title,
            "quote": f"{job.quote.number}/{job.quote.revision}",
            "accepted_by": job.quote.signed_name,
            "accepted_on": _day(job.quote.answered_on),
            "started_on": _day(job.starts_on),
            "completed_on": completed_on.isoformat(),
        },
        "warranty": terms.frozen(completed_on, places_of(work)),
        "specification": _built(work) if changed.whole else _specification(paper, work),
        "changes": [_change(one) for one in changed.changes],
        "plans": _plans(work),
        "products": _products(work, deliveries),
        "inspection": _inspection(checks, language),
        "readings": [_reading(state, one) for state in checks.states for one in state.records],
        "flood_tests": [one for state in checks.states for one in _flood_tests(state)],
        "photos": photos_part(job, language=language),
        "people": _people(job),
        "cautions": _cautions(paper, work),
    }


def _day(day: datetime.date | None) -> str:
    return day.isoformat() if day else ""


def _moment(moment: datetime.datetime | None) -> str:
    return moment.astimezone(datetime.UTC).isoformat() if moment else ""


# --- What was sold ----------------------------------------------------------------------------------------


def _specification(paper: Mapping[str, Any], work: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what is done in each room, surface by surface."""
    keys = [room["key"] for room in work.get("rooms", ())]
    return [
        {"key": key, "name": room["name"], "surfaces": room.get("surfaces", [])}
        for key, room in zip(keys, paper.get("rooms", ()), strict=False)
    ]


def _built(work: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the same of rooms that a signed change measured, from its work part."""
    tiles = {one["key"]: one["name"] for one in work["materials"]}
    faces = {room["key"]: room["faces"] for room in work["takeoff"]["rooms"]}
    return [
        {
            "key": room["key"],
            "name": room["name"],
            "surfaces": [_surface(one, faces[room["key"]], tiles) for one in room["surfaces"]],
        }
        for room in work["room_set"]["rooms"]
    ]


def _surface(
    surface: Mapping[str, Any], faces: Iterable[Mapping[str, Any]], tiles: Mapping[str, str]
) -> dict[str, Any]:
    areas = [face["area"] for face in faces if face["surface"] == surface["key"] and face["area"]]
    # As a quote prints areas: square feet to a tenth, square metres to a hundredth.
    places = Decimal("0.01") if areas and areas[0]["unit"] == "sq m" else Decimal("0.1")
    area = sum((Decimal(one["value"]) for one in areas), Decimal(0)).quantize(places)
    tile = surface["tile"] or {}
    return {
        "name": surface["name"],
        "area": f"{area:f}",
        "unit": areas[0]["unit"] if areas else "",
        "membrane": surface["membrane"],
        "new_board": surface["new_board"],
        "remove": surface["remove"],
        "tile": tiles.get(tile.get("material", ""), ""),
        "pattern": tile.get("pattern", ""),
    }


def _change(change: Mapping[str, Any]) -> dict[str, Any]:
    """Return a signed change in words, without its price."""
    return {
        "number": change["number"],
        "signed_on": change["signed_on"],
        "title": change["title"],
        "lines": [{"adds": line["sign"] > 0, "text": line["text"]} for line in change["lines"]],
    }


def places_of(work: Mapping[str, Any]) -> set[Place] | None:
    """Return what the measured rooms have that a line of the care may be about; None: none were measured."""
    rooms = (work.get("room_set") or {}).get("rooms") or ()
    if not rooms:
        return None
    found = set()
    for room in rooms:
        for surface in room.get("surfaces", ()):
            kind = SurfaceKind(surface["kind"])
            found |= PLACE_OF.get(kind, set()) | (
                {Place.WET} if surface["exposure"] == Exposure.WET else set()
            )
        if any(fixture["kind"] == FixtureKind.DRAIN for fixture in room.get("fixtures", ())):
            found.add(Place.DRAIN)
    return found


def _plans(work: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the drawings the crew built by: of each room, and of each face where they were drawn."""
    drawn, faces = work.get("plans") or {}, work.get("faces") or {}
    takeoff = work.get("takeoff") or {}
    labels = {room["key"]: room["faces"] for room in takeoff.get("rooms", ())}
    return [
        {
            "room": room["name"],
            "scale": drawn[room["key"]]["scale"],
            "drawings": [
                {"shows": name, "svg": drawn[room["key"]][name]}
                for name in PLANS
                if drawn[room["key"]].get(name)
            ],
            "faces": [
                {"label": face["label"], "svg": faces[face["key"]]}
                for face in labels.get(room["key"], ())
                if faces.get(face["key"])
            ],
        }
        for room in work.get("rooms", ())
        if room["key"] in drawn
    ]


def _cautions(paper: Mapping[str, Any], work: Mapping[str, Any]) -> list[Any]:
    """Return what the quote warned of: it holds for whoever opens the work again."""
    if "cautions" in paper:
        return list(paper["cautions"])
    return list((work.get("takeoff") or {}).get("cautions", ()))


# --- What was used ----------------------------------------------------------------------------------------


def _deliveries(job: Job) -> list[DeliveryEntry]:
    counted = DeliveryEntry.objects.filter(job=job, superseded_by=None).exclude(packs_millionths=0)
    return list(counted.order_by("day", "pk"))


def _products(work: Mapping[str, Any], deliveries: Iterable[DeliveryEntry]) -> list[dict[str, Any]]:
    """Return every material with what came of it and its lot numbers, in the order of the purchase list."""
    came: dict[str, list[DeliveryEntry]] = {}
    for entry in deliveries:
        came.setdefault(entry.material_key, []).append(entry)
    rows = [
        {
            "name": one["name"],
            "code": one.get("code", ""),
            "role": one.get("role", ""),
            "pack": one["pack"],
            "planned_packs": one["packs"],
            "customer_supplied": bool(one.get("customer_supplied")),
            **_received(came.pop(one["key"], [])),
        }
        for one in work.get("materials", ())
    ]
    # What came without being on the list.
    rows += [
        {
            "name": entries[0].material_name,
            "code": "",
            "role": "",
            "pack": entries[0].pack_label,
            "planned_packs": "0",
            "customer_supplied": False,
            **_received(entries),
        }
        for entries in came.values()
    ]
    return rows


def _received(entries: list[DeliveryEntry]) -> dict[str, Any]:
    return {
        "received_packs": _packs(sum(entry.packs_millionths for entry in entries)),
        "lots": list(dict.fromkeys(entry.lot_numbers.strip() for entry in entries if entry.lot_numbers)),
        "deliveries": [
            {
                "day": entry.day.isoformat(),
                "packs": _packs(entry.packs_millionths),
                "lots": entry.lot_numbers.strip(),
            }
            for entry in entries
        ],
    }


def _packs(millionths: int) -> str:
    number = (Decimal(millionths) / MILLION).normalize()
    return f"{number:f}"


# --- What was found ---------------------------------------------------------------------------------------


def _inspection(checks: JobChecks, language: str) -> dict[str, Any]:
    """Return the inspection record as its own paper prints it, in the language of this one."""
    whole = record_snapshot(checks, language=language)
    wanted = ("passed", "count", "as_of", "rooms", "non_conformances", "overrides")
    return {name: whole[name] for name in wanted}


def _reading(state: CheckState, record: Any) -> dict[str, Any]:
    """Return one record as data: figures in mm or per cent, as text."""
    planned = state.planned
    number = _mm if planned.quantity == Quantity.LENGTH else _per_cent
    return {
        "check": planned.key,
        "room": planned.room_name,
        "surface": planned.surface_name,
        "unit": {Quantity.LENGTH: "mm", Quantity.PERCENT: "%"}.get(planned.quantity, ""),  # type: ignore[call-overload]
        "least": number(record.least),
        "most": number(record.most),
        "reading": number(record.reading),
        "typed": record.reading_typed,
        "answer": record.answer,
        "laid_at": _moment(record.laid_at),
        "instrument": record.instrument,
        "passed": bool(record.passed),
        "superseded": record.pk in state.superseded_pks,
        "by": str(record.by),
        "observed_at": _moment(record.observed_at),
        "recorded_at": _moment(record.recorded_at),
    }


def _mm(units: int | None) -> str:
    return "" if units is None else f"{from_units(units):f}"


def _per_cent(hundredths: int | None) -> str:
    return "" if hundredths is None else f"{Decimal(hundredths) / 100:f}"


def _flood_tests(state: CheckState) -> list[dict[str, Any]]:
    """Return every flood test of a check that has ended, with its levels as they were read."""
    limit = state.planned.limit
    starts = {start.pk: start for start in state.starts}
    rows = []
    for record in state.records:
        if record.kind != Kind.FLOOD or limit is None:
            continue
        start = starts.get(record.flood_start_id) if record.flood_start_id else None
        rows.append(
            {
                "room": state.planned.room_name,
                "limit": limit_text(limit, state.system).render(str),
                "source": state.planned.source,
                "laid_at": _moment(start.laid_at if start else None),
                "started_at": _moment(start.started_at if start else None),
                "ended_at": _moment(record.observed_at),
                "start_level": shown(record.start_level or 0, Quantity.LENGTH, state.system),
                "end_level": shown(record.reading or 0, Quantity.LENGTH, state.system),
                "stood_seconds": record.stood_seconds,
                "stands_seconds": record.stands_seconds,
                "waited_seconds": record.waited_seconds,
                "wait_seconds": record.wait_seconds,
                "leak_seen": record.leak_seen,
                "instrument": record.instrument,
                "passed": bool(record.passed),
                "superseded": record.pk in state.superseded_pks,
                "by": str(record.by),
            }
        )
    return rows


# --- Who, and when ----------------------------------------------------------------------------------------


def _people(job: Job) -> list[dict[str, Any]]:
    """Return who worked on the job, at which trade steps, from which day to which; no hours and no pay."""
    counted = HoursEntry.objects.filter(job=job, superseded_by=None, minutes__gt=0)
    spans = {
        row["person"]: row for row in counted.values("person").annotate(first=Min("day"), last=Max("day"))
    }
    steps: dict[int, list[str]] = {}
    for person, step in counted.order_by("day", "pk").values_list("person", "step"):
        known = steps.setdefault(person, [])
        if step not in known:
            known.append(step)
    members = [member.person for member in job.crew_members.select_related("person")]
    others = User.objects.filter(pk__in=set(spans) - {member.pk for member in members}).order_by("pk")
    return [
        {
            "name": str(person),
            "steps": steps.get(person.pk, []),
            "first_day": _day(spans[person.pk]["first"]) if person.pk in spans else "",
            "last_day": _day(spans[person.pk]["last"]) if person.pk in spans else "",
        }
        for person in [*members, *others]
    ]


def completed_at(job: Job, *, otherwise: datetime.datetime) -> datetime.datetime:
    """Return when *job* last became complete."""
    change = job.stage_changes.filter(stage=Stage.COMPLETE).order_by("-at", "-pk").first()
    return change.at if change else otherwise

"""The crew's papers: the crew sheet and the purchase list, from the accepted quote's frozen work. No money.

Both are asked for by a job and printed from a snapshot of their own, so that a paper in somebody's pocket
can be printed again as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from itertools import groupby
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils.dateparse import parse_datetime
from django.utils.safestring import mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from contracting.documents import registry
from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.services import document_request
from contracting.staff.models import User
from estimates.quotes.changes.selectors import changed_work
from estimates.quotes.templatetags.figures import phrase_from
from estimates.takeoff.lengths import format_length
from estimates.takeoff.units import System
from estimates.takeoff.working import Figure, Given, Origin, Round, Step

from .models import Job, JobPaper
from .selectors import jobs_of
from .supply.selectors import Line, from_the_shelf, lines_of

CREW_SHEET = "crew-sheet"
PURCHASE_LIST = "purchase-list"
# What a cut plan knows of cost; the crew's papers and pages leave it out.
MONEY_KEYS = frozenset({"cost_cents", "bound_cents"})


def work_of(job: Job) -> dict[str, Any]:
    """Return what the job's pages and papers show of its work: no cost, no price, no margin."""
    changed = changed_work(job.quote)
    # Rooms that were measured again change the whole plan: cuts, batches, sequence.
    work: dict[str, Any] = _without_money(changed.whole or job.quote.snapshot["work"])
    if not changed.changes:
        return work
    materials = _with_changes(work["materials"], changed.changes)
    return {**work, "materials": materials, "changes": _without_money(changed.changes)}


def _with_changes(
    materials: Iterable[Mapping[str, Any]], changes: Iterable[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return the materials with the packs that hand-written lines of signed changes add or take away."""
    more: dict[str, Decimal] = {}
    for change in changes:
        for line in change["lines"]:
            if line["material_key"]:
                packs = line["sign"] * Decimal(line["packs"])
                more[line["material_key"]] = more.get(line["material_key"], Decimal(0)) + packs
    return [
        {**one, "packs": f"{max(Decimal(0), Decimal(one['packs']) + more.get(one['key'], Decimal(0))):f}"}
        for one in materials
    ]


def papers_of(job: Job) -> QuerySet[JobPaper]:
    """Return the job's printed papers, newest first."""
    return job.papers.select_related("document").defer("document__snapshot").order_by("-document_id")[:20]


@transaction.atomic
def crew_sheet_request(*, job: Job, by: User) -> DocumentRequest:
    """Ask for the crew sheet: plans, cut list, batches, quantities, sequence, cautions."""
    subject = _("Job %(number)d, crew sheet") % {"number": job.number}
    return _request(job, CREW_SHEET, {"work": work_of(job)}, subject, by)


@transaction.atomic
def purchase_list_request(*, job: Job, by: User) -> DocumentRequest:
    """Ask for the purchase list: what to buy, by supplier, in packs."""
    subject = _("Job %(number)d, purchase list") % {"number": job.number}
    work = work_of(job)
    lines = {line.planned.key: line for line in lines_of(job)}
    shown = {
        "materials": [one | _standing(lines.get(one["key"])) for one in work["materials"]],
        "shelf": from_the_shelf(work),
    }
    return _request(job, PURCHASE_LIST, shown, subject, by)


def _standing(line: Line | None) -> dict[str, str]:
    """Return how a line of the purchase list stands now, in packs as the paper prints them."""
    packs = (line.in_stock, line.ordered, line.received) if line else (0, 0, 0)
    names = ("in_stock", "ordered", "received")
    return {name: f"{(Decimal(one) / 10**6).normalize():f}" for name, one in zip(names, packs, strict=True)}


def _request(job: Job, kind: str, shown: dict[str, Any], subject: str, by: User) -> DocumentRequest:
    document = document_request(
        kind=kind, snapshot=_head(job, by) | shown, subject=subject, audience=Audience.CREW, by=by
    )
    JobPaper.objects.get_or_create(document=document, defaults={"job": job})
    return document


def register() -> None:
    """Make both kinds known to the documents app."""
    registry.register(
        CREW_SHEET,
        template="work/crew_sheet_paper.html",
        context=crew_sheet_context,
        filename=lambda snapshot: f"job-{snapshot['job']['number']}-crew-sheet.pdf",
        crew_may=crew_may,
    )
    registry.register(
        PURCHASE_LIST,
        template="work/purchase_list_paper.html",
        context=purchase_list_context,
        filename=lambda snapshot: f"job-{snapshot['job']['number']}-purchase-list.pdf",
        crew_may=crew_may,
    )


def crew_may(user: User, document: int) -> bool:
    """Whether *user* is on the job of a paper: it names the site, and how to get in."""
    return JobPaper.objects.filter(document=document, job__in=jobs_of(user)).exists()


def crew_sheet_context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the crew sheet's template is given, from its snapshot and nothing else."""
    return {**snapshot, **work_context(snapshot["work"])}


def purchase_list_context(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """Return the materials by supplier; what the customer supplies stands apart."""
    materials = snapshot["materials"]
    # Lists that were printed before stock was known of have none.
    bought = [
        {**one, "buy": f"{max(Decimal(0), Decimal(one['packs']) - Decimal(one.get('in_stock', '0'))):f}"}
        for one in materials
        if not one["customer_supplied"] and Decimal(one["packs"]) > 0
    ]
    ordered = sorted(bought, key=lambda one: (one["supplier"], one["role"], one["name"]))
    by_supplier = groupby(ordered, key=lambda one: str(one["supplier"]))
    return {
        **snapshot,
        "suppliers": [(name, list(rows)) for name, rows in by_supplier],
        "customer_supplies": [one for one in materials if one["customer_supplied"]],
    }


def work_context(work: Mapping[str, Any]) -> dict[str, Any]:
    """Return the work of a job as screen and crew sheet show it: room by room, rolls, batches, sequence."""
    # Quotes that were issued before drawings were frozen in every language have the one set.
    work = {**work, **work.get("translated", {}).get(get_language() or "", {})}
    takeoff, system = work["takeoff"], System(work["site"]["units"])
    if takeoff is None:
        return {"rooms": [], "rolls": [], "batches": [], "sequence": [], "cautions": [], "notices": []}
    return {
        "rooms": [_room(room, work) for room in takeoff["rooms"]],
        "rolls": _rolls(takeoff, work, system),
        "batches": _batches(takeoff, system),
        "sequence": _sequence(takeoff),
        # As on the quote: a clause that was not looked up is not shown as if it were.
        "cautions": [
            {**one, "source": "" if "from memory" in one["source"] else one["source"]}
            for one in takeoff["cautions"]
        ],
        "notices": takeoff["notices"],
        "ready_for_use": parse_datetime(takeoff["schedule"]["ready_for_use"]),
        "area_unit": system.area,
    }


def _room(room: Mapping[str, Any], work: Mapping[str, Any]) -> dict[str, Any]:
    drawn = work["plans"].get(room["key"], {})
    return {
        "name": room["name"],
        "membrane": _drawing(drawn.get("membrane", "")),
        "narrow": _drawing(drawn.get("narrow", "")),
        "tiled": _drawing(drawn.get("tiled", "")),
        "batched": _drawing(drawn.get("batched", "")),
        "faces": _faces(room, work.get("faces", {})),
        # Quotes that were issued before these were drawn have none.
        "faces_tiled": _faces(room, work.get("faces_tiled", {})),
        "faces_batched": _faces(room, work.get("faces_batched", {})),
        "figures": [figure_from(figure) for figure in room["figures"]],
        "materials": _room_materials(room["key"], work),
        "corners_inside": sum(piece["inside"] for piece in room["corner_pieces"]),
        "corners_outside": sum(not piece["inside"] for piece in room["corner_pieces"]),
    }


def _room_materials(room: str, work: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return how much of each material goes into a room, before packs."""
    materials = {one["key"]: one for one in work["materials"]}
    return [
        {
            "name": materials[need["material"]]["name"],
            "quantity": figure["value"],
            "unit": materials[need["material"]]["unit"],
        }
        for need in work["takeoff"]["needs"]
        for key, figure in need["by_room"]
        if key == room and Decimal(figure["value"]) > 0
    ]


def figure_from(stored: Mapping[str, Any]) -> Figure:
    """Return a figure read back from a snapshot, so that it can open to its working again."""
    return Figure(
        stored["key"],
        phrase_from(stored["label"]),
        Decimal(stored["value"]),
        stored["unit"],
        tuple(_line_from(line) for line in stored["lines"]),
    )


def _line_from(stored: Mapping[str, Any]) -> Given | Step:
    symbol, label, value = stored["symbol"], phrase_from(stored["label"]), Decimal(stored["value"])
    if "formula" in stored:
        rounding = Round(stored["rounding"])
        return Step(symbol, label, stored["formula"], value, stored["unit"], rounding, stored["places"])
    source = stored["source"]
    origin = Origin(stored["origin"])
    return Given(symbol, label, value, stored["unit"], origin, phrase_from(source) if source else None)


def _drawing(svg: str) -> str:
    # Our own SVG, frozen when the quote was issued; its texts were escaped there.
    return mark_safe(svg)  # noqa: S308


def _faces(room: Mapping[str, Any], drawn: Mapping[str, str]) -> list[dict[str, Any]]:
    return [
        {"label": face["label"], "drawing": _drawing(drawn[face["key"]])}
        for face in room["faces"]
        if drawn.get(face["key"])
    ]


def _rolls(takeoff: Mapping[str, Any], work: Mapping[str, Any], system: System) -> list[dict[str, Any]]:
    if takeoff["cut_plan"] is None:
        return []
    names = {one["key"]: one["name"] for one in work["materials"]}
    places = _places(takeoff)
    drawings = work.get("rolls", [])
    rolls = takeoff["cut_plan"]["rolls"]
    return [
        {
            "number": roll["number"],
            "name": _roll_name(roll["kind_key"], names, work.get("stock", {})),
            "used": _piece(roll["used_length_mm"], system),
            "drawing": _drawing(drawings[at]) if at < len(drawings) else "",
            "pieces": [
                {
                    "key": placed["piece_key"],
                    "across": _piece(placed["across_mm"], system),
                    "along": _piece(placed["along_mm"], system),
                    "from_start": _piece(placed["y_mm"], system),
                    "place": places.get(placed["piece_key"]),
                }
                for placed in roll["placed"]
            ],
            "offcuts": [
                f"{_piece(one['across_mm'], system)} × {_piece(one['along_mm'], system)}"
                for one in roll["offcuts"]
            ],
        }
        for at, roll in enumerate(rolls)
    ]


def _roll_name(kind: str, names: Mapping[str, str], stock: Mapping[str, Mapping[str, str]]) -> str:
    """Return what a roll is called: its material, or the offcut from the shelf and where that lies."""
    taken = stock.get(kind)
    if taken is None:
        return names.get(kind, kind)
    if not taken["place"]:
        return _("offcut from the shelf, %(name)s") % {"name": taken["name"]}
    return _("offcut from the shelf, %(name)s (%(place)s)") % dict(taken)


def _places(takeoff: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return where each cut piece goes: the face of a sheet, the change of plane of a strip."""
    places = {}
    for room in takeoff["rooms"]:
        faces = {face["key"]: face["label"] for face in room["faces"]}
        changes = {change["key"]: change["label"] for change in room["changes"]}
        for sheet in room["sheets"]:
            places[sheet["key"]] = {"room": room["name"], "label": faces.get(sheet["face"])}
        for strip in room["strips"]:
            places[strip["key"]] = {"room": room["name"], "label": changes.get(strip["change"])}
    return places


def _batches(takeoff: Mapping[str, Any], system: System) -> list[dict[str, Any]]:
    faces = {
        face["key"]: (room["name"], face["label"]) for room in takeoff["rooms"] for face in room["faces"]
    }
    return [
        {
            "number": batch["number"],
            "room": faces[batch["face"]][0],
            "face": faces[batch["face"]][1],
            "sheets": ", ".join(batch["sheets"]),
            "area": batch["area"],
            "quantity": figure_from(batch["quantity"]),
            "embed_within": batch["embed_within_min"],
            "wait": batch["wait_min"],
        }
        for batch in takeoff["batches"]
    ]


def _sequence(takeoff: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the tasks by day, each with its hold point and the wait that follows it."""
    names = {room["key"]: room["name"] for room in takeoff["rooms"]}
    waits: dict[str, list[dict[str, Any]]] = {}
    for wait in takeoff["schedule"]["waits"]:
        waits.setdefault(wait["task"], []).append(
            {"label": wait["cure"]["label"], "until": parse_datetime(wait["finish"])}
        )
    rows = []
    for planned in sorted(takeoff["schedule"]["tasks"], key=lambda one: (one["start"], one["finish"])):
        task = planned["task"]
        rows.append(
            {
                "start": parse_datetime(planned["start"]),
                "finish": parse_datetime(planned["finish"]),
                "room": names.get(task["room"], ""),
                "label": task["label"],
                "hold_point": task.get("hold_point"),
                "waits": waits.get(task["key"], []),
                "crew": planned["crew"],
            }
        )
    by_day = groupby(rows, key=lambda row: row["start"].date())
    return [{"day": day, "tasks": list(tasks)} for day, tasks in by_day]


def _piece(millimetres: str, system: System) -> str:
    return format_length(Decimal(millimetres), system, style="piece")


def _head(job: Job, by: User) -> dict[str, Any]:
    """Return who, where and when, as it stands now; the job's money stays out."""
    paper = job.quote.snapshot["paper"]
    members: Iterable[Any] = job.crew_members.all()
    return {
        "language": by.language,
        "time_zone": job.site.time_zone,
        "paper": paper["paper"],
        "company": paper["company"],
        "site": paper["site"],
        "job": {
            "number": job.number,
            "title": job.title,
            "customer": job.customer_name,
            "starts_on": job.starts_on.isoformat() if job.starts_on else "",
            "access_notes": job.site.access_notes,
            "crew_notes": job.crew_notes,
            "crew": [member.person.get_full_name() or member.person.username for member in members],
        },
    }


def _without_money(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _without_money(one) for name, one in value.items() if name not in MONEY_KEYS}
    if isinstance(value, list):
        return [_without_money(one) for one in value]
    return value

"""The inspection record on paper: what was checked, with which figures, by whom. No money in it."""

import datetime
from typing import Any

from django.utils import formats, timezone, translation
from django.utils.translation import gettext as _

from contracting.documents.models import Audience, DocumentRequest
from contracting.documents.registry import Snapshot
from contracting.documents.services import document_request
from contracting.staff.models import CompanyProfile, User
from contracting.staff.selectors import company_profile
from jobs.photos import paper
from jobs.photos.gallery import shot_of
from jobs.photos.subjects import known_of

from .models import CheckRecord, HoldPointOverride, NonConformance
from .selectors import CheckState, JobChecks, faults_of, finding_of
from .subjects import photos_by_check

KIND = "inspection-record"
TEMPLATE = "inspections/record_paper.html"
MOST_PHOTOS = 100


def record_request(*, checks: JobChecks, by: User) -> DocumentRequest:
    """Ask for the inspection record as it stands; as long as nothing is added, it is the same document."""
    return document_request(
        kind=KIND,
        snapshot=record_snapshot(checks, language=by.language),
        subject=_("Inspection record of job %(number)s") % {"number": checks.job.number},
        audience=Audience.CUSTOMER,
        by=by,
    )


def record_snapshot(checks: JobChecks, *, language: str) -> dict[str, Any]:
    """Return all that the paper says, in *language* and in the site's time."""
    job, site = checks.job, checks.job.site
    with translation.override(language), timezone.override(checks.zone):
        return {
            "language": language,
            "time_zone": site.time_zone,
            "company": _company(company_profile()),
            "job": {
                "number": job.number,
                "title": job.title,
                "customer": job.customer_name,
                "site": str(site),
                "city": ", ".join(part for part in (site.city, site.region, site.postal_code) if part),
            },
            "passed": checks.passed_count,
            "count": len(checks.states),
            "as_of": _last_moment(checks),
            "rooms": [
                {
                    "name": name or _("The whole job"),
                    "holds": [
                        {"name": hold, "checks": [_check(state) for state in states]}
                        for hold, states in holds
                    ],
                }
                for name, holds in checks.by_room
            ],
            "non_conformances": [
                _non_conformance(state, found) for state in checks.states for found in state.non_conformances
            ],
            "overrides": [_override(one) for one in checks.overrides],
            "photos": _photos(checks),
        }


def paper_context(snapshot: Snapshot) -> dict[str, Any]:
    shown = [paper.shown(number, one) for number, one in enumerate(snapshot.get("photos", ()), 1)]
    return {**snapshot, "photos": shown}


def filename(snapshot: Snapshot) -> str:
    return f"inspection-record-{snapshot['job']['number']}.pdf"


def _company(company: CompanyProfile) -> dict[str, str]:
    names = ("name", "tagline", "address", "phone", "email", "licence", "ink_colour")
    return {name: getattr(company, name) for name in names}


def _moment(moment: datetime.datetime) -> str:
    return formats.date_format(timezone.localtime(moment), "SHORT_DATETIME_FORMAT")


def _photos(checks: JobChecks) -> list[dict[str, Any]]:
    """Return the photos of the checks, in the order of the plan, as the paper freezes them."""
    by_check = photos_by_check(checks.job, checks.states)
    known = known_of(checks.job) if by_check else {}
    return [
        paper.frozen(shot_of(photo, known))
        for state in checks.states
        for photo in by_check.get(state.planned.pk, ())
    ][:MOST_PHOTOS]


def _last_moment(checks: JobChecks) -> str:
    """Say since when the record stands as it does: nothing here reads the clock."""
    moments = [record.recorded_at for state in checks.states for record in state.records]
    moments += [override.at for override in checks.overrides]
    moments += [start.recorded_at for state in checks.states for start in state.starts]
    moments += [
        action.at
        for state in checks.states
        for found in state.non_conformances
        for action in found.actions.all()
    ]
    return _moment(max(moments)) if moments else ""


def _check(state: CheckState) -> dict[str, Any]:
    planned = state.planned
    return {
        "label": _(planned.label),
        "surface": _(planned.surface_name),
        "limit": state.limit_text,
        "source": _(planned.source),
        "state": state.mark,
        "running": _running(state),
        "records": [_record(record, state) for record in state.records],
    }


def _running(state: CheckState) -> str:
    if state.running is None:
        return ""
    said = {"level": state.start_level, "moment": _moment(state.running.started_at)}
    return _("Water in at %(moment)s, %(level)s at the mark.") % said


def _record(record: CheckRecord, state: CheckState) -> dict[str, Any]:
    superseded = state.superseded_pks
    return {
        "finding": finding_of(record, state.planned, state.system),
        "passed": bool(record.passed),
        "faults": faults_of(record, state.planned, state.system),
        "instrument": record.instrument,
        "note": record.note,
        "by": str(record.by),
        "at": _moment(record.observed_at),
        "is_superseded": record.pk in superseded,
        "reason": record.reason,
    }


def _non_conformance(state: CheckState, found: NonConformance) -> dict[str, Any]:
    closure = getattr(found, "closure", None)
    return {
        "number": found.pk,
        "place": state.planned.place,
        "label": _(state.planned.label),
        "opened": _moment(found.opened_at),
        "actions": [
            {"text": action.text, "by": str(action.by), "at": _moment(action.at)}
            for action in found.actions.all()
        ],
        "closed": _moment(closure.at) if closure else "",
    }


def _override(override: HoldPointOverride) -> dict[str, Any]:
    return {
        "step": override.get_step_display(),
        "reason": override.reason,
        "by": str(override.by),
        "at": _moment(override.at),
        "sentences": list(dict.fromkeys(row.sentence for row in override.waived.all())),
    }

"""What photos of a job can belong to among its inspections: its checks and flood tests."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from jobs.photos.models import About, Photo
from jobs.photos.selectors import photos_about
from jobs.photos.subjects import Subject, register
from jobs.work.models import Job

from .models import FloodStart, Hold, Kind, PlannedCheck
from .selectors import CheckState


def checks(job: Job) -> list[Subject]:
    """Return the checks of the job's plan, by their numbers."""
    return [_subject(About.CHECK, str(row.pk), row) for row in _planned(job) if row.kind != Kind.FLOOD]


def flood_tests(job: Job) -> list[Subject]:
    """Return the flood tests, by the number of their check and by the key a phone gave to one begun."""
    planned = {row.pk: row for row in _planned(job) if row.kind == Kind.FLOOD}
    begun = FloodStart.objects.filter(planned__in=planned) if planned else ()
    return [
        *(_subject(About.FLOOD, str(row.pk), row) for row in planned.values()),
        *(_subject(About.CHECK, str(row.pk), row, is_offered=False) for row in planned.values()),
        *(
            _subject(About.FLOOD, str(start.key), planned[start.planned_id], is_offered=False)
            for start in begun
        ),
    ]


def add() -> None:
    """Make both known to the photos."""
    register(About.CHECK, checks)
    register(About.FLOOD, flood_tests)


def _planned(job: Job) -> list[PlannedCheck]:
    rows = PlannedCheck.objects.filter(plan__job=job).select_related("plan")
    return list(rows.order_by("position"))


def _subject(kind: About, ref: str, row: PlannedCheck, *, is_offered: bool = True) -> Subject:
    label = _(row.label)
    return Subject(
        kind,
        ref,
        f"{label} ({_(row.surface_name)})" if row.surface_name else label,
        place=row.room_name,
        work=str(Hold(row.hold).label),
        address=row.get_absolute_url(),
        is_offered=is_offered,
    )


def about_of(state: CheckState) -> str:
    """Return what a form of photos says they belong to, for one check."""
    kind = About.FLOOD if state.planned.kind == Kind.FLOOD else About.CHECK
    return f"{kind}:{state.planned.pk}"


def photos_by_check(job: Job, states: Iterable[CheckState]) -> dict[int, list[Photo]]:
    """Return the photos of *job* that belong to *states*, by the number of the check; two queries."""
    refs: dict[str, int] = {}
    for state in states:
        refs[str(state.planned.pk)] = state.planned.pk
        refs |= {str(start.key): state.planned.pk for start in state.starts}
    found: dict[int, list[Photo]] = {}
    for photo in photos_about(job, (About.CHECK, About.FLOOD), refs):
        found.setdefault(refs[photo.said.about_ref], []).append(photo)
    return found

"""What a photo can belong to, and what to call it. An app above adds its own kinds in ``AppConfig.ready``.

A reference names a thing in words that a phone without signal knows: the key of a room, a surface as
``room/surface``, a trade step, the number of a check, the key of an entry. One that names nothing (any more)
keeps its photo, which then stands under its kind alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.translation import gettext as _

from estimates.quotes.changes.selectors import work_in_force
from estimates.quotes.templatetags.figures import step_name
from estimates.takeoff.labour import TRADE_STEPS
from jobs.work.models import DayNote, Job

from .models import About


@dataclass(frozen=True)
class Subject:
    """One thing a photo can belong to.

    Attributes:
        place: the room it is in, or "".
        work: the trade step or hold point it is part of, or "".
        address: of its own page, or "".
        is_offered: whether forms offer it; an older name of a thing is only understood.
    """

    kind: About
    ref: str
    label: str
    place: str = ""
    work: str = ""
    address: str = ""
    is_offered: bool = True

    @property
    def value(self) -> str:
        """As a form's choice says it."""
        return f"{self.kind}:{self.ref}"


Lister = Callable[[Job], Sequence[Subject]]
_listers: dict[About, list[Lister]] = {}


def register(kind: About, lister: Lister) -> None:
    """Let *lister* say what there is of *kind* in a job; what others list stays."""
    _listers.setdefault(kind, []).append(lister)


def subjects_of(job: Job) -> list[Subject]:
    """Return everything a photo of *job* can belong to, in the order a form offers it."""
    found = [Subject(About.JOB, "", _("The whole job"))]
    for kind in About:
        for lister in _listers.get(kind, ()):
            found += lister(job)
    return found


def checked(kind: str, ref: object) -> tuple[About, str]:
    """Return kind and reference as they are stored.

    Raises:
        ValidationError: the kind is not known, or the reference has no believable shape.
    """
    if kind not in About.values:
        expected = ", ".join(About.values)
        raise ValidationError(
            _("Read “%(kind)s”: expected one of %(expected)s.") % {"kind": kind, "expected": expected}
        )
    text = str(ref or "").strip() if kind != About.JOB else ""
    if len(text) > 120 or not text.isprintable():
        raise ValidationError(_("What the photo belongs to has at most 120 plain characters."))
    return About(kind), text


def known_of(job: Job) -> dict[tuple[str, str], Subject]:
    """Return everything a photo of *job* can belong to, by kind and reference."""
    return {(str(one.kind), one.ref): one for one in subjects_of(job)}


def rooms(job: Job) -> list[Subject]:
    """Return the rooms the job builds, those of signed changes among them, and then their surfaces."""
    built = _built(job)
    return [Subject(About.ROOM, key, name, place=name) for key, name, _surfaces in built] + [
        Subject(About.SURFACE, f"{key}/{surface['key']}", _(surface["name"]), name)
        for key, name, surfaces in built
        for surface in surfaces
    ]


def steps(job: Job) -> list[Subject]:
    """Return the trade steps."""
    return [Subject(About.STEP, step, step_name(step), work=step_name(step)) for step in TRADE_STEPS]


def notes(job: Job) -> list[Subject]:
    """Return the notes of the job's days; what a corrected one said before is the note that corrects it."""
    rows = list(DayNote.objects.filter(job=job).order_by("day", "pk"))
    newer = {row.supersedes_id: row for row in rows if row.supersedes_id}
    found = []
    for row in rows:
        last = row
        while last.pk in newer:
            last = newer[last.pk]
        kind, text = last.get_kind_display().capitalize(), last.text[:60]
        found.append(
            Subject(
                About.NOTE,
                str(row.key),
                f"{kind}: {text}" if text else kind,
                address=reverse("work:log", args=[job.pk]),
                is_offered=last is row and bool(text or last.cause or last.low_tenths is not None),
            )
        )
    return found


def _built(job: Job) -> list[tuple[str, str, Sequence[Mapping[str, str]]]]:
    work = work_in_force(job.quote)
    measured = {room["key"]: room["surfaces"] for room in (work.get("room_set") or {}).get("rooms", ())}
    return [(room["key"], room["name"], measured.get(room["key"], ())) for room in work.get("rooms", ())]


register(About.ROOM, rooms)
register(About.STEP, steps)
register(About.NOTE, notes)

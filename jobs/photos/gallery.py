"""What the pages of photos show: each photo in words, and a job's photos in groups."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.utils import formats
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from contracting.staff.models import User
from jobs.work.models import Job

from . import arrows, selectors
from .models import About, Description, Photo
from .subjects import Subject, known_of

Known = Mapping[tuple[str, str], Subject]
# How a gallery may be grouped; the first is meant where none is asked for.
WAYS = ("day", "room", "step")
# The phone's clock and the camera's are told apart where they differ by more.
CLOCKS_AGREE_SECONDS = 120
DEGREE = 10**7


@dataclass(frozen=True)
class Shot:
    """A photo in words."""

    photo: Photo
    subject: Subject

    @property
    def said(self) -> Description:
        return self.photo.said

    @property
    def label(self) -> str:
        """What it belongs to."""
        if self.subject.place and self.subject.kind != About.ROOM:
            return f"{self.subject.place}: {self.subject.label}"
        return self.subject.label

    @property
    def alt(self) -> str:
        """What it shows, for who cannot see it."""
        return self.said.caption or _("Photo, %(what)s") % {"what": self.label}

    @property
    def overlay(self) -> SafeString:
        """Its arrows, to lie over the picture."""
        return arrows.overlay(self.said.arrows, self.photo.width, self.photo.height)

    @property
    def clocks_differ(self) -> bool:
        camera = self.photo.camera_at
        return camera is not None and (
            abs((camera - self.photo.taken_at).total_seconds()) > CLOCKS_AGREE_SECONDS
        )

    @property
    def place(self) -> str:
        """Where it was taken, or "": degrees to some ten metres."""
        if self.photo.latitude is None or self.photo.longitude is None:
            return ""
        return f"{self.photo.latitude / DEGREE:.4f}, {self.photo.longitude / DEGREE:.4f}"


@dataclass
class Group:
    """Photos under one heading."""

    heading: str
    shots: list[Shot] = field(default_factory=list)


def shot_of(photo: Photo, known: Known) -> Shot:
    """Put *photo* in words; what its reference names no more is called by its kind."""
    said = photo.said
    found = known.get((said.about_kind, said.about_ref))
    return Shot(photo, found or Subject(About(said.about_kind), said.about_ref, _of_kind(said.about_kind)))


def groups_of(job: Job, way: str, known: Known | None = None) -> list[Group]:
    """Return the photos of *job* in groups: by day the newest first, by room and by step as they come."""
    known = known_of(job) if known is None else known
    zone = ZoneInfo(job.site.time_zone)
    groups: dict[Any, Group] = {}
    for photo in selectors.photos_of(job):
        shot = shot_of(photo, known)
        day = photo.taken_at.astimezone(zone).date()
        if way == "room":
            key: Any = shot.subject.place or _("The whole job")
            heading = key
        elif way == "step":
            key = shot.subject.work or _of_kind(shot.subject.kind)
            heading = key
        else:
            key, heading = day, capfirst(formats.date_format(day, "l, ") + formats.date_format(day))
        groups.setdefault(key, Group(heading)).shots.append(shot)
    if way == "day":
        return [groups[day] for day in sorted(groups, reverse=True)]
    order = {key: place for place, key in enumerate(_in_order(way, known))}
    return [groups[key] for key in sorted(groups, key=lambda key: order.get(key, len(order)))]


def gallery_page(job: Job, user: User, way: str) -> dict[str, Any]:
    """Return what the gallery of *job* shows; the same number of queries however many photos."""
    known = known_of(job)
    way = way if way in WAYS else WAYS[0]
    withdrawn = selectors.withdrawn_of(job) if user.sees_money else []
    groups = groups_of(job, way, known)
    return {
        "job": job,
        "known": known,
        "way": way,
        "groups": groups,
        "count": sum(len(group.shots) for group in groups),
        "withdrawn": [shot_of(photo, known) for photo in withdrawn],
    }


def photo_page(photo: Photo) -> dict[str, Any]:
    """Return what the page of one photo shows."""
    known = known_of(photo.job)
    shot = shot_of(photo, known)
    told = selectors.descriptions_of(photo)
    before, after = neighbours(photo)
    return {
        "job": photo.job,
        "shot": shot,
        "photo": photo,
        "earlier": told[1:],
        "before": before,
        "after": after,
    }


def neighbours(photo: Photo) -> tuple[Photo | None, Photo | None]:
    """Return the photos of the job that were taken before and after *photo*."""
    others = Photo.objects.filter(job=photo.job_id, withdrawal=None)
    earlier = Q(taken_at__lt=photo.taken_at) | Q(taken_at=photo.taken_at, pk__lt=photo.pk)
    later = Q(taken_at__gt=photo.taken_at) | Q(taken_at=photo.taken_at, pk__gt=photo.pk)
    return (
        others.filter(earlier).order_by("-taken_at", "-pk").first(),
        others.filter(later).order_by("taken_at", "pk").first(),
    )


def choices(known: Sequence[Subject]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return what a form offers, by kind."""
    kinds: dict[str, list[tuple[str, str]]] = {}
    for one in known:
        if one.is_offered:
            label = f"{one.place}: {one.label}" if one.place and one.kind != About.ROOM else one.label
            kinds.setdefault(_of_kind(one.kind), []).append((one.value, label))
    return list(kinds.items())


def _of_kind(kind: str) -> str:
    return capfirst(str(About(kind).label))


def _in_order(way: str, known: Known) -> list[str]:
    names = [one.place if way == "room" else one.work for one in known.values()]
    return list(dict.fromkeys(name for name in names if name))

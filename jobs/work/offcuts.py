"""What a job leaves: its cut plan's offcuts go on the shelf, and what it took from there is used up."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from contracting.staff.models import User
from contracting.staff.policies import StaffRequest, office_required
from estimates.pricelists.models import Material
from estimates.rooms.fields import Length
from estimates.stock.models import Offcut
from estimates.stock.services import Piece, offcut_take, offcuts_shelve
from estimates.takeoff.lengths import format_length
from estimates.takeoff.units import System

from . import policies
from .models import Job
from .papers import work_of


@dataclass(frozen=True)
class Left:
    """An offcut of the job's cut plan; *is_shelved*: it lies on the shelf already, or did."""

    piece: Piece
    roll: int
    size: str
    is_shelved: bool


def offcuts_left(job: Job) -> list[Left]:
    """Return the offcuts worth keeping that the job's cut plan leaves (2 queries)."""
    work = work_of(job)
    takeoff, system = work["takeoff"], System(work["site"]["units"])
    if takeoff is None or takeoff["cut_plan"] is None:
        return []
    numbers = {one["key"]: one["material_id"] for one in work["materials"]}
    stock = (work.get("room_set") or {}).get("stock", ())
    numbers |= {one["key"]: numbers.get(one["material"]) for one in stock}
    materials = Material.objects.in_bulk([pk for pk in numbers.values() if pk])
    found = []
    for roll in takeoff["cut_plan"]["rolls"]:
        material = materials.get(numbers.get(roll["kind_key"]) or 0)
        for at, one in enumerate(roll["offcuts"], 1):
            if material is not None:
                found.append((material, roll["number"], _origin(job, roll["number"], at), one))
    known = set(
        Offcut.objects.filter(origin__in=[origin for _, _, origin, _ in found]).values_list(
            "origin", flat=True
        )
    )
    return [_left(material, roll, origin, one, system, known) for material, roll, origin, one in found]


def _left(
    material: Material, roll: int, origin: str, one: dict[str, Any], system: System, known: set[str]
) -> Left:
    across, along = (Decimal(one[name]) for name in ("across_mm", "along_mm"))
    words = [format_length(size, system, style="piece") for size in (across, along)]
    piece = Piece(material, Length(words[0], across), Length(words[1], along), origin)
    return Left(piece, roll, " × ".join(words), origin in known)


def _origin(job: Job, roll: int, at: int) -> str:
    return f"job-{job.pk}-roll-{roll}-{at}"


@transaction.atomic
def offcuts_keep(
    *, job: Job, pieces: Sequence[Piece], place: str, by: User | None, at: datetime.datetime
) -> int:
    """Put *pieces* on the shelf, and take off it what the job's cut plan cut up. Returns how many are new."""
    used = Offcut.objects.filter(promises__quote=job.quote, taken_at__isnull=True)
    for offcut in list(used):
        offcut_take(offcut=offcut, why=_("job %(number)d") % {"number": job.number}, at=at)
    return offcuts_shelve(pieces=pieces, place=place, by=by)


class KeepForm(forms.Form):
    """Which offcuts are kept, and where they lie."""

    kept = forms.MultipleChoiceField(
        label=gettext_lazy("Keep"), required=False, widget=forms.CheckboxSelectMultiple
    )
    place = forms.CharField(label=gettext_lazy("Where they lie"), max_length=80, required=False)

    def __init__(self, *args: Any, left: Sequence[Left], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.left = {one.piece.origin: one for one in left if not one.is_shelved}
        self.fields["kept"].choices = [  # type: ignore[attr-defined]
            (
                origin,
                _("Roll %(number)d: %(size)s, %(name)s")
                % {"number": one.roll, "size": one.size, "name": one.piece.material.name},
            )
            for origin, one in self.left.items()
        ]
        self.fields["kept"].initial = list(self.left)

    @property
    def pieces(self) -> list[Piece]:
        return [self.left[origin].piece for origin in self.cleaned_data["kept"]]


@office_required
@require_http_methods(["GET", "POST"])
def offcuts(request: StaffRequest, pk: int) -> HttpResponse:
    job = policies.job_for(request.user, pk)
    left = offcuts_left(job)
    form = KeepForm(request.POST if request.method == "POST" else None, left=left)
    if request.method == "POST" and form.is_valid():
        place, now = form.cleaned_data["place"], timezone.now()
        count = offcuts_keep(job=job, pieces=form.pieces, place=place, by=request.user, at=now)
        messages.success(request, _("Put on the shelf: %(count)d.") % {"count": count})
        return redirect("stock:offcuts")
    shelved = [one for one in left if one.is_shelved]
    return render(request, "work/offcuts.html", {"job": job, "form": form, "shelved": shelved})

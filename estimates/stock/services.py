"""What changes the shelf of offcuts. Each call is one act of a person and one transaction."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from contracting.staff.models import User
from estimates.pricelists.models import Material, MaterialRole
from estimates.rooms.fields import Length

from .models import Offcut, OffcutPromise
from .selectors import STANDING, offcuts_named

if TYPE_CHECKING:
    from estimates.quotes.models import Quote


@dataclass(frozen=True)
class Piece:
    """A piece to put on the shelf; *origin* names the job's offcut it is, empty for one found elsewhere."""

    material: Material
    width: Length
    length: Length
    origin: str = ""


@transaction.atomic
def offcut_save(*, offcut: Offcut, piece: Piece, place: str, by: User | None) -> Offcut:
    """Put a piece on the shelf, or correct one that lies there.

    Raises:
        ValidationError: it is no membrane, was taken already, or a value is refused.
    """
    if piece.material.role != MaterialRole.MEMBRANE:
        raise ValidationError(_("Only offcuts of membrane are kept here."))
    if offcut.taken_at is not None:
        raise ValidationError(_("This offcut was taken from the shelf already."))
    if offcut.pk is None:
        offcut.added_by = by
    offcut.material, offcut.width, offcut.length = piece.material, piece.width, piece.length
    offcut.place, offcut.origin = place.strip(), piece.origin or offcut.origin
    offcut.full_clean(validate_constraints=False)
    offcut.save()
    return offcut


@transaction.atomic
def offcut_take(*, offcut: Offcut, why: str, at: datetime.datetime) -> None:
    """Take an offcut off the shelf: used or thrown away, and for what.

    Raises:
        ValidationError: somebody was first.
    """
    taken = Offcut.objects.filter(pk=offcut.pk, taken_at__isnull=True).update(
        taken_at=at, taken_for=why.strip()[:120]
    )
    if not taken:
        raise ValidationError(_("This offcut was taken from the shelf already."))


@transaction.atomic
def offcuts_shelve(*, pieces: Sequence[Piece], place: str, by: User | None) -> int:
    """Put what a job left on the shelf; what lies there already is left alone. Returns how many are new."""
    known = set(
        Offcut.objects.filter(origin__in=[piece.origin for piece in pieces if piece.origin]).values_list(
            "origin", flat=True
        )
    )
    new = [piece for piece in pieces if not piece.origin or piece.origin not in known]
    for piece in new:
        offcut_save(offcut=Offcut(), piece=piece, place=place, by=by)
    return len(new)


def offcuts_promise(*, quote: Quote, keys: Iterable[str]) -> None:
    """Keep the offcuts that a quote's cut plan takes for it. Runs in the transaction that stores the quote.

    Raises:
        ValidationError: one of them was taken, or given to another quote, in the meantime.
    """
    found = offcuts_named(list(keys))
    others = OffcutPromise.objects.filter(
        offcut__in=list(found.values()), quote__status__in=STANDING
    ).exclude(quote__estimate_id=quote.estimate_id)
    if any(one.taken_at is not None for one in found.values()) or others.exists():
        raise ValidationError(
            _("An offcut that this estimate cuts up is no longer on the shelf. Look at the estimate again.")
        )
    OffcutPromise.objects.bulk_create(OffcutPromise(offcut=offcut, quote=quote) for offcut in found.values())

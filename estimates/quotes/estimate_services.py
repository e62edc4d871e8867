"""What changes an estimate. Each call is one act of a person, one transaction and one revision.

Every change names the revision its editor began with. When somebody else has saved since, nothing is stored
and :class:`EditConflictError` tells what they changed; the editor's own typing stays on the page.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Model
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from contracting.customers.models import Customer, Site
from contracting.staff.models import User
from contracting.staff.selectors import company_profile
from estimates.pricelists.selectors import usual_materials
from estimates.rooms.models import Room

from .models import (
    Estimate,
    EstimateChange,
    EstimateLine,
    EstimateMaterial,
    EstimateRoom,
    NumberSeries,
    Override,
    PaymentStage,
    ProfitRule,
    SurfaceAccent,
    SurfaceTile,
)
from .slots import SLOTS, usual_for

# What the change log calls the parts of an estimate that are not plain fields.
PARTS: Mapping[str, Any] = {
    "rooms": gettext_lazy("rooms"),
    "materials": gettext_lazy("materials"),
    "surface_tiles": gettext_lazy("tile of single surfaces"),
    "surface_accents": gettext_lazy("accents"),
    "lines": gettext_lazy("lines written by hand"),
    "payment_stages": gettext_lazy("payments"),
    "overrides": gettext_lazy("figures set by hand"),
}


class EditConflictError(ValidationError):
    """Somebody saved the estimate in the meantime; *changes* are theirs, the newest last."""

    def __init__(self, changes: Sequence[EstimateChange]) -> None:
        super().__init__(_("Somebody else saved this estimate while you were editing it."), code="changed")
        self.changes = list(changes)


def number_next(series: str) -> int:
    """Return the next number of *series*; call it inside the transaction that uses the number."""
    NumberSeries.objects.get_or_create(name=series)
    # The update locks the row until the transaction ends, so two issues at once get two numbers.
    NumberSeries.objects.filter(name=series).update(last_number=F("last_number") + 1)
    return NumberSeries.objects.get(name=series).last_number


@transaction.atomic
def estimate_create(
    *, site: Site, title: str, rooms: Iterable[Room], by: User, on: datetime.date
) -> Estimate:
    """Start an estimate with the company's defaults, the site's tax and the usual materials.

    Raises:
        ValidationError: the title is missing.
    """
    company = company_profile()
    estimate = Estimate(
        number=number_next("estimate"),
        title=title.strip(),
        site=site,
        created_by=by,
        price_on=on,
        overhead_basis_points=company.overhead_basis_points,
        profit_rule=ProfitRule.MARGIN,
        profit_basis_points=company.margin_basis_points,
        minimum_charge_cents=company.minimum_charge_cents,
        tax_base=site.tax_base,
        tax_basis_points=site.tax_basis_points,
        deposit_basis_points=company.deposit_basis_points,
        valid_days=company.validity_days,
        inclusions=company.inclusions,
        exclusions=company.exclusions,
        terms=company.terms,
    )
    estimate.full_clean()
    estimate.save()
    _write_rooms(estimate, rooms)
    usual = usual_materials()
    EstimateMaterial.objects.bulk_create(
        EstimateMaterial(estimate=estimate, slot=slot.key, material=material)
        for slot in SLOTS.values()
        for material in usual_for(slot, usual)
    )
    return estimate


@transaction.atomic
def customer_with_site_create(*, name: str, street: str, city: str, email: str, phone: str) -> Site:
    """Take down a new customer and the site in one go; the rest can be filled in later."""
    customer = Customer(name=name.strip(), email=email, phone=phone)
    customer.full_clean()
    customer.save()
    company_site = Site(customer=customer, name=_("Main house"), street=street.strip(), city=city.strip())
    company_site.full_clean()
    company_site.save()
    return company_site


@transaction.atomic
def estimate_save(
    *, estimate: Estimate, revision: int, values: Mapping[str, Any], by: User, at: datetime.datetime
) -> Estimate:
    """Change plain fields of an estimate.

    Args:
        revision: the one the editor began with.
        values: field name -> new value; fields that keep their value are not logged.

    Raises:
        EditConflictError: somebody else was first.
        ValidationError: a value is refused.
    """
    changed = []
    for name, value in values.items():
        before = getattr(estimate, name)
        if before != value:
            field = Estimate._meta.get_field(name)
            setattr(estimate, name, value)
            label = str(getattr(field, "verbose_name", name))
            changed.append(_logged(name, label, _value_words(field, before), _value_words(field, value)))
    if not changed:
        _check_revision(estimate, revision)
        return estimate
    estimate.full_clean()
    _claim(estimate, revision, changed, by, at)
    estimate.save(update_fields=[*values, "changed_at"])
    return estimate


@transaction.atomic
def estimate_rooms_set(
    *, estimate: Estimate, revision: int, rooms: Sequence[Room], by: User, at: datetime.datetime
) -> None:
    """Put exactly *rooms* into the estimate, in that order.

    Raises:
        EditConflictError: somebody else was first.
        ValidationError: a room of another site.
    """
    if any(room.site_id != estimate.site_id for room in rooms):
        raise ValidationError(_("A room of another site cannot be in this estimate."))
    before = ", ".join(row.room.name for row in estimate.estimate_rooms.select_related("room"))
    after = ", ".join(room.name for room in rooms)
    _claim(estimate, revision, [_part("rooms", before, after)], by, at)
    estimate.estimate_rooms.all().delete()
    _write_rooms(estimate, rooms)


@transaction.atomic
def estimate_room_add(*, estimate: Estimate, room: Room, by: User, at: datetime.datetime) -> bool:
    """Put *room* behind the estimate's rooms, whoever else is editing it; return whether it was not in yet.

    Raises:
        ValidationError: a room of another site, or an estimate that the customer has accepted.
    """
    current = _held(estimate)
    if room.site_id != current.site_id:
        raise ValidationError(_("A room of another site cannot be in this estimate."))
    rooms = _rooms_of(current)
    if room in rooms:
        return False
    estimate_rooms_set(estimate=current, revision=current.revision, rooms=[*rooms, room], by=by, at=at)
    return True


@transaction.atomic
def estimate_room_remove(*, estimate: Estimate, room: Room, by: User, at: datetime.datetime) -> bool:
    """Take *room* out of the estimate, whoever else is editing it; return whether it was in.

    Raises:
        ValidationError: the customer has accepted the estimate.
    """
    current = _held(estimate)
    rooms = _rooms_of(current)
    if room not in rooms:
        return False
    left = [one for one in rooms if one != room]
    estimate_rooms_set(estimate=current, revision=current.revision, rooms=left, by=by, at=at)
    return True


@transaction.atomic
def estimate_spec_set(
    *,
    estimate: Estimate,
    revision: int,
    materials: Sequence[EstimateMaterial],
    tiles: Sequence[SurfaceTile],
    accents: Sequence[SurfaceAccent] = (),
    by: User,
    at: datetime.datetime,
) -> None:
    """Say anew which material fills which slot, and which surfaces get another tile or an accent (all rows
    unsaved).

    Raises:
        EditConflictError: somebody else was first.
        ValidationError: a material that does not fit its slot.
    """
    for row in materials:
        if row.slot not in SLOTS or not SLOTS[row.slot].fits(row.material):
            raise ValidationError(_("%(material)s cannot be used there.") % {"material": row.material.name})
    changed = [
        _part(
            "materials",
            _material_words(estimate.materials.select_related("material").order_by("slot", "pk")),
            _material_words(sorted(materials, key=lambda row: row.slot)),
        ),
        _part(
            "surface_tiles",
            _tile_words(estimate.surface_tiles.select_related("material", "border", "room")),
            _tile_words(tiles),
        ),
        _part(
            "surface_accents",
            _accent_words(estimate.surface_accents.select_related("material", "room")),
            _accent_words(accents),
        ),
    ]
    changed = [row for row in changed if row["before"] != row["after"]]
    if not changed:
        _check_revision(estimate, revision)
        return
    _claim(estimate, revision, changed, by, at)
    _replace(estimate.materials.all(), EstimateMaterial, materials, estimate)
    _replace(estimate.surface_tiles.all(), SurfaceTile, tiles, estimate)
    _replace(estimate.surface_accents.all(), SurfaceAccent, accents, estimate)


@transaction.atomic
def estimate_lines_set(
    *,
    estimate: Estimate,
    revision: int,
    lines: Sequence[EstimateLine],
    stages: Sequence[PaymentStage],
    by: User,
    at: datetime.datetime,
) -> None:
    """Replace the lines written by hand and the payments between deposit and balance.

    Raises:
        EditConflictError: somebody else was first.
        ValidationError: the payments pass the whole price, or a line is refused.
    """
    shares = sum(stage.share_basis_points for stage in stages) + estimate.deposit_basis_points
    if shares > 10_000:
        raise ValidationError(
            _("Deposit and payments come to %(percent)s %% of the price; at most 100 %% can be asked for.")
            % {"percent": f"{shares / 100:g}"}
        )
    changed = [
        _part("lines", _line_words(estimate.lines.all()), _line_words(lines)),
        _part("payment_stages", _stage_words(estimate.payment_stages.all()), _stage_words(stages)),
    ]
    changed = [row for row in changed if row["before"] != row["after"]]
    if not changed:
        _check_revision(estimate, revision)
        return
    _claim(estimate, revision, changed, by, at)
    # A price set by hand for one of these lines is known by the line's own number, so rows keep theirs.
    kept = [line.pk for line in lines if line.pk]
    estimate.lines.exclude(pk__in=kept).delete()
    for position, line in enumerate(lines):
        line.estimate, line.position = estimate, position
        line.full_clean()
        line.save()
    for position, stage in enumerate(stages):
        stage.position = position
    _replace(estimate.payment_stages.all(), PaymentStage, stages, estimate)


@transaction.atomic
def overrides_set(
    *,
    estimate: Estimate,
    revision: int,
    quantity: tuple[str, int] | None = None,
    price: tuple[str, int] | None = None,
    reason: str,
    by: User,
    at: datetime.datetime,
) -> None:
    """Set a computed quantity or price by hand; the reason is shown wherever the figure is.

    Args:
        quantity: (``packs:<material>`` or ``hours:<room>:<step>``, millionths).
        price: (key of a priced line, cents).

    Raises:
        EditConflictError: somebody else was first.
        ValidationError: no reason.
    """
    wanted = [(Override.What.QUANTITY, quantity), (Override.What.PRICE, price)]
    rows, changed = [], []
    for what, given in wanted:
        if given is None:
            continue
        key, value = given
        row = estimate.overrides.filter(key=key, what=what).first() or Override(
            estimate=estimate, key=key, what=what
        )
        before = _override_words(row) if row.pk else ""
        if what == Override.What.QUANTITY:
            row.quantity_millionths = value
        else:
            row.price_cents = value
        row.reason, row.by, row.at = reason.strip(), by, at
        row.full_clean()
        rows.append(row)
        changed.append(_part("overrides", before, _override_words(row)))
    _claim(estimate, revision, changed, by, at)
    for row in rows:
        row.save()


@transaction.atomic
def overrides_clear(
    *, estimate: Estimate, revision: int, keys: Sequence[str], by: User, at: datetime.datetime
) -> None:
    """Take figures set by hand back to the computed ones.

    Raises:
        EditConflictError: somebody else was first.
    """
    rows = estimate.overrides.filter(key__in=keys)
    before = "; ".join(_override_words(row) for row in rows)
    if not before:
        _check_revision(estimate, revision)
        return
    _claim(estimate, revision, [_part("overrides", before, "")], by, at)
    rows.delete()


# --- Inside -----------------------------------------------------------------------------------------------


def _claim(
    estimate: Estimate, revision: int, changed: list[dict[str, str]], by: User, at: datetime.datetime
) -> None:
    """Take the next revision by a conditional UPDATE and log what it changes.

    The update is the lock, alike on SQLite and PostgreSQL: of two editors one finds no row left.
    """
    won = Estimate.objects.filter(pk=estimate.pk, revision=revision).update(revision=revision + 1)
    if not won:
        raise EditConflictError(_since(estimate, revision))
    estimate.revision = revision + 1
    EstimateChange.objects.create(estimate=estimate, revision=estimate.revision, by=by, at=at, fields=changed)


def _held(estimate: Estimate) -> Estimate:
    """Return the estimate as it is now, held until the transaction ends (SQLite holds the whole file)."""
    current = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if current.status == Estimate.Status.WON:
        raise ValidationError(
            _("The customer has accepted estimate %(number)s; its rooms stay as they are.")
            % {"number": current.number}
        )
    return current


def _rooms_of(estimate: Estimate) -> list[Room]:
    return [row.room for row in estimate.estimate_rooms.select_related("room")]


def _check_revision(estimate: Estimate, revision: int) -> None:
    if Estimate.objects.get(pk=estimate.pk).revision != revision:
        raise EditConflictError(_since(estimate, revision))


def _since(estimate: Estimate, revision: int) -> list[EstimateChange]:
    return list(
        EstimateChange.objects.filter(estimate=estimate, revision__gt=revision)
        .select_related("by")
        .order_by("revision")
    )


def _value_words(field: Any, value: Any) -> str:
    """Return a field's value as the page writes it: money with two decimals, shares in per cent."""
    if value is None:
        return ""
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if field.name.endswith("_cents"):
        return f"{Decimal(value).scaleb(-2):.2f}"
    if field.name.endswith("_basis_points"):
        return f"{(Decimal(value) / 100).normalize():f} %"
    return str(value)


def _logged(name: str, label: str, before: str, after: str) -> dict[str, str]:
    return {"name": name, "label": label, "before": before, "after": after}


def _part(name: str, before: str, after: str) -> dict[str, str]:
    return _logged(name, str(PARTS[name]), before, after)


def _write_rooms(estimate: Estimate, rooms: Iterable[Room]) -> None:
    EstimateRoom.objects.bulk_create(
        EstimateRoom(estimate=estimate, room=room, position=position) for position, room in enumerate(rooms)
    )


def _replace(old: Any, model: type[Model], rows: Sequence[Any], estimate: Estimate) -> None:
    for row in rows:
        row.estimate = estimate
        row.full_clean(validate_unique=False, validate_constraints=False)
    old.delete()
    model._default_manager.bulk_create(rows)


def _material_words(rows: Iterable[EstimateMaterial]) -> str:
    return "; ".join(
        f"{SLOTS[row.slot].label}: {row.material.name}"
        + (f", {row.get_pattern_display()}" if SLOTS[row.slot].is_tile else "")
        + (f" ({_('the customer supplies it')})" if row.customer_supplied else "")
        for row in rows
    )


def _tile_words(rows: Iterable[SurfaceTile]) -> str:
    return "; ".join(
        f"{row.room.name}, {row.surface_key}: {row.material.name if row.material else _('no tile')}"
        f" {row.get_pattern_display()} {row.joint.typed if row.joint else ''}"
        + (f" ({_('border')}: {row.border.name})" if row.border else "")
        for row in rows
    )


def _accent_words(rows: Iterable[SurfaceAccent]) -> str:
    return "; ".join(
        f"{row.room.name}, {row.surface_key}: {row.material.name} {row.get_pattern_display()}"
        f" {' × '.join(one.typed for one in (row.width, row.height) if one)}"
        f" ({', '.join(one.typed or '0' for one in (row.along, row.base) if one)})"
        + (f" ({_('the customer supplies it')})" if row.customer_supplied else "")
        for row in rows
    )


def _line_words(rows: Iterable[EstimateLine]) -> str:
    return "; ".join(
        f"{row.text} {row.quantity_millionths / 1_000_000:g} {row.unit} {row.cost_cents / 100:.2f}"
        f"/{'–' if row.price_cents is None else f'{row.price_cents / 100:.2f}'}"
        f" {row.room_id or ''} {row.step} {row.is_material}"
        for row in rows
    )


def _stage_words(rows: Iterable[PaymentStage]) -> str:
    return "; ".join(f"{row.due} {row.share_basis_points / 100:g} %" for row in rows)


def _override_words(row: Override) -> str:
    if row.quantity_millionths is not None:
        return f"{row.key}: {row.quantity_millionths / 1_000_000:g} ({row.reason})"
    return f"{row.key}: {(row.price_cents or 0) / 100:.2f} ({row.reason})"

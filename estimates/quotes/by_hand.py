"""Which computed figure is set by hand: found by the key of a priced line."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimates.takeoff.working import Figure

from .calculation import Calculation
from .models import Estimate
from .pricing import Kind, Line


@dataclass(frozen=True)
class Target:
    """A line with what may be changed: its price, and for material and labour the quantity behind it.

    *quantity* is what was computed: packs for the whole job, or hours.
    """

    line: Line
    quantity_key: str
    quantity: Decimal | None
    quantity_unit: str
    working: Figure | None

    @property
    def key(self) -> str:
        return self.line.key

    @property
    def keys(self) -> tuple[str, ...]:
        return tuple(key for key in (self.line.key, self.quantity_key) if key)

    def initial(self, estimate: Estimate) -> dict[str, Any]:
        """Return what the form begins with: what was set by hand before."""
        initial: dict[str, Any] = {"revision": estimate.revision}
        for row in estimate.overrides.all():
            if row.key == self.quantity_key and row.quantity_millionths is not None:
                initial |= {
                    "quantity": Decimal(row.quantity_millionths).scaleb(-6),
                    "reason": row.reason,
                }
            if row.key == self.key and row.price_cents is not None:
                initial |= {"price": row.price_cents, "reason": row.reason}
        return initial


def target_of(found: Calculation, key: str) -> Target | None:
    """Return the target of a line's *key*, or None when the estimate has no such line."""
    line = next((one for one in found.priced.lines if one.key == key), None) if found.priced else None
    if line is None or line.kind in {Kind.MINIMUM, Kind.DISCOUNT}:
        return None
    if line.kind is Kind.MATERIAL and found.takeoff:
        material = key.split(":")[1]
        need = next(one for one in found.takeoff.needs if one.material == material)
        return Target(line, f"packs:{material}", need.packs.value, need.pack_label, need.packs)
    if line.kind is Kind.LABOUR and found.takeoff:
        hours = sum(
            (
                one.hours.value
                for one in found.takeoff.hours
                if one.room == line.room and one.step == line.step
            ),
            Decimal(0),
        )
        return Target(line, f"hours:{line.room}:{line.step}", hours, "h", line.cost_working)
    return Target(line, "", None, "", None)

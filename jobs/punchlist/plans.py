"""The plans of a job's rooms, frozen with its quote or a signed change, and numbered marks on them to scale.

A place on a plan is kept as a share of the room: ten-thousandths of its width from the left and of its
depth from the top. It is read from and drawn on the frozen SVG, whose walls carry their true lengths at
the scale of the drawing, so that a mark stands where it was put in every language and on paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from contracting.money import half_up
from estimates.quotes.changes.selectors import work_in_force
from estimates.takeoff.lengths import format_length
from estimates.takeoff.units import System
from jobs.work.models import Job

from .models import UNACCEPTED, PunchItem
from .models.item import WHOLE

# The outline of the walls in a frozen plan (estimates/rooms/drawing/room_plan.py: _draw_walls).
_WALLS = re.compile(r'data-mark="walls" d="([^"]*)"')
_POINT = re.compile(r"[ML](-?[\d.]+) (-?[\d.]+)")
# Millimetres on the drawing: a mark is as large as a finger needs, whatever the room's size.
RADIUS = 2.9


@dataclass(frozen=True)
class Box:
    """What the walls of a plan span, in the millimetres of its drawing; *down* grows as in SVG."""

    left: float
    top: float
    width: float
    depth: float


@dataclass(frozen=True)
class RoomPlan:
    """A room of a job: its drawing, and the way between places on it and lengths in the room.

    Attributes:
        box: None where the room has no walls on its plan (a counter): then there is no place to mark.
        scale: n of 1:n.
    """

    key: str
    name: str
    drawing: str
    box: Box | None
    scale: int
    system: System

    @property
    def width_mm(self) -> Decimal:
        return _length(self.box.width * self.scale) if self.box else Decimal(0)

    @property
    def depth_mm(self) -> Decimal:
        return _length(self.box.depth * self.scale) if self.box else Decimal(0)

    def place(self, across: int, down: int) -> tuple[str, str]:
        """Return how far a place is from the left and the top, to the half inch or centimetre."""
        step = Decimal(10) if self.system is System.METRIC else Decimal("12.7")
        lengths = (length_of(across, self.width_mm, step), length_of(down, self.depth_mm, step))
        left, top = (format_length(one, self.system, style="piece") for one in lengths)
        return left, top

    @property
    def width(self) -> str:
        return format_length(self.width_mm, self.system, style="piece")

    @property
    def depth(self) -> str:
        return format_length(self.depth_mm, self.system, style="piece")

    def marked(self, items: Iterable[PunchItem]) -> SafeString:
        """Return the drawing with a numbered mark for every item that has a place on it."""
        own = [one for one in items if one.room_key == self.key and one.across is not None]
        # Our own SVG, frozen when the quote was issued; a mark adds whole numbers only.
        if self.box is None or not own:
            return mark_safe(self.drawing)  # noqa: S308
        marks = "".join(_mark(self.box, one) for one in own)
        return mark_safe(self.drawing.replace("</svg>", f"{marks}</svg>"))  # noqa: S308


def plans_of(job: Job) -> list[RoomPlan]:
    """Return the rooms of *job* in their order, drawn in the reader's language."""
    return plans_from(work_in_force(job.quote))


def plans_from(work: Mapping[str, Any]) -> list[RoomPlan]:
    """Return the rooms of a quote's frozen work; none where its lines were written by hand."""
    takeoff = work.get("takeoff") or {}
    translated = work.get("translated", {}).get(get_language() or "", {})
    drawn = translated.get("plans") or work.get("plans", {})
    system = System(work.get("site", {}).get("units", System.INCH))
    return [
        RoomPlan(
            key=room["key"],
            name=room["name"],
            drawing=drawn.get(room["key"], {}).get("measured", ""),
            box=_box(drawn.get(room["key"], {}).get("measured", "")),
            scale=int(drawn.get(room["key"], {}).get("scale") or 1),
            system=system,
        )
        for room in takeoff.get("rooms", ())
    ]


def share_of(length_mm: Decimal, whole_mm: Decimal) -> int:
    """Return *length_mm* as ten-thousandths of *whole_mm*, to the nearest.

    >>> share_of(Decimal("609.6"), Decimal("2438.4"))
    2500
    """
    return half_up(length_mm * WHOLE / whole_mm)


def length_of(share: int, whole_mm: Decimal, step_mm: Decimal = Decimal(1)) -> Decimal:
    """Return the length in millimetres that *share* of *whole_mm* stands for, to the nearest *step_mm*."""
    steps = (whole_mm * share / WHOLE / step_mm).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    return steps * step_mm


def _length(millimetres: float) -> Decimal:
    return Decimal(str(round(millimetres, 1)))


def _box(drawing: str) -> Box | None:
    found = _WALLS.search(drawing)
    points = [(float(x), float(y)) for x, y in _POINT.findall(found[1])] if found else []
    if len(points) < 3:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def _mark(box: Box, item: PunchItem) -> str:
    x = box.left + box.width * (item.across or 0) / WHOLE
    y = box.top + box.depth * (item.down or 0) / WHOLE
    # Filled: still to be accepted; outlined: done. The number says which in the list.
    is_open = item.state in UNACCEPTED
    fill, ink = ("#a2431c", "#fff") if is_open else ("#fff", "#1b2730")
    size = 3.4 if item.number < 100 else 2.6
    return (
        f'<g data-mark="punch {item.number}"><circle cx="{x:.2f}" cy="{y:.2f}" r="{RADIUS}" fill="{fill}" '
        f'stroke="{"#7d3112" if is_open else ink}" stroke-width="0.35"/>'
        f'<text x="{x:.2f}" y="{y + size * 0.35:.2f}" text-anchor="middle" font-size="{size}" '
        f"font-family=\"'Hyperlegible Next', 'DejaVu Sans', sans-serif\" font-weight=\"700\" "
        f'fill="{ink}">{item.number}</text></g>'
    )

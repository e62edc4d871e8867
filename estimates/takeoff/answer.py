"""A takeoff's result as plain data for JSON, described by ``schema/output.json``.

Decimals are written as texts with all their digits, so that a figure can be computed again from its printed
inputs.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from decimal import Decimal
from typing import Any

from .cutting import CutPlan
from .labour import JobRange
from .phrases import Phrase
from .result import BoardPlan, LayingChoice, RoomTakeoff, Takeoff, TiledFace
from .sequence import Schedule
from .traverse import Traverse
from .units import System
from .working import Figure, Step
from .workplan import job_hours

OUTPUT_FORMAT = "ledgerboard/takeoff-output/1.2"
Say = Callable[[Phrase], str]


def write_takeoff(takeoff: Takeoff, system: System, say: Say = str) -> dict[str, Any]:
    """Return a takeoff as data that ``json.dumps`` takes and the output schema describes.

    Args:
        say: turns a phrase into a sentence in the reader's language.
    """
    writer = _Writer(say)
    return {
        "format": OUTPUT_FORMAT,
        "units": system.value,
        "rooms": [writer.room(room) for room in takeoff.rooms],
        "needs": [
            {
                "material": need.material,
                "role": need.role.value,
                "quantity": writer.figure(need.quantity),
                "packs": writer.figure(need.packs),
                "pack_label": need.pack_label,
                "customer_supplied": need.customer_supplied,
                "by_room": [
                    {"room": room, "quantity": writer.figure(figure)} for room, figure in need.by_room
                ],
            }
            for need in takeoff.needs
        ],
        "cut_plan": None if takeoff.cut_plan is None else cut_plan(takeoff.cut_plan, takeoff.stock_used, say),
        "board_plan": None if takeoff.board_plan is None else board_plan(takeoff.board_plan, say),
        "batches": [
            {
                "number": batch.number,
                "room": batch.room,
                "face": batch.face,
                "sheets": list(batch.sheets),
                "area": number(batch.area),
                "quantity": writer.figure(batch.quantity),
                "embed_within_min": number(batch.embed_within_min),
                "wait_min": number(batch.wait_min),
                "patches": [
                    {
                        "face": patch.face,
                        "piece": patch.piece,
                        "outline": _polygon(patch.outline),
                        "holes": [_polygon(hole) for hole in patch.holes],
                        "is_strip": patch.is_strip,
                    }
                    for patch in batch.patches
                ],
            }
            for batch in takeoff.batches
        ],
        "hours": [
            {
                "key": row.key,
                "activity": row.activity,
                "room": row.room,
                "label": say(row.label),
                "step": row.step,
                "hours": writer.figure(row.hours),
                "crew": row.crew,
            }
            for row in takeoff.hours
        ],
        "total_hours": writer.figure(job_hours(takeoff.hours)),
        "hours_range": None if takeoff.hours_range is None else writer.hours_range(takeoff.hours_range),
        "finish_range": None
        if takeoff.finish_range is None
        else [moment.isoformat() for moment in takeoff.finish_range],
        "layings": None if takeoff.layings is None else layings(takeoff.layings),
        "schedule": writer.schedule(takeoff.schedule),
        "cautions": [
            {"key": caution.key, "text": say(caution.text), "source": caution.source}
            for caution in takeoff.cautions
        ],
        "notices": [
            {"key": notice.key, "room": notice.room, "text": say(notice.text)} for notice in takeoff.notices
        ],
    }


def number(value: Decimal) -> str:
    """Return a decimal as text, without an exponent.

    >>> number(Decimal("1E+2")), number(Decimal("0.10"))
    ('100', '0.10')
    """
    return f"{value:f}"


def _optional(value: Decimal | None) -> str | None:
    return None if value is None else number(value)


def _point(point: tuple[Decimal, Decimal]) -> list[str]:
    return [number(point[0]), number(point[1])]


def _polygon(polygon: Iterable[tuple[Decimal, Decimal]]) -> list[list[str]]:
    return [_point(point) for point in polygon]


class _Writer:
    def __init__(self, say: Say) -> None:
        self.say = say

    def figure(self, figure: Figure) -> dict[str, Any]:
        lines: list[dict[str, Any]] = []
        for line in figure.lines:
            row: dict[str, Any] = {
                "symbol": line.symbol,
                "label": self.say(line.label),
                "value": number(line.value),
                "unit": line.unit,
            }
            if isinstance(line, Step):
                row |= {"formula": line.formula, "rounding": line.rounding.value, "places": line.places}
            else:
                row |= {
                    "origin": line.origin.value,
                    "source": None if line.source is None else self.say(line.source),
                }
            lines.append(row)
        return {
            "key": figure.key,
            "label": self.say(figure.label),
            "value": number(figure.value),
            "unit": figure.unit,
            "lines": lines,
        }

    def room(self, room: RoomTakeoff) -> dict[str, Any]:
        return {
            "key": room.key,
            "name": room.name,
            "traverse": None if room.traverse is None else traverse(room.traverse),
            "faces": [
                {
                    "key": face.key,
                    "surface": face.surface,
                    "surface_kind": face.surface_kind.value,
                    "label": self.say(face.label),
                    "lie": face.lie.value,
                    "outline": _polygon(face.outline),
                    "holes": [_polygon(hole) for hole in face.holes],
                    "wall": face.wall,
                    "area": None if face.area is None else self.figure(face.area),
                }
                for face in room.faces
            ],
            "changes": [
                {
                    "key": change.key,
                    "label": self.say(change.label),
                    "inside": change.inside,
                    "length_mm": number(change.length_mm),
                    "faces": list(change.faces),
                    "line": [_point(end) for end in change.line],
                    "other_line": None
                    if change.other_line is None
                    else [_point(end) for end in change.other_line],
                    "has_strip": change.has_strip,
                    "has_sealant": change.has_sealant,
                }
                for change in room.changes
            ],
            "corners": [
                {
                    "key": corner.key,
                    "label": self.say(corner.label),
                    "inside": corner.inside,
                    "face": corner.face,
                    "at": _point(corner.at),
                    "by_sealant": corner.by_sealant,
                    "others": [{"face": face, "at": _point(at)} for face, at in corner.others],
                }
                for corner in room.corners
            ],
            "pierced": [
                {
                    "fixture": one.fixture,
                    "kind": one.kind.value,
                    "face": one.face,
                    "at": _point(one.at),
                    "diameter_mm": _optional(one.diameter_mm),
                }
                for one in room.pierced
            ],
            **_membrane(room),
            "tiled": [self.tiled(one) for one in room.tiled],
            "figures": [self.figure(figure) for figure in room.figures],
        }

    def tiled(self, one: TiledFace) -> dict[str, Any]:
        layout = one.layout
        return {
            "face": one.face,
            "material": one.material,
            "part": one.part.value,
            "pattern": layout.spec.pattern.value,
            "start": _point(layout.start),
            "placements": [
                {
                    "outline": _polygon(placed.outline),
                    "holes": [_polygon(hole) for hole in placed.holes],
                    "kind": placed.kind.value,
                    "tile": placed.tile,
                    "cut": placed.cut,
                }
                for placed in layout.placements
            ],
            "cuts": [
                {
                    "number": cut.number,
                    "width_mm": number(cut.width_mm),
                    "height_mm": number(cut.height_mm),
                    "count": cut.count,
                    "from_offcuts": cut.from_offcuts,
                    "shaped": cut.shaped,
                }
                for cut in layout.cuts
            ],
            "full": self.figure(layout.full),
            "cut": self.figure(layout.cut),
            "from_offcuts": self.figure(layout.from_offcuts),
            "needed": self.figure(layout.needed),
            "trowel": {
                "shape": one.trowel.notch.shape.value,
                **{
                    f"{name}_mm": number(getattr(one.trowel.notch, name).to("mm"))
                    for name in ("width", "depth", "land")
                },
                "back_butter": one.trowel.back_butter,
                "large_tile_mortar": one.trowel.large_tile_mortar,
            },
            "smallest_cut_mm": _optional(layout.smallest_cut_mm),
            "half_tile_rule_holds": layout.half_tile_rule_holds,
        }

    def hours_range(self, found: JobRange) -> dict[str, Any]:
        simulated = found.simulated
        return {
            "expected": self.figure(found.expected),
            "deviation": self.figure(found.deviation),
            "low": self.figure(found.low),
            "high": self.figure(found.high),
            "share": number(found.share),
            "simulated": {
                "mean": simulated.mean,
                "deviation": simulated.deviation,
                "standard_error": simulated.standard_error,
                "p10": simulated.p10,
                "p50": simulated.p50,
                "p90": simulated.p90,
                "samples": simulated.samples,
                "seed": simulated.seed,
            },
        }

    def schedule(self, schedule: Schedule) -> dict[str, Any]:
        return {
            "start": schedule.start.isoformat(),
            "finish": schedule.finish.isoformat(),
            "ready_for_use": schedule.ready_for_use.isoformat(),
            "hours_on_site": self.figure(schedule.hours_on_site),
            "elapsed_days": self.figure(schedule.elapsed_days),
            "days_on_site": [day.isoformat() for day in schedule.days_on_site],
            "people": schedule.people,
            "tasks": [
                {
                    "key": planned.task.key,
                    "room": planned.task.room,
                    "surface": planned.task.surface,
                    "label": "" if planned.task.label is None else self.say(planned.task.label),
                    "start": planned.start.isoformat(),
                    "finish": planned.finish.isoformat(),
                    "crew": planned.crew,
                    "duration_min": planned.duration_min,
                    "total_float_min": planned.total_float_min,
                    "free_float_min": planned.free_float_min,
                    "hold_point": planned.task.hold_point,
                }
                for planned in schedule.tasks
            ],
            "waits": [
                {
                    "task": wait.task,
                    "kind": wait.cure.key,
                    "label": self.say(wait.cure.label),
                    "hours": number(wait.cure.hours),
                    "origin": wait.cure.origin.value,
                    "start": wait.start.isoformat(),
                    "finish": wait.finish.isoformat(),
                }
                for wait in schedule.waits
            ],
            "ready_for_tile": [
                {"room": ready.room, "surface": ready.surface, "task": ready.task, "at": ready.at.isoformat()}
                for ready in schedule.ready_for_tile
            ],
        }


def traverse(found: Traverse) -> dict[str, Any]:
    """Return a balanced walk as data."""
    return {
        "vertices": _polygon(found.vertices),
        "misclosure_mm": number(found.misclosure_mm),
        "limit_mm": number(found.limit_mm),
        "precision": found.precision,
        "perimeter_mm": number(found.perimeter_mm),
        "area_mm2": number(found.area_mm2),
        "is_right_handed": found.is_right_handed,
        **{
            name: [
                {"length_mm": number(leg.length_mm), "turn_degrees": number(leg.turn_degrees)} for leg in legs
            ]
            for name, legs in (("legs", found.legs), ("balanced", found.balanced))
        },
        "corners": [corner.value for corner in found.corners],
    }


def _membrane(room: RoomTakeoff) -> dict[str, Any]:
    return {
        "sheets": [
            {
                "key": sheet.key,
                "face": sheet.face,
                "outline": _polygon(sheet.outline),
                "across_mm": number(sheet.across_mm),
                "along_mm": number(sheet.along_mm),
                "along_x": sheet.along_x,
                "course": sheet.course,
                "order": sheet.order,
            }
            for sheet in room.sheets
        ],
        "laps": [
            {
                "over": lap.over,
                "under": lap.under,
                "side": lap.side,
                "width_mm": number(lap.width_mm),
                "area": _polygon(lap.area),
            }
            for lap in room.laps
        ],
        "strips": [
            {
                "key": strip.key,
                "change": strip.change,
                "start_mm": number(strip.start_mm),
                "end_mm": number(strip.end_mm),
                "width_mm": number(strip.width_mm),
            }
            for strip in room.strips
        ],
        "corner_pieces": [
            {"corner": piece.corner, "inside": piece.inside, "from_roll": piece.from_roll}
            for piece in room.corner_pieces
        ],
    }


def layings(choice: LayingChoice) -> dict[str, Any]:
    """Return how the ways of laying were chosen as data."""
    return {
        "surfaces": choice.surfaces,
        "ways": choice.ways,
        "proven": choice.proven,
        "gap": number(choice.gap),
        "length_bound_mm": number(choice.length_bound_mm),
    }


def board_plan(found: BoardPlan, say: Say = str) -> dict[str, Any]:
    """Return how backer boards hang and are cut as data."""
    return {
        "material": found.material,
        "boards": len(found.plan.rolls),
        "least": found.least,
        "pieces": [
            {
                "key": piece.key,
                "room": piece.room,
                "face": piece.face,
                "outline": _polygon(piece.outline),
                "width_mm": number(piece.width_mm),
                "height_mm": number(piece.height_mm),
            }
            for piece in found.pieces
        ],
        "plan": cut_plan(found.plan, say=say),
    }


def cut_plan(plan: CutPlan, stock: Container[str] = (), say: Say = str) -> dict[str, Any]:
    """Return a cut plan as data; costs stay out, since crews read it.

    Args:
        stock: keys of the rolls that are offcuts from the shelf.
    """
    return {
        "rolls": [
            {
                "kind": roll.kind_key,
                "is_stock": roll.kind_key in stock,
                "number": roll.number,
                "used_length_mm": number(roll.used_length_mm),
                "placed": [
                    {
                        "piece": placed.piece_key,
                        "x_mm": number(placed.x_mm),
                        "y_mm": number(placed.y_mm),
                        "across_mm": number(placed.across_mm),
                        "along_mm": number(placed.along_mm),
                        "turned": placed.turned,
                    }
                    for placed in roll.placed
                ],
                "cuts": [
                    {
                        "order": cut.order,
                        "direction": cut.direction,
                        "x_mm": number(cut.x_mm),
                        "y_mm": number(cut.y_mm),
                        "length_mm": number(cut.length_mm),
                    }
                    for cut in roll.cuts
                ],
                "offcuts": [
                    {
                        "x_mm": number(offcut.x_mm),
                        "y_mm": number(offcut.y_mm),
                        "across_mm": number(offcut.across_mm),
                        "along_mm": number(offcut.along_mm),
                    }
                    for offcut in roll.offcuts
                ],
            }
            for roll in plan.rolls
        ],
        "proven": plan.proven,
        "gap": number(plan.gap),
        "method": say(plan.method),
        "area_used_fraction": number(plan.area_used_fraction),
        "length_used_mm": number(plan.length_used_mm),
        "length_bound_mm": number(plan.length_bound_mm),
    }

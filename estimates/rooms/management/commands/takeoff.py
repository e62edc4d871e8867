"""Take off measured rooms from a file, without the web site and without a database."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from estimates import takeoff as core
from estimates.takeoff.answer import write_takeoff
from estimates.takeoff.document import Document, read_document
from estimates.takeoff.errors import DomainError
from estimates.takeoff.lengths import format_length
from estimates.takeoff.phrases import Phrase
from estimates.takeoff.result import RoomTakeoff, Takeoff
from estimates.takeoff.shelf import role_name
from estimates.takeoff.units import System
from estimates.takeoff.working import Figure, Step
from estimates.takeoff.workplan import job_hours


def say(phrase: Phrase) -> str:
    """Return a phrase in the reader's language."""
    return phrase.render(_)


class Command(BaseCommand):
    help = "Take off measured rooms: quantities, cut list, hours and sequence from a JSON file."
    requires_system_checks: list[str] = []  # runs without a database

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", help="JSON as described by estimates/takeoff/schema/input.json; - reads stdin"
        )
        parser.add_argument("--json", action="store_true", help="print the whole result as JSON")
        parser.add_argument("--working", action="store_true", help="open every figure to its working")
        parser.add_argument("--start", help="when work may begin, such as 2026-12-01T08:00")

    def handle(self, *args: Any, **options: Any) -> None:
        name = options["file"]
        try:
            document = read_document(_text(name))
            start = _start(options["start"], document)
            found = core.run(document.room_set, document.materials, document.practice, start=start)
        except DomainError as error:
            raise CommandError(_one_line(name, error)) from error
        if options["json"]:
            self.stdout.write(
                json.dumps(write_takeoff(found, document.room_set.system, say), ensure_ascii=False, indent=1)
            )
            return
        for line in _report(found, document.room_set.system, options["working"]):
            self.stdout.write(line)


def _text(name: str) -> str:
    try:
        if name == "-":
            return sys.stdin.buffer.read().decode("utf-8-sig")
        return Path(name).read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise CommandError(
            _("%(file)s: %(reason)s") % {"file": name, "reason": error.strerror or error}
        ) from error
    except UnicodeDecodeError as error:
        raise CommandError(
            _("%(file)s: byte %(at)d is no UTF-8; save the file as UTF-8.")
            % {"file": name, "at": error.start}
        ) from error


def _one_line(name: str, error: DomainError) -> str:
    where = f"{name}: {error.place}" if error.place else name
    return " ".join(f"{where}: {say(error.reason)}".split())


def _start(option: str | None, document: Document) -> datetime:
    if option is not None:
        try:
            return datetime.fromisoformat(option)
        except ValueError as error:
            raise CommandError(
                _("--start: “%(read)s” is no moment; write it as 2026-12-01T08:00.") % {"read": option}
            ) from error
    if document.start is not None:
        return document.start
    return timezone.localtime().replace(tzinfo=None, second=0, microsecond=0)


# --- The readable table -----------------------------------------------------------------------------------


def _report(found: Takeoff, system: System, working: bool) -> Iterator[str]:
    for room in found.rooms:
        yield from _room(room, working)
    yield from _needs(found, working)
    yield from _cut_list(found, system)
    yield from _hours(found, working)
    yield from _sequence(found)
    yield from _advice(found)


def _number(value: Decimal) -> str:
    text = f"{value.quantize(Decimal('0.01')):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _heading(text: str) -> Iterator[str]:
    yield ""
    yield text
    yield "─" * len(text)


def _table(rows: Iterable[Sequence[str]], right: Sequence[int]) -> Iterator[str]:
    """Yield rows with aligned columns; the columns numbered in *right* end flush."""
    rows = [list(row) for row in rows]
    if not rows:
        return
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.rjust(width) if at in right else cell.ljust(width)
            for at, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()


def _open(figure: Figure) -> Iterator[str]:
    """Yield a figure's working, one line an input or step."""
    for line in figure.lines:
        value = f"{_exact(line.value)} {line.unit}".rstrip()
        if isinstance(line, Step):
            rounding = "" if line.rounding.value == "not rounded" else f"  [{_(line.rounding.value)}]"
            yield f"      {line.symbol} = {line.formula} = {value}  {say(line.label)}{rounding}"
        else:
            source = "" if line.source is None else f": {say(line.source)}"
            yield f"      {line.symbol} = {value}  {say(line.label)} ({_(line.origin.value)}{source})"


def _exact(value: Decimal) -> str:
    text = f"{value:.6f}"
    return text.rstrip("0").rstrip(".")


def _figures(figures: Iterable[Figure], working: bool) -> Iterator[str]:
    if not working:
        yield from _table(
            ((f"  {say(figure.label)}", _number(figure.value), figure.unit) for figure in figures), (1,)
        )
        return
    for figure in figures:
        yield f"  {say(figure.label)}: {_number(figure.value)} {figure.unit}"
        yield from _open(figure)


def _room(room: RoomTakeoff, working: bool) -> Iterator[str]:
    yield from _heading(_("Room: %(room)s") % {"room": room.name})
    if room.traverse is not None and room.traverse.is_balanced:
        yield "  " + _("Walk balanced by the compass rule: misclosure %(gap)s mm of %(limit)s mm") % {
            "gap": _number(room.traverse.misclosure_mm),
            "limit": _number(room.traverse.limit_mm),
        }
    yield from _figures((face.area for face in room.faces if face.area is not None), working)
    inside = sum(1 for corner in room.corners if corner.inside)
    yield "  " + _("%(changes)d changes of plane, %(inside)d inside and %(outside)d outside corners") % {
        "changes": len(room.changes),
        "inside": inside,
        "outside": len(room.corners) - inside,
    }
    if room.sheets:
        yield "  " + _("%(sheets)d sheets, %(laps)d laps, %(strips)d strips") % {
            "sheets": len(room.sheets),
            "laps": len(room.laps),
            "strips": len(room.strips),
        }
    yield from _figures(room.figures, working)


def _needs(found: Takeoff, working: bool) -> Iterator[str]:
    yield from _heading(_("Needed for the whole job (packs rounded up once)"))
    rows = []
    for need in found.needs:
        supplied = _("supplied by the customer") if need.customer_supplied else ""
        rows.append(
            (
                f"  {need.material}",
                say(role_name(need.role)),
                _number(need.quantity.value),
                need.quantity.unit,
                _number(need.packs.value),
                f"{need.pack_label} {supplied}".rstrip(),
            )
        )
    yield from _table(rows, (2, 4))
    if working:
        for need in found.needs:
            yield from _figures((need.quantity, need.packs), working)


def _cut_list(found: Takeoff, system: System) -> Iterator[str]:
    if found.cut_plan is None or not found.cut_plan.rolls:
        return

    def size(mm: Decimal) -> str:
        return format_length(mm, system, style="piece")

    yield from _heading(_("Cut list (across the roll × along it, from its left edge and its start)"))
    for roll in found.cut_plan.rolls:
        yield "  " + _("Roll %(number)d of %(kind)s, %(used)s used") % {
            "number": roll.number,
            "kind": roll.kind_key,
            "used": size(roll.used_length_mm),
        }
        yield from _table(
            (
                (
                    f"    {placed.piece_key}",
                    size(placed.across_mm),
                    "×",
                    size(placed.along_mm),
                    "@",
                    size(placed.x_mm),
                    size(placed.y_mm),
                )
                for placed in roll.placed
            ),
            (1, 3, 5, 6),
        )


def _hours(found: Takeoff, working: bool) -> Iterator[str]:
    yield from _heading(_("Man-hours"))
    if working:
        yield from _figures((row.hours for row in found.hours), working)
    else:
        names = {room.key: room.name for room in found.rooms}
        yield from _table(
            (
                (f"  {names.get(row.room, '')}", say(row.label), _number(row.hours.value), "h")
                for row in found.hours
            ),
            (2,),
        )
    total = job_hours(found.hours)
    yield f"  {say(total.label)}: {_number(total.value)} h"
    if found.hours_range is not None:
        ends = found.hours_range
        for figure in (ends.low, ends.high):
            yield f"  {say(figure.label)}: {_number(figure.value)} h"


def _sequence(found: Takeoff) -> Iterator[str]:
    schedule = found.schedule
    yield from _heading(_("Sequence"))
    form = "Y-m-d H:i"
    names = {room.key: room.name for room in found.rooms}
    rows = sorted(schedule.tasks, key=lambda planned: (planned.start, planned.finish))
    yield from _table(
        (
            (
                f"  {date_format(planned.start, form)}",
                date_format(planned.finish, form),
                names.get(planned.task.room, ""),
                "" if planned.task.label is None else say(planned.task.label),
                f"◆ {_(planned.task.hold_point)}" if planned.task.hold_point else "",
            )
            for planned in rows
        ),
        (),
    )
    yield "  " + _("%(days)s days on site, ready for use %(ready)s") % {
        "days": len(schedule.days_on_site),
        "ready": date_format(schedule.ready_for_use, form),
    }


def _advice(found: Takeoff) -> Iterator[str]:
    if found.notices:
        yield from _heading(_("To know"))
        for notice in found.notices:
            yield f"  • {say(notice.text)}"
    if found.cautions:
        yield from _heading(_("Cautions"))
        for caution in found.cautions:
            yield f"  • {say(caution.text)} ({caution.source})"

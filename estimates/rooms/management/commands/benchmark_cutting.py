"""Solve published cutting instances with the planner that plans real rolls."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from statistics import median
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from estimates.takeoff.cutting.benchmark import Instance, Solved, read_instance, row, solve
from estimates.takeoff.errors import DomainError

_HEADINGS = ("name", "kind", "value", "bound", "optimum", "guillotine", "seconds")


class Command(BaseCommand):
    help = "Solve every cutting instance of a folder and print value, bound, known optimum and seconds."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", metavar="DIR", help="folder of .json files in the shared format")
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")

    def handle(self, *args: Any, folder: str, **options: Any) -> None:
        instances = _read_folder(Path(folder))
        show_rows = not options["json"]
        if show_rows:
            self._write_row(_HEADINGS)
        solved: list[Solved] = []
        for instance in instances:
            solved.append(solve(instance))
            if show_rows:
                self._write_row(row(solved[-1]))
        if not show_rows:
            self.stdout.write(json.dumps({"instances": [asdict(one) for one in solved]}, indent=1))
            return
        seconds = [one.seconds for one in solved]
        self.stdout.write(
            _("%(n)d instances, median %(median).2f s, longest %(most).2f s")
            % {"n": len(solved), "median": median(seconds), "most": max(seconds)}
        )

    def _write_row(self, columns: Sequence[str]) -> None:
        name, kind, *numbers = columns
        self.stdout.write(f"{name:24} {kind:9}" + "".join(f"{number:>11}" for number in numbers))
        self.stdout.flush()


def _read_folder(folder: Path) -> list[Instance]:
    """Read every instance before solving the first, so that a broken file is told at once."""
    if not folder.is_dir():
        raise CommandError(_("%(folder)s is not a folder.") % {"folder": folder})
    paths = sorted(folder.glob("*.json"))
    if not paths:
        raise CommandError(_("%(folder)s holds no .json file.") % {"folder": folder})
    instances = []
    for path in paths:
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"{path.name}: {error}") from None
        try:
            instances.append(read_instance(text, path.name))
        except DomainError as error:
            raise CommandError(str(error)) from None
    return instances

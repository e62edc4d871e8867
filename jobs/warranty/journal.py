"""What was signed, one line a record, kept beside the keys and so outside the database.

A chain of hashes cannot show that its last links were taken away, or that all of it was written anew. These
lines can, to whoever cannot write to both places.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

from . import keys


@dataclass(frozen=True)
class Line:
    number: str
    sequence: int
    sha256: str


def journal_file() -> Path:
    return keys.folder() / "signed.log"


def note(*, number: str, sequence: int, sha256: str) -> None:
    """Add a line, unless the same one stands there: a record may be rendered more than once."""
    line = json.dumps({"number": number, "sequence": sequence, "sha256": sha256}) + "\n"
    with keys.locked():
        place = journal_file()
        if place.exists() and line in place.read_text().splitlines(keepends=True):
            return
        handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "a") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())


def lines() -> list[Line]:
    """Return what this machine has signed; a line torn by a power cut is left out."""
    place = journal_file()
    if not place.exists():
        return []
    found = []
    for text in place.read_text().splitlines():
        try:
            found.append(Line(**json.loads(text)))
        except (ValueError, TypeError):
            continue
    return found

"""Examines a PDF that a stranger sent, in a process of its own that knows no secret and cannot grow.

A PDF can be built to keep its reader busy for hours or to unpack into gigabytes. The process has a limit of
memory and of time and none of the site's environment; what kills it makes the file unreadable, and no more.
Run as ``python -m jobs.warranty.examiner CERTIFICATE…`` it reads a PDF and writes what it found as JSON.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import threading
from pathlib import Path

from .signing import Examined, examine

SECONDS = 15
MEMORY_BYTES = 1_500_000_000
# At one time in one web process; more wait, and after a while are told to come back.
_places = threading.BoundedSemaphore(2)


class BusyError(Exception):
    """Too many files are being examined at this moment."""


def examine_apart(pdf: bytes, certificates: list[Path], *, code_folder: Path) -> Examined:
    """Return what :func:`~jobs.warranty.signing.examine` says of a file from a stranger.

    Raises:
        BusyError: nobody has time for it now.
    """
    if not _places.acquire(timeout=SECONDS):
        raise BusyError
    try:
        found = subprocess.run(  # noqa: S603 - our own module, and no word of it from the stranger
            [sys.executable, "-m", "jobs.warranty.examiner", *map(str, certificates)],
            input=pdf,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=code_folder,
            env={name: os.environ[name] for name in ("PATH",) if name in os.environ},
            timeout=SECONDS,
            check=True,
        )
        return Examined(**json.loads(found.stdout))
    except (subprocess.SubprocessError, ValueError, TypeError):
        return Examined()
    finally:
        _places.release()


def main() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    found = examine(sys.stdin.buffer.read(), [Path(name) for name in sys.argv[1:]])
    json.dump(found.as_json(), sys.stdout)


if __name__ == "__main__":
    main()

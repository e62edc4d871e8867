"""HiGHS without its banner."""

from __future__ import annotations

import os
from pathlib import Path

import highspy


def quiet_solver() -> highspy.Highs:
    """Return a new solver of one thread; the first of a process would print its banner."""
    global _is_greeted
    if _is_greeted:
        return _silenced()
    _is_greeted = True
    try:
        kept = os.dup(1)
    except OSError:
        return _silenced()
    try:
        with Path(os.devnull).open("w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            return _silenced()
    finally:
        os.dup2(kept, 1)
        os.close(kept)


_is_greeted = False


def _silenced() -> highspy.Highs:
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    for name, value in (("output_flag", False), ("threads", 1)):
        solver.setOptionValue(name, value)
    return solver

"""What happened to a job, in one list: its stages, and what other apps of ``jobs`` tell of it.

An app adds its own part in ``AppConfig.ready``, as with ``followers``: callbacks know jobs, and jobs know no
callbacks.
"""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from .models import Job


@dataclass(frozen=True)
class Told:
    """One thing that happened: when, what, by whom, a word on it, and where it is read in full."""

    at: datetime.datetime
    what: str
    by: str
    note: str = ""
    url: str = ""


Teller = Callable[[Job], Iterable[Told]]
_tellers: list[Teller] = []


def when_told(teller: Teller) -> None:
    """Ask *teller* what else happened to a job; no money in it."""
    _tellers.append(teller)


def history_of(job: Job) -> list[Told]:
    """Return everything that happened to *job* (its stage changes prefetched with who made them), by time."""
    stages = [
        Told(one.at, str(one.get_stage_display()), str(one.by), one.note) for one in job.stage_changes.all()
    ]
    more = [told for teller in _tellers for told in teller(job)]
    return sorted([*stages, *more], key=lambda told: told.at)

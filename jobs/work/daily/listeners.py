"""What the daily log asks of, and tells, the apps that count money. They register in ``AppConfig.ready``.

As with ``jobs.work.followers``: margins knows the log, and the log does not know margins. What is registered
runs inside the transaction of the act.
"""

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..models import Job, LogEntry


@dataclass(frozen=True)
class Planned:
    """A material of a job's purchase list: packs (millionths) and what the budget gives for all of them.

    *is_customers*: the customer supplies it, so it costs the job nothing and is not bought.
    """

    key: str
    name: str
    pack_label: str
    step: str
    packs_millionths: int
    cost_cents: int
    is_customers: bool = False


Logged = Callable[[LogEntry, LogEntry | None], object]
Recosted = Callable[[Sequence[int]], object]
PurchaseList = Callable[[Job], Sequence[Planned]]
# Says, in sentences for people, what keeps work of a trade step from being logged at a moment.
Hindrance = Callable[[Job, str, datetime.datetime], list[str]]

_logged: list[Logged] = []
_recosted: list[Recosted] = []
_purchase_lists: list[PurchaseList] = []
_hindrances: list[Hindrance] = []


def when_logged(listener: Logged) -> None:
    """Call *listener* with every new entry, and the one it supersedes."""
    _logged.append(listener)


def when_recosted(listener: Recosted) -> None:
    """Call *listener* with the keys of the jobs whose hours have another cost now."""
    _recosted.append(listener)


def purchase_list_from(source: PurchaseList) -> None:
    """Ask *source* what a job was to buy."""
    _purchase_lists.append(source)


def before_logging(hindrance: Hindrance) -> None:
    """Ask *hindrance* before hours or quantities of a trade step are logged."""
    _hindrances.append(hindrance)


def in_the_way(job: Job, step: str, at: datetime.datetime) -> list[str]:
    """Return what keeps work of *step* from being logged at *at*."""
    return [sentence for hindrance in _hindrances for sentence in hindrance(job, step, at)]


def logged(entry: LogEntry, before: LogEntry | None) -> None:
    """Tell everybody about a new entry."""
    for listener in _logged:
        listener(entry, before)


def recosted(job_ids: Sequence[int]) -> None:
    """Tell everybody whose hours cost something else now."""
    for listener in _recosted:
        listener(job_ids)


def purchase_list(job: Job) -> list[Planned]:
    """Return what *job* was to buy, in the order of the list, and then what its customer supplies."""
    rows = [planned for source in _purchase_lists for planned in source(job)]
    return sorted(rows, key=lambda planned: planned.is_customers)

"""When the work happens: the trade's order, critical path, crew, working days, and waits by the clock.

``network`` is the pure critical path; ``order`` the trade's sequence as a table; ``workdays`` turns
working time into clock time and back; ``plan`` puts them together for a job.
"""

from ..labour.tasks import Cure, Link, Task
from .network import Activity, Times, critical_path, ordered
from .order import CURES, STEPS, After, HoldPoint, Place, Scope, TradeStep, first_test_wait, order_links
from .plan import Planned, Ready, Schedule, Waiting, schedule
from .workdays import Calendar, Timeline

__all__ = [
    "CURES",
    "STEPS",
    "Activity",
    "After",
    "Calendar",
    "Cure",
    "HoldPoint",
    "Link",
    "Place",
    "Planned",
    "Ready",
    "Schedule",
    "Scope",
    "Task",
    "Timeline",
    "Times",
    "TradeStep",
    "Waiting",
    "critical_path",
    "first_test_wait",
    "order_links",
    "ordered",
    "schedule",
]

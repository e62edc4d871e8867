"""Labour in hours: production rates, difficulty, learning between like rooms, and how sure they are.

Money is not here: a pay rate meets these hours in the estimate.

``tasks`` says what is to be done, ``rates`` how fast one worker does it, ``hours`` turns the two into
figures with their working, ``spread`` says how far a total may move, ``range`` shows it for a job as figures.
"""

from .hours import LabourPractice, TaskHours, labour_hours, task_hours
from .range import JobRange, job_range
from .rates import DEFAULT_RATES, FACTORS, SMALL_ROOM, TRADE_STEPS, difficulty
from .spread import Pert, Simulated, ThreePoint, job_spread, pert, simulate
from .tasks import Cure, Factor, Link, Once, Rate, Task

__all__ = [
    "DEFAULT_RATES",
    "FACTORS",
    "SMALL_ROOM",
    "TRADE_STEPS",
    "Cure",
    "Factor",
    "JobRange",
    "LabourPractice",
    "Link",
    "Once",
    "Pert",
    "Rate",
    "Simulated",
    "Task",
    "TaskHours",
    "ThreePoint",
    "difficulty",
    "job_range",
    "job_spread",
    "labour_hours",
    "pert",
    "simulate",
    "task_hours",
]

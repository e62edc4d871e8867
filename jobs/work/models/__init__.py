"""Jobs, and what was logged on them day by day."""

from .daily import (
    CostEntry,
    DayNote,
    DelayCause,
    DeliveryEntry,
    HoursEntry,
    LogEntry,
    NoteKind,
    ProgressEntry,
)
from .job import TRANSITIONS, CrewMember, Job, JobPaper, Stage, StageChange
from .supply import SupplyEntry, SupplyKind

__all__ = [
    "TRANSITIONS",
    "CostEntry",
    "CrewMember",
    "DayNote",
    "DelayCause",
    "DeliveryEntry",
    "HoursEntry",
    "Job",
    "JobPaper",
    "LogEntry",
    "NoteKind",
    "ProgressEntry",
    "Stage",
    "StageChange",
    "SupplyEntry",
    "SupplyKind",
]

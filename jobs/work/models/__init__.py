"""Jobs, and what was logged on them day by day."""

from .daily import CostEntry, DayNote, DeliveryEntry, HoursEntry, LogEntry, NoteKind, ProgressEntry
from .job import TRANSITIONS, CrewMember, Job, JobPaper, Stage, StageChange

__all__ = [
    "TRANSITIONS",
    "CostEntry",
    "CrewMember",
    "DayNote",
    "DeliveryEntry",
    "HoursEntry",
    "Job",
    "JobPaper",
    "LogEntry",
    "NoteKind",
    "ProgressEntry",
    "Stage",
    "StageChange",
]

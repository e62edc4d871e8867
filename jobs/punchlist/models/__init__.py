"""The punch list of a job, and the callbacks that come after it is complete."""

from .callback import COVER_WORDS, Callback, CallbackEntry, CallbackEvent, CallbackKind, CallbackState, Cause
from .item import (
    TO_MEND,
    TRANSITIONS,
    UNACCEPTED,
    EventKind,
    ItemState,
    PunchEvent,
    PunchItem,
    PunchOverride,
    WaivedItem,
)

__all__ = [
    "COVER_WORDS",
    "TO_MEND",
    "TRANSITIONS",
    "UNACCEPTED",
    "Callback",
    "CallbackEntry",
    "CallbackEvent",
    "CallbackKind",
    "CallbackState",
    "Cause",
    "EventKind",
    "ItemState",
    "PunchEvent",
    "PunchItem",
    "PunchOverride",
    "WaivedItem",
]

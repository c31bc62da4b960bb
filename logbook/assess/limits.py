"""Is it right: judgements, limits in force and deviations, in one place to import from."""

from __future__ import annotations

from logbook.assess.deviations import Closing, Deviation, Interval, deviations, not_due_mask
from logbook.assess.history import LimitHistory, LimitSet, modes_at
from logbook.assess.judge import (
    NOT_JUDGED,
    NOT_JUDGED_CODE,
    WITHIN,
    Bounds,
    Direction,
    Judgement,
    Severity,
    change_since_last,
    classify,
    classify_array,
    classify_choice,
    is_plausible,
    judgement_of,
    plausible_array,
)
from logbook.assess.slips import Slip, SlipKind, slips

__all__ = [
    "NOT_JUDGED",
    "NOT_JUDGED_CODE",
    "WITHIN",
    "Bounds",
    "Closing",
    "Deviation",
    "Direction",
    "Interval",
    "Judgement",
    "LimitHistory",
    "LimitSet",
    "Severity",
    "Slip",
    "SlipKind",
    "change_since_last",
    "classify",
    "classify_array",
    "classify_choice",
    "deviations",
    "is_plausible",
    "judgement_of",
    "modes_at",
    "not_due_mask",
    "plausible_array",
    "slips",
]

"""Is it right: judgements, limits in force and deviations, in one place to import from.

What works on many readings at once needs numpy and is loaded on first use, so that a form can
judge what is typed without waiting for it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.assess.judge import (
    NOT_JUDGED,
    NOT_JUDGED_CODE,
    WITHIN,
    Direction,
    Judgement,
    Severity,
    change_since_last,
    classify,
    classify_choice,
    is_plausible,
    judgement_of,
)
from logbook.assess.slips import Slip, SlipKind, slips

if TYPE_CHECKING:
    from logbook.assess.deviations import Deviation, Interval, deviations, not_due_mask, told
    from logbook.assess.history import LimitHistory, LimitSet, LimitTable, modes_at
    from logbook.assess.judge_arrays import Bounds, classify_array, plausible_array
    from logbook.assess.run_arrays import Closing, Runs, Stretch, runs_of

_HOMES = {
    **dict.fromkeys(
        ("Deviation", "Interval", "deviations", "not_due_mask", "told"),
        "logbook.assess.deviations",
    ),
    **dict.fromkeys(
        ("LimitHistory", "LimitSet", "LimitTable", "modes_at"), "logbook.assess.history"
    ),
    **dict.fromkeys(("Closing", "Runs", "Stretch", "runs_of"), "logbook.assess.run_arrays"),
    **dict.fromkeys(("Bounds", "classify_array", "plausible_array"), "logbook.assess.judge_arrays"),
}


def __getattr__(name: str) -> object:
    """Load what works on arrays when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module 'logbook.assess.limits' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)


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
    "LimitTable",
    "Runs",
    "Severity",
    "Slip",
    "SlipKind",
    "Stretch",
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
    "runs_of",
    "slips",
    "told",
]

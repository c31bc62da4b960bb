"""Rounds: when they are due, and which points are due in them.

Rounds are counted from the start of each shift in true elapsed time, so a night with 11
or 13 hours has an hour's rounds fewer or more and none comes twice or never.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import shift_at
from logbook.plant.model import Often, Point, PointKind, Settings
from logbook.plant.roster import Shift, ShiftCalendar


@dataclass(frozen=True, slots=True)
class Round:
    """A round due at `at` (UTC), the `index`-th of its shift counted from 0."""

    at: datetime
    shift: Shift
    index: int


def rounds_of(shift: Shift, round_hours: float) -> tuple[Round, ...]:
    """The rounds of a shift: its start and every `round_hours` after, before its end.

    Raises ValueError where `round_hours` is not above 0.
    """
    step = _step(round_hours)
    count = -(-(shift.end - shift.start) // step)
    return tuple(Round(shift.start + k * step, shift, k) for k in range(count))


def round_at(calendar: ShiftCalendar, settings: Settings, instant: datetime) -> Round:
    """The last round due at or before `instant`. Raises ValueError for a naive instant."""
    step = _step(settings.round_hours)
    shift = shift_at(calendar, instant)
    index = (instant - shift.start) // step
    return Round(shift.start + index * step, shift, index)


def is_due(point: Point, rnd: Round, round_hours: float, *, first_shift_key: str) -> bool:
    """True where `point` is due in the round by its frequency alone, status and mode aside.

    Every n hours: in the rounds a whole multiple of n hours after the start of the shift.
    Daily: in the first round of the day's first shift. A point read on sample and a
    computed point are never due. Raises ValueError for "every 0 h".
    """
    if point.kind is PointKind.COMPUTED:
        return False
    match point.frequency.often:
        case Often.ROUND:
            return True
        case Often.HOURS:
            return _is_multiple(rnd.index * round_hours, point.frequency.hours)
        case Often.SHIFT:
            return rnd.index == 0
        case Often.DAY:
            return rnd.index == 0 and rnd.shift.pattern == first_shift_key
        case Often.SAMPLE:
            return False


def _step(round_hours: float) -> timedelta:
    step = timedelta(hours=round_hours)
    if step <= timedelta(0):
        msg = f"rounds must be more than 0 hours apart, not {round_hours}"
        raise ValueError(msg)
    return step


def _is_multiple(elapsed: float, hours: int) -> bool:
    if hours <= 0:
        msg = f"a point cannot be due every {hours} h"
        raise ValueError(msg)
    # Rounds may be 0.1 h apart: a whole number of them is a whole hour but for rounding.
    return abs(elapsed - hours * round(elapsed / hours)) < 1e-6

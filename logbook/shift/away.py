"""Since when the crew that takes over was not at the plant, and which shifts it has missed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from logbook.plant.calendar import previous_shift
from logbook.plant.roster import Shift, ShiftCalendar

EARLY = timedelta(minutes=30)
"""Crews meet before the change of shift: from so long before it on, who comes comes for the next."""
SOUGHT = timedelta(days=60)
"""How far back a crew's last shift is sought."""


@dataclass(frozen=True, slots=True)
class Away:
    """The last shift that a crew worked before this one, and the shifts between, oldest first."""

    last: Shift | None
    """None where it worked none in the last 60 days, or where nobody takes over."""
    missed: tuple[Shift, ...]
    length: timedelta | None
    """From the end of its last shift to the start of this one."""


NOT_AWAY = Away(None, (), None)


def away_before(calendar: ShiftCalendar, shift: Shift) -> Away:
    """How long the crew of `shift` was away before it."""
    if shift.crew is None:
        return NOT_AWAY
    missed: list[Shift] = []
    one = previous_shift(calendar, shift)
    while shift.start - one.start < SOUGHT:
        if one.crew == shift.crew:
            return Away(one, tuple(reversed(missed)), shift.start - one.end)
        missed.append(one)
        one = previous_shift(calendar, one)
    return NOT_AWAY

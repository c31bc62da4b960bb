"""Shifts across revisions of the calendar, so that a new roster leaves no gap and no overlap.

A revised calendar takes over at the first start of one of its own shifts at or after the
time it is effective from; until then the calendar before it runs on, and its last shift ends
there. So a plant that goes from 8 to 12 hours "from 1 March" changes at 06:00 that morning,
not in the middle of a night. Where the running shift is the same in both calendars it is
left whole and has the crew that the newer one names.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from logbook.plant.calendar import shift_at, shift_on
from logbook.plant.roster import Shift, ShiftCalendar


@dataclass(frozen=True, slots=True)
class CalendarRevision:
    """A calendar and the aware instant it is effective from."""

    effective_from: datetime
    calendar: ShiftCalendar


class CalendarHistory:
    """All revisions of a plant's calendar, given in any order; of equal times the last holds.

    The first holds for any time before it too. Raises ValueError where there is none.
    """

    def __init__(self, revisions: Iterable[CalendarRevision]) -> None:
        self.revisions = tuple(sorted(revisions, key=lambda one: one.effective_from))
        if not self.revisions:
            raise ValueError("a plant needs a shift calendar: there is no revision of one")
        switches = [_takes_over(revision) for revision in self.revisions[1:]]
        # A revision that a later one overtakes before its first shift is never in force.
        for k in range(len(switches) - 2, -1, -1):
            switches[k] = min(switches[k], switches[k + 1])
        self._switches = switches

    def calendar_at(self, instant: datetime) -> ShiftCalendar:
        """The calendar that the shift at an aware instant follows."""
        return self.revisions[bisect_right(self._switches, instant)].calendar

    def shift_at(self, instant: datetime) -> Shift:
        """The shift with start <= `instant` < end."""
        place = bisect_right(self._switches, instant)
        shift = shift_at(self.revisions[place].calendar, instant)
        crew = self._crew(shift, place)
        end = min([shift.end, *self._switches[place : place + 1]])
        if (crew, end) == (shift.crew, shift.end):
            return shift
        return replace(shift, crew=crew, end=end)

    def shifts_between(self, start: datetime, end: datetime) -> list[Shift]:
        """The shifts that overlap the half-open interval, in order; none where it is empty."""
        found: list[Shift] = []
        at = start
        while at < end:
            shift = self.shift_at(at)
            found.append(shift)
            at = shift.end
        return found

    def _crew(self, shift: Shift, place: int) -> str | None:
        """Crew of the newest revision, effective before the shift's end, that has this shift."""
        for revision in reversed(self.revisions[place + 1 :]):
            if revision.effective_from >= shift.end:
                continue
            same = _same_shift(revision.calendar, shift)
            if same is not None:
                return same.crew
        return shift.crew


def _same_shift(calendar: ShiftCalendar, shift: Shift) -> Shift | None:
    if all(pattern.key != shift.pattern for pattern in calendar.shifts):
        return None
    other = shift_on(calendar, shift.date, shift.pattern)
    return other if (other.start, other.end) == (shift.start, shift.end) else None


def _takes_over(revision: CalendarRevision) -> datetime:
    first = shift_at(revision.calendar, revision.effective_from)
    return first.start if first.start == revision.effective_from else first.end

"""The shift calendar: which shift and which crew at any instant.

Shifts are laid out in local time and bounded in UTC. Each shift ends where the next one
starts, so that every instant belongs to exactly one shift, whatever the clocks do:

* A start that the clocks skip in spring is shifted forward by the gap: 02:30 becomes 03:30.
  It never passes the start of a later shift, so a shift that would lie wholly inside the
  gap has no length and no instant belongs to it (a whole date skipped at the date line too).
* A start that comes twice in autumn is its first occurrence.

The functions take any calendar in which `check_calendar` finds no fault.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, datetime, timedelta
from functools import lru_cache

from logbook.plant.calendar_check import check_calendar
from logbook.plant.localtime import is_skipped, to_local, to_utc
from logbook.plant.roster import OFF, Crew, Shift, ShiftCalendar, ShiftPattern

_DAY = timedelta(days=1)
_RESOLUTION = timedelta(microseconds=1)


def shift_at(calendar: ShiftCalendar, instant: datetime) -> Shift:
    """The shift with start <= `instant` < end. Raises ValueError for a naive instant."""
    local = to_local(instant, calendar.time_zone).date()
    starts, keys = _around(calendar, local)
    day, pattern = keys[bisect_right(starts, instant) - 1]
    return _shift(calendar, day, pattern)


def shifts_between(calendar: ShiftCalendar, start: datetime, end: datetime) -> list[Shift]:
    """The shifts that overlap the half-open interval, in order; none where it is empty."""
    found: list[Shift] = []
    at = start
    while at < end:
        shift = shift_at(calendar, at)
        found.append(shift)
        at = shift.end
    return found


def next_shift(calendar: ShiftCalendar, shift: Shift) -> Shift:
    """The shift that starts where `shift` ends."""
    return shift_at(calendar, shift.end)


def previous_shift(calendar: ShiftCalendar, shift: Shift) -> Shift:
    """The shift that ends where `shift` starts."""
    return shift_at(calendar, shift.start - _RESOLUTION)


def shift_on(calendar: ShiftCalendar, day: date, pattern_key: str) -> Shift:
    """The shift with this key that starts on a local date.

    It has no length where the clocks skip it whole. Raises KeyError for an unknown key.
    """
    if all(pattern.key != pattern_key for pattern in calendar.shifts):
        raise KeyError(pattern_key)
    return _shift(calendar, day, pattern_key)


@lru_cache(maxsize=4096)
def _shift(calendar: ShiftCalendar, day: date, pattern_key: str) -> Shift:
    patterns = calendar.in_order
    place = next(k for k, pattern in enumerate(patterns) if pattern.key == pattern_key)
    starts = (*_starts(calendar, day), _starts(calendar, day + _DAY)[0])
    crew = calendar.crew_on(day, pattern_key)
    return Shift(day, pattern_key, patterns[place].name, crew, starts[place], starts[place + 1])


@lru_cache(maxsize=2048)
def _around(
    calendar: ShiftCalendar, day: date
) -> tuple[tuple[datetime, ...], tuple[tuple[date, str], ...]]:
    """Starts and (date, key) of the shifts that may hold an instant of a local date.

    Two dates back: the date before may have been skipped whole. One date on: where the
    clocks go back over midnight, tomorrow's first shift may have started already.
    """
    days = [day + k * _DAY for k in range(-2, 2)]
    starts = tuple(start for one in days for start in _starts(calendar, one))
    keys = tuple((one, pattern.key) for one in days for pattern in calendar.in_order)
    return starts, keys


@lru_cache(maxsize=2048)
def _starts(calendar: ShiftCalendar, day: date) -> tuple[datetime, ...]:
    """Starts in UTC of the shifts of a local date, never falling."""
    zone = calendar.time_zone
    clocks = [pattern.start for pattern in calendar.in_order]
    starts = [to_utc(day, clock, zone) for clock in clocks]
    if not any(is_skipped(day, clock, zone) for clock in clocks):
        return tuple(starts)
    # A skipped start was shifted forward, maybe past later starts that do exist; those hold.
    # No gap is longer than a day, so the next date's starts are all that can be passed.
    latest = min(to_utc(day + _DAY, clock, zone) for clock in clocks)
    for k in range(len(starts) - 1, -1, -1):
        latest = starts[k] = min(starts[k], latest)
    return tuple(starts)


__all__ = [
    "OFF",
    "Crew",
    "Shift",
    "ShiftCalendar",
    "ShiftPattern",
    "check_calendar",
    "next_shift",
    "previous_shift",
    "shift_at",
    "shift_on",
    "shifts_between",
]

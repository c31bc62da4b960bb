"""Faults of a shift calendar, in words."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from logbook.plant.roster import OFF, ShiftCalendar, ShiftPattern

_DAY_S = 86_400
_LONGEST_CYCLE = 3_660
"""Days looked at where crews work cycles of different length: ten years."""


def check_calendar(calendar: ShiftCalendar) -> list[str]:
    """Every fault of `calendar` as one sentence each; empty where it is sound.

    Sound means: the zone is known, the shifts cover the day once, and on every day of the
    roster each shift has exactly one crew. A calendar without crews keeps no roster and is sound.
    """
    faults = [*_zone_faults(calendar), *_shift_faults(calendar), *_crew_faults(calendar)]
    return faults or [*_coverage_faults(calendar), *_exception_faults(calendar)]


def _zone_faults(calendar: ShiftCalendar) -> Iterator[str]:
    try:
        ZoneInfo(calendar.time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        yield (
            f'The time zone "{calendar.time_zone}" is not known: '
            "use an IANA name such as America/Chicago."
        )


def _shift_faults(calendar: ShiftCalendar) -> Iterator[str]:
    if not calendar.shifts:
        yield "The calendar has no shifts: give at least one, with start and end."
        return
    for key in _repeated(pattern.key for pattern in calendar.shifts):
        yield f'Two shifts have the key "{key}": give each its own.'
    for pattern in calendar.shifts:
        if pattern.key == OFF or not pattern.key.strip():
            yield f'A shift cannot have the key "{pattern.key}": "{OFF}" means off in the roster.'
    yield from _day_faults(calendar.shifts)


def _day_faults(shifts: tuple[ShiftPattern, ...]) -> Iterator[str]:
    """Parts of the day that no shift covers, or that two do."""
    edges = sorted({0, _DAY_S, *(_seconds(t) for p in shifts for t in (p.start, p.end))})
    parts = [(a, b, tuple(p.key for p in shifts if _covers(p, a))) for a, b in pairwise(edges)]
    wrong = [part for part in parts if len(part[2]) != 1]
    if (
        len(wrong) > 1
        and (wrong[0][0], wrong[-1][1]) == (0, _DAY_S)
        and wrong[0][2] == wrong[-1][2]
    ):
        # One part that midnight only cuts in two.
        wrong[0] = (wrong.pop()[0], *wrong[0][1:])
    for start, end, keys in wrong:
        span = f"{_clock(start)} to {_clock(end)}"
        yield (
            f"Shifts {_all_of(keys)} cover {span}: one must end where the next starts."
            if keys
            else f"No shift covers {span}: let a shift end where the next one starts."
        )


def _covers(pattern: ShiftPattern, second: int) -> bool:
    start, end = _seconds(pattern.start), _seconds(pattern.end)
    return start <= second < end if start < end else second >= start or second < end


def _seconds(clock: time) -> int:
    return clock.hour * 3600 + clock.minute * 60 + clock.second


def _clock(seconds: int) -> str:
    hours, rest = divmod(seconds % _DAY_S, 3600)
    minutes, rest = divmod(rest, 60)
    return f"{hours:02d}:{minutes:02d}" + (f":{rest:02d}" if rest else "")


def _crew_faults(calendar: ShiftCalendar) -> Iterator[str]:
    for key in _repeated(crew.key for crew in calendar.crews):
        yield f'Two crews have the key "{key}": give each its own.'
    if any(not calendar.cycle_of(crew) for crew in calendar.crews):
        yield "There are crews but no roster: give the roster one letter for each day of its cycle."
    known = {OFF, *(pattern.key for pattern in calendar.shifts)}
    rosters = {calendar.roster: "The roster"}
    for crew in calendar.crews:
        rosters.setdefault(crew.roster, f"The roster of crew {crew.name}")
    for roster, whose in rosters.items():
        for place, letter in enumerate(roster, start=1):
            if letter not in known:
                yield (
                    f'{whose} has "{letter}" on day {place}: '
                    f"use one of {', '.join(sorted(known - {OFF}))}, or {OFF} for off."
                )
                break


def _coverage_faults(calendar: ShiftCalendar) -> list[str]:
    """Faults of the first day of the cycle on which a shift has no crew or several."""
    if not calendar.crews:
        return []
    cycle = math.lcm(*(len(calendar.cycle_of(crew)) for crew in calendar.crews))
    for place in range(min(cycle, _LONGEST_CYCLE)):
        day = calendar.anchor + timedelta(days=place)
        faults = [f for p in calendar.shifts if (f := _crew_fault(calendar, p, day, place))]
        if faults:
            return faults
    return []


def _crew_fault(calendar: ShiftCalendar, pattern: ShiftPattern, day: date, place: int) -> str:
    crews = [c.name for c in calendar.crews if calendar.day_of(c, day) == pattern.key]
    if len(crews) == 1:
        return ""
    who = f"{_all_of(crews)} work" if crews else "No crew works"
    return (
        f"{who} the shift {pattern.name} on {day.isoformat()}, day {place + 1} of the roster: "
        "look at the roster and at the crews' offsets."
    )


def _exception_faults(calendar: ShiftCalendar) -> Iterator[str]:
    patterns = {pattern.key for pattern in calendar.shifts}
    crews = {crew.key for crew in calendar.crews}
    for (day, pattern), crew in calendar.exceptions.items():
        if pattern not in patterns:
            yield f'The exception on {day.isoformat()} names the shift "{pattern}", which is unknown.'
        if crew is not None and crew not in crews:
            yield f'The exception on {day.isoformat()} names the crew "{crew}", which is unknown.'


def _all_of(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]} {'both' if len(names) == 2 else 'all'}"


def _repeated(keys: Iterable[str]) -> list[str]:
    return [key for key, count in Counter(keys).items() if count > 1]

"""Frozen records of the shift calendar: shifts of the day, crews, the roster cycle.

The crew of a shift follows from the shift's local start date alone, never from elapsed
time: 1 January to 1 July is 181 dates but 180.96 days where the clocks changed between.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from types import MappingProxyType

OFF = "O"
"""The roster's letter for a day off."""


@dataclass(frozen=True, slots=True)
class ShiftPattern:
    """A shift of the day: key (such as "D"), name, local start and local end.

    An `end` not after `start` is on the next day; equal times make a shift of 24 hours.
    """

    key: str
    name: str
    start: time
    end: time


@dataclass(frozen=True, slots=True)
class Crew:
    """A crew; `offset_days` is its place in the roster cycle on the calendar's anchor date."""

    key: str
    name: str
    offset_days: int
    roster: tuple[str, ...] = ()
    """Its own cycle where it does not work the calendar's (fixed nights); empty: the calendar's."""


@dataclass(frozen=True, slots=True)
class Shift:
    """One shift that was or will be worked. Identity is (`date`, `pattern`).

    `start` and `end` are aware datetimes in UTC; `date` is the local start date.
    """

    date: date
    pattern: str
    name: str
    crew: str | None
    start: datetime
    end: datetime

    @property
    def length(self) -> timedelta:
        """True length; 11 or 13 hours for a 12-hour shift over a clock change."""
        return self.end - self.start


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftCalendar:
    """Crews on a repeating roster in a time zone (IANA name)."""

    time_zone: str
    shifts: tuple[ShiftPattern, ...]
    crews: tuple[Crew, ...]
    roster: tuple[str, ...]
    """One letter or key per day of the cycle: a shift key, or "O" for off."""
    anchor: date
    exceptions: Mapping[tuple[date, str], str | None] = field(
        default_factory=lambda: MappingProxyType({})
    )
    """(local start date, shift key) to the crew key that works it instead; None: nobody."""

    def __hash__(self) -> int:
        """Hash the small fields only: cheap, and `exceptions` may be any mapping.

        Calendars that differ in the other fields alone share a hash and differ by `==`.
        """
        return hash((self.time_zone, self.anchor, self.roster))

    def cycle_of(self, crew: Crew) -> tuple[str, ...]:
        """The roster cycle this crew works."""
        return crew.roster or self.roster

    def day_of(self, crew: Crew, day: date) -> str:
        """What `crew` is rostered for on a local date: a shift key or "O". Exceptions aside."""
        cycle = self.cycle_of(crew)
        if not cycle:
            return OFF
        return cycle[(day.toordinal() - self.anchor.toordinal() + crew.offset_days) % len(cycle)]

    def crew_on(self, day: date, pattern_key: str) -> str | None:
        """Key of the crew that works the shift starting on a local date; None: nobody."""
        if (day, pattern_key) in self.exceptions:
            return self.exceptions[day, pattern_key]
        return next((c.key for c in self.crews if self.day_of(c, day) == pattern_key), None)

    @property
    def in_order(self) -> tuple[ShiftPattern, ...]:
        """The shifts of a day by their local start."""
        return tuple(sorted(self.shifts, key=lambda pattern: pattern.start))

    @property
    def first_shift_key(self) -> str:
        """Key of the shift that starts first on a local date. Raises ValueError without shifts."""
        return min(self.shifts, key=lambda pattern: pattern.start).key

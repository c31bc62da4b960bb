"""The stretch of time that a chart shows: moved and zoomed, never out of what there is."""

from __future__ import annotations

from dataclasses import dataclass

HOUR, DAY = 3600.0, 86400.0
SHORTEST = HOUR
ROOM = 0.02
"""Share of the whole that may be seen beyond its ends."""

LENGTHS: tuple[tuple[str, str, float], ...] = (
    ("1", "12 h", 12 * HOUR),
    ("2", "day", DAY),
    ("3", "3 days", 3 * DAY),
    ("4", "week", 7 * DAY),
    ("5", "month", 30 * DAY),
    ("6", "quarter", 91 * DAY),
    ("7", "year", 365 * DAY),
    ("8", "3 years", 3 * 365 * DAY),
    ("9", "10 years", 3653 * DAY),
)
"""Digit, name and seconds of the lengths that a digit chooses; 0 shows everything."""


@dataclass(frozen=True, slots=True)
class Span:
    """From `start` to `end`, within `first` and `last` and a little room (all epoch s)."""

    start: float
    end: float
    first: float
    last: float

    @property
    def length(self) -> float:
        """Seconds shown."""
        return self.end - self.start

    def moved(self, share: float) -> Span:
        """Moved by a share of its own length; forward where positive."""
        by = share * self.length
        return self.placed(self.start + by, self.end + by)

    def zoomed(self, factor: float, at: float | None = None) -> Span:
        """`factor` times as long, the instant `at` (default: the middle) staying where it is."""
        fixed = (self.start + self.end) / 2.0 if at is None else min(max(at, self.start), self.end)
        length = self._length(self.length * factor)
        share = (fixed - self.start) / self.length
        start = fixed - share * length
        return self.placed(start, start + length)

    def of_length(self, seconds: float) -> Span:
        """So many seconds: to the end where the end is in view, else around the middle."""
        length = self._length(seconds)
        if self.end >= self.last - 0.01 * self.length:
            end = self.last + self._room(length)
            return self.placed(end - length, end)
        middle = (self.start + self.end) / 2.0
        return self.placed(middle - length / 2.0, middle + length / 2.0)

    def whole(self) -> Span:
        """Everything there is."""
        room = self._room(self.last - self.first)
        return self.placed(self.first - room, self.last + room)

    def at_start(self) -> Span:
        """The same length at the beginning of everything."""
        start = self.first - self._room(self.length)
        return self.placed(start, start + self.length)

    def at_end(self) -> Span:
        """The same length at the end of everything."""
        end = self.last + self._room(self.length)
        return self.placed(end - self.length, end)

    def placed(self, start: float, end: float) -> Span:
        """These two ends, pushed back into what there is where they lie beyond it."""
        length = self._length(end - start)
        room = self._room(max(length, 1.0))
        low, high = self.first - room, self.last + room
        if length >= high - low:
            return Span(high - length, high, self.first, self.last)
        start = min(max(start, low), high - length)
        return Span(start, start + length, self.first, self.last)

    def _length(self, seconds: float) -> float:
        longest = max((self.last - self.first) * (1.0 + 2.0 * ROOM), SHORTEST)
        return min(max(seconds, SHORTEST), max(longest, 10 * DAY))

    def _room(self, length: float) -> float:
        return ROOM * length

"""When a drift would reach its next limit, and whether that is worth saying.

A forecast carries the course of a drift (`logbook.assess.drifts`) on as straight as it was, from
the level at which it now stands. That is all it is: nobody knows that it goes on. What machines of
a kind have in common is taken as staying where it is.

The next limit is the first one ahead in the direction of the drift. It is said only where

- the course would be there within `AHEAD` of the length of the window that showed the drift,
  since nobody should look farther ahead than back, and within `FARTHEST` hours; what would be
  there within `NEAREST` hours the next round will show by itself;
- the late end of the interval is no more than `WIDEST` times the middle, and lies within twice the
  window: "in 2 to 40 days" would be no help.

A point whose course is already beyond its action limit has none: that stands as a deviation.

The 90 % interval joins that of the slope with the uncertainty of the level; its early end is
also that much earlier as the scatter of the blocks about their course brings the first one beyond
the limit. It holds as long as the course stays straight: how often it did in the sample
year, tests/bench/drift_backtest.py prints. `AHEAD`, `FARTHEST` and `WIDEST` are a choice of ours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from logbook.assess.drifts import WIDTH, Drift
from logbook.assess.judge import Direction, Severity
from logbook.plant.model import Limits

AHEAD = 0.75
FARTHEST = 240.0
NEAREST = 2.0
WIDEST = 3.0
SHOWN = 3
"""So many are shown at once; more would not be read."""


class Reach(StrEnum):
    """Which limit is ahead."""

    WARNING = "warning limit"
    ACTION = "action limit"


@dataclass(frozen=True, slots=True)
class Forecast:
    """When the course of a drift would be at its next limit; hours from now, a 90 % interval."""

    drift: Drift
    reach: Reach
    limit: float
    hours: float
    earliest: float
    latest: float

    @property
    def severity(self) -> Severity:
        """Of the limit ahead."""
        return Severity.ACTION if self.reach is Reach.ACTION else Severity.WARNING

    @property
    def phrase(self) -> str:
        """In few words: "rising, action limit in about 9 h"."""
        return f"{self.drift.word}, {self.reach} in about {span_text(self.hours)}"

    @property
    def interval(self) -> str:
        """The interval in words: "6 to 14 h"."""
        return interval_text(self.earliest, self.latest)


def forecast(drift: Drift, limits: Limits) -> Forecast | None:
    """When `drift` would reach the next of `limits`; None where that is not worth saying."""
    ahead = next_limit(drift, limits)
    if ahead is None or drift.slope_low * drift.slope_high <= 0.0:
        return None
    reach, limit = ahead
    gap = abs(limit - drift.level)
    slow, fast = sorted((abs(drift.slope_low), abs(drift.slope_high)))
    early = WIDTH * math.hypot(drift.level_error, drift.scatter)
    hours = 24.0 * gap / abs(drift.slope)
    earliest = 24.0 * max(gap - early, 0.0) / fast
    latest = 24.0 * (gap + WIDTH * drift.level_error) / slow
    if not NEAREST <= hours <= min(AHEAD * drift.window_hours, FARTHEST):
        return None
    if latest > min(WIDEST * max(hours, 2.0), 2.0 * drift.window_hours):
        return None
    return Forecast(drift, reach, limit, hours, earliest, latest)


def next_limit(drift: Drift, limits: Limits) -> tuple[Reach, float] | None:
    """The first limit ahead of the course in the direction of the drift, if there is one."""
    is_high = drift.direction is Direction.HIGH
    edges = (
        (Reach.WARNING, limits.warning_high if is_high else limits.warning_low),
        (Reach.ACTION, limits.action_high if is_high else limits.action_low),
    )
    sign = 1.0 if is_high else -1.0
    for reach, edge in edges:
        if edge is not None and sign * (edge - drift.level) > 0.0:
            return reach, edge
    return None


def ranked(forecasts: Sequence[Forecast], most: int = SHOWN) -> tuple[Forecast, ...]:
    """The few to show, the most urgent first.

    An action limit counts as much as a warning limit a third of the time away.
    """
    return tuple(sorted(forecasts, key=_urgency)[:most])


def span_text(hours: float) -> str:
    """A span as a person says it.

    >>> span_text(9.3), span_text(0.4), span_text(51.0)
    ('9 h', '1 h', '2 days')
    """
    if hours < 36.0:
        return f"{max(round(hours), 1)} h"
    return f"{round(hours / 24.0)} days"


def interval_text(earliest: float, latest: float) -> str:
    """An interval in hours as a person says it, rounded outwards.

    >>> interval_text(6.2, 14.4), interval_text(30.0, 80.0), interval_text(0.0, 9.0)
    ('6 to 15 h', '1 to 4 days', 'any time up to 9 h')
    """
    unit, size = ("h", 1.0) if latest < 36.0 else ("days", 24.0)
    low, high = math.floor(earliest / size), math.ceil(latest / size)
    if low < 1:
        return f"any time up to {high} {unit}"
    return f"{low} to {high} {unit}"


def _urgency(one: Forecast) -> tuple[float, float]:
    weight = 1.0 if one.reach is Reach.ACTION else 3.0
    return weight * one.hours, -one.drift.sureness

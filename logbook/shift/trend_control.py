"""A point on control charts: whether it still is as it was in its longest stable stretch."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logbook.assess.charts import ChartSettings, ChartStudy, on_grid, settings_of, study
from logbook.plant.model import Limits
from logbook.shift.trend_study import Track
from logbook.shift.trend_words import when_text

LEARN_S = 400 * 86400.0
"""A stable stretch is looked for so far before the end of the stretch shown."""
MOST_EVENTS = 3
FALSE_ALARMS = (
    "On a point that is as it was, a run rule fires about once in 90 readings and the sum once in "
    "470: look for what keeps firing."
)


RULES_OF_ITS_OWN = (
    "Run rules are those that the plant names for this point. Also on a point that is as it was one "
    "fires now and then: look for what keeps firing."
)


@dataclass(frozen=True, slots=True)
class ControlFound:
    """Charts of a point; arrays of `charts` and `taken_at` (epoch s) have shape (n,)."""

    track: Track
    taken_at: NDArray[np.int64]
    charts: ChartStudy
    span: tuple[float, float]
    """The stretch shown (epoch s); the charts begin earlier, where the baseline may lie."""
    told: tuple[str, ...]

    @property
    def shown(self) -> slice:
        """Places of the stretch shown."""
        first, after = np.searchsorted(self.taken_at, self.span)
        return slice(int(first), int(after))


def control_found(track: Track, start: float, end: float, zone: str) -> ControlFound | None:
    """Control charts of the readings up to `end` (epoch s); None for hardly any.

    The baseline is the longest stable stretch of the last 400 days before `end`, or of the stretch
    shown where that is longer. Capability is that against the warning limits in force at `end`; run
    rules are those that the point names.
    """
    first, after = track.inside(min(start, end - LEARN_S), end)
    if after - first < 3:
        return None
    grid = on_grid(track.times[first:after], track.values[first:after])
    limits = track.limits_at(float(track.times[after - 1])) or Limits()
    settings = ChartSettings(rules=settings_of(track.point.chart_rules))
    charts = study(grid.values, low=limits.warning_low, high=limits.warning_high, settings=settings)
    found = ControlFound(track, grid.taken_at, charts, (start, end), ())
    return ControlFound(track, grid.taken_at, charts, (start, end), _words(found, zone))


def _words(found: ControlFound, zone: str) -> tuple[str, ...]:
    charts, track = found.charts, found.track
    base = charts.baseline
    if not base.found or math.isnan(charts.individuals.lower):
        why = charts.note or base.note or "no stable stretch was found"
        return (f"No limits: {why}.",)
    show = f".{track.point.decimals + 1}f"
    one = charts.individuals
    since, until = (when_text(float(found.taken_at[k]), zone) for k in (base.first, base.stop - 1))
    words = [
        (
            f"Stable from {since} to {until} ({base.readings} readings): centre {one.centre:{show}}, "
            f"limits {one.lower:{show}} to {one.upper:{show}} {track.point.unit}."
        )
    ]
    words += _signals(found, zone)
    words += _capability(charts)
    if charts.lag1.used >= 0.05:
        words.append(
            f"Neighbouring readings resemble one another (correlation {charts.lag1.value:.2f}): the "
            "limits allow for it, and runs are judged on what each reading adds to the one before."
        )
    return (*words, RULES_OF_ITS_OWN if track.point.chart_rules else FALSE_ALARMS)


def _signals(found: ControlFound, zone: str) -> list[str]:
    """What fired in the stretch shown."""
    shown, charts = found.shown, found.charts
    events = [e for e in charts.rules.events() if e.last >= shown.start and e.first < shown.stop]
    words = []
    sums = [one for one in charts.cusum.signals if shown.start <= one.at < shown.stop]
    if sums:
        last = sums[-1]
        began = when_text(float(found.taken_at[max(last.began, 0)]), zone)
        way = "higher" if last.direction > 0 else "lower"
        words.append(f"By the cumulative sum the level has been {way} since about {began}.")
    if not events:
        words.append("No run rule fires in this stretch.")
    for event in events[-MOST_EVENTS:]:
        at = when_text(float(found.taken_at[event.first]), zone)
        words.append(f"{at}: {charts.rules.settings.words(event.rule)}.")
    if len(events) > MOST_EVENTS:
        words.append(f"And {len(events) - MOST_EVENTS} earlier in this stretch.")
    return words


def _capability(charts: ChartStudy) -> list[str]:
    index = charts.capability
    if index is None or math.isnan(index.ppk.value):
        return []
    return [
        (
            f"Against the warning limits Ppk is {index.ppk.value:.2f} "
            f"({index.ppk.low:.2f} to {index.ppk.high:.2f}) in the stable stretch."
        )
    ]

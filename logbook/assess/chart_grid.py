"""Readings as an equally spaced series: what the charts want, from times and values.

Correlation, moving ranges and runs are of neighbours, so a point that is read every second round is
a series of its own rounds, not one with every other reading missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.chart_rows import FloatArray


@dataclass(frozen=True, slots=True)
class Grid:
    """A series by places, one for each time a reading was due; arrays of shape (n,)."""

    values: FloatArray
    """NaN where no reading was taken."""
    taken_at: npt.NDArray[np.int64]
    """Seconds; where no reading was taken, about when it would have been."""
    step_s: float
    """Usual distance of readings."""


def on_grid(taken_at: npt.ArrayLike, values: npt.ArrayLike, *, step_s: float | None = None) -> Grid:
    """Put readings, in order of time, on the places of their own rhythm.

    `taken_at` in seconds and `values`, both of shape (n,); a value may be NaN. `step_s`: seconds
    between readings, default the median. From reading to reading the next place is taken, further
    on after a gap of one and a half steps and more; so rounds that move by an hour when the clocks
    change keep their places. A reading within a quarter of a step after another replaces it.

    Raises ValueError for arrays that do not fit, times out of order, or a step not above 0.

    >>> grid = on_grid([0, 7200, 14700, 28800], [1.0, 2.0, 3.0, 5.0])
    >>> grid.values.tolist(), grid.step_s
    ([1.0, 2.0, 3.0, nan, 5.0], 7500.0)
    """
    times = np.asarray(taken_at, dtype=np.int64)
    readings = np.asarray(values, dtype=np.float64)
    if times.ndim != 1 or times.shape != readings.shape:
        raise ValueError(f"Times and values do not fit: {times.shape} and {readings.shape}.")
    ahead = np.diff(times)
    if ahead.size and ahead.min() < 0:
        raise ValueError("The readings must be in order of time.")
    apart = ahead[ahead > 0]
    step = step_s if step_s is not None else float(np.median(apart)) if apart.size else 1.0
    if not step > 0.0:
        raise ValueError(f"The step must be above 0 s, not {step}.")
    moves = np.maximum(1, np.ceil(ahead / step - 0.5)).astype(np.intp)
    moves[ahead < step / 4.0] = 0
    places = np.concatenate([np.zeros(min(1, times.size), dtype=np.intp), np.cumsum(moves)])
    size = int(places[-1]) + 1 if places.size else 0
    series = np.full(size, np.nan)
    series[places] = readings
    instants = np.round(np.interp(np.arange(size), places, times)) if size else times
    return Grid(series, instants.astype(np.int64), step)

"""The charts of many points at once, as a matrix of points by rounds.

The same sums as in `chart_study.study` with a baseline that is given, worked out for all rows
together; a test holds one against the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.autocorrelation import (
    rows_lag_one,
    rows_prediction_width,
    rows_residuals,
)
from logbook.assess.chart_constants import constants
from logbook.assess.chart_rows import BoolArray, FloatArray, Rows, together
from logbook.assess.chart_study import ChartSettings
from logbook.assess.ewma_cusum import (
    ewma_settled,
    rows_cusum,
    rows_ewma,
    rows_ewma_deviation,
)
from logbook.assess.moving_range import LEAST, moving_ranges
from logbook.assess.run_rules import FlagArray, rows_flags

CodeArray = npt.NDArray[np.int8]


_AT_ONCE = 1 << 16
"""Readings worked on at once: what fits in the fast memory of a processor."""


@dataclass(frozen=True, slots=True)
class ManyCharts:
    """Charts of p points over n rounds: what is out of line, and where each point stands now.

    Arrays of shape (p, n) are 0 where nothing is to be said; those of shape (p,) are NaN where a
    point could not be judged.
    """

    centre: FloatArray
    sigma: FloatArray
    lag1: FloatArray
    """Correlation that the limits allow for, 0 or more; shape (p,)."""
    lower: FloatArray
    upper: FloatArray
    """Limits of single readings, shape (p,)."""
    out: CodeArray
    """1 above, -1 below the limits of single readings; shape (p, n)."""
    range_out: CodeArray
    """1 where a moving range is above its limit; shape (p, n)."""
    average_out: CodeArray
    """1 where the EWMA is above, -1 where it is below its exact limits; shape (p, n)."""
    sum_out: CodeArray
    """1 where C+, -1 where C- of the AR(1) residuals is above h; shape (p, n)."""
    flags: FlagArray
    """Bits of `Rule` from the residuals; shape (p, n)."""
    average: FloatArray
    """EWMA after the last reading, in the point's unit; shape (p,)."""
    sum_high: FloatArray
    sum_low: FloatArray
    """C+ and C- after the last reading, in sigma of the residuals; shape (p,)."""
    cp: FloatArray
    cpk: FloatArray
    pp: FloatArray
    ppk: FloatArray
    """Capability of the baseline; shape (p,)."""


@dataclass(frozen=True, slots=True)
class _Base:
    """What a baseline tells of each row; shape (rows,)."""

    centre: FloatArray
    sigma: FloatArray
    overall: FloatArray
    mean_range: FloatArray
    lag1: FloatArray
    count: npt.NDArray[np.intp]


def chart_many(
    matrix: FloatArray,
    *,
    baseline: slice | BoolArray | None = None,
    low: FloatArray | None = None,
    high: FloatArray | None = None,
    settings: ChartSettings | None = None,
) -> ManyCharts:
    """Chart every row of `matrix`, shape (p, n), equally spaced in time, finite or NaN: missing.

    `baseline` are the columns that limits come from, or a mask of shape (p, n), one row as
    `find_baseline` gives it for each point (None: all); `low` and `high`, shape (p,), NaN
    where there is none, are limits for the capability. Points with fewer than 8 readings in the
    baseline, without variation, or with fewer than four independent readings' worth, get NaN and no
    flags.

    Raises ValueError for another shape, or a mask that does not fit.

    >>> import numpy as np
    >>> table = np.random.default_rng(1).normal(10.0, 1.0, (3, 300))
    >>> table[1, 290] = 20.0
    >>> chart_many(table, baseline=slice(0, 200)).out[:, 290].tolist()
    [0, 1, 0]
    """
    if matrix.ndim != 2:
        raise ValueError(f"A matrix of points by rounds is wanted, not {matrix.shape}.")
    chosen = settings or ChartSettings()
    base = _of_baseline(_held(matrix, baseline))
    width, wide = _widths(base, chosen)
    sigma = np.where(np.isnan(width), np.nan, base.sigma)
    marks = np.zeros((4, *matrix.shape), dtype=np.int8)
    flags = np.zeros(matrix.shape, dtype=np.uint8)
    last = np.full((3, len(matrix)), np.nan)
    step = max(1, _AT_ONCE // max(1, matrix.shape[1]))
    for first in range(0, len(matrix), step):
        part = slice(first, first + step)
        deviation = (matrix[part] - base.centre[part, None]) / sigma[part, None]
        rows = together(deviation)
        marks[0, part] = _outside(deviation, width[part, None])
        marks[1, part] = _ranges_out(deviation, base, part)
        marks[2, part] = _averages(
            rows, (wide[part], base.lag1[part]), chosen.weight, last[0, part]
        )
        left = rows.with_values(rows_residuals(rows, base.lag1[part]))
        marks[3, part] = _sums(left, chosen, last[1:, part])
        flags[part] = rows_flags(left, chosen.rules)
    return ManyCharts(
        centre=base.centre,
        sigma=sigma,
        lag1=base.lag1,
        lower=base.centre - width * sigma,
        upper=base.centre + width * sigma,
        out=marks[0],
        range_out=marks[1],
        average_out=marks[2],
        sum_out=marks[3],
        flags=flags,
        average=base.centre + sigma * last[0],
        sum_high=last[1],
        sum_low=last[2],
        **_capabilities(base, low, high),
    )


def _held(matrix: FloatArray, baseline: slice | BoolArray | None) -> FloatArray:
    """The readings that limits come from."""
    if baseline is None:
        return matrix
    if isinstance(baseline, slice):
        return matrix[:, baseline]
    if baseline.shape != matrix.shape:
        raise ValueError(f"A mask of shape {matrix.shape} is wanted, not {baseline.shape}.")
    return np.where(baseline, matrix, np.nan)


def _averages(
    rows: Rows, limits: tuple[FloatArray, FloatArray], weight: float, last: FloatArray
) -> CodeArray:
    """Codes of the EWMA against its exact limits; its last values go into `last`."""
    average = rows_ewma(rows, weight)
    last[:] = _last(rows, average)
    head = min(rows.length, ewma_settled(weight))
    early = limits[0][:, None] * rows_ewma_deviation(weight, head, limits[1])
    codes = _outside(average, early[:, -1:])
    codes[:, :head] = _outside(average[:, :head], early)
    return rows.marks_apart(codes)


def _sums(rows: Rows, chosen: ChartSettings, last: FloatArray) -> CodeArray:
    """Codes of the CUSUM; its last values go into `last`."""
    above, below = rows_cusum(rows, np.array([chosen.k]))
    last[0], last[1] = _last(rows, above), _last(rows, below)
    high, low = above > chosen.h, below > chosen.h
    codes = high.view(np.int8) - low.view(np.int8)
    both = high & low
    if both.any():
        codes[both] = np.where(above[both] >= below[both], 1, -1)
    return rows.marks_apart(codes)


def _last(rows: Rows, worked: FloatArray) -> FloatArray:
    """What was worked out for the last reading of each row; NaN in a row without readings."""
    value = worked[np.arange(len(worked)), np.maximum(rows.counts - 1, 0)]
    return np.where(rows.counts > 0, value, np.nan)


def _of_baseline(held: FloatArray) -> _Base:
    """Centre, sigma, deviation and correlation of each row's baseline; NaN where it is too short."""
    seen = ~np.isnan(held)
    count = np.count_nonzero(seen, axis=1).astype(np.intp)
    some = np.maximum(count, 1)
    first = held[np.arange(len(held)), seen.argmax(axis=1)]
    offsets = held - first[:, None]
    offsets[~seen] = 0.0
    mean = offsets.sum(axis=1) / some
    offsets -= mean[:, None]
    offsets[~seen] = 0.0
    square = np.einsum("ij,ij->i", offsets, offsets)
    ranges = moving_ranges(held)
    there = ~np.isnan(ranges)
    pairs = np.count_nonzero(there, axis=1)
    ranges[~there] = 0.0
    mean_range = ranges.sum(axis=1) / np.maximum(pairs, 1)
    value = rows_lag_one(held)[0]
    lag1 = np.where(value > 0.0, value, 0.0)
    sigma = mean_range / constants(2).d2 / np.sqrt(1.0 - lag1)
    usable = (count >= LEAST) & (pairs >= LEAST - 1) & (sigma > 0.0)
    overall = np.sqrt(square / np.maximum(count - 1, 1))
    blank = np.where(usable, 0.0, np.nan)
    return _Base(
        first + mean + blank, sigma + blank, overall + blank, mean_range + blank, lag1, count
    )


def _widths(base: _Base, chosen: ChartSettings) -> tuple[FloatArray, FloatArray]:
    """Widths of the limits of readings and of averages, allowing for the estimated baseline."""
    r = (1.0 - chosen.weight) * base.lag1
    variance = chosen.weight / (2.0 - chosen.weight) * (1.0 + r) / (1.0 - r)
    return (
        rows_prediction_width(chosen.width, base.count, base.lag1, np.ones(1)),
        rows_prediction_width(chosen.ewma_width, base.count, base.lag1, variance),
    )


def _outside(values: FloatArray, edge: FloatArray) -> CodeArray:
    """1 above and -1 below plus and minus the edge."""
    return np.asarray((values > edge).view(np.int8) - (values < -edge).view(np.int8))


def _ranges_out(deviation: FloatArray, base: _Base, part: slice) -> CodeArray:
    """1 where a moving range, in sigma, is above its limit."""
    limit = constants(2).D4 * base.mean_range[part] / base.sigma[part]
    return (moving_ranges(deviation) > limit[:, None]).view(np.int8)


def _capabilities(
    base: _Base, low: FloatArray | None, high: FloatArray | None
) -> dict[str, FloatArray]:
    """Cp, Cpk, Pp and Ppk of each row."""
    none = np.full(base.centre.size, math.nan)
    below = base.centre - (none if low is None else low)
    above = (none if high is None else high) - base.centre
    nearest = np.fmin(below, above)
    both = below + above
    return {
        "cp": both / (6.0 * base.sigma),
        "cpk": nearest / (3.0 * base.sigma),
        "pp": both / (6.0 * base.overall),
        "ppk": nearest / (3.0 * base.overall),
    }

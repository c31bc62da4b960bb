"""Shewhart charts: single readings with moving ranges, and subgroups with range or deviation.

Formulas as in the NIST/SEMATECH e-Handbook of Statistical Methods, sections 6.3.2.1 and 6.3.2.2,
with exact constants. Subgroups may be of different size (a mill that stood still): the estimates of
sigma are then weighted by their precision, after I. W. Burr, "Control charts for measurements with
varying sample sizes", Journal of Quality Technology 1 (1969) 163-167 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.chart_constants import constants, sizes_to
from logbook.assess.chart_rows import BoolArray, FloatArray, IndexArray, as_series
from logbook.assess.moving_range import LEAST, NO_VARIATION, few_words, moving_ranges, range_sigma

CodeArray = npt.NDArray[np.int8]

Chosen = slice | npt.NDArray[np.bool_] | None
"""A baseline: part of the series by position, or by a mask of its length; None: all of it."""


@dataclass(frozen=True, slots=True)
class IndividualsChart:
    """Single readings with their limits, and their moving ranges; arrays of shape (n,)."""

    values: FloatArray
    moving_range: FloatArray
    """|x_i - x_(i-1)|; NaN for the first and on both sides of a gap."""
    centre: float
    sigma: float
    """Standard deviation of single readings, with `lag1` as given."""
    lower: float
    upper: float
    mean_range: float
    range_upper: float
    """Upper limit of the moving range (its lower limit is 0)."""
    width: float
    """Half the distance of the limits, in sigma."""
    lag1: float
    count: int
    """Readings of the baseline."""
    note: str
    """Too few, few, or no variation to judge by; empty otherwise."""

    @property
    def out(self) -> CodeArray:
        """1 where a reading is above, -1 where it is below its limit, otherwise 0."""
        return _beyond(self.values, self.lower, self.upper)

    @property
    def range_out(self) -> BoolArray:
        """True where a moving range is above its limit."""
        return np.asarray(self.moving_range > self.range_upper)


def individuals(
    values: npt.ArrayLike,
    *,
    baseline: Chosen = None,
    lag1: float = 0.0,
    width: float = 3.0,
) -> IndividualsChart:
    """Chart single readings: centre +- width * sigma, sigma = mean moving range / 1.128.

    `values`, shape (n,), NaN: missing. Centre and sigma are of the `baseline` (default: all);
    the limits judge the whole series. `lag1` is the correlation of neighbouring readings: sigma is
    divided by sqrt(1 - lag1), else limits are too narrow (see `autocorrelation`). With fewer than 8
    readings in the baseline there are no limits (NaN), with fewer than 25 a note says that they are
    few.

    Raises ValueError for lag1 or width out of range, or a baseline that does not fit.

    >>> chart = individuals([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.centre, 2), round(chart.lower, 2), round(chart.upper, 2), chart.note
    (50.81, 45.82, 55.8, 'few: 10 readings, 25 are usual')
    """
    if not -1.0 < lag1 < 1.0 or width <= 0.0:
        raise ValueError(f"lag1 must lie between -1 and 1 and width above 0: {lag1}, {width}.")
    series = as_series(values)
    found = range_sigma(_chosen(series, baseline), lag1)
    half = width * found.sigma if found.sigma > 0.0 else math.nan
    return IndividualsChart(
        values=series,
        moving_range=moving_ranges(series),
        centre=found.centre,
        sigma=found.sigma,
        lower=found.centre - half,
        upper=found.centre + half,
        mean_range=found.mean_range,
        range_upper=constants(2).D4 * found.mean_range if found.sigma > 0.0 else math.nan,
        width=width,
        lag1=lag1,
        count=found.count,
        note=found.note,
    )


@dataclass(frozen=True, slots=True)
class SubgroupChart:
    """Means of subgroups and their spread (range or standard deviation); arrays of shape (k,)."""

    means: FloatArray
    spreads: FloatArray
    """Range or standard deviation of each subgroup; NaN with fewer than two readings."""
    sizes: IndexArray
    centre: float
    """Mean of all readings of the baseline, each subgroup weighted by its size."""
    sigma: float
    """Standard deviation of single readings within a subgroup."""
    lower: FloatArray
    upper: FloatArray
    """Limits of each mean, with the size of its subgroup."""
    spread_centre: FloatArray
    spread_lower: FloatArray
    spread_upper: FloatArray
    count: int
    """Subgroups of the baseline with two readings or more."""
    note: str

    @property
    def out(self) -> CodeArray:
        """1 where a mean is above, -1 where it is below its limit, otherwise 0."""
        return _beyond(self.means, self.lower, self.upper)

    @property
    def spread_out(self) -> CodeArray:
        """1 where a spread is above, -1 where it is below its limit, otherwise 0."""
        return _beyond(self.spreads, self.spread_lower, self.spread_upper)

    @property
    def errors(self) -> FloatArray:
        """Standard error of each mean: what `run_rules` wants as sigma of the means."""
        return np.asarray(self.sigma / np.sqrt(np.where(self.sizes > 0, self.sizes, np.nan)))


def xbar_r(
    subgroups: npt.ArrayLike, *, baseline: Chosen = None, own_level: bool = False
) -> SubgroupChart:
    """Chart means and ranges of subgroups: sigma = mean range / d2.

    `subgroups` has shape (k, n): one row for each round, one column for each place in it, e.g. the
    mills of a flaking line; NaN: missing. `own_level` takes off each column's own mean over the
    baseline first (and adds the mean of all), so that mills which always differ do not make the
    ranges, and with them the limits, wide. The mean of a round is charted against the spread within
    rounds only; where the level wanders from round to round, chart `means` by `individuals` too.

    Raises ValueError for another shape or a baseline that does not fit.

    >>> chart = xbar_r([[1.0, 2.0, 3.0], [2.0, 3.0, 4.0]] * 4)
    >>> chart.centre, round(chart.sigma, 4), chart.upper.round(3)[0], chart.note
    (2.5, 1.1816, np.float64(4.547), 'few: 8 subgroups, 25 are usual')
    """
    return _subgroup_chart(subgroups, baseline, own_level=own_level, by_range=True)


def xbar_s(
    subgroups: npt.ArrayLike, *, baseline: Chosen = None, own_level: bool = False
) -> SubgroupChart:
    """Chart means and standard deviations of subgroups: sigma = mean standard deviation / c4.

    Arguments and errors as `xbar_r`; better than ranges from about ten readings a subgroup.

    >>> chart = xbar_s([[1.0, 2.0, 3.0], [2.0, 3.0, 4.0]] * 4)
    >>> round(chart.sigma, 4), chart.spread_upper.round(3)[0]
    (1.1284, np.float64(2.568))
    """
    return _subgroup_chart(subgroups, baseline, own_level=own_level, by_range=False)


def _subgroup_chart(
    subgroups: npt.ArrayLike, baseline: Chosen, *, own_level: bool, by_range: bool
) -> SubgroupChart:
    table = np.array(subgroups, dtype=np.float64)
    if table.ndim != 2 or table.shape[1] < 2:
        raise ValueError(f"Subgroups are wanted as rows of two or more, not {table.shape}.")
    table[np.isinf(table)] = np.nan
    if own_level:
        table = _levelled(table, _chosen(table, baseline))
    sizes, means, spreads = _of_rows(table, by_range=by_range)
    chosen = _mask(len(table), baseline)
    mean_factor, deviation_factor = _factors(sizes, table.shape[1], by_range=by_range)
    usable = chosen & (sizes >= 2)
    count = int(usable.sum())
    note = few_words(count).replace("readings", "subgroups")
    if count < LEAST:
        centre, sigma = math.nan, math.nan
    else:
        weight = (mean_factor[usable] / deviation_factor[usable]) ** 2
        sigma = float((weight * spreads[usable] / mean_factor[usable]).sum() / weight.sum())
        held = chosen & (sizes > 0)
        first = means[held][0]
        centre = float(first + np.average(means[held] - first, weights=sizes[held]))
        note = note if sigma > 0.0 else NO_VARIATION
    known = sigma if sigma > 0.0 else math.nan
    half = 3.0 * known / np.sqrt(np.where(sizes > 0, sizes, np.nan))
    middle, reach = mean_factor * known, 3.0 * deviation_factor * known
    return SubgroupChart(
        means=means,
        spreads=spreads,
        sizes=sizes,
        centre=centre,
        sigma=sigma,
        lower=centre - half,
        upper=centre + half,
        spread_centre=middle,
        spread_lower=np.maximum(0.0, middle - reach),
        spread_upper=middle + reach,
        count=count,
        note=note,
    )


def _of_rows(table: FloatArray, *, by_range: bool) -> tuple[IndexArray, FloatArray, FloatArray]:
    """Size, mean and spread of each row."""
    seen = ~np.isnan(table)
    sizes = seen.sum(axis=1)
    some, enough = sizes > 0, sizes >= 2
    first = np.where(some, table[np.arange(len(table)), seen.argmax(axis=1)], np.nan)
    offsets = np.where(seen, table - first[:, None], 0.0)
    means = first + offsets.sum(axis=1) / np.where(some, sizes, 1)
    spreads = np.full(len(table), np.nan)
    if by_range:
        high = np.where(seen, table, -np.inf).max(axis=1)
        low = np.where(seen, table, np.inf).min(axis=1)
        spreads[enough] = high[enough] - low[enough]
    else:
        squares = np.where(seen, table - means[:, None], 0.0) ** 2
        spreads[enough] = np.sqrt(squares.sum(axis=1)[enough] / (sizes[enough] - 1))
    return sizes, means, spreads


def _factors(sizes: IndexArray, largest: int, *, by_range: bool) -> tuple[FloatArray, FloatArray]:
    """Mean and standard deviation of each subgroup's spread, in sigma."""
    d2, d3, c4 = sizes_to(largest)
    if by_range:
        return d2[sizes], d3[sizes]
    mean = c4[sizes]
    return mean, np.sqrt(1.0 - mean**2)


def _levelled(table: FloatArray, baseline: FloatArray) -> FloatArray:
    """The table with each column's mean over the baseline replaced by the mean of all columns."""
    seen = ~np.isnan(baseline)
    counts = seen.sum(axis=0)
    sums = np.where(seen, baseline, 0.0).sum(axis=0)
    if not counts.any():
        return table
    levels = np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
    return np.asarray(table - levels + levels[counts > 0].mean())


def _beyond(values: FloatArray, lower: FloatArray | float, upper: FloatArray | float) -> CodeArray:
    high = np.asarray(values > upper)
    return high.astype(np.int8) - np.asarray(values < lower).astype(np.int8)


def _mask(count: int, baseline: Chosen) -> BoolArray:
    """The baseline as a mask over `count` places."""
    mask = np.zeros(count, dtype=np.bool_)
    if baseline is None:
        mask[:] = True
    elif isinstance(baseline, slice):
        mask[baseline] = True
    elif baseline.shape == (count,) and baseline.dtype == np.bool_:
        mask[:] = baseline
    else:
        raise ValueError(f"The baseline must be a slice or a mask of shape ({count},).")
    return mask


def _chosen(values: FloatArray, baseline: Chosen) -> FloatArray:
    """The values with everything outside the baseline missing; places are kept."""
    if baseline is None:
        return values
    out = values.copy()
    out[~_mask(len(values), baseline)] = np.nan
    return out

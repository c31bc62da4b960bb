"""Slopes that a wild reading cannot turn: the Theil-Sen line with its interval, row by row.

The slope is the median of the slopes through all pairs of values (Theil 1950, Sen 1968); its
interval comes from the distribution of Kendall's S (Sen 1968), with the correction for equal values
that scipy.stats.theilslopes also makes. Values that follow one another are not independent: the
variance of S is then multiplied by `inflation`. For an AR(1) series that is about (1 + r)/(1 - r)
with r the correlation from one value to the next, the large-sample form of the correction of Hamed
and Rao (Journal of Hydrology 204, 1998; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.intp]
STRONGEST = 0.9
"""A correlation is taken as no stronger than this: the inflation has no end towards 1."""


@dataclass(frozen=True, slots=True)
class Lines:
    """One robust line per row; arrays of shape (m,), NaN where a row has too few values.

    `slope` with `low` and `high` of its interval in value per unit of time; `z` is Kendall's S over
    its standard deviation, signed; `level` the value of the line at time 0; `count` the values.
    """

    slope: FloatArray
    low: FloatArray
    high: FloatArray
    z: FloatArray
    level: FloatArray
    count: IntArray
    kendall: FloatArray
    """Kendall's S."""
    slopes: FloatArray
    """Slopes through all pairs of each row in rising order, NaN last, and in `pairs` how many."""
    pairs: IntArray

    def widened(self, rows: FloatArray, width: float, inflation: FloatArray | float) -> Lines:
        """The same lines of `rows` with the interval and `z` of another width or inflation."""
        spread = np.sqrt(variance_of_s(rows, self.count) * inflation)
        z = _standard(self.kendall, spread)
        below = np.round((self.pairs - width * spread) / 2.0).astype(np.intp) - 1
        above = np.round((self.pairs + width * spread) / 2.0).astype(np.intp)
        low = _picked(self.slopes, np.maximum(below, 0), self.pairs)
        high = _picked(self.slopes, np.minimum(above, self.pairs - 1), self.pairs)
        return replace(self, low=low, high=high, z=z)

    def at(self, time: float | FloatArray) -> FloatArray:
        """The lines at `time`: shape (m,), or (m, n) for n times."""
        where = np.asarray(time, dtype=np.float64)
        if where.ndim == 0:
            return self.level + self.slope * where
        return self.level[:, None] + self.slope[:, None] * where


def theil_sen(
    times: FloatArray, rows: FloatArray, *, width: float = 1.96, inflation: FloatArray | float = 1.0
) -> Lines:
    """Theil-Sen lines of `rows` (shape (m, n), NaN: nothing read) over `times` (shape (n,), rising).

    `width` is the half width of the interval in standard deviations of S (1.96: 95 %), `inflation`
    multiplies the variance of S, one for all or one per row. Intervals agree with
    scipy.stats.theilslopes where nothing is missing and the inflation is 1.

    >>> rows = np.array([[1.0, 2.0, 3.0, 40.0, 5.0]])
    >>> float(theil_sen(np.arange(5.0), rows).slope[0])
    1.0
    """
    first, second = np.triu_indices(times.size, 1)
    rise = rows[:, second] - rows[:, first]
    slopes = np.sort(rise / (times[second] - times[first]), axis=1)
    pairs = np.isfinite(slopes).sum(axis=1)
    slope = _middle(slopes, pairs)
    level = row_medians(rows - slope[:, None] * times)
    kendall = np.nansum(np.sign(rise), axis=1)
    count = np.isfinite(rows).sum(axis=1)
    bare = Lines(slope, slope, slope, kendall, level, count, kendall, slopes, pairs)
    return bare.widened(rows, width, inflation)


def kendall_z(rows: FloatArray) -> FloatArray:
    """Kendall's S of each row over its standard deviation for independent values; shape (m,).

    It is the `z` of `theil_sen` without inflation, and so never smaller: a quick first sieve.
    """
    count = np.isfinite(rows).sum(axis=1)
    s = np.zeros(rows.shape[0])
    for back in range(1, rows.shape[1]):
        s += np.nansum(np.sign(rows[:, back:] - rows[:, :-back]), axis=1)
    return _standard(s, np.sqrt(variance_of_s(rows, count)))


def variance_of_s(rows: FloatArray, count: IntArray) -> FloatArray:
    """Variance of Kendall's S of each row, less what equal values take from it; shape (m,).

    Kendall, Rank Correlation Methods (from memory): n(n-1)(2n+5)/18 less the same of each tie.
    """
    ordered = np.sort(rows, axis=1)
    # In a run of t equal values the k-th brings what makes t(t-1)(2t+5) of k(k-1)(2k+5).
    tied, place = np.zeros(rows.shape[0]), np.zeros(rows.shape[0])
    for k in range(1, rows.shape[1]):
        place = np.where(ordered[:, k] == ordered[:, k - 1], place + 1.0, 0.0)
        tied += 6.0 * place * (place + 2.0)
    n = count.astype(np.float64)
    found: FloatArray = np.maximum(n * (n - 1.0) * (2.0 * n + 5.0) - tied, 0.0) / 18.0
    return found


def row_medians(rows: FloatArray) -> FloatArray:
    """Median of each row without its NaN; NaN for a row without a value."""
    ordered = np.sort(rows, axis=1)
    return _middle(ordered, np.isfinite(rows).sum(axis=1))


def lag_one(residuals: FloatArray, *, fitted: int = 2) -> FloatArray:
    """Correlation of each row's values from one to the next, between 0 and `STRONGEST`.

    `residuals` (m, n) about a fitted line (`fitted` = 2 constants). Wild values are drawn in to
    three robust standard deviations. The estimate of a short row is too low, by about
    (fitted + 2 (fitted) r)/n for a line (Marriott and Pope, Biometrika 41, 1954, for a mean, from
    memory; for a line tried on simulated series in the tests): that is added back. A negative
    correlation is taken as none, since then the intervals are only too wide.
    """
    spread = 1.4826 * row_medians(np.abs(residuals))[:, None]
    drawn = np.where(spread > 0.0, np.clip(residuals, -3.0 * spread, 3.0 * spread), residuals)
    pair = drawn[:, 1:] * drawn[:, :-1]
    both = np.isfinite(pair).sum(axis=1)
    held = np.isfinite(drawn).sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        raw = (np.nansum(pair, axis=1) / both) / (np.nansum(drawn**2, axis=1) / held)
        mended = raw + (fitted + 2.0 * fitted * np.maximum(raw, 0.0)) / held
    found: FloatArray = np.clip(np.nan_to_num(mended, nan=STRONGEST), 0.0, STRONGEST)
    return found


def inflation_of(correlation: FloatArray) -> FloatArray:
    """By how much the variance of S grows for an AR(1) series: (1 + r)/(1 - r).

    >>> float(inflation_of(np.array([0.5]))[0])
    3.0
    """
    return (1.0 + correlation) / (1.0 - correlation)


def two_sided(z: float) -> float:
    """Probability of a standard normal value at least as far from 0 as `z`.

    >>> round(two_sided(1.96), 3)
    0.05
    """
    return math.erfc(abs(z) / math.sqrt(2.0))


def _standard(s: FloatArray, spread: FloatArray) -> FloatArray:
    # One off for the step from whole numbers to the normal distribution.
    apart = np.sign(s) * np.maximum(np.abs(s) - 1.0, 0.0)
    return np.where(spread > 0.0, apart / np.where(spread > 0.0, spread, 1.0), 0.0)


def _middle(ordered: FloatArray, count: IntArray) -> FloatArray:
    """Median of the first `count` of each row of rising values."""
    low = _picked(ordered, (count - 1) // 2, count)
    high = _picked(ordered, count // 2, count)
    return (low + high) / 2.0


def _picked(ordered: FloatArray, place: IntArray, count: IntArray) -> FloatArray:
    if not ordered.shape[1]:
        return np.full(ordered.shape[0], np.nan)
    safe = np.clip(place, 0, np.maximum(count - 1, 0))
    found = np.take_along_axis(ordered, safe[:, None], axis=1)[:, 0]
    return np.where(count > 0, found, np.nan)

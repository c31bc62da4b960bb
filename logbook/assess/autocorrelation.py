"""Readings that follow one another: how strongly, and what it does to limits.

Two hours after a high reading the next one is likely to be high too. Limits made for independent
readings then give false alarms by the dozen, since moving ranges are small while the level wanders,
and runs on one side of the centre are what is to be expected. Here the correlation of neighbouring
readings is estimated robustly, and used in two ways:

- charts of the level (single readings, EWMA) keep the readings and **widen** their limits: to the
  standard deviation of the readings themselves, and a little more for what is not known exactly;
- rules that count (run rules, CUSUM) judge the **residuals of a first-order autoregression** (AR(1),
  x_t - c = lag1 * (x_(t-1) - c) + e_t), which are independent where that model holds.

A shift of the level by d shows in the residuals as d once and as (1 - lag1) * d afterwards: with a
strong correlation residuals see sudden changes, and the widened chart sees lasting ones.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.chart_rows import (
    BoolArray,
    FloatArray,
    IndexArray,
    Places,
    Rows,
    as_series,
    together,
)
from logbook.assess.moving_range import NO_VARIATION

LEAST_PAIRS = 30
"""With fewer pairs of neighbours the correlation is not estimated: its error would be near 0.2."""
LEAST_INDEPENDENT = 4.0
"""Baselines that amount to fewer independent readings give no limits."""
_MOST = 0.98


@dataclass(frozen=True, slots=True)
class Lag1:
    """Correlation of neighbouring readings."""

    value: float
    """From -0.98 to 0.98; NaN where it could not be estimated."""
    error: float
    """Standard error, sqrt((1 - value^2) / pairs)."""
    pairs: int
    note: str
    """Why it could not be estimated; empty where it was."""

    @property
    def used(self) -> float:
        """What charts should use: a negative or unknown correlation never narrows their limits."""
        # In this order a value that is not a number gives 0.
        return max(0.0, self.value)


def lag_one(values: npt.ArrayLike) -> Lag1:
    """Estimate the correlation of neighbouring readings from their normal scores.

    `values`, shape (n,), equally spaced in time, NaN: missing; only neighbours that are both there
    make a pair. Each reading is replaced by the normal quantile of its rank (equal readings share
    one), so that a wild reading counts as no more than the largest of n; for normal readings the
    estimate is as good as the ordinary one (K. Boudt, J. Cornelissen, C. Croux, "The Gaussian rank
    correlation estimator: robustness properties", Statistics and Computing 22 (2012) 471-483). The
    bias towards zero of small samples, -(1 + 4 lag1)/n (M. G. Kendall, "Note on bias in the
    estimation of autocorrelation", Biometrika 41 (1954) 403-404), is taken off. Both sources are
    from memory, what they say is held by simulation.
    Estimate it over a stretch without shifts: a shift looks like correlation.

    >>> import numpy as np
    >>> walk = np.sin(np.arange(60) / 4.0)
    >>> round(lag_one(walk).value, 2), lag_one(walk[:20]).note
    (0.98, 'too few: 19 pairs of neighbouring readings, 30 are needed')
    """
    value, pairs, varies = rows_lag_one(as_series(values)[None, :])
    found, count = float(value[0]), int(pairs[0])
    if count < LEAST_PAIRS:
        words = f"too few: {count} pairs of neighbouring readings, {LEAST_PAIRS} are needed"
        return Lag1(math.nan, math.nan, count, words)
    if not varies[0]:
        return Lag1(math.nan, math.nan, count, NO_VARIATION)
    return Lag1(found, math.sqrt((1.0 - found * found) / count), count, "")


def rows_lag_one(matrix: FloatArray) -> tuple[FloatArray, IndexArray, BoolArray]:
    """`lag_one` of each row of a matrix: correlations, pairs of neighbours, and whether it varies.

    Correlations are NaN where the pairs are too few or nothing varies.
    """
    seen = ~np.isnan(matrix)
    pairs = np.count_nonzero(seen[:, 1:] & seen[:, :-1], axis=1).astype(np.intp)
    count = np.count_nonzero(seen, axis=1)
    scores = _normal_scores(matrix, seen, count)
    # Missing readings have a score of 0 and drop out of both sums.
    square = np.einsum("ij,ij->i", scores, scores)
    product = np.einsum("ij,ij->i", scores[:, 1:], scores[:, :-1])
    varies = square > 0.0
    usable = varies & (pairs >= LEAST_PAIRS)
    value = np.full(len(matrix), np.nan)
    raw = product[usable] / pairs[usable] * count[usable] / square[usable]
    n = count[usable]
    value[usable] = np.clip((n * raw + 1.0) / (n - 4.0), -_MOST, _MOST)
    return value, pairs, varies


def _normal_scores(matrix: FloatArray, seen: BoolArray, count: IndexArray) -> FloatArray:
    """Normal quantiles of the ranks in each row, equal values at the mean of their ranks.

    Scores of a row are centred; missing readings score 0.
    """
    from scipy.special import ndtri

    # Missing readings sort to the end: their ranks lie beyond the count and are set aside.
    filled = np.where(seen, matrix, np.inf)
    order = np.argsort(filled, axis=1)
    ranked = np.take_along_axis(filled, order, axis=1)
    new = np.ones(matrix.shape, dtype=np.bool_)
    np.not_equal(ranked[:, 1:], ranked[:, :-1], out=new[:, 1:])
    first = np.flatnonzero(new)
    size = np.diff(np.concatenate([first, [new.size]]))
    column = first % matrix.shape[1]
    middle = np.repeat(column + 0.5 * (size + 1), size).reshape(matrix.shape)
    share = np.minimum(middle / (count[:, None] + 1.0), 0.999999)
    scores = np.empty(matrix.shape)
    np.put_along_axis(scores, order, ndtri(share), axis=1)
    scores[~seen] = 0.0
    scores -= scores.sum(axis=1, keepdims=True) / np.maximum(count, 1)[:, None]
    scores[~seen] = 0.0
    return scores


def effective_counts(count: float, lag1: float) -> tuple[float, float]:
    """How many independent readings would tell as much of the mean, and of the variance.

    G. V. Bayley and J. M. Hammersley, "The effective number of independent observations in an
    autocorrelated time series", Supplement to the Journal of the Royal Statistical Society 8 (1946)
    184-197 (from memory); for large counts of an AR(1): n (1-r)/(1+r) and n (1-r^2)/(1+r^2).

    >>> effective_counts(300, 0.5)
    (100.0, 180.0)
    """
    square = lag1 * lag1
    return count * (1.0 - lag1) / (1.0 + lag1), count * (1.0 - square) / (1.0 + square)


def prediction_width(width: float, count: int, lag1: float, *, variance: float = 1.0) -> float:
    """Width of limits, in sigma, that keeps the false-alarm rate with an estimated baseline.

    Three-sigma limits give 0.27 % false alarms where centre and sigma are known. Estimated from
    `count` readings with correlation `lag1` they are off by chance; the quantile of Student's t for
    the effective number of readings, and the error of the centre, make up for that on average.
    `variance` is the variance of what is charted, in sigma^2 of a reading (1 for readings, less for
    an EWMA). NaN where the readings amount to fewer than 4 independent ones.

    >>> [round(prediction_width(3.0, n, 0.6), 2) for n in (60, 360, 4000)]
    [3.41, 3.06, 3.01]
    """
    many = rows_prediction_width(width, np.array([count]), np.array([lag1]), np.array([variance]))
    return float(many[0])


def rows_prediction_width(
    width: float, count: IndexArray, lag1: FloatArray, variance: FloatArray
) -> FloatArray:
    """`prediction_width` for many baselines, shape (rows,)."""
    from scipy.special import stdtrit

    of_mean = count * (1.0 - lag1) / (1.0 + lag1)
    of_variance = count * (1.0 - lag1**2) / (1.0 + lag1**2)
    tail = 0.5 * math.erfc(width / math.sqrt(2.0))
    usable = of_mean >= LEAST_INDEPENDENT
    quantile = -stdtrit(np.where(usable, of_variance - 1.0, 1.0), tail)
    room = np.sqrt(1.0 + 1.0 / (np.where(usable, of_mean, 1.0) * variance))
    return np.where(usable, quantile * room, np.nan)


def residuals(values: npt.ArrayLike, centre: float, sigma: float, lag1: float) -> FloatArray:
    """Standardised residuals of the AR(1) model, shape (n,), NaN where the reading is missing.

    The reading last seen, g places before, predicts centre + lag1^g * (it - centre) with variance
    sigma^2 (1 - lag1^2g); the first reading is predicted by the centre. Where the model holds the
    residuals are independent with mean 0 and standard deviation 1: give them to `run_rules` and
    `cusum` with centre 0 and sigma 1. NaN throughout where sigma is not above 0.

    >>> residuals([12.0, 11.0, float("nan"), 10.5], 10.0, 1.0, 0.5).round(3).tolist()
    [2.0, 0.0, nan, 0.258]
    """
    if not -1.0 < lag1 < 1.0:
        raise ValueError(f"lag1 must lie between -1 and 1, not {lag1}.")
    series = as_series(values)
    if not sigma > 0.0:
        return np.full(series.size, np.nan)
    rows = together(((series - centre) / sigma)[None, :])
    found: FloatArray = rows.apart(rows_residuals(rows, np.array([lag1])))[0]
    return found


def rows_residuals(rows: Rows, lag1: FloatArray) -> FloatArray:
    """`residuals` of many series at once; `rows` holds deviations in sigma, `lag1` one a row."""
    z = rows.values
    out = np.empty_like(z)
    out[:, 0] = z[:, 0]
    scale = 1.0 / np.sqrt(1.0 - lag1**2)
    np.multiply(z[:, :-1], (-lag1)[:, None], out=out[:, 1:])
    out[:, 1:] += z[:, 1:]
    out[:, 1:] *= scale[:, None]
    if rows.places is not None:
        _across_gaps(rows, rows.places, lag1, out)
    return out


def _across_gaps(rows: Rows, places: Places, lag1: FloatArray, out: FloatArray) -> None:
    """Put right, in `out`, the residuals of readings whose neighbour is further back than one."""
    row, column = np.divmod(places.after[places.late], rows.length)
    inside = column > 0
    row, column, step = row[inside], column[inside], places.step[inside]
    power = lag1[row] ** step
    ahead = rows.values[row, column] - power * rows.values[row, column - 1]
    out[row, column] = ahead / np.sqrt(1.0 - power * power)

"""Charts that remember: exponentially weighted moving average and tabular cumulative sum.

Both find a small shift that lasts sooner than limits on single readings do. EWMA after S. W.
Roberts (1959) with the limits of the NIST/SEMATECH e-Handbook of Statistical Methods, section
6.3.2.4; for readings that follow one another the variance of the average under a first-order
autoregression takes the place of the one for independent readings. CUSUM after E. S. Page (1954) in
the tabular form, with counters of how long each sum has been above zero.

Over a missing reading both stand still.
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
    Rows,
    as_series,
    together,
)
from logbook.assess.moving_range import NO_VARIATION, range_sigma


@dataclass(frozen=True, slots=True)
class EwmaChart:
    """An exponentially weighted moving average; arrays of shape (n,), NaN where no reading was."""

    average: FloatArray
    """The average after each reading, in the readings' unit."""
    centre: float
    sigma: float
    """Standard deviation of a single reading."""
    weight: float
    width: float
    lower: FloatArray
    upper: FloatArray
    """Exact limits: narrow at the start, where the average cannot have gone far yet."""
    lower_asymptotic: float
    upper_asymptotic: float
    """What the exact limits come near to."""
    note: str
    """What to know before believing it, e.g. too few readings; may be empty."""

    @property
    def out(self) -> BoolArray:
        """True where the average lies outside the exact limits."""
        return (self.average > self.upper) | (self.average < self.lower)

    @property
    def out_asymptotic(self) -> BoolArray:
        """True where the average lies outside the asymptotic limits."""
        return (self.average > self.upper_asymptotic) | (self.average < self.lower_asymptotic)


def ewma(
    values: npt.ArrayLike,
    weight: float,
    width: float,
    target: float | None = None,
    sigma: float | None = None,
    *,
    lag1: float = 0.0,
) -> EwmaChart:
    """Chart the moving average z_i = weight * x_i + (1 - weight) * z_(i-1), z_0 = target.

    `values`, shape (n,), NaN: missing. `weight` in (0, 1]; `width` in sigma of the average, e.g.
    3, or 2.7 with a weight of 0.1. `target` and `sigma` (of single readings) in the readings' unit;
    without them the mean and the mean moving range of these very readings stand in, which the note
    says. Where there is no variation to judge by the limits are NaN. `lag1` is the correlation of neighbouring readings, -1 < lag1 < 1, and widens the limits.

    Raises ValueError for a weight, width, sigma or lag1 out of range.

    >>> chart = ewma([52.0, 47.0, 53.0, 49.3], 0.3, 3.0, target=50.0, sigma=2.0539)
    >>> chart.average.round(2).tolist(), round(chart.upper_asymptotic, 4)
    ([50.6, 49.52, 50.56, 50.18], 52.5884)
    """
    _check_ewma(weight, width, sigma, lag1)
    series = as_series(values)
    centre, spread, note = _own(series, target, sigma, lag1)
    rows = together((series - centre)[None, :])
    seen = np.cumsum(~np.isnan(series))
    average = rows.apart(rows_ewma(rows, weight))[0] + centre
    factors = ewma_deviation(weight, int(seen[-1]) if seen.size else 0, lag1)
    if not spread > 0.0:
        spread, note = math.nan, note or NO_VARIATION
    half = np.full(series.size, np.nan)
    held = ~np.isnan(series)
    half[held] = width * spread * factors[seen[held] - 1]
    end = width * spread * ewma_asymptote(weight, lag1)
    return EwmaChart(
        average,
        centre,
        spread,
        weight,
        width,
        centre - half,
        centre + half,
        centre - end,
        centre + end,
        note,
    )


def ewma_deviation(weight: float, count: int, lag1: float = 0.0) -> FloatArray:
    """Standard deviation of the average after 1 to `count` readings, in sigma of one reading.

    For independent readings weight/(2-weight) * (1-(1-weight)^2i), square root of it. For readings
    x_t = lag1 * x_(t-1) + e_t the double sum over their correlations lag1^d in closed form, with
    q = 1 - weight and r = q * lag1:
    weight^2 * (A * (1+r)/(1-r) - 2 r/(1-r) * S), A = sum q^2j, S = sum q^2j r^(i-1-j), j from 0 to
    i-1. The sum is worked out here and held against the covariance matrix in a test; its limit is
    well known (W. Schmid, "On EWMA charts for time series", 1997, from memory).
    """
    head = min(count, ewma_settled(weight))
    out = np.full(count, ewma_asymptote(weight, lag1))
    out[:head] = rows_ewma_deviation(weight, head, np.array([lag1]))[0]
    return out


def ewma_settled(weight: float) -> int:
    """After how many readings the exact limits no longer differ from the asymptotic ones."""
    return 1 if weight == 1.0 else math.ceil(-40.0 / math.log1p(-weight))


def rows_ewma_deviation(weight: float, count: int, lag1: FloatArray) -> FloatArray:
    """`ewma_deviation` for many correlations, shape (rows, count), worked out to the last."""
    i = np.arange(1, count + 1, dtype=np.float64)
    q = 1.0 - weight
    if q == 0.0:
        return np.ones((lag1.size, count))
    r = q * lag1[:, None]
    square = q ** (2.0 * i)
    total = (1.0 - square) / (1.0 - q * q)
    near = np.abs(q - lag1[:, None]) < 1e-9
    apart = np.where(near, 1.0, q * q - r)
    late = np.where(near, i * q ** (2.0 * (i - 1.0)), (square - r ** i.astype(np.intp)) / apart)
    variance = total * (1.0 + r) / (1.0 - r) - 2.0 * r / (1.0 - r) * late
    return np.asarray(weight * np.sqrt(np.maximum(variance, 0.0)))


def ewma_asymptote(weight: float, lag1: float = 0.0) -> float:
    """Standard deviation of the average after many readings, in sigma of one reading.

    >>> round(ewma_asymptote(0.3), 4), round(ewma_asymptote(0.2, lag1=0.5), 4)
    (0.4201, 0.5092)
    """
    r = (1.0 - weight) * lag1
    return math.sqrt(weight / (2.0 - weight) * (1.0 + r) / (1.0 - r))


def rows_ewma(rows: Rows, weight: float) -> FloatArray:
    """The average for many series at once, started at 0; shape (rows, length), drawn together.

    The recursion is a sum with weights that fall off as (1 - weight)^d. It is made by doubling: a
    sum over s readings and the one s places before it make the sum over 2 s, until what is further
    back weighs less than the last place of a number.
    """
    out = weight * rows.values
    further = np.empty_like(out)
    fade, reach = 1.0 - weight, 1
    while reach < rows.length and fade > 1e-18:
        out[:, reach:] += np.multiply(out[:, :-reach], fade, out=further[:, reach:])
        fade, reach = fade * fade, reach * 2
    return out


@dataclass(frozen=True, slots=True)
class CusumSignal:
    """A cumulative sum went above its decision interval; indices into the series."""

    direction: int
    """1: the level has risen; -1: it has fallen."""
    at: int
    """The reading at which the sum went above the interval."""
    began: int
    """The first reading since the sum was last at zero: since when the level has been different."""
    last: int
    """The last reading in a row at which the sum stood above the interval."""
    level: float
    """Level since it began, estimated when the signal came: target +- (K + C/N)."""


@dataclass(frozen=True, slots=True)
class CusumChart:
    """A two-sided tabular cumulative sum; arrays of shape (n,)."""

    upper: FloatArray
    lower: FloatArray
    """C+ and C- (both zero or above), in the readings' unit; NaN where no reading was."""
    upper_run: IndexArray
    lower_run: IndexArray
    """N+ and N-: for how many readings in a row the sum has been above zero; 0 where none was."""
    upper_began: IndexArray
    lower_began: IndexArray
    """Index of the first reading of that run; -1 where the sum is zero or no reading was."""
    target: float
    reference: float
    """K = k * sigma."""
    decision: float
    """H = h * sigma."""
    signals: tuple[CusumSignal, ...]
    note: str

    @property
    def out(self) -> npt.NDArray[np.int8]:
        """1 where C+ and -1 where C- is above the decision interval (the larger, where both are)."""
        high, low = self.upper > self.decision, self.lower > self.decision
        both = high & low
        code = high.astype(np.int8) - low.astype(np.int8)
        code[both] = np.where(self.upper[both] >= self.lower[both], 1, -1)
        return code


def cusum(values: npt.ArrayLike, target: float, k: float, h: float, sigma: float) -> CusumChart:
    """Chart C+_i = max(0, x_i - (target + K) + C+_(i-1)), and C- likewise downwards.

    `values`, shape (n,), NaN: missing; `target` and `sigma` in their unit; `k` and `h` in sigma:
    K = k * sigma, H = h * sigma. k = 0.5 and h = 5 find a shift of one sigma after about 10
    readings and give a false alarm after about 465 (see `run_length.cusum_run_length`). The sums
    are not set back after a signal. Where sigma is 0 or not known there is no decision interval:
    nothing signals, and the note says so.

    Raises ValueError for k < 0, h <= 0 or sigma < 0.

    >>> chart = cusum([9.9, 10.3, 11.6, 12.0, 12.9], target=10.0, k=0.5, h=4.0, sigma=1.0)
    >>> chart.upper.round(2).tolist(), chart.signals[0].at, chart.signals[0].began
    ([0.0, 0.0, 1.1, 2.6, 5.0], 4, 2)
    """
    if k < 0.0 or h <= 0.0 or sigma < 0.0:
        raise ValueError(f"k must be 0 or more, h above 0, sigma 0 or more: {k}, {h}, {sigma}.")
    series = as_series(values)
    usable = math.isfinite(sigma) and sigma > 0.0 and math.isfinite(target)
    note = "" if usable else NO_VARIATION
    reference, decision = k * sigma, h * sigma if usable else math.nan
    rows = together((series - target)[None, :])
    sides = []
    for sums in rows_cusum(rows, np.array([reference])):
        runs, began = _runs(rows, sums)
        sides.append((rows.apart(sums)[0], runs, began))
    (up, up_run, up_began), (down, down_run, down_began) = sides
    signals = [
        *_signals(up, up_run, up_began, decision, (1, target + reference)),
        *_signals(down, down_run, down_began, decision, (-1, target - reference)),
    ]
    ordered = tuple(sorted(signals, key=_signal_order))
    return CusumChart(
        up,
        down,
        up_run,
        down_run,
        up_began,
        down_began,
        target,
        reference,
        decision,
        ordered,
        note,
    )


def rows_cusum(rows: Rows, reference: FloatArray) -> tuple[FloatArray, FloatArray]:
    """C+ and C- for many series at once, each of shape (rows, length), drawn together.

    `rows` holds deviations from the target; `reference`, of shape (rows,) or (1,), is K. With S_i the sum of
    (x - K) up to i, C+_i = S_i - min(0, S_1, ..., S_i): no step-by-step recursion is needed.
    """
    total = np.cumsum(rows.values, axis=1)
    steps = reference[:, None] * np.arange(1, rows.length + 1)[None, :]
    above = total - steps
    total += steps
    lowest = np.minimum.accumulate(above, axis=1)
    above -= np.minimum(lowest, 0.0, out=lowest)
    highest = np.maximum.accumulate(total, axis=1, out=lowest)
    below = np.maximum(highest, 0.0, out=highest)
    below -= total
    return above, below


def _runs(rows: Rows, sums: FloatArray) -> tuple[IndexArray, IndexArray]:
    """How long the sum of the one row has been above zero, and where that began."""
    count = int(rows.counts[0])
    place = np.arange(rows.length) if rows.places is None else rows.places.before
    order = np.arange(count)
    zero = np.maximum.accumulate(np.where(sums[0, :count] > 0.0, -1, order))
    length = order - zero
    runs = np.zeros(rows.length, dtype=np.intp)
    began = np.full(rows.length, -1, dtype=np.intp)
    above = length > 0
    runs[place] = length
    began[place[above]] = place[zero[above] + 1]
    return runs, began


def _signals(
    sums: FloatArray,
    runs: IndexArray,
    began: IndexArray,
    decision: float,
    side: tuple[int, float],
) -> list[CusumSignal]:
    """One signal for each stretch of readings above the interval, missing ones bridged."""
    direction, base = side
    seen = np.flatnonzero(~np.isnan(sums))
    high = sums[seen] > decision
    edges = np.diff(np.concatenate([[0], high.astype(np.int8), [0]]))
    found = []
    for first, end in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        at = int(seen[first])
        level = base + direction * float(sums[at] / runs[at])
        found.append(CusumSignal(direction, at, int(began[at]), int(seen[end - 1]), level))
    return found


def _signal_order(signal: CusumSignal) -> tuple[int, int]:
    return signal.at, -signal.direction


def _check_ewma(weight: float, width: float, sigma: float | None, lag1: float) -> None:
    if not 0.0 < weight <= 1.0:
        raise ValueError(f"The weight must be above 0 and at most 1, not {weight}.")
    if width <= 0.0:
        raise ValueError(f"The width must be above 0, not {width}.")
    if sigma is not None and sigma < 0.0:
        raise ValueError(f"Sigma must be 0 or more, not {sigma}.")
    if not -1.0 < lag1 < 1.0:
        raise ValueError(f"lag1 must lie between -1 and 1, not {lag1}.")


def _own(
    series: FloatArray, target: float | None, sigma: float | None, lag1: float
) -> tuple[float, float, str]:
    """Target and sigma as given or from the readings, and the words that say which."""
    found = range_sigma(series, lag1)
    notes = [found.note] if (target is None or sigma is None) and found.note else []
    if target is None:
        notes.append("centre is the mean of these readings")
    if sigma is None:
        notes.append("sigma is from their moving ranges")
    centre = found.centre if target is None else float(target)
    return centre, found.sigma if sigma is None else float(sigma), "; ".join(notes)

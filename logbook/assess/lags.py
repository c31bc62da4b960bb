"""Two points against each other: at which lag they go together best, and whether that is chance.

Readings that follow one another are alike, so a hundred of them say less than a hundred drawn
apart, and two slow points seem to go together though neither knows of the other. The number of
readings that count is therefore worked out from both points' own autocorrelation (Bartlett's
variance of a cross-correlation: M. S. Bartlett, Journal of the Royal Statistical Society 98,
1935, pp. 536-543, from memory), and the chance level allows for every lag that was looked at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
Values = NDArray[np.float64]

LEAST = 12
"""Fewer pairs than that say nothing."""
LEVEL = 0.05
"""Chance of a false find over all lags looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LagFound:
    """How two points go together.

    `lag` in steps of the grid: positive where the first goes before the second. `correlation` at
    that lag, with its interval (95 %, without allowing for the search), `at_zero` without a lag.
    `pairs` grid places compared, `effective` how many independent ones they are worth.
    `chance` that two unrelated points of such slowness show as much at any lag looked at.
    `by_lag` the correlation at each of `lags`.
    """

    lag: int
    correlation: float
    low: float
    high: float
    at_zero: float
    pairs: int
    effective: float
    chance: float
    lags: tuple[int, ...]
    by_lag: tuple[float, ...]

    @property
    def is_found(self) -> bool:
        """True where chance is an unlikely reason."""
        return self.chance < LEVEL


def on_grid(times: Times, values: Values, grid: Times, farthest_s: float) -> Values:
    """Values at the times of `grid` (epoch s) by straight lines between readings.

    NaN outside the readings and where the two around a place lie more than `farthest_s` apart.
    """
    found = np.full(grid.shape, np.nan)
    if not times.size:
        return found
    place = np.searchsorted(times, grid, side="right") - 1
    after = np.searchsorted(times, grid, side="left")
    inside = (place >= 0) & (after < times.size)
    here, there = place[inside], after[inside]
    near = times[there] - times[here] <= farthest_s
    held = np.interp(grid[inside], times, values)
    found[inside] = np.where(near, held, np.nan)
    return found


def lag_of(first: Values, second: Values, most: int) -> LagFound | None:
    """The lag within ±`most` steps at which two series on one grid go together most strongly.

    Both of shape (n,), NaN where there is none; correlations are Pearson's, of either sign. None
    where fewer than twelve pairs are left or one of the two does not move.

    >>> wave = np.random.default_rng(1).normal(size=300)
    >>> found = lag_of(wave[3:], wave[:-3], 10)
    >>> found.lag, round(found.correlation, 6), found.is_found
    (3, 1.0, True)
    """
    most = max(0, min(most, first.size // 3))
    lags = range(-most, most + 1)
    seen = [_correlation(*_shifted(first, second, lag)) for lag in lags]
    held = [
        (lag, r) for lag, (r, n) in zip(lags, seen, strict=True) if n >= LEAST and math.isfinite(r)
    ]
    if not held:
        return None
    lag, best = max(held, key=lambda one: (abs(one[1]), -abs(one[0])))
    pairs = seen[lag + most][1]
    effective = _effective(first, second, pairs)
    low, high = _interval(best, effective)
    return LagFound(
        lag=lag,
        correlation=best,
        low=low,
        high=high,
        at_zero=seen[most][0],
        pairs=pairs,
        effective=effective,
        chance=_chance(best, effective, len(held)),
        lags=tuple(lags),
        by_lag=tuple(r for r, _ in seen),
    )


def changes(values: Values) -> Values:
    """From one place of the grid to the next, shape (n-1,): without what both only share slowly."""
    return np.diff(values)


def _shifted(first: Values, second: Values, lag: int) -> tuple[Values, Values]:
    """The first at t against the second at t + lag."""
    if lag >= 0:
        return first[: first.size - lag], second[lag:]
    return first[-lag:], second[: second.size + lag]


def _correlation(a: Values, b: Values) -> tuple[float, int]:
    both = np.isfinite(a) & np.isfinite(b)
    count = int(both.sum())
    if count < 3:
        return math.nan, count
    x, y = a[both] - a[both].mean(), b[both] - b[both].mean()
    # A spread that is only what rounding leaves is none.
    x_size, y_size = math.sqrt(float(x @ x)), math.sqrt(float(y @ y))
    tiny = 1e-12 * math.sqrt(count)
    if x_size <= tiny * _size(a[both]) or y_size <= tiny * _size(b[both]):
        return math.nan, count
    return min(max(float(x @ y) / (x_size * y_size), -1.0), 1.0), count


def _size(values: Values) -> float:
    return float(np.abs(values).max())


def _effective(first: Values, second: Values, pairs: int) -> float:
    """Independent pairs that `pairs` are worth: n / (1 + 2 Σ (1 - k/n) r1(k) r2(k)).

    Summed as far as both autocorrelations stand above their own noise; never more than `pairs`.
    """
    total, noise = 0.0, 2.0 / math.sqrt(max(pairs, 1))
    for k in range(1, max(2, pairs // 4)):
        own = [_correlation(one[:-k], one[k:])[0] for one in (first, second)]
        if not all(map(math.isfinite, own)) or min(abs(r) for r in own) < noise:
            break
        total += (1.0 - k / pairs) * own[0] * own[1]
    return min(float(pairs), max(3.0, pairs / max(1.0 + 2.0 * total, 1.0)))


def _interval(r: float, effective: float) -> tuple[float, float]:
    """About 95 %, by Fisher's transformation."""
    if effective <= 4.0:
        return -1.0, 1.0
    middle = math.atanh(min(max(r, -0.9999999), 0.9999999))
    half = 1.96 / math.sqrt(effective - 3.0)
    return math.tanh(middle - half), math.tanh(middle + half)


def _chance(r: float, effective: float, looked: int) -> float:
    """P-value of the largest of `looked` correlations (Šidák), each by Student's t."""
    from scipy.special import stdtr  # lighter to load than scipy.stats

    if effective <= 3.0:
        return 1.0
    if abs(r) >= 1.0:
        return 0.0
    size = abs(r) * math.sqrt((effective - 2.0) / (1.0 - r * r))
    one = 2.0 * float(stdtr(effective - 2.0, -size))
    return -math.expm1(looked * math.log1p(-min(one, 1.0 - 1e-16)))

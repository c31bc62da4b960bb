"""Groups of readings beside one another: means with an interval that does not claim too much.

Readings that follow one another are alike. So a mean is not as sure as its number of readings
suggests, and a difference between two groups may be no more than two good weeks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

LEAST = 5
"""Fewer independent readings than that have no interval."""


@dataclass(frozen=True, slots=True)
class GroupMean:
    """Mean of a group with its interval (about 95 %; None for too few) and quantiles.

    `count` readings, worth `effective` independent ones. `quantiles` 5, 25, 50, 75, 95 %.
    """

    name: str
    count: int
    effective: float
    mean: float
    error: float | None
    """Standard error of the mean."""
    quantiles: tuple[float, float, float, float, float]

    @property
    def interval(self) -> tuple[float, float] | None:
        """About 95 % around the mean."""
        if self.error is None:
            return None
        return self.mean - 2.0 * self.error, self.mean + 2.0 * self.error


def independent_count(values: Values) -> float:
    """How many independent readings a stretch of them is worth for its mean.

    n / (1 + 2 Σ (1 - k/n) r(k)) over the autocorrelations r(k), summed while they stand above
    their own noise, 2/sqrt(n); or, where that is less, n (1 - r) / (1 + r) with r = r(1) freed
    from its bias of -(1 + 4 r)/n. Never more than n, and at least 1 where there is a reading.

    >>> independent_count(np.tile([1.0, -1.0], 50))
    100.0
    """
    size = values.size
    if size < 3:
        return float(size)
    around = values - values.mean()
    total = float(around @ around)
    if total <= 0.0:
        return float(size)
    sum_, noise = 0.0, 2.0 / math.sqrt(size)
    for k in range(1, size // 2):
        r = float(around[:-k] @ around[k:]) / total
        if r < noise:
            break
        sum_ += (1.0 - k / size) * r
    next_ = float(around[:-1] @ around[1:]) / total
    r1 = min(max(next_ + (1.0 + 4.0 * next_) / size, 0.0), 0.999)
    return max(1.0, min(size / (1.0 + 2.0 * sum_), size * (1.0 - r1) / (1.0 + r1)))


def group_mean(name: str, values: Values, effective: float | None = None) -> GroupMean | None:
    """Mean, interval and quantiles of finite values in order of time; None without any.

    `effective` where it is known otherwise, as for readings taken from stretches of time that lie
    apart; else it is estimated from the values.
    """
    if not values.size:
        return None
    worth = independent_count(values) if effective is None else min(effective, values.size)
    error = None
    if worth >= LEAST:
        error = float(values.std(ddof=1)) / math.sqrt(worth)
    low, lower, middle, upper, high = np.quantile(values, (0.05, 0.25, 0.5, 0.75, 0.95)).tolist()
    return GroupMean(
        name, int(values.size), worth, float(values.mean()), error,
        (low, lower, middle, upper, high),
    )  # fmt: skip


def difference(first: GroupMean, second: GroupMean) -> tuple[float, float, float] | None:
    """Second mean less the first, and its interval (about 95 %); None where either has none."""
    if first.error is None or second.error is None:
        return None
    apart, error = second.mean - first.mean, math.hypot(first.error, second.error)
    return apart, apart - 2.0 * error, apart + 2.0 * error


def chance_of_equal(groups: Sequence[Values]) -> float | None:
    """Chance that groups of independent values with one mean differ as much as these.

    Welch's test for several groups (B. L. Welch, Biometrika 38, 1951, pp. 330-336, from memory),
    which does not ask for equal spreads. Values of a group must be independent of one another:
    means of shifts, not readings. None where fewer than two groups have three values and a spread.
    """
    from scipy.special import fdtrc  # lighter to load than scipy.stats

    held = [one for one in groups if one.size >= 3 and float(one.std(ddof=1)) > 0.0]
    count = len(held)
    if count < 2:
        return None
    weights = np.array([one.size / float(one.var(ddof=1)) for one in held])
    means = np.array([float(one.mean()) for one in held])
    share = weights / weights.sum()
    centre = float(share @ means)
    between = float(weights @ (means - centre) ** 2) / (count - 1)
    freedom = np.array([one.size - 1 for one in held])
    loss = float((((1.0 - share) ** 2) / freedom).sum())
    statistic = between / (1.0 + 2.0 * (count - 2) / (count**2 - 1) * loss)
    return float(fdtrc(count - 1, (count**2 - 1) / (3.0 * loss), statistic))

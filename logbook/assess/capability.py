"""Does the spread fit between the limits: Cp, Cpk, Pp, Ppk with what chance leaves open.

Definitions as in the NIST/SEMATECH e-Handbook of Statistical Methods, section 6.1.6. Cp and Cpk use
sigma within (from moving ranges, or from subgroups), Pp and Ppk the standard deviation of all
readings. An index from fifty readings is uncertain by a fifth: never look at one without its
interval. All of it holds for readings that are about normal and stable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from logbook.assess.autocorrelation import effective_counts
from logbook.assess.chart_rows import as_series
from logbook.assess.moving_range import NO_VARIATION, few_words, range_sigma

RANGE_EFFICIENCY = 0.605
"""Degrees of freedom that a mean moving range is worth, for each reading less one: its variance is
0.826 sigma^2 / n (held by simulation), that of a standard deviation sigma^2 / 2n."""


@dataclass(frozen=True, slots=True)
class Index:
    """A capability index; all NaN where there is none."""

    value: float
    low: float
    high: float
    """Two-sided confidence interval."""
    at_least: float
    """One-sided: with the same confidence it is at least so large."""


NO_INDEX = Index(math.nan, math.nan, math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class Capability:
    """The indices of a stretch of readings against its limits."""

    mean: float
    sigma_within: float
    sigma_overall: float
    cp: Index
    cpk: Index
    pp: Index
    ppk: Index
    cpl: float
    """(mean - low) / 3 sigma within; NaN without a lower limit."""
    cpu: float
    """(high - mean) / 3 sigma within; NaN without an upper limit."""
    cpm: float
    """Cp less for being off the target, (high - low) / 6 sqrt(sigma^2 + (mean - target)^2)."""
    count: int
    outside: int
    """Readings outside the limits, counted."""
    confidence: float
    note: str
    """Too few, few, or no variation; empty otherwise."""


@dataclass(frozen=True, slots=True)
class _Spread:
    sigma: float
    dof: float
    of_mean: float
    """Effective number of readings for the mean."""


def capability(
    values: npt.ArrayLike,
    low: float | None,
    high: float | None,
    *,
    target: float | None = None,
    sigma_within: float | None = None,
    dof_within: float | None = None,
    lag1: float = 0.0,
    confidence: float = 0.95,
) -> Capability:
    """Compare a stable stretch of readings with its limits.

    `values`, shape (n,), NaN: missing; `low` and `high` in their unit, None: no limit on that side
    (Cp and Pp are then NaN, Cpk and Ppk are of the other side). `target`: default half way.
    `sigma_within`, with its degrees of freedom, comes from a subgroup chart; default: from the moving
    ranges. `lag1` is the correlation of neighbouring readings (see `autocorrelation`); the
    intervals are widened for it.

    Intervals: Cp by chi-square, Cpk after A. F. Bissell, "How reliable is your capability index?",
    Applied Statistics 39 (1990) 331-340 (from memory; held by simulation):
    Cpk (1 +- z sqrt(1/(9 n Cpk^2) + 1/(2 dof))). Fewer than 8 readings give no index, fewer than 25
    a caution.

    Raises ValueError without any limit, with low >= high, or for a confidence outside (0, 1).

    >>> import numpy as np
    >>> spread = np.random.default_rng(1).normal(50.0, 1.0, 100)
    >>> found = capability(spread, 46.0, None)
    >>> round(found.ppk.value, 2), round(found.ppk.low, 2), found.cp.value
    (1.53, 1.31, nan)
    """
    _check(low, high, confidence, lag1)
    series = as_series(values)
    seen = series[~np.isnan(series)]
    within = range_sigma(series, lag1)
    note = few_words(seen.size)
    if not note.startswith("too few") and np.ptp(seen) == 0.0:
        note = NO_VARIATION
    usable = not note.startswith(("too few", "not"))
    mean = float(seen[0] + (seen - seen[0]).mean()) if seen.size else math.nan
    overall = float(seen.std(ddof=1)) if usable else math.nan
    sigma = within.sigma if sigma_within is None else sigma_within
    of_mean, of_variance = effective_counts(seen.size, lag1)
    ranges_dof = RANGE_EFFICIENCY * (of_variance - 1.0)
    inner = _Spread(sigma, dof_within if dof_within is not None else ranges_dof, of_mean)
    outer = _Spread(overall, of_variance - 1.0, of_mean)
    middle = target if target is not None else _half_way(low, high)
    below = seen < low if low is not None else np.zeros(seen.size, dtype=np.bool_)
    above = seen > high if high is not None else np.zeros(seen.size, dtype=np.bool_)
    return Capability(
        mean=mean,
        sigma_within=sigma if usable else math.nan,
        sigma_overall=overall,
        cp=_ratio(low, high, inner, confidence) if usable else NO_INDEX,
        cpk=_nearest(mean, (low, high), inner, confidence) if usable else NO_INDEX,
        pp=_ratio(low, high, outer, confidence) if usable else NO_INDEX,
        ppk=_nearest(mean, (low, high), outer, confidence) if usable else NO_INDEX,
        cpl=_side(mean, low, sigma) if usable else math.nan,
        cpu=-_side(mean, high, sigma) if usable else math.nan,
        cpm=_on_target(low, high, math.hypot(sigma, mean - middle)) if usable else math.nan,
        count=seen.size,
        outside=int(np.count_nonzero(below | above)),
        confidence=confidence,
        note=note or within.note,
    )


def _ratio(low: float | None, high: float | None, spread: _Spread, confidence: float) -> Index:
    """Allowed over actual spread, with its chi-square interval."""
    if low is None or high is None or not (spread.sigma > 0.0 and spread.dof > 0.0):
        return NO_INDEX
    from scipy.special import gammaincinv

    value = (high - low) / (6.0 * spread.sigma)
    tails = ((1.0 - confidence) / 2.0, (1.0 + confidence) / 2.0, 1.0 - confidence)
    quantiles = [2.0 * float(gammaincinv(spread.dof / 2.0, tail)) for tail in tails]
    lower, upper, single = (value * math.sqrt(q / spread.dof) for q in quantiles)
    return Index(value, lower, upper, single)


def _nearest(
    mean: float, limits: tuple[float | None, float | None], spread: _Spread, confidence: float
) -> Index:
    """Distance of the nearer limit over half the actual spread, with Bissell's interval."""
    if not (spread.sigma > 0.0 and spread.dof > 0.0):
        return NO_INDEX
    low, high = limits
    sides = [
        (mean - low) / (3.0 * spread.sigma) if low is not None else math.inf,
        (high - mean) / (3.0 * spread.sigma) if high is not None else math.inf,
    ]
    value = min(sides)
    error = math.sqrt(1.0 / (9.0 * spread.of_mean) + value * value / (2.0 * spread.dof))
    both = NormalDist().inv_cdf((1.0 + confidence) / 2.0) * error
    single = NormalDist().inv_cdf(confidence) * error
    return Index(value, value - both, value + both, value - single)


def _side(mean: float, limit: float | None, sigma: float) -> float:
    return (mean - limit) / (3.0 * sigma) if limit is not None and sigma > 0.0 else math.nan


def _on_target(low: float | None, high: float | None, distance: float) -> float:
    both = low is not None and high is not None and distance > 0.0
    return (high - low) / (6.0 * distance) if both else math.nan  # type: ignore[operator]


def _half_way(low: float | None, high: float | None) -> float:
    return 0.5 * (low + high) if low is not None and high is not None else math.nan


def _check(low: float | None, high: float | None, confidence: float, lag1: float) -> None:
    if low is None and high is None:
        raise ValueError("Capability wants a lower limit, an upper limit, or both.")
    if low is not None and high is not None and low >= high:
        raise ValueError(f"The lower limit must be below the upper one: {low}, {high}.")
    if not 0.0 < confidence < 1.0 or not -1.0 < lag1 < 1.0:
        raise ValueError(f"Confidence and lag1 are out of range: {confidence}, {lag1}.")

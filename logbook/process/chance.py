"""Probabilities that the tests of a balance need, for whole degrees of freedom.

Finite sums, so that no statistics library is loaded for a handful of figures: Abramowitz and
Stegun, Handbook of Mathematical Functions (1964), 26.4.4 (odd) and 26.4.5 (even).
"""

from __future__ import annotations

import math
from statistics import NormalDist

_STANDARD = NormalDist()


def chi_square_tail(value: float, dof: int) -> float:
    """Probability that chi-square with `dof` degrees of freedom exceeds `value`.

    NaN where `dof` is 0: nothing is left to test.

    >>> round(chi_square_tail(12.5916, 6), 5)
    0.05
    """
    if dof < 1:
        return math.nan
    if value <= 0.0:
        return 1.0
    half = value / 2.0
    if half > 700.0 + dof:
        return 0.0
    if dof % 2:
        total = math.erfc(math.sqrt(half))
        # Terms half^(k - 1/2) e^-half / Gamma(k + 1/2), k = 1, 2, ...
        term = math.exp(-half) * math.sqrt(half) / (0.5 * math.sqrt(math.pi))
        place = 1.5
    else:
        total, term, place = 0.0, math.exp(-half), 1.0
    for _ in range(dof // 2):
        total += term
        term *= half / place
        place += 1.0
    return min(total, 1.0)


def chi_square_limit(level: float, dof: int) -> float:
    """Value that chi-square with `dof` degrees of freedom exceeds with probability `level`.

    >>> round(chi_square_limit(0.05, 4), 3)
    9.488
    """
    if dof < 1 or not 0.0 < level < 1.0:
        msg = f"no limit for {dof} degrees of freedom at level {level}: give 1 or more, and 0 to 1"
        raise ValueError(msg)
    low, high = 0.0, float(dof)
    while chi_square_tail(high, dof) > level:
        low, high = high, 2.0 * high
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if chi_square_tail(middle, dof) > level else (low, middle)
    return 0.5 * (low + high)


def normal_limit(level: float) -> float:
    """Size that a standard normal value exceeds, to either side, with probability `level`.

    >>> round(normal_limit(0.05), 3)
    1.96
    """
    return -_STANDARD.inv_cdf(level / 2.0)


def level_of_each(level: float, tests: int, correction: str = "sidak") -> float:
    """Level at which each of `tests` is done so that all together err with at most `level`.

    "sidak": 1 - (1 - level)^(1/tests), Sidak (1967), exact for independent tests and safe for
    normal ones that are not; "bonferroni": level/tests; "none": `level`.

    >>> round(level_of_each(0.05, 10), 6)
    0.005116
    """
    if correction == "none" or tests < 2:
        return level
    if correction == "sidak":
        return -math.expm1(math.log1p(-level) / tests)
    if correction == "bonferroni":
        return level / tests
    msg = f"unknown correction {correction!r}: use 'sidak', 'bonferroni' or 'none'"
    raise ValueError(msg)

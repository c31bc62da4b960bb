"""Centre and sigma of single readings from their mean and their moving ranges.

The mean moving range over d2(2) = 1.128 is the sigma of a chart of single readings
(NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2). A slow shift of the level hardly
touches it; a correlation of neighbouring readings makes it too small by sqrt(1 - lag1), since
Var(x_t - x_(t-1)) = 2 sigma^2 (1 - lag1), and is put right where it is given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from logbook.assess.chart_constants import constants
from logbook.assess.chart_rows import FloatArray

LEAST = 8
"""Below so many readings no centre and no limits are given."""
USUAL = 25
"""Below so many they are given with a caution (common practice asks for 20 to 25 or more)."""

NO_VARIATION = "not judged: no variation known to judge by"
"""Said where sigma is 0: whatever comes next cannot be told from chance."""


@dataclass(frozen=True, slots=True)
class RangeSigma:
    """Centre and sigma of a baseline; NaN where there are too few readings."""

    centre: float
    sigma: float
    mean_range: float
    count: int
    """Readings."""
    ranges: int
    """Pairs of neighbouring readings."""
    note: str
    """Too few, few, or no variation; empty otherwise."""


def moving_ranges(series: FloatArray) -> FloatArray:
    """|x_i - x_(i-1)| along the last axis, shape as given, NaN where either reading is missing.

    A gap has no moving range: readings on both sides of it are further apart in time.
    """
    out = np.full(series.shape, np.nan)
    np.subtract(series[..., 1:], series[..., :-1], out=out[..., 1:])
    np.abs(out, out=out)
    return out


def range_sigma(baseline: FloatArray, lag1: float = 0.0) -> RangeSigma:
    """Centre and sigma of a series of readings, shape (n,), NaN: missing.

    The mean is taken about the first reading, so that equal readings give exactly their value.
    """
    seen = baseline[~np.isnan(baseline)]
    ranges = moving_ranges(baseline)
    ranges = ranges[~np.isnan(ranges)]
    few = few_words(seen.size)
    if seen.size >= LEAST > ranges.size + 1:
        few = f"too few: {ranges.size} pairs of neighbouring readings, {LEAST - 1} are needed"
    if few.startswith("too few"):
        return RangeSigma(math.nan, math.nan, math.nan, seen.size, ranges.size, few)
    centre = float(seen[0] + (seen - seen[0]).mean())
    mean_range = float(ranges.mean())
    sigma = mean_range / constants(2).d2 / math.sqrt(1.0 - lag1)
    note = NO_VARIATION if sigma == 0.0 else few
    return RangeSigma(centre, sigma, mean_range, seen.size, ranges.size, note)


def few_words(count: int, least: int = LEAST) -> str:
    """What to say of so many readings; empty where they are enough."""
    if count < least:
        return f"too few: {count} readings, {least} are needed"
    return f"few: {count} readings, {USUAL} are usual" if count < USUAL else ""

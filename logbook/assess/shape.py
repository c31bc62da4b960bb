"""How the values of a point lie: histogram, quantiles, last digits."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

QUANTILES = (0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99)
MOST_BINS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What a number of readings look like together.

    `edges` of the histogram (k+1), rising, in the point's unit, `counts` in each (k).
    `quantiles` at `QUANTILES`; `outside` how many lie below and above what the histogram shows.
    `digits` how often each last digit 0-9 was written, of `digit_count` readings.
    """

    count: int
    mean: float
    spread: float
    """Standard deviation; 0 for a single reading."""
    edges: tuple[float, ...]
    counts: tuple[int, ...]
    outside: tuple[int, int]
    quantiles: tuple[float, ...]
    digits: tuple[int, ...]
    step: float
    """The last decimal to which the readings were written."""

    @property
    def digits_tell(self) -> bool:
        """True where an honest reading may end on any digit alike.

        A normal spread of four steps makes the last digits even within a tenth of their number
        (2 exp(-2 (0.4 π)²) = 0.085); a narrower one favours those near its middle, whoever writes.
        """
        return self.spread >= 4.0 * self.step

    @property
    def digit_count(self) -> int:
        """Readings whose last digit was counted."""
        return sum(self.digits)


def shape_of(values: Values, decimals: int) -> Shape | None:
    """The shape of finite values of shape (n,), read to so many decimals; None without any.

    Bins are whole steps of the last decimal, so that none gets more of the possible readings than
    another; about as wide as Freedman and Diaconis take them (Zeitschrift für
    Wahrscheinlichkeitstheorie 57, 1981, pp. 453-476, from memory). Values far out are counted
    beside the histogram.
    """
    if not values.size:
        return None
    quantiles = np.quantile(values, QUANTILES)
    step = 10.0**-decimals
    first, width, bins = _bins(values, step)
    place = np.floor((values - first) / width + 1e-9).astype(np.int64)
    inside = (place >= 0) & (place < bins)
    counts = np.bincount(place[inside], minlength=bins)
    return Shape(
        count=int(values.size),
        mean=float(values.mean()),
        spread=float(values.std(ddof=1)) if values.size > 1 else 0.0,
        edges=tuple(first + width * k for k in range(bins + 1)),
        counts=tuple(counts.tolist()),
        outside=(int((place < 0).sum()), int((place >= bins).sum())),
        quantiles=tuple(quantiles.tolist()),
        digits=last_digits(values, decimals),
        step=step,
    )


def last_digits(values: Values, decimals: int) -> tuple[int, ...]:
    """How often each digit 0-9 stands last in finite values as written to so many decimals.

    >>> last_digits(np.array([1.2, 3.2, -0.5]), 1)
    (0, 0, 2, 0, 0, 1, 0, 0, 0, 0)
    """
    whole = np.rint(np.abs(values) * 10.0**decimals)
    return tuple(np.bincount((whole % 10).astype(np.int64), minlength=10).tolist())


def _bins(values: Values, step: float) -> tuple[float, float, int]:
    """Left edge, width and number of the bins; the left edge lies half a step below a reading."""
    low, high = _extent(values)
    quarter, three = np.quantile(values, (0.25, 0.75))
    wanted = 2.0 * float(three - quarter) / values.size ** (1.0 / 3.0)
    wanted = max(wanted, (high - low) / MOST_BINS, step)
    width = step * max(1, round(wanted / step))
    first = math.floor(low / step + 0.5) * step - step / 2.0
    return first, width, max(1, math.ceil((high - first) / width + 1e-9))


def _extent(values: Values) -> tuple[float, float]:
    """All values, but those that lie far beyond the most: they would flatten the rest."""
    low, high = np.quantile(values, (0.01, 0.99))
    room = 1.5 * max(float(high - low), 0.0)
    if room == 0.0:
        return float(values.min()), float(values.max())
    lowest = max(float(values.min()), float(low) - room)
    return lowest, min(float(values.max()), float(high) + room)

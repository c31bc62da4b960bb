"""The constants of control charts, worked out from the normal distribution instead of a table.

`d2` and `d3` are mean and standard deviation of the range of n independent standard normal values,
`c4` the mean of their standard deviation; the factors follow from them as in the tables that the
handbooks print (ASTM MNL 7; ISO 7870-2, table of factors). Printed tables round to three or four
places, so limits worked out with them differ in the fourth place.

>>> two = constants(2)
>>> round(two.d2, 4), round(two.D4, 3), round(constants(5).A2, 3), round(constants(5).c4, 4)
(1.1284, 3.267, 0.577, 0.94)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

LARGEST = 200
"""Largest subgroup for which constants are given."""

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Constants:
    """Constants and three-sigma factors for subgroups of `size` values."""

    size: int
    d2: float
    """Mean of the range, in sigma."""
    d3: float
    """Standard deviation of the range, in sigma."""
    c4: float
    """Mean of the standard deviation, in sigma."""

    @property
    def A2(self) -> float:  # noqa: N802 - the letter of the tables
        """Half width of the limits of the mean, in mean ranges."""
        return 3.0 / (self.d2 * math.sqrt(self.size))

    @property
    def A3(self) -> float:  # noqa: N802
        """Half width of the limits of the mean, in mean standard deviations."""
        return 3.0 / (self.c4 * math.sqrt(self.size))

    @property
    def B3(self) -> float:  # noqa: N802
        """Lower limit of the standard deviation, in mean standard deviations."""
        return max(0.0, 1.0 - 3.0 * math.sqrt(1.0 - self.c4**2) / self.c4)

    @property
    def B4(self) -> float:  # noqa: N802
        """Upper limit of the standard deviation, in mean standard deviations."""
        return 1.0 + 3.0 * math.sqrt(1.0 - self.c4**2) / self.c4

    @property
    def D3(self) -> float:  # noqa: N802
        """Lower limit of the range, in mean ranges."""
        return max(0.0, 1.0 - 3.0 * self.d3 / self.d2)

    @property
    def D4(self) -> float:  # noqa: N802
        """Upper limit of the range, in mean ranges."""
        return 1.0 + 3.0 * self.d3 / self.d2


@lru_cache(maxsize=LARGEST)
def constants(size: int) -> Constants:
    """The constants for subgroups of `size` values, 2 to 200.

    d2 and E(R^2) are integrals over the distribution of the range, P(R <= w) =
    n * int phi(x) (Phi(x+w) - Phi(x))^(n-1) dx; accurate to about 1e-9.

    Raises ValueError for another size.
    """
    if not 2 <= size <= LARGEST:
        raise ValueError(f"Constants are given for subgroups of 2 to {LARGEST}, not {size}.")
    mean, square = _range_moments(size)
    c4 = math.sqrt(2.0 / (size - 1)) * math.exp(math.lgamma(size / 2) - math.lgamma((size - 1) / 2))
    return Constants(size, mean, math.sqrt(square - mean * mean), c4)


def _range_moments(size: int) -> tuple[float, float]:
    """E(R) and E(R^2) of `size` standard normal values."""
    widths, weights, spread, density = _grids()
    step = 0.1
    below = size * step * (density * spread ** (size - 1)).sum(axis=1)
    above = 1.0 - below
    return float(weights @ above), float(2.0 * weights @ (widths * above))


@lru_cache(maxsize=1)
def _grids() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Nodes and weights over the range 0 to 14, Phi(x+w) - Phi(x), and phi(x), x from -9 to 9.

    The sum over x is a trapezoid rule, which for such bell-shaped functions is as good as exact.
    """
    nodes, weights = np.polynomial.legendre.leggauss(80)
    widths = 7.0 * (nodes + 1.0)
    x = np.arange(-90, 91) * 0.1
    erf = np.vectorize(math.erf, otypes=[np.float64])
    low = erf(x / math.sqrt(2.0))
    high = erf((x[None, :] + widths[:, None]) / math.sqrt(2.0))
    density = np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)
    return widths, 7.0 * weights, 0.5 * (high - low), density


def sizes_to(largest: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """d2, d3 and c4 by size from 0 to `largest`, NaN for 0 and 1: to look up with counts."""
    rows = [constants(n) for n in range(2, largest + 1)]
    gap = [math.nan, math.nan]
    return (
        np.array(gap + [row.d2 for row in rows]),
        np.array(gap + [row.d3 for row in rows]),
        np.array(gap + [row.c4 for row in rows]),
    )

"""Since when: sudden steps in a series, and the moment from which on it drifts.

Steps are found by optimal partitioning: of all ways to cut the series, the one with the smallest
sum of squares about the means of its pieces plus a penalty for each cut (Jackson et al., IEEE
Signal Processing Letters 12, 2005; from memory, the results compared with another library's in the
tests). The penalty is `PENALTY` x log n x the variance of a value, times (1 + r)/(1 - r) for
values that depend on the ones before: a wandering series would otherwise be cut to shreds. Both are
taken about a rough cut into a few pieces, so that further steps only make it more careful.

The beginning of a drift is the place of the knee where a level line turns into a straight slope,
with the smallest sum of squares of all places.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

PENALTY = 4.0
"""Times log n. Of 200 values with no step, independent or AR(1) up to r = 0.8, a few in a hundred
are then cut. Of fewer than about a hundred a strong wandering cannot be told from steps. A choice
of ours; the simulation in the tests holds it."""
SHORTEST = 3
ROUGH, LONG = 4, 120
"""So many rough pieces; two for a series shorter than the second figure."""
STRONGEST = 0.95


@dataclass(frozen=True, slots=True)
class Steps:
    """A series as pieces of equal level; piece k reaches from `starts[k]` to before the next.

    `levels` are the means of the pieces in the series' unit, `sigma` the standard deviation of a
    value about them, `correlation` that from one value to the next.
    """

    starts: tuple[int, ...]
    levels: tuple[float, ...]
    sigma: float
    correlation: float

    @property
    def last_change(self) -> int | None:
        """Place of the first value after the last step; None where there was none."""
        return self.starts[-1] if len(self.starts) > 1 else None


@dataclass(frozen=True, slots=True)
class Knee:
    """A level that turns into a slope at time `at`: value = level + slope x (time - at) after it.

    `explained` is the share of the series' sum of squares that it takes away.
    """

    at: float
    level: float
    slope: float
    explained: float


def steps_in(
    values: FloatArray, *, penalty: float | None = None, shortest: int = SHORTEST
) -> Steps:
    """The sudden steps in `values` (n,), which has no NaN.

    `penalty` is that of one cut in squared units; without one it follows from the series. Raises
    ValueError for fewer than two values, NaN among them or `shortest` below 1.

    >>> steps_in(np.array([1.0, 1.1, 0.9, 1.0, 5.0, 5.1, 4.9, 5.0])).starts
    (0, 4)
    """
    _check(values, shortest)
    if penalty is not None:
        return _pieces(values, partition(values, penalty, shortest))
    rough = _pieces(values, _greedy(values, shortest))
    fitted = len(rough.starts)
    # Pieces fitted to a short series take from its correlation: that is given back.
    raw = rough.correlation
    mended = min(raw + fitted * (1.0 + 3.0 * raw) / values.size, STRONGEST)
    widened = (1.0 + mended) / (1.0 - mended)
    cost = PENALTY * math.log(values.size) * rough.sigma**2 * widened
    return _pieces(values, partition(values, cost, shortest))


def partition(values: FloatArray, penalty: float, shortest: int = SHORTEST) -> tuple[int, ...]:
    """Starts of the pieces with the smallest cost, the first always 0; see the module."""
    n = values.size
    centred = values - np.median(values)
    total = np.concatenate(([0.0], np.cumsum(centred)))
    squares = np.concatenate(([0.0], np.cumsum(centred**2)))
    best = np.full(n + 1, np.inf)
    best[0] = -penalty
    came_from = np.zeros(n + 1, dtype=np.intp)
    places = np.arange(n + 1)
    for end in range(min(shortest, n), n + 1):
        # A series shorter than a piece is one piece all the same.
        starts_at = places[: max(end - shortest, 0) + 1]
        rise = total[end] - total[starts_at]
        inside = squares[end] - squares[starts_at] - rise**2 / (end - starts_at)
        cost = best[starts_at] + inside
        k = int(np.argmin(cost))
        best[end] = cost[k] + penalty
        came_from[end] = k
    starts, end = [], n
    while end > 0:
        end = int(came_from[end])
        starts.append(end)
    return tuple(reversed(starts))


def knee_of(times: FloatArray, values: FloatArray) -> Knee | None:
    """Where a level turns into the slope that lasts to the end; None where nothing bends.

    `times` (n,) rising, `values` (n,) without NaN; fewer than five values have no knee. The first
    time is a candidate too: then the slope has lasted as long as one looks back.

    >>> t = np.arange(10.0)
    >>> round(knee_of(t, np.where(t > 4, t - 4, 0.0)).at, 6)
    4.0
    """
    n = values.size
    if n < 5:
        return None
    ramps = np.maximum(times[None, :] - times[: n - 2, None], 0.0)
    across = ramps - ramps.mean(axis=1, keepdims=True)
    apart = values - values.mean()
    weight = (across**2).sum(axis=1)
    slope = (across @ apart) / weight
    gain = slope**2 * weight
    whole = float((apart**2).sum())
    k = int(np.argmax(gain))
    if whole <= 0.0 or gain[k] <= 0.0:
        return None
    level = float(values.mean() - slope[k] * ramps[k].mean())
    return Knee(float(times[k]), level, float(slope[k]), float(gain[k]) / whole)


def _check(values: FloatArray, shortest: int) -> None:
    if values.size < 2:
        raise ValueError("steps need at least two values")
    if not np.isfinite(values).all():
        raise ValueError("leave out missing values before looking for steps")
    if shortest < 1:
        raise ValueError("a piece has at least one value")


def _greedy(values: FloatArray, shortest: int) -> tuple[int, ...]:
    """Starts of up to `ROUGH` pieces, each new one the cut that gains most."""
    starts = [0]
    for _ in range((ROUGH if values.size >= LONG else 2) - 1):
        ends = [*starts[1:], values.size]
        cuts = [_best_cut(values, a, b, shortest) for a, b in zip(starts, ends, strict=True)]
        gain, place = max(cuts)
        if gain <= 0.0:
            break
        starts = sorted([*starts, place])
    return tuple(starts)


def _best_cut(values: FloatArray, start: int, end: int, shortest: int) -> tuple[float, int]:
    """How much the best cut of a piece takes from its sum of squares, and where it is."""
    own = values[start:end]
    n = own.size
    if n < 2 * shortest:
        return 0.0, start
    total = np.cumsum(own - own.mean())
    cut = np.arange(shortest, n - shortest + 1)
    gain = total[cut - 1] ** 2 * (1.0 / cut + 1.0 / (n - cut))
    k = int(np.argmax(gain))
    return float(gain[k]), start + int(cut[k])


def _pieces(values: FloatArray, starts: tuple[int, ...]) -> Steps:
    ends = [*starts[1:], values.size]
    levels = [float(values[a:b].mean()) for a, b in zip(starts, ends, strict=True)]
    about = values - np.repeat(levels, np.diff([*starts, values.size]))
    freedom = max(values.size - len(starts), 1)
    power = float((about**2).sum())
    correlation = float((about[1:] * about[:-1]).sum()) / power if power > 0.0 else 0.0
    return Steps(
        starts, tuple(levels), math.sqrt(power / freedom), min(max(correlation, 0.0), STRONGEST)
    )

"""Cutting lines of readings into periods that follow one another, all periods at once.

Times are epoch seconds, rising; `edges` are the bounds of n periods, shape (n + 1,). Nothing here
knows the book or the plant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Spans = Sequence[tuple[float, float]]
FloatLine = tuple[FloatArray, FloatArray]
"""Instants in epoch seconds and values, shape (n,) each."""
HOUR_S = 3600.0
STANDSTILL = 1e-4
"""How much slower a clock goes in time that does not count."""


@dataclass(frozen=True, slots=True)
class OnTime:
    """The time that counts: all but some spans (stops, modes in which a point is silent)."""

    nodes: FloatArray
    """Begin and end of each span by turns, epoch seconds, rising."""
    off: FloatArray
    """Seconds left out up to each node."""

    @classmethod
    def without(cls, spans: Spans) -> OnTime:
        """All time but `spans`, which may overlap."""
        nodes: list[float] = []
        for start, end in sorted(spans):
            if end <= start:
                continue
            if nodes and start <= nodes[-1]:
                nodes[-1] = max(nodes[-1], end)
            else:
                nodes += [start, end]
        steps = np.diff(np.array(nodes, dtype=np.float64), prepend=nodes[0] if nodes else 0.0)
        steps[0::2] = 0.0
        return cls(np.array(nodes, dtype=np.float64), np.cumsum(steps))

    def at(self, times: npt.ArrayLike) -> FloatArray:
        """Seconds that count from the epoch up to instants, so that differences are what passed."""
        instants = np.asarray(times, dtype=np.float64)
        if not self.nodes.size:
            return instants
        return np.asarray(instants - np.interp(instants, self.nodes, self.off))

    def clock(self, times: npt.ArrayLike) -> FloatArray:
        """A clock that all but stands still in time that does not count; it always goes on."""
        instants = np.asarray(times, dtype=np.float64)
        return np.asarray(self.at(instants) * (1.0 - STANDSTILL) + instants * STANDSTILL)

    def holds(self, times: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """True for instants that count; the end of a span does."""
        place = np.searchsorted(self.nodes, np.asarray(times, dtype=np.float64), side="right")
        return np.asarray(place % 2 == 0)

    def hours(self, edges: FloatArray) -> FloatArray:
        """Hours that count in each period, shape (n,)."""
        return np.diff(self.at(edges)) / HOUR_S


ALWAYS = OnTime.without(())
"""All time counts."""


@dataclass(frozen=True, slots=True)
class Means:
    """Means of a line over periods, shape (n,) each."""

    mean: FloatArray
    """NaN where no reading tells of the period."""
    count: IntArray
    """Readings taken in the period."""
    share: FloatArray
    """Part of the time that counts for which a reading stands, 0 to 1."""


def time_means(
    times: FloatArray, values: FloatArray, edges: FloatArray, *, reach_s: float, on: OnTime = ALWAYS
) -> Means:
    """Means weighted by time: a reading stands for the time to half way to its neighbours.

    At most for `reach_s` to either side; what it then stands for is cut at the bounds of a period
    and at what does not count. Readings taken in time that does not count are left out.
    """
    keep = np.isfinite(values) & on.holds(times)
    times, values = times[keep], values[keep]
    length = np.diff(on.at(edges))
    count = counts_in(times, edges)
    if not times.size:
        nothing = np.full(length.size, np.nan)
        return Means(nothing, count, np.zeros(length.size))
    middle = (times[:-1] + times[1:]) / 2.0
    left = np.concatenate(([times[0] - reach_s], np.maximum(middle, times[1:] - reach_s)))
    right = np.concatenate((np.minimum(middle, times[:-1] + reach_s), [times[-1] + reach_s]))
    since, until = on.at(left), on.at(right)
    weight = np.diff(_running(left, right, since, until, np.ones(times.size), edges, on))
    total = np.diff(_running(left, right, since, until, values, edges, on))
    has_any = weight > 0.0
    mean = np.divide(total, weight, out=np.full(length.size, np.nan), where=has_any)
    share = np.divide(weight, length, out=np.zeros(length.size), where=length > 0.0)
    return Means(mean, count, np.clip(share, 0.0, 1.0))


def _running(
    left: FloatArray,
    right: FloatArray,
    since: FloatArray,
    until: FloatArray,
    height: FloatArray,
    edges: FloatArray,
    on: OnTime,
) -> FloatArray:
    """Integral of a step function up to each edge; what does not count adds nothing."""
    whole = np.concatenate(([0.0], np.cumsum(height * (until - since))))
    place = np.searchsorted(left, edges, side="right") - 1
    inside = np.clip(place, 0, None)
    passed = on.at(np.minimum(edges, right[inside])) - since[inside]
    found = whole[inside] + height[inside] * passed
    return np.asarray(np.where(place < 0, 0.0, found))


def plain_means(times: FloatArray, values: FloatArray, edges: FloatArray) -> Means:
    """Means in which every reading weighs the same; `share` is 1 where there is any."""
    keep = np.isfinite(values)
    times, values = times[keep], values[keep]
    count = counts_in(times, edges)
    total = sums_in(times, values, edges)
    mean = np.divide(total, count, out=np.full(count.size, np.nan), where=count > 0)
    return Means(mean, count, (count > 0).astype(np.float64))


def counts_in(times: FloatArray, edges: FloatArray) -> IntArray:
    """How many instants lie in each period."""
    return np.diff(np.searchsorted(times, edges, side="left")).astype(np.int64)


def sums_in(times: FloatArray, values: FloatArray, edges: FloatArray) -> FloatArray:
    """Sum of the values whose instant lies in each period."""
    running = np.concatenate(([0.0], np.cumsum(values)))
    return np.diff(running[np.searchsorted(times, edges, side="left")])


def nearest(
    times: FloatArray, values: FloatArray, at: FloatArray, *, within_s: float
) -> FloatArray:
    """The value read nearest to each instant; NaN where none is `within_s`."""
    keep = np.isfinite(values)
    times, values = times[keep], values[keep]
    if not times.size:
        return np.full(at.shape, np.nan)
    after = np.clip(np.searchsorted(times, at), 0, times.size - 1)
    before = np.clip(after - 1, 0, None)
    is_before = np.abs(at - times[before]) <= np.abs(times[after] - at)
    place = np.where(is_before, before, after)
    return np.where(np.abs(times[place] - at) <= within_s, values[place], np.nan)


def around(
    times: FloatArray, values: FloatArray, at: FloatArray, *, within_s: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The values read before and after each instant, and how far it lies between them, 0 to 1.

    NaN where there is none to either side `within_s`.
    """
    keep = np.isfinite(values)
    times, values = times[keep], values[keep]
    nothing = np.full(at.shape, np.nan)
    if times.size < 2:
        return nothing, nothing, nothing
    after = np.clip(np.searchsorted(times, at, side="right"), 1, times.size - 1)
    before = after - 1
    first, last = times[before], times[after]
    is_inside = (first <= at) & (at <= last) & (at - first <= within_s) & (last - at <= within_s)
    share = np.where(is_inside, (at - first) / (last - first), np.nan)
    gone = np.where(is_inside, 0.0, np.nan)
    return values[before] + gone, values[after] + gone, share


def last_before(
    times: FloatArray, values: FloatArray, at: FloatArray, *, within_s: float
) -> FloatArray:
    """The last value read before each instant; NaN where none is `within_s`."""
    keep = np.isfinite(values)
    times, values = times[keep], values[keep]
    if not times.size:
        return np.full(at.shape, np.nan)
    place = np.searchsorted(times, at, side="left") - 1
    found = np.clip(place, 0, None)
    is_near = (place >= 0) & (at - times[found] <= within_s)
    return np.where(is_near, values[found], np.nan)


def slipped(values: FloatArray) -> npt.NDArray[np.bool_]:
    """True where a decimal point is off: ten times both of its neighbours, or a tenth of them.

    Within `SLIP` of a power of ten, as when 390 was typed as 39. The first and the last value,
    and those beside what is not above nought, are never it.
    """
    found = np.zeros(values.shape, dtype=bool)
    if values.size < 3:
        return found
    with np.errstate(divide="ignore", invalid="ignore"):
        size = np.log10(values)
        before, after = size[1:-1] - size[:-2], size[1:-1] - size[2:]
    is_ten = (np.abs(before - 1.0) < SLIP) & (np.abs(after - 1.0) < SLIP)
    is_tenth = (np.abs(before + 1.0) < SLIP) & (np.abs(after + 1.0) < SLIP)
    found[1:-1] = is_ten | is_tenth
    return found


def scatter(values: FloatArray) -> float:
    """Standard deviation of one reading about the course of its line; NaN for too few readings.

    From the differences of readings that follow one another: the root of half their mean square
    (J. von Neumann et al., The mean square successive difference, 1941; from memory), with the
    square taken from the median so that single slips do not count (for a normal law the median of
    a square is 0.4549 of its mean). Slow changes, which the mean of the period follows, are not in
    it; that successive readings are alike makes it smaller, as it should be for the mean of this
    very period.
    """
    steps = np.diff(values[np.isfinite(values)])
    if steps.size < FEWEST_STEPS:
        return float("nan")
    typical = float(np.median(steps * steps)) / 0.4549
    return float(np.sqrt(typical / 2.0))


def widened(values: FloatArray) -> float:
    """Standard deviation of one reading, widened because readings that follow one another agree.

    Such agreement may be the process, which a mean follows, or a meter that drifts slowly, which
    it does not; this allows for the latter. s √((1 + r)/(1 − r)), with s from the median distance
    to the median and r the correlation of neighbours that scatter and s give (a first-order
    autoregression). NaN for too few readings.
    """
    held = values[np.isfinite(values)]
    near = scatter(held)
    if not np.isfinite(near):
        return near
    whole = 1.4826 * float(np.median(np.abs(held - np.median(held))))
    if whole <= near or near <= 0.0:
        return near
    share = max((near / whole) ** 2, 1.0 - MOST_ALIKE)
    return float(whole * np.sqrt((2.0 - share) / share))


SLIP = 0.06
"""How near to a power of ten, in its logarithm: about 15 %."""
MOST_ALIKE = 0.97
"""Largest correlation of neighbours that is reckoned with."""
FEWEST_STEPS = 12
"""So many differences tell a scatter within about a third."""

"""Fewer points for the same picture: of each column of pixels its first, lowest, highest and last.

A line of a hundred thousand readings on a thousand columns of pixels looks the same when only
these four of each column are drawn, and no spike is lost, however short: a column is as high as
its readings reach.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Times = NDArray[np.int64]
Values = NDArray[np.float64]
Places = NDArray[np.intp]

EACH = 4
"""At most so many points are kept of a column."""
GAP_COLUMNS = 1.5
"""Readings farther apart than so many columns, and than the point's own gap, are not joined."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn of a line: places in its arrays, and which are joined to the one before."""

    at: Places
    joined: NDArray[np.bool_]

    def runs(self) -> list[tuple[int, int]]:
        """Stretches [first, after) of `at` that are drawn in one go."""
        if not self.at.size:
            return []
        cuts = np.flatnonzero(~self.joined).tolist()
        return list(zip(cuts, [*cuts[1:], self.at.size], strict=True))


def thinned(
    times: Times, values: Values, span: tuple[float, float], columns: int, gap_s: float
) -> Drawn:
    """The points to draw of a line over `span` (epoch s) on so many columns of pixels.

    `times` (epoch s, rising, shape (n,)) and `values` (finite, shape (n,)). The neighbours just
    outside the span are kept, so that the line runs on to the edges. Readings more than `gap_s`
    apart are not joined, unless the gap is too narrow to be seen.

    >>> times = np.arange(0, 1000)
    >>> spike = np.zeros(1000)
    >>> spike[777] = 5.0
    >>> 777 in thinned(times, spike, (0, 1000), 10, 60.0).at
    True
    """
    start, end = span
    columns = max(columns, 1)
    first = int(np.searchsorted(times, start, side="left"))
    after = int(np.searchsorted(times, end, side="right"))
    first, after = max(first - 1, 0), min(after + 1, times.size)
    width = (end - start) / columns
    at: Places = np.arange(first, after)
    if after - first > EACH * columns and width > 0.0:
        at = first + _kept(times[first:after], values[first:after], start, width)
    return Drawn(at, _joined(times[at], max(gap_s, GAP_COLUMNS * width)))


@dataclass(frozen=True, slots=True)
class Bars:
    """A dense line as one upright bar for each column of pixels that has readings.

    `column` counted from the start of the span, `low` and `high` what the bar reaches: all of its
    readings, and the last one of the column before where the two are joined.
    """

    column: Places
    low: Values
    high: Values


def bars(
    times: Times, values: Values, span: tuple[float, float], columns: int, gap_s: float
) -> Bars | None:
    """A line over `span` as bars; None where there is room to draw it as a line.

    Arguments as in `thinned`, and as little is lost: on the screen the two look alike.
    """
    start, end = span
    columns = max(columns, 1)
    first = int(np.searchsorted(times, start, side="left"))
    after = int(np.searchsorted(times, end, side="right"))
    width = (end - start) / columns
    if after - first <= EACH * columns or width <= 0.0:
        return None
    held, at = values[first:after], times[first:after]
    column = np.floor((at - start) / width).astype(np.intp)
    starts = np.append(0, np.flatnonzero(np.diff(column)) + 1)
    low, high = np.minimum.reduceat(held, starts), np.maximum.reduceat(held, starts)
    before = starts[1:] - 1
    joined = at[starts[1:]] - at[before] <= max(gap_s, GAP_COLUMNS * width)
    low[1:] = np.where(joined, np.minimum(low[1:], held[before]), low[1:])
    high[1:] = np.where(joined, np.maximum(high[1:], held[before]), high[1:])
    return Bars(column[starts], low, high)


def _kept(times: Times, values: Values, start: float, width: float) -> Places:
    """Places of the first, lowest, highest and last reading of each column, each once."""
    column = np.floor((times - start) / width)
    starts = np.append(0, np.flatnonzero(np.diff(column)) + 1)
    ends = np.append(starts[1:], times.size) - 1
    lengths = ends - starts + 1
    low = _first_equal(values, np.minimum.reduceat(values, starts), starts, lengths)
    high = _first_equal(values, np.maximum.reduceat(values, starts), starts, lengths)
    wanted = np.zeros(times.size, dtype=np.bool_)
    for places in (starts, ends, low, high):
        wanted[places] = True
    return np.flatnonzero(wanted)


def _first_equal(values: Values, wanted: Values, starts: Places, lengths: Places) -> Places:
    """Place of the first value of each stretch that equals what is wanted of it."""
    size = values.size
    equal = values == np.repeat(wanted, lengths)
    places = np.where(equal, np.arange(size), size)
    return np.minimum.reduceat(places, starts)


def _joined(times: Times, farthest: float) -> NDArray[np.bool_]:
    joined = np.zeros(times.size, dtype=np.bool_)
    joined[1:] = np.diff(times) <= farthest
    return joined


def worst_of_columns(times: Times, rank: NDArray[np.int64], start: float, width: float) -> Places:
    """Of marks (rising times, `rank` of each) the one of the highest rank in each stretch of time.

    `width` in seconds: stretches [start + k width, start + (k + 1) width).
    """
    if not times.size:
        return np.empty(0, dtype=np.intp)
    column = np.floor((times - start) / width)
    starts = np.append(0, np.flatnonzero(np.diff(column)) + 1)
    lengths = np.diff(np.append(starts, times.size))
    ranks = rank.astype(np.float64)
    return _first_equal(ranks, np.maximum.reduceat(ranks, starts), starts, lengths)


def merged(spans: list[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Spans in order of time, those that touch or lie less than `least` apart made one.

    >>> merged([(0, 10), (12, 20), (50, 60)], 5)
    [(0, 20), (50, 60)]
    """
    found: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if found and start - found[-1][1] < least:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found

"""Series as rows, without their missing readings: what the charts work on.

A chart that remembers (EWMA, CUSUM, runs) goes on over a missing reading as if it had not been due:
the statistic stands still, and the readings on both sides are neighbours. Rows are therefore drawn
together to the left, worked on whole, and drawn apart again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IndexArray = npt.NDArray[np.intp]

_Small = TypeVar("_Small", np.int8, np.uint8)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the readings of rows stand, when some are missing; arrays of one entry a reading."""

    before: IndexArray
    """Index into the flat original, row after row."""
    after: IndexArray
    """Index into the flat drawn-together rows, in the same order."""
    late: IndexArray
    """Which readings (as indices into the two above) have no reading right before them."""
    step: IndexArray
    """How many places before them the one before stands; at the head of a row without meaning."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of readings drawn together; `values` has shape (rows, length), NaN after the last one."""

    values: FloatArray
    places: Places | None
    """None where no reading was missing."""
    counts: IndexArray
    """How many readings each row has, shape (rows,)."""

    @property
    def length(self) -> int:
        """Readings and missing ones of each row."""
        return int(self.values.shape[1])

    def apart(self, worked: FloatArray) -> FloatArray:
        """Bring what was worked out for each reading to where the reading stood, NaN elsewhere.

        `worked` has the shape of `values`.
        """
        if self.places is None:
            return worked
        out = np.full(worked.shape, np.nan)
        out.reshape(-1)[self.places.before] = worked.reshape(-1)[self.places.after]
        return out

    def marks_apart(self, marks: npt.NDArray[_Small]) -> npt.NDArray[_Small]:
        """The same for small whole numbers or flags that are mostly 0; 0 where no reading was."""
        if self.places is None:
            return marks
        out = np.zeros_like(marks)
        flat = np.flatnonzero(marks != 0)
        out.reshape(-1)[self.origin(flat)] = marks.reshape(-1)[flat]
        return out

    def origin(self, flat: IndexArray) -> IndexArray:
        """Where the readings with these indices in the flat drawn-together rows stood."""
        if self.places is None:
            return flat
        first = np.concatenate([[0], np.cumsum(self.counts)[:-1]])
        row, column = np.divmod(flat, self.length)
        return np.asarray(self.places.before[first[row] + column])

    def breaks(self, longest_gap: int) -> IndexArray:
        """Flat indices of readings that have no neighbour before them.

        Those are the first of each row, the first padding after a row's last reading, and each
        reading that comes after more than `longest_gap` missing ones in a row.
        """
        heads = np.arange(self.counts.size if self.length else 0) * self.length
        if self.places is None:
            return heads
        tails = (heads + self.counts)[self.counts < self.length]
        far = self.places.late[self.places.step > longest_gap + 1]
        return np.unique(np.concatenate([heads, tails, self.places.after[far]]))

    def with_values(self, values: FloatArray) -> Rows:
        """Rows of the same places with other values."""
        return Rows(values, self.places, self.counts)


def together(matrix: FloatArray) -> Rows:
    """Draw the readings of each row to the left; `matrix` has shape (rows, length), NaN: missing."""
    seen = ~np.isnan(matrix)
    rows, length = matrix.shape
    if seen.all():
        return Rows(matrix, None, np.full(rows, length, dtype=np.intp))
    counts = np.count_nonzero(seen, axis=1).astype(np.intp)
    before = np.flatnonzero(seen)
    after = np.flatnonzero(np.less(np.arange(length)[None, :], counts[:, None]))
    drawn = np.full((rows, length), np.nan)
    drawn.reshape(-1)[after] = matrix.reshape(-1)[before]
    step = before[1:] - before[:-1]
    late = np.flatnonzero(step > 1)
    return Rows(drawn, Places(before, after, late + 1, step[late]), counts)


def as_series(values: npt.ArrayLike) -> FloatArray:
    """Readings as a series of floats, shape (n,); infinities count as missing.

    Raises ValueError for anything but one dimension.
    """
    series = np.array(values, dtype=np.float64)
    if series.ndim != 1:
        raise ValueError(f"One series is wanted, shape (n,), not an array of shape {series.shape}.")
    series[np.isinf(series)] = np.nan
    return series

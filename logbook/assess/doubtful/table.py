"""Rounds as a table: one row for a round, one column for a point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
DAY = 86400


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundTable:
    """The numbers of n rounds of m points, in order of time.

    `at` (n,) when each round was due (epoch s), `written` (n,) when it was entered (epoch s, NaN
    unknown), `values` (n, m) NaN where there is none, `writer` (n,) the place in `people` of who
    entered most of it (-1 unknown), `kind` (n,) the place in `kinds` of the sort of shift (day,
    night), `shift` (n,) a number for each shift. Of each point: `keys`, `names`, `areas` and
    `step`, the size of the last typed decimal. Rounds before `first` are only there to compare.
    """

    at: IntArray
    written: FloatArray
    values: FloatArray
    writer: IntArray
    people: tuple[str, ...]
    kind: IntArray
    kinds: tuple[str, ...]
    shift: IntArray
    keys: tuple[str, ...]
    names: tuple[str, ...]
    areas: tuple[str, ...]
    units: tuple[str, ...]
    step: FloatArray
    first: int

    def __post_init__(self) -> None:
        """Refuse parts that do not fit one another. Raises ValueError."""
        n, m = self.values.shape
        rows = (self.at, self.written, self.writer, self.kind, self.shift)
        columns = (self.keys, self.names, self.areas, self.units, self.step)
        if any(len(part) != n for part in rows) or any(len(part) != m for part in columns):
            raise ValueError("rows and columns of a table of rounds must fit its values")
        if np.any(np.diff(self.at) <= 0):
            raise ValueError("rounds must be in order of time")

    @property
    def asked(self) -> BoolArray:
        """True for the rounds that are asked about, (n,)."""
        return self.at >= self.first

    def person(self, row: int) -> str | None:
        """Who entered a round."""
        return self.people[self.writer[row]] if self.writer[row] >= 0 else None

    def last_values(self) -> FloatArray:
        """The last number of each point before each round, (n, m); NaN before the first."""
        n, m = self.values.shape
        rows = np.arange(n)[:, None]
        held = np.where(np.isfinite(self.values), rows, -1)
        last = np.maximum.accumulate(held, axis=0)
        before = np.vstack([np.full((1, m), -1, dtype=last.dtype), last[:-1]])
        found = np.take_along_axis(self.values, np.maximum(before, 0), axis=0)
        return np.where(before >= 0, found, np.nan)

    def day_before(self) -> FloatArray:
        """The numbers of the round 24 hours before each, (n, m); NaN where there was none."""
        place = np.searchsorted(self.at, self.at - DAY)
        there = self.at[np.minimum(place, self.at.size - 1)] == self.at - DAY
        return np.where(there[:, None], self.values[np.minimum(place, self.at.size - 1)], np.nan)

    def tells(self) -> BoolArray:
        """True where a number has two digits or more, (n, m): a single one repeats by chance."""
        with np.errstate(invalid="ignore"):
            return np.abs(self.values) >= 10.0 * self.step * (1.0 - 1e-9)

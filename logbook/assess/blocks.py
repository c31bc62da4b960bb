"""Readings of many points as one table: medians of equal stretches of time, counted back from now.

A median of a stretch takes out single wild readings, and that of a whole day the difference between
night and day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.slopes import row_medians

FloatArray = npt.NDArray[np.float64]
TimeArray = npt.NDArray[np.int64]
IndexArray = npt.NDArray[np.intp]
Line = tuple[TimeArray, FloatArray]
FEWEST_PEERS = 4


@dataclass(frozen=True, slots=True)
class Heap:
    """Readings of many points in one heap, in order of value: to be sorted into blocks at once.

    `row` is the point's place, `age` seconds before now, `value` in the point's unit; shape (n,).
    """

    rows: int
    row: npt.NDArray[np.int32]
    age: TimeArray
    value: FloatArray

    @classmethod
    def of(cls, lines: Sequence[Line], now: int) -> Heap:
        """The readings of `lines` (times in epoch s, values without NaN) taken before or at `now`."""
        if not lines:
            nothing = np.empty(0)
            return cls(0, nothing.astype(np.int32), nothing.astype(np.int64), nothing)
        sizes = [times.size for times, _ in lines]
        row = np.repeat(np.arange(len(lines), dtype=np.int32), sizes)
        age = now - np.concatenate([times for times, _ in lines])
        value = np.concatenate([values for _, values in lines])
        order = np.argsort(value, kind="stable")
        order = order[age[order] >= 0]
        return cls(len(lines), row[order], age[order], value[order])

    def medians(self, width_s: float, count: int) -> FloatArray:
        """Medians of the last `count` stretches of `width_s` seconds, the oldest first.

        Shape (points, count); NaN where nothing was read.
        """
        back = (self.age // int(width_s)).astype(np.int32)
        inside = back < count
        cell = self.row[inside] * count + (count - 1 - back[inside])
        value = self.value[inside]
        order = np.argsort(cell, kind="stable")
        cell, value = cell[order], value[order]
        table = np.full(self.rows * count, np.nan)
        if cell.size:
            starts = np.flatnonzero(np.diff(cell, prepend=-1))
            sizes = np.diff(np.append(starts, cell.size))
            low, high = value[starts + (sizes - 1) // 2], value[starts + sizes // 2]
            table[cell[starts]] = (low + high) / 2.0
        found: FloatArray = table.reshape(self.rows, count)
        return found


def block_times(width_s: float, count: int) -> FloatArray:
    """Middles of the blocks of `Heap.medians`, in days before now (negative); shape (count,)."""
    middles = np.arange(count, dtype=np.float64) - count + 0.5
    found: FloatArray = middles * (width_s / 86400.0)
    return found


def apart_from_peers(table: FloatArray, groups: Sequence[IndexArray], last: int) -> FloatArray:
    """`table` less what the points of a group have in common, at its level of the last blocks.

    What moves six mills at once (other beans, a hot day) is no drift of one of them. In common is,
    block by block, the median of how far the points of the group stand from their own medians. A
    group of fewer than `FEWEST_PEERS` points is left as it is; `last` is how many blocks at the
    end tell where the group now stands.
    """
    found = table.copy()
    for group in groups:
        if group.size < FEWEST_PEERS:
            continue
        rows = table[group]
        common = row_medians((rows - row_medians(rows)[:, None]).T)
        common = np.nan_to_num(common, nan=0.0)
        found[group] = rows - common + np.median(common[-last:])
    return found

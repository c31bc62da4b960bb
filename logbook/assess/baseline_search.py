"""Where a series was stable: the stretch that limits of a control chart should be made from.

How it is found. The series is cut into blocks of 24 readings (two days at two hours). Wild readings
are set aside: those further from the median of their block than four robust sigma (1.4826 times the
median of the blocks' median deviations). A stretch of whole blocks is stable where

- two thirds of its readings are there, and at most one in fifty is wild;
- the means of its blocks differ no more than chance allows: an analysis of variance between blocks,
  with the variance of a block's mean as it is under AR(1) with the series' own correlation (the
  median over pairs of blocks, so that a shift of the level cannot pass for correlation);
- no single block stands more than 4.2 such standard errors from the mean of the stretch, and
  neither its first nor its last one, two or four blocks more than 3 of theirs: a stretch must not
  reach over a shift at its end.

Of all stable stretches the longest is taken, and of those the latest. Where there is none, that is
said: limits from an unstable stretch would be a guess.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.autocorrelation import rows_lag_one
from logbook.assess.chart_rows import BoolArray, FloatArray, IndexArray, as_series

BLOCK = 24
"""Readings of a block."""
LEAST_BLOCKS = 5
"""Shortest stretch looked for: ten days at two hours."""
SLACK = 1.5
"""So many times the variance between blocks that chance explains still counts as stable."""
_FURTHEST = 4.2
_AT_ENDS = 3.0
_SHORTER = 0.8


@dataclass(frozen=True, slots=True)
class Baseline:
    """A stretch of a series, from `first` up to but not including `stop`."""

    first: int
    stop: int
    readings: int
    """Readings in it."""
    wild: int
    """Of them, those set aside in the search; limits should be made without them too."""
    mask: BoolArray
    """True for the readings to make limits from, shape (n,)."""
    lag1: float
    """Correlation that the search allowed for."""
    note: str
    """Why none was found; empty where one was."""

    @property
    def found(self) -> bool:
        """Tell whether there is a stable stretch."""
        return self.stop > self.first


@dataclass(frozen=True, slots=True)
class _Blocks:
    """Sums of each block without its wild readings, values taken from a common middle."""

    count: FloatArray
    total: FloatArray
    square: FloatArray
    wild: IndexArray


def find_baseline(values: npt.ArrayLike, *, least: int = LEAST_BLOCKS * BLOCK) -> Baseline:
    """Find the longest, and of those the latest, stable stretch of a series.

    `values`, shape (n,), equally spaced in time (see `chart_grid.on_grid`), NaN: missing; `least`:
    shortest stretch in places, at least 120.

    Raises ValueError for a smaller `least`.

    >>> import numpy as np
    >>> level = np.repeat([50.0, 54.0], [240, 480])
    >>> found = find_baseline(level + np.random.default_rng(3).normal(0.0, 1.0, 720))
    >>> found.first, found.stop
    (240, 720)
    """
    if least < LEAST_BLOCKS * BLOCK:
        raise ValueError(f"A baseline wants at least {LEAST_BLOCKS * BLOCK} places, not {least}.")
    series = as_series(values)
    # Blocks are counted from the end: the latest readings are the ones that matter.
    spare = series.size % BLOCK
    table = series[spare:].reshape(-1, BLOCK)
    fewest = -(-least // BLOCK)
    if len(table) < fewest:
        return _none(series.size, f"too few: {series.size} readings, {least} are needed")
    lag1 = _typical_lag(table)
    wild = _wild(table)
    blocks = _sums(table, wild)
    begin, length = _longest(blocks, fewest, lag1)
    if length == 0:
        return _none(series.size, "no stable stretch was found")
    first = spare + begin * BLOCK
    return _as_baseline(series, wild, (first, first + length * BLOCK), lag1)


def _longest(blocks: _Blocks, fewest: int, lag1: float) -> tuple[int, int]:
    """First block and length of the longest, latest stable stretch; length 0: there is none.

    Lengths are tried in steps of a fifth, then one by one up from the one that was found.
    """
    last = most = blocks.count.size
    while True:
        stable = np.flatnonzero(_stable(blocks, most, lag1))
        if stable.size:
            break
        if most == fewest:
            return 0, 0
        last, most = most, max(fewest, min(most - 1, int(most * _SHORTER)))
    for length in range(last - 1, most, -1):
        longer = np.flatnonzero(_stable(blocks, length, lag1))
        if longer.size:
            return int(longer[-1]), length
    return int(stable[-1]), most


def _typical_lag(table: FloatArray) -> float:
    """Median of the correlations within pairs of blocks; 0 where none could be told."""
    pairs = table[len(table) % 2 :].reshape(-1, 2 * BLOCK)
    value = rows_lag_one(pairs)[0]
    known = value[~np.isnan(value)]
    return min(0.95, max(0.0, float(np.median(known)))) if known.size else 0.0


def _wild(table: FloatArray) -> BoolArray:
    """True for readings far from the median of their block."""
    seen = ~np.isnan(table).all(axis=1)
    away = np.full(table.shape, np.nan)
    away[seen] = np.abs(table[seen] - np.nanmedian(table[seen], axis=1, keepdims=True))
    usual = np.nanmedian(away[seen], axis=1) if seen.any() else np.zeros(1)
    spread = 1.4826 * float(np.median(usual))
    if spread == 0.0:
        # Most readings equal their neighbours: the standard deviation still tells how far they go.
        spread = float(np.sqrt(np.nanmean(away**2))) if seen.any() else 0.0
    return np.asarray(away > 4.0 * spread)


def _sums(table: FloatArray, wild: BoolArray) -> _Blocks:
    kept = ~np.isnan(table) & ~wild
    middle = float(np.median(table[kept])) if kept.any() else 0.0
    inside = np.where(kept, table - middle, 0.0)
    return _Blocks(
        kept.sum(axis=1).astype(np.float64),
        inside.sum(axis=1),
        (inside**2).sum(axis=1),
        wild.sum(axis=1),
    )


def _stable(blocks: _Blocks, length: int, lag1: float) -> BoolArray:
    """For each first block, whether the stretch of `length` blocks from it is stable."""
    view = np.lib.stride_tricks.sliding_window_view
    count, total = view(blocks.count, length), view(blocks.total, length)
    readings = count.sum(axis=1)
    wild = view(blocks.wild, length).sum(axis=1)
    square = view(blocks.square, length).sum(axis=1)
    means = np.divide(total, count, out=np.zeros(count.shape), where=count > 0)
    level = total.sum(axis=1) / np.maximum(readings, 1.0)
    between = (count * (means - level[:, None]) ** 2).sum(axis=1)
    within = square - (count * means**2).sum(axis=1)
    inflation = _inflation(lag1)
    present = count > 0
    free = (np.maximum(count - inflation, 0.0) * present).sum(axis=1)
    variance = np.maximum(within, 0.0) / np.maximum(free, 1.0)
    dof = present.sum(axis=1) - 1.0
    error = np.sqrt(variance[:, None] * inflation / np.maximum(count, 1.0))
    furthest = (np.abs(means - level[:, None]) - _FURTHEST * error).max(axis=1)
    ends = _ends_agree(count, total, level, variance * inflation)
    steady = between <= SLACK * _chi_square_mean(dof) * dof * variance * inflation
    enough = (readings + wild >= length * BLOCK * 2 / 3) & (wild <= 0.02 * readings)
    return np.asarray(enough & ends & steady & (furthest <= 0.0) & (dof >= LEAST_BLOCKS - 1))


def _ends_agree(
    count: FloatArray, total: FloatArray, level: FloatArray, variance: FloatArray
) -> BoolArray:
    """Whether the first and the last few blocks of each stretch have its level."""
    agree = np.ones(len(count), dtype=np.bool_)
    for few in (1, 2, 4):
        if 2 * few >= count.shape[1]:
            break
        for part in (slice(None, few), slice(-few, None)):
            readings = count[:, part].sum(axis=1)
            away = np.abs(total[:, part].sum(axis=1) - level * readings)
            agree &= away <= _AT_ENDS * np.sqrt(variance * readings)
    return agree


def _inflation(lag1: float) -> float:
    """How many times the variance of a block's mean is that of independent readings."""
    if lag1 == 0.0:
        return 1.0
    tail = 2.0 * lag1 * (1.0 - lag1**BLOCK) / (BLOCK * (1.0 - lag1) ** 2)
    return (1.0 + lag1) / (1.0 - lag1) - tail


def _chi_square_mean(dof: FloatArray) -> FloatArray:
    """99.9 % quantile of chi-square over its degrees of freedom (Wilson and Hilferty, 1931)."""
    spread = 2.0 / (9.0 * np.maximum(dof, 1.0))
    return np.asarray((1.0 - spread + 3.0902 * np.sqrt(spread)) ** 3)


def _as_baseline(
    series: FloatArray, wild: BoolArray, stretch: tuple[int, int], lag1: float
) -> Baseline:
    first, stop = stretch
    marked = np.zeros(series.size, dtype=np.bool_)
    marked[series.size - wild.size :] = wild.reshape(-1)
    mask = np.zeros(series.size, dtype=np.bool_)
    mask[first:stop] = ~np.isnan(series[first:stop])
    readings, count = int(mask.sum()), int((mask & marked).sum())
    mask &= ~marked
    return Baseline(first, stop, readings, count, mask, lag1, "")


def _none(size: int, note: str) -> Baseline:
    return Baseline(0, 0, 0, 0, np.zeros(size, dtype=np.bool_), math.nan, note)

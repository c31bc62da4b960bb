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
    mean: FloatArray
    sums: FloatArray
    """Running sums over blocks, from 0: readings, their sum, their squares, squares between the
    blocks (count * mean^2), wild readings, blocks with readings, and readings less what the mean of
    a block takes; shape (7, blocks + 1)."""
    inflation: float
    """How many times the variance of a block's mean is that of independent readings."""

    def over(self, first: IndexArray, length: int) -> FloatArray:
        """The sums over `length` blocks from each first one, shape (7, n)."""
        return np.asarray(self.sums[:, first + length] - self.sums[:, first])


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
    begin, length = _longest(_sums(table, wild, lag1), fewest)
    if length == 0:
        return _none(series.size, "no stable stretch was found")
    first = spare + begin * BLOCK
    return _as_baseline(series, wild, (first, first + length * BLOCK), lag1)


def _longest(blocks: _Blocks, fewest: int) -> tuple[int, int]:
    """First block and length of the longest, latest stable stretch; length 0: there is none.

    Lengths are tried in steps of a fifth, then by halving between the last that had no stable
    stretch and the first that had.
    """
    failed = tried = blocks.count.size
    begin = _latest(blocks, tried)
    while begin < 0:
        if tried == fewest:
            return 0, 0
        failed, tried = tried, max(fewest, min(tried - 1, int(tried * _SHORTER)))
        begin = _latest(blocks, tried)
    while failed - tried > 1:
        middle = (failed + tried) // 2
        found = _latest(blocks, middle)
        if found < 0:
            failed = middle
        else:
            begin, tried = found, middle
    return begin, tried


def _latest(blocks: _Blocks, length: int) -> int:
    """First block of the latest stable stretch of this length; -1: there is none."""
    first = np.arange(blocks.count.size - length + 1)
    readings, total, square, between, wild, present, free = blocks.over(first, length)
    level = total / np.maximum(readings, 1.0)
    variance = np.maximum(square - between, 0.0) / np.maximum(free, 1.0) * blocks.inflation
    dof = present - 1.0
    spread = between - readings * level**2
    # The tolerance is what sums of squares of equal numbers may be off by.
    steady = spread <= SLACK * _chi_square_mean(dof) * dof * variance + 1e-12 * (1.0 + square)
    enough = (readings + wild >= length * BLOCK * 2 / 3) & (wild <= 0.02 * readings)
    fit = enough & steady & (dof >= LEAST_BLOCKS - 1)
    fit &= _ends_agree(blocks, length, level, variance)
    for start in np.flatnonzero(fit)[::-1].tolist():
        part = slice(start, start + length)
        error = np.sqrt(variance[start] / np.maximum(blocks.count[part], 1.0))
        away = np.abs(blocks.mean[part] - level[start]) * (blocks.count[part] > 0)
        if (away <= _FURTHEST * error + 1e-9 * np.abs(level[start])).all():
            return int(start)
    return -1


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


def _sums(table: FloatArray, wild: BoolArray, lag1: float) -> _Blocks:
    kept = ~np.isnan(table) & ~wild
    middle = float(np.median(table[kept])) if kept.any() else 0.0
    inside = np.where(kept, table - middle, 0.0)
    count, total = kept.sum(axis=1).astype(np.float64), inside.sum(axis=1)
    mean = total / np.maximum(count, 1.0)
    inflation = _inflation(lag1)
    each = [
        count,
        total,
        (inside**2).sum(axis=1),
        count * mean**2,
        wild.sum(axis=1).astype(np.float64),
        (count > 0).astype(np.float64),
        np.maximum(count - inflation, 0.0),
    ]
    sums = np.zeros((len(each), len(table) + 1))
    np.cumsum(np.array(each), axis=1, out=sums[:, 1:])
    return _Blocks(count, mean, sums, inflation)


def _ends_agree(blocks: _Blocks, length: int, level: FloatArray, variance: FloatArray) -> BoolArray:
    """Whether the first and the last few blocks of each stretch have its level."""
    first = np.arange(level.size)
    agree = np.ones(level.size, dtype=np.bool_)
    for few in (1, 2, 4):
        if 2 * few >= length:
            break
        for start in (first, first + length - few):
            readings, total = blocks.over(start, few)[:2]
            off = np.abs(total - level * readings)
            agree &= off <= _AT_ENDS * np.sqrt(variance * readings) + 1e-9 * np.abs(total)
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

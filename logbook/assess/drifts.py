"""Slow changes of many points at once: which of them drift, how fast, and how sure that is.

The last 30 days of each point are put into blocks (medians of 2 h to 24 h, so that a wild reading
does not count), what the machines of a kind have in common is taken off, and a Theil-Sen line is
laid through the blocks of several windows that end now: of 12 h, 1, 3, 5, 7, 10, 14, 20 and 30
days. A window
shows a drift only where all of this holds:

1. at least half of its blocks, six or more, hold a reading, one of them among the last three;
2. the line is steeper than chance: Kendall's S at least `SURE` standard deviations from nothing,
   its variance widened for values that depend on the ones before them (as AR(1), by the larger of
   the correlations from block to block about the line and in the days before the window, so that
   day and night or a lot of beans are no drift). Over 12 h and a day, where a dozen blocks cannot
   show that much, the change is instead larger than any over such a time in the rest of
   the 30 days, and `RARE` times the usual one;
3. a line describes the blocks better than one sudden step. What follows a step is looked at in the
   shorter windows, which begin after it;
4. the change over the window is at least `STEPS` steps of the last decimal that is typed, and at
   least `CLEAR` times the scatter of the blocks about the line;
5. it has not turned back: the last third of the window does not run the other way by more than
   the scatter of the blocks;
6. the point stands where it has not been: beyond every block before the window (for 30 days: of
   its first half) by `NEW` times the scatter, and `FAR` times the usual spread away from where it
   usually was. Most slow changes of a plant are a wandering about one level, and turn back.

Of several windows the surest speaks. `SURE`, `NEW` and `FAR` are a choice of ours, no source:
they were set on two sample years (seeds 20260618 and 11) so that about half of what is forecast comes
true, and were then tried on others (tests/bench/drift_backtest.py prints what came of it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.assess.blocks import Heap, Line, apart_from_peers, block_times
from logbook.assess.judge import Direction
from logbook.assess.slopes import (
    Lines,
    inflation_of,
    kendall_z,
    lag_one,
    row_medians,
    theil_sen,
    two_sided,
)

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

DAYS_BACK = 30
SURE = 2.5
"""Standard deviations of S: chance alone gives as much in about one of eighty windows. It is
conditions 3 to 6 together that keep chance out."""
RARE = 6.0
STEPS = 2.0
CLEAR = 2.0
NEW = 3.0
FAR = 3.0
WIDTH = 1.645
"""Half width of a 90 % interval in standard deviations."""
STEP_WINS = 0.7
"""A step describes the blocks better only where it leaves less than this share of what a line
leaves: of blocks that wander a step can always be found."""
FEWEST = 6
FEWEST_BEFORE = 8
HOUR, DAY = 3600.0, 86400.0


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch that ends now, and the blocks it is cut into."""

    hours: int
    block_hours: int
    by_custom: bool = False
    """Judged by the changes usual for the point, since the blocks are too few for a test."""

    @property
    def count(self) -> int:
        """Blocks in it."""
        return self.hours // self.block_hours

    @property
    def days(self) -> float:
        """Its length."""
        return self.hours / 24.0

    @property
    def third(self) -> int:
        """Blocks of its last third."""
        return max(self.count // 3, 3)


WINDOWS = (
    Window(12, 2, by_custom=True),
    Window(24, 2, by_custom=True),
    Window(72, 4),
    Window(120, 6),
    Window(168, 6),
    Window(240, 12),
    Window(336, 12),
    Window(480, 24),
    Window(720, 24),
)


@dataclass(frozen=True, slots=True)
class Drift:
    """A point that changes steadily.

    `row` is its place among the given lines; slopes (90 % interval) are in the point's unit per
    day, `level` is where its course now stands with its standard error, `scatter` the robust
    standard deviation of the blocks about it. `window_hours` is the stretch that showed it.
    `sureness` is in standard deviations; `p_value` that of the single window, None where it was
    judged by what is usual for the point.
    """

    row: int
    direction: Direction
    slope: float
    slope_low: float
    slope_high: float
    level: float
    level_error: float
    scatter: float
    window_hours: int
    sureness: float
    p_value: float | None
    correlation: float
    blocks: int

    @property
    def change(self) -> float:
        """By how much it changed over the window."""
        return self.slope * self.window_hours / 24.0

    @property
    def word(self) -> str:
        """Its direction in a word."""
        return "rising" if self.direction is Direction.HIGH else "falling"


@dataclass(frozen=True, slots=True)
class _Course:
    """The blocks of a window (m, n) with their lines, and what follows from both; (m,) each."""

    rows: FloatArray
    times: FloatArray
    before: FloatArray
    line: Lines
    correlation: FloatArray
    scatter: FloatArray
    level: FloatArray

    @property
    def residuals(self) -> FloatArray:
        """Blocks less their line."""
        return self.rows - self.line.at(self.times)


def find_drifts(
    lines: Sequence[Line],
    now: int,
    steps: Sequence[float],
    groups: Sequence[Sequence[int]] = (),
) -> tuple[Drift, ...]:
    """The drifts among many points, the surest first.

    `lines` are times (epoch s, rising) and values without NaN, as far back as 30 days before
    `now` (epoch s); `steps` the size of the last typed decimal of each; `groups` the places of
    points that are of a kind (the same reading of several machines). Raises ValueError where
    there is not one step for each line.
    """
    if len(steps) != len(lines):
        raise ValueError("give one step for each line")
    heap = Heap.of(lines, now)
    peers = [np.asarray(group, dtype=np.intp) for group in groups]
    tables = {
        width: apart_from_peers(
            heap.medians(width * HOUR, DAYS_BACK * 24 // width), peers, max(24 // width, 1)
        )
        for width in {window.block_hours for window in WINDOWS}
    }
    fine = np.asarray(steps, dtype=np.float64)
    best: dict[int, Drift] = {}
    for window in WINDOWS:
        for drift in _in_window(window, tables[window.block_hours], fine):
            held = best.get(drift.row)
            if held is None or drift.sureness > held.sureness:
                best[drift.row] = drift
    return tuple(sorted(best.values(), key=_by_sureness))


def _by_sureness(drift: Drift) -> tuple[float, int]:
    return -drift.sureness, drift.row


def _in_window(window: Window, table: FloatArray, steps: FloatArray) -> list[Drift]:
    """The drifts that one window shows."""
    rows = table[:, -window.count :]
    held = np.isfinite(rows)
    enough = held.sum(axis=1) >= max(FEWEST, (window.count + 1) // 2)
    place = np.flatnonzero(enough & held[:, -3:].any(axis=1))
    # What is not sure with independent values is not with dependent ones: most points end here.
    least = WIDTH if window.by_custom else SURE
    place = place[np.abs(kendall_z(rows[place])) >= least]
    if not place.size:
        return []
    course = _course(window, table[place])
    line = course.line
    if window.by_custom:
        sure = _unusual(window, course.before, line)
    else:
        sure = np.where(np.abs(line.z) >= SURE, np.abs(line.z), 0.0)
    fits = (sure > 0.0) & _is_clear(window, course, steps[place]) & _is_new(course, steps[place])
    return [
        _drift(window, course, int(k), int(place[k]), float(sure[k])) for k in fits.nonzero()[0]
    ]


def _course(window: Window, table: FloatArray) -> _Course:
    rows, before = table[:, -window.count :], table[:, : -window.count]
    times = block_times(window.block_hours * HOUR, window.count)
    plain = theil_sen(times, rows, width=WIDTH)
    correlation = lag_one(rows - plain.at(times))
    if before.shape[1] and not window.by_custom:
        wander = lag_one(before - row_medians(before)[:, None], fitted=1)
        correlation = np.maximum(correlation, wander)
    line = plain.widened(rows, WIDTH, inflation_of(correlation))
    residuals = rows - line.at(times)
    # Where the course has bent, its end lies off the line: the end counts.
    off = row_medians(residuals[:, -window.third :])
    level = line.level + np.nan_to_num(off, nan=0.0)
    scatter = 1.4826 * row_medians(np.abs(residuals))
    if not before.shape[1]:
        before = rows[:, : window.count // 2]
    return _Course(rows, times, before, line, correlation, scatter, level)


def _unusual(window: Window, before: FloatArray, line: Lines) -> FloatArray:
    """How many times the usual change the one over the window is; 0 where it is not unheard of.

    Usual is the robust standard deviation of the changes between blocks as far apart as the
    window is long, in the days before it.
    """
    changes = np.abs(before[:, window.count :] - before[:, : -window.count])
    known = np.isfinite(changes).sum(axis=1) >= changes.shape[1] // 2
    usual = 1.4826 * row_medians(changes)
    most = np.nan_to_num(changes, nan=0.0).max(axis=1)
    change = np.abs(line.slope) * window.days
    steady = np.sign(line.low) == np.sign(line.high)
    rare = known & steady & (usual > 0.0) & (change > most) & (change > RARE * usual)
    return np.where(rare, change / np.where(usual > 0.0, usual, 1.0), 0.0)


def _is_clear(window: Window, course: _Course, steps: FloatArray) -> BoolArray:
    """Conditions 3 to 5 of the module for each row."""
    line, scatter = course.line, course.scatter
    change = np.abs(line.slope) * window.days
    large = (change >= STEPS * steps * (1.0 - 1e-9)) & (change >= CLEAR * scatter)
    straight = np.nansum(course.residuals**2, axis=1) * STEP_WINS <= _best_step(course.rows)
    third = window.third
    last = theil_sen(course.times[-third:], course.rows[:, -third:])
    back = np.abs(last.slope) * third * window.block_hours / 24.0 > 2.0 * scatter
    found: BoolArray = large & straight & ~((last.slope * line.slope < 0.0) & back)
    return found


def _is_new(course: _Course, steps: FloatArray) -> BoolArray:
    """Condition 6 of the module for each row."""
    sign = np.sign(course.line.slope)
    before = sign[:, None] * course.before
    known = np.isfinite(before).sum(axis=1) >= FEWEST_BEFORE
    most = np.where(np.isfinite(before), before, -np.inf).max(axis=1)
    usual = row_medians(before)
    spread = 1.4826 * row_medians(np.abs(before - usual[:, None]))
    # Values typed to whole steps may not scatter at all: a quarter of a step is the least.
    least = steps / 4.0
    beyond = sign * course.level - most >= NEW * np.maximum(course.scatter, least)
    apart = sign * course.level - usual >= FAR * np.maximum(spread, least)
    found: BoolArray = known & beyond & apart
    return found


def _best_step(rows: FloatArray) -> FloatArray:
    """Smallest sum of squares about two levels, one before and one from some block on."""
    held = np.isfinite(rows)
    # Squares of values near their own median, or they would lose their figures.
    centred = np.where(held, rows - row_medians(rows)[:, None], 0.0)
    count, total = held.cumsum(axis=1), centred.cumsum(axis=1)
    after, rest = count[:, -1:] - count, total[:, -1:] - total
    with np.errstate(divide="ignore", invalid="ignore"):
        squares = (centred**2).sum(axis=1, keepdims=True) - total**2 / count - rest**2 / after
    found: FloatArray = np.where((count >= 2) & (after >= 2), squares, np.inf).min(axis=1)
    return found


def _drift(window: Window, course: _Course, k: int, place: int, sure: float) -> Drift:
    """The record of row `k`; `place` is the point's."""
    line, slope, count = course.line, float(course.line.slope[k]), int(course.line.count[k])
    widened = float(inflation_of(course.correlation[k : k + 1])[0])
    return Drift(
        row=place,
        direction=Direction.HIGH if slope > 0.0 else Direction.LOW,
        slope=slope,
        slope_low=float(line.low[k]),
        slope_high=float(line.high[k]),
        level=float(course.level[k]),
        # That of the end of a fitted line: four times the variance of a mean.
        level_error=float(course.scatter[k]) * (4.0 * widened / count) ** 0.5,
        scatter=float(course.scatter[k]),
        window_hours=window.hours,
        sureness=sure,
        p_value=None if window.by_custom else two_sided(float(line.z[k])),
        correlation=float(course.correlation[k]),
        blocks=count,
    )


__all__ = ["DAYS_BACK", "WINDOWS", "Drift", "Window", "find_drifts"]

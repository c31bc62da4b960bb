"""Deviations: unbroken runs of readings of one point outside its limits.

A run is a sequence of judged readings outside limits in one direction. A reading that is
missing or late does not break it, as long as two judged readings that follow one another
lie no more than `max_gap_s` apart; a longer gap does. It ends with the first reading back
inside. A change from low to high ends it and starts another. A time at which the point was
not due (area or machine down, mode silent) ends it, even where nothing was read meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

import numpy as np

from logbook.assess.history import IndexArray, TimeArray
from logbook.assess.judge import NOT_JUDGED_CODE, Direction, Severity
from logbook.assess.judge_arrays import BoolArray, Bounds, CodeArray, FloatArray

_NO_EXCESS = -1e300
Moment = datetime | int
"""An aware instant, or epoch seconds."""
Interval = tuple[Moment, Moment | None]
"""From the first on, up to but without the second; None: it lasts."""


class Closing(StrEnum):
    """What ended a run."""

    BACK_INSIDE = "back inside"
    OTHER_SIDE = "other side"
    NOT_DUE = "not due"
    GAP = "gap"
    OPEN = "open"
    """Nothing yet: it reaches the last judged reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """One run. Instants are in UTC; `first`, `last` and `worst` index the given readings."""

    start: datetime
    last_out: datetime
    end: datetime | None
    """Time of the first reading back inside; None where another thing ended it, or nothing."""
    closing: Closing
    direction: Direction
    severity: Severity
    """The worst of the run."""
    worst_value: float
    """Of the readings with the worst severity, the one farthest beyond its limit."""
    worst_at: datetime
    count: int
    first: int
    last: int
    worst: int

    @property
    def duration(self) -> timedelta:
        """From the first reading outside to the first back inside, else to the last outside."""
        return (self.end or self.last_out) - self.start

    @property
    def is_open(self) -> bool:
        """True where it reaches the last judged reading."""
        return self.closing is Closing.OPEN


def not_due_mask(
    times: TimeArray,
    down_intervals: Sequence[Interval],
    mode_silent: BoolArray | None = None,
) -> BoolArray:
    """True at `times` (epoch s, shape (n,)) that lie in a down interval or a silent mode.

    Intervals are half-open, in any order, and may overlap.
    """
    starts = np.sort(np.array([_epoch(a) for a, _ in down_intervals], dtype=np.float64))
    ends = np.sort(np.array([_epoch(b) for _, b in down_intervals], dtype=np.float64))
    begun = np.searchsorted(starts, times, side="right")
    over = np.searchsorted(ends, times, side="right")
    down: BoolArray = begun > over
    return down if mode_silent is None else down | mode_silent


def deviations(
    times: TimeArray,
    values: FloatArray,
    codes: CodeArray,
    *,
    max_gap_s: float,
    bounds: Bounds | None = None,
    not_due: BoolArray | None = None,
    breaks: Sequence[Moment] = (),
) -> tuple[Deviation, ...]:
    """The runs in readings of one point in order of time; see the module for what a run is.

    `times` (epoch s), `values` and `codes` (from `classify_array`) have shape (n,). `bounds` are
    the limits in force at each, needed only where limits change within a run, to find the
    worst value. `not_due` marks readings at times when the point was not due; `breaks` are
    the starts of such times, for those without a reading. Raises ValueError where `times` fall.
    """
    if np.any(np.diff(times) < 0):
        raise ValueError("readings must be in order of time to find the runs in them")
    unjudged = codes == NOT_JUDGED_CODE
    skipped = unjudged if not_due is None else unjudged | not_due
    silent = () if not_due is None else times[not_due]
    judged = np.flatnonzero(~skipped)
    if not judged.size:
        return ()
    read = _Judged(judged, times[judged], values[judged], codes[judged])
    cuts = _Cuts.of(read, max_gap_s, _edges(breaks, silent))
    excess = _excess(values, codes, bounds)[judged]
    worst = _worst_of_each(np.abs(read.codes), excess, cuts.starts)
    outside = np.flatnonzero(read.codes[cuts.starts])
    return tuple(_run(read, cuts, int(k), int(worst[k])) for k in outside)


@dataclass(frozen=True, slots=True)
class _Judged:
    """The judged readings alone; `index` is their place among all."""

    index: IndexArray
    times: TimeArray
    values: FloatArray
    codes: CodeArray


@dataclass(frozen=True, slots=True)
class _Cuts:
    """Stretches of judged readings on one side: from `starts[k]` up to `ends[k]`, and why they end.

    `broken` and `gap` tell what lies between each judged reading and the next; the last
    `broken`, what lies behind the last one.
    """

    starts: IndexArray
    ends: IndexArray
    broken: BoolArray
    gap: BoolArray

    @classmethod
    def of(cls, read: _Judged, max_gap_s: float, breaks: FloatArray) -> _Cuts:
        passed = np.searchsorted(breaks, read.times, side="right")
        broken = np.diff(passed, append=breaks.size) > 0
        gap = np.diff(read.times) > max_gap_s
        cut = np.flatnonzero(broken[:-1] | gap | (np.diff(np.sign(read.codes)) != 0)) + 1
        size = read.times.size
        return cls(np.append(0, cut), np.append(cut, size), broken, gap)

    def closing(self, k: int, codes: CodeArray) -> Closing:
        """What ends stretch `k`."""
        end = self.ends[k]
        if self.broken[end - 1]:
            return Closing.NOT_DUE
        if end == codes.size:
            return Closing.OPEN
        if self.gap[end - 1]:
            return Closing.GAP
        return Closing.OTHER_SIDE if codes[end] else Closing.BACK_INSIDE


def _edges(breaks: Sequence[Moment], silent: TimeArray | tuple[()]) -> FloatArray:
    """Instants at which a run ends because the point was not due, in order."""
    both = [float(_epoch(moment)) for moment in breaks] + [float(t) for t in silent]
    return np.sort(np.array(both, dtype=np.float64))


def _excess(values: FloatArray, codes: CodeArray, bounds: Bounds | None) -> FloatArray:
    """How far each value lies beyond the limit of its severity; without bounds, how far out."""
    high = codes > 0
    if bounds is None:
        return np.where(high, values, -values)
    action = np.abs(codes) == 2
    above = np.where(action, bounds.action_high, bounds.warning_high)
    below = np.where(action, bounds.action_low, bounds.warning_low)
    return np.where(high, values - above, below - values)


def _worst_of_each(severities: CodeArray, excess: FloatArray, starts: IndexArray) -> IndexArray:
    """Place of the first reading with the largest excess among those of the worst severity."""
    size = severities.size
    lengths = np.diff(np.append(starts, size))
    is_worst = severities == np.repeat(np.maximum.reduceat(severities, starts), lengths)
    # An answer has no number, so no excess: the first one with the worst severity stands.
    beyond = np.where(is_worst, np.where(np.isnan(excess), _NO_EXCESS, excess), -np.inf)
    is_worst &= beyond == np.repeat(np.maximum.reduceat(beyond, starts), lengths)
    places = np.where(is_worst, np.arange(size), size)
    return np.minimum.reduceat(places, starts)


def _run(read: _Judged, cuts: _Cuts, k: int, worst: int) -> Deviation:
    first, after = int(cuts.starts[k]), int(cuts.ends[k])
    closing = cuts.closing(k, read.codes)
    code = int(read.codes[worst])
    return Deviation(
        start=_instant(read.times[first]),
        last_out=_instant(read.times[after - 1]),
        end=_instant(read.times[after]) if closing is Closing.BACK_INSIDE else None,
        closing=closing,
        direction=Direction.HIGH if code > 0 else Direction.LOW,
        severity=Severity(abs(code)),
        worst_value=float(read.values[worst]),
        worst_at=_instant(read.times[worst]),
        count=after - first,
        first=int(read.index[first]),
        last=int(read.index[after - 1]),
        worst=int(read.index[worst]),
    )


def _epoch(moment: Moment | None) -> float:
    if moment is None:
        return float("inf")
    return moment.timestamp() if isinstance(moment, datetime) else float(moment)


def _instant(epoch: np.int64) -> datetime:
    return datetime.fromtimestamp(int(epoch), UTC)

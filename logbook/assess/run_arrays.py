"""Runs of many points found in one pass over arrays; `deviations` says what a run is.

Readings of all points lie end to end, so that the work is done a few times for all of them and
not for each; a run never goes on from one point to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np

from logbook.assess.history import IndexArray, TimeArray
from logbook.assess.judge import NOT_JUDGED_CODE
from logbook.assess.judge_arrays import BoolArray, Bounds, CodeArray, FloatArray

_NO_EXCESS = -1e300
_NEVER: TimeArray = np.empty(0, dtype=np.int64)
Moment = datetime | int
"""An aware instant, or epoch seconds."""


class Closing(StrEnum):
    """What ended a run."""

    BACK_INSIDE = "back inside"
    OTHER_SIDE = "other side"
    NOT_DUE = "not due"
    GAP = "gap"
    OPEN = "open"
    """Nothing yet: it reaches the last judged reading."""


CLOSINGS = tuple(Closing)
"""A run in arrays has the place of its closing in this."""
_BACK_INSIDE, _OTHER_SIDE, _NOT_DUE, _GAP, _OPEN = range(len(CLOSINGS))


@dataclass(frozen=True, slots=True)
class Stretch:
    """Readings of many points end to end, those of a point in order of time.

    Point number k has those at `edges[k]` up to `edges[k + 1]`; the others are as for
    `deviations`, shape (n,) over all points.
    """

    edges: IndexArray
    times: TimeArray
    values: FloatArray
    codes: CodeArray
    bounds: Bounds | None = None
    not_due: BoolArray | None = None

    @property
    def owners(self) -> IndexArray:
        """Number of the point of each reading, shape (n,)."""
        return np.repeat(np.arange(self.edges.size - 1), np.diff(self.edges))


def runs_of(
    read: Stretch, *, max_gap_s: FloatArray, breaks: Sequence[Sequence[Moment]] = ()
) -> Runs:
    """The runs of many points in one pass: those that `deviations` finds in each, in order.

    `max_gap_s` has one entry for each point, as has `breaks` where there are any. Raises
    ValueError where the times of a point fall.
    """
    owners = read.owners
    falls = np.diff(read.times) < 0
    if np.any(falls & (owners[1:] == owners[:-1])):
        raise ValueError("readings must be in order of time to find the runs in them")
    skipped = read.codes == NOT_JUDGED_CODE
    if read.not_due is not None:
        skipped |= read.not_due
    index = np.flatnonzero(~skipped)
    judged = _Judged(index, owners[index], read.times[index], read.values[index], read.codes[index])
    if not index.size:
        none = np.empty(0, dtype=np.intp)
        return Runs(judged, none, none, none, none, read.edges)
    passed, last_passed = _passed(read, judged, breaks)
    cuts = _Cuts.of(judged, max_gap_s, passed, last_passed)
    excess = _excess(read.values, read.codes, read.bounds)[index]
    worst = _worst_of_each(np.abs(judged.codes), excess, cuts.starts)
    outside = np.flatnonzero(judged.codes[cuts.starts])
    return Runs(
        judged,
        cuts.starts[outside],
        cuts.ends[outside],
        worst[outside],
        cuts.closings(judged)[outside],
        read.edges,
    )


@dataclass(frozen=True, slots=True)
class _Judged:
    """The judged readings alone; `index` is their place among all, `owners` whose they are."""

    index: IndexArray
    owners: IndexArray
    times: TimeArray
    values: FloatArray
    codes: CodeArray


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs of many points, still as arrays: most of them nobody wants to see.

    `first`, `after` and `worst` are places among the judged readings, `closing` of `CLOSINGS`.
    """

    judged: _Judged
    first: IndexArray
    after: IndexArray
    worst: IndexArray
    closing: IndexArray
    edges: IndexArray

    def __len__(self) -> int:
        return self.first.size

    @property
    def owners(self) -> IndexArray:
        """Number of the point of each run."""
        return self.judged.owners[self.first]

    @property
    def starts(self) -> TimeArray:
        """Time of the first reading outside (epoch s)."""
        return self.judged.times[self.first]

    @property
    def last_outs(self) -> TimeArray:
        """Time of the last reading outside (epoch s)."""
        return self.judged.times[self.after - 1]

    @property
    def ends(self) -> FloatArray:
        """Time of the first reading back inside (epoch s); NaN where there is none."""
        after = np.minimum(self.after, self.judged.times.size - 1)
        is_back = self.closing == _BACK_INSIDE
        return np.where(is_back, self.judged.times[after], np.nan)

    @property
    def are_open(self) -> BoolArray:
        """True where it reaches the last judged reading of its point."""
        return np.asarray(self.closing == _OPEN)

    @property
    def last_values(self) -> FloatArray:
        """The last value outside."""
        return self.judged.values[self.after - 1]

    @property
    def worst_read(self) -> IndexArray:
        """Place of the worst reading among all readings."""
        return self.judged.index[self.worst]

    def chosen(self, wanted: BoolArray) -> Runs:
        """Some of them."""
        kept = (self.first, self.after, self.worst, self.closing)
        first, after, worst, closing = (each[wanted] for each in kept)
        return Runs(self.judged, first, after, worst, closing, self.edges)


@dataclass(frozen=True, slots=True)
class _Cuts:
    """Stretches of judged readings on one side: from `starts[k]` up to `ends[k]`, and why they end.

    `broken`, `gap` and `is_last` tell what lies between each judged reading and the next of its
    point, or behind its last one.
    """

    starts: IndexArray
    ends: IndexArray
    broken: BoolArray
    gap: BoolArray
    is_last: BoolArray

    @classmethod
    def of(
        cls, read: _Judged, max_gap_s: FloatArray, passed: IndexArray, last_passed: IndexArray
    ) -> _Cuts:
        is_last = np.append(read.owners[1:] != read.owners[:-1], True)
        following = np.where(is_last, last_passed[read.owners], np.append(passed[1:], 0))
        broken = following > passed
        gap = np.append(np.diff(read.times), 0) > max_gap_s[read.owners]
        other_side = np.append(np.diff(np.sign(read.codes)) != 0, False)
        cut = np.flatnonzero((broken | gap | is_last | other_side)[:-1]) + 1
        return cls(np.append(0, cut), np.append(cut, read.times.size), broken, gap, is_last)

    def closings(self, read: _Judged) -> IndexArray:
        """What ends each stretch, as a place in `CLOSINGS`."""
        last = self.ends - 1
        after = read.codes[np.minimum(self.ends, read.codes.size - 1)]
        why = np.where(after != 0, _OTHER_SIDE, _BACK_INSIDE)
        why = np.where(self.gap[last], _GAP, why)
        why = np.where(self.is_last[last], _OPEN, why)
        return np.where(self.broken[last], _NOT_DUE, why)


def _passed(
    read: Stretch, judged: _Judged, breaks: Sequence[Sequence[Moment]]
) -> tuple[IndexArray, IndexArray]:
    """How many breaks of its point lie at or before each judged reading, and how many there are."""
    count = read.edges.size - 1
    passed = np.zeros(judged.times.size, dtype=np.intp)
    total = np.zeros(count, dtype=np.intp)
    bounds = np.searchsorted(judged.owners, np.arange(count + 1))
    for k in range(count):
        silent = _silent(read, k)
        given = breaks[k] if breaks else ()
        if not silent.size and not given:
            continue
        stops = _edges(given, silent)
        low, high = bounds[k], bounds[k + 1]
        passed[low:high] = np.searchsorted(stops, judged.times[low:high], side="right")
        total[k] = stops.size
    return passed, total


def _silent(read: Stretch, k: int) -> TimeArray:
    """Times of the readings of point k at which it was not due."""
    if read.not_due is None:
        return _NEVER
    own = slice(read.edges[k], read.edges[k + 1])
    return read.times[own][read.not_due[own]]


def _edges(breaks: Sequence[Moment], silent: TimeArray) -> FloatArray:
    """Instants at which a run ends because the point was not due, in order."""
    given = np.array([epoch(moment) for moment in breaks], dtype=np.float64)
    return np.sort(np.concatenate((given, silent)))


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


def epoch(moment: Moment | None) -> float:
    """Epoch seconds; infinity for None."""
    if moment is None:
        return float("inf")
    return moment.timestamp() if isinstance(moment, datetime) else float(moment)

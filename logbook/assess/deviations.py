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

import numpy as np

from logbook.assess.history import TimeArray
from logbook.assess.judge import Direction, Severity
from logbook.assess.judge_arrays import BoolArray, Bounds, CodeArray, FloatArray
from logbook.assess.run_arrays import CLOSINGS, Closing, Moment, Runs, Stretch, epoch, runs_of

_BACK_INSIDE = CLOSINGS.index(Closing.BACK_INSIDE)
_SEVERITIES = tuple(Severity)
Interval = tuple[Moment, Moment | None]
"""From the first on, up to but without the second; None: it lasts."""


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
    starts = np.sort(np.array([epoch(a) for a, _ in down_intervals], dtype=np.float64))
    ends = np.sort(np.array([epoch(b) for _, b in down_intervals], dtype=np.float64))
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
    edges = np.array([0, times.size], dtype=np.intp)
    found = runs_of(
        Stretch(edges, times, values, codes, bounds, not_due),
        max_gap_s=np.array([max_gap_s]),
        breaks=[breaks],
    )
    return tuple(told(found))


def told(runs: Runs) -> list[Deviation]:
    """Runs as records, in order; `first`, `last` and `worst` index the readings of their point."""
    read, offset, at = runs.judged, runs.edges[runs.owners], _Instants()
    rows = zip(
        runs.starts.tolist(),
        runs.last_outs.tolist(),
        runs.ends.tolist(),
        runs.closing.tolist(),
        read.codes[runs.worst].tolist(),
        read.values[runs.worst].tolist(),
        read.times[runs.worst].tolist(),
        (runs.after - runs.first).tolist(),
        (read.index[runs.first] - offset).tolist(),
        (read.index[runs.after - 1] - offset).tolist(),
        (runs.worst_read - offset).tolist(),
        strict=True,
    )
    return [
        Deviation(
            start=at[start],
            last_out=at[last_out],
            end=at[int(end)] if closing == _BACK_INSIDE else None,
            closing=CLOSINGS[closing],
            direction=Direction.HIGH if code > 0 else Direction.LOW,
            severity=_SEVERITIES[abs(code)],
            worst_value=value,
            worst_at=at[worst_at],
            count=count,
            first=first,
            last=last,
            worst=worst,
        )
        for start, last_out, end, closing, code, value, worst_at, count, first, last, worst in rows
    ]


class _Instants(dict[int, datetime]):
    """Epoch seconds to instants: those of a round are all the same."""

    def __missing__(self, key: int) -> datetime:
        found = self[key] = datetime.fromtimestamp(key, UTC)
        return found

"""How much a counter counted in a period, how surely, and in which parts it does not tell.

The count at the ends of a period is shared by time between the readings around them. A missing
reading costs nothing by itself: the counter goes on counting, and the next reading tells. What is
not known (see `counter_track`) is left out of the total and stated as a gap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.process.counter_track import (
    REASONS,
    SECONDS_PER_HOUR,
    BoolArray,
    Change,
    FloatArray,
    Kind,
    SetAside,
    Track,
    track,
)
from logbook.process.quantity import Quantity

__all__ = ["Change", "CounterTotal", "CounterTotals", "Gap", "total", "totals", "track"]

NO_READINGS = "no reading of the counter tells"
FEWEST_COVERED = 0.9
"""Share of a period that must be counted before its total is given as a figure of the period."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Part of a period in which the counter does not tell."""

    start_s: float
    end_s: float
    why: str

    @property
    def hours(self) -> float:
        """Length in hours."""
        return (self.end_s - self.start_s) / SECONDS_PER_HOUR


@dataclass(frozen=True, slots=True)
class CounterTotal:
    """What a counter counted in one period."""

    total: float | None
    """Count of what is known, in the counter's unit; None where nothing is."""
    sigma: float | None
    """Standard uncertainty of `total`; None where the meter's is not known."""
    start_s: float
    end_s: float
    covered_s: float
    """Seconds of the period in which the count is known."""
    gaps: tuple[Gap, ...] = ()
    """The rest of the period, in order, each with the reason."""
    doubtful: tuple[Gap, ...] = ()
    """Those of the gaps that a reading contradicts; the others have no reading."""
    set_aside: tuple[SetAside, ...] = ()
    """Readings in the period that cannot be and were left out."""
    longest_s: float = 0.0
    """Longest known stretch without a reading, of those that reach into the period, seconds."""
    rollovers: int = 0
    resets: int = 0
    replaced: int = 0

    @property
    def covered_share(self) -> float:
        """Covered part of the period, 0 to 1; 0 for a period without length."""
        length = self.end_s - self.start_s
        return self.covered_s / length if length > 0 else 0.0

    @property
    def is_complete(self) -> bool:
        """True where all of the period is counted, to a second."""
        return self.end_s > self.start_s and self.covered_s >= self.end_s - self.start_s - 1.0

    @property
    def per_hour(self) -> float | None:
        """Count per hour over the covered time; None where there is none."""
        if self.total is None or self.covered_s <= 0:
            return None
        return self.total / self.covered_s * SECONDS_PER_HOUR

    def quantity(self, name: str, unit: str, *, fewest_covered: float = FEWEST_COVERED) -> Quantity:
        """Return the total as a figure, or none where less than `fewest_covered` is counted.

        Where something is left out the note says how much; nothing is scaled up.
        """
        note = "; ".join(self._notes())
        if self.total is None or self.covered_share < fewest_covered:
            return Quantity(name, None, unit, missing=(name,), note=note or NO_READINGS)
        return Quantity(name, self.total, unit, self.sigma, inputs=(name,), note=note)

    def _notes(self) -> list[str]:
        length = self.end_s - self.start_s
        notes = []
        if not self.is_complete:
            hours = self.covered_s / SECONDS_PER_HOUR
            notes.append(f"counted in {hours:.1f} of {length / SECONDS_PER_HOUR:.1f} h")
        if self.longest_s > length / 2.0:
            hours = self.longest_s / SECONDS_PER_HOUR
            notes.append(f"shared by time where there is no reading for {hours:.1f} h")
        return notes


@dataclass(frozen=True, slots=True)
class CounterTotals:
    """What a counter counted in each of many periods that follow one another, shape (n,)."""

    edges_s: FloatArray
    """Where the periods begin and end, shape (n + 1,)."""
    total: FloatArray
    """Count of what is known; NaN where nothing is."""
    sigma: FloatArray
    """Standard uncertainty; NaN where the meter's is not known."""
    covered_s: FloatArray
    """Seconds of each period in which the count is known."""

    @property
    def covered_share(self) -> FloatArray:
        """Covered part of each period, 0 to 1."""
        return self.covered_s / np.diff(self.edges_s)

    @property
    def is_complete(self) -> BoolArray:
        """True where all of a period is counted, to a second."""
        return np.asarray(self.covered_s >= np.diff(self.edges_s) - 1.0)

    @property
    def per_hour(self) -> FloatArray:
        """Count per hour over the covered time; NaN where there is none."""
        covered = np.where(self.covered_s > 0, self.covered_s, np.nan)
        return self.total / covered * SECONDS_PER_HOUR


def total(
    times_s: npt.ArrayLike,
    counts: npt.ArrayLike,
    *,
    rollover: float | None = None,
    resets: Iterable[Change | float] = (),
    replaced: Iterable[Change] = (),
    start_s: float | None = None,
    end_s: float | None = None,
    max_rate: float | None = None,
    resolution: float = 0.0,
    meter_percent: float | None = None,
    time_sigma_s: float = 0.0,
) -> CounterTotal:
    """Return what a counter counted from `start_s` to `end_s` (epoch seconds).

    Without them, from the first to the last reading. The first seven are those of `track`.
    `resolution` is the smallest step that the counter shows, `meter_percent` the meter's standard
    uncertainty in percent of what it counts (None: not known, and so is the result's),
    `time_sigma_s` how far the instant of a reading is off. See `total_of` for how they add up.

    >>> total([0, 3600, 7200], [999_950, 999_990, 30], rollover=1_000_000).total
    80.0
    """
    found = track(
        times_s, counts, rollover=rollover, resets=resets, replaced=replaced, max_rate=max_rate
    )
    edges = found.edges_s
    first = start_s if start_s is not None else float(edges[0]) if edges.size else 0.0
    last = end_s if end_s is not None else float(edges[-1]) if edges.size else first
    return total_of(
        found,
        first,
        last,
        resolution=resolution,
        meter_percent=meter_percent,
        time_sigma_s=time_sigma_s,
    )


def total_of(
    found: Track,
    start_s: float,
    end_s: float,
    *,
    resolution: float = 0.0,
    meter_percent: float | None = None,
    time_sigma_s: float = 0.0,
) -> CounterTotal:
    """Return what a track counted in one period, epoch seconds.

    Standard uncertainty, in squares: the resolution at both ends, each uniform over one step
    (resolution / √12; JCGM 100:2008, F.2.2.1), the instants of the readings at both ends
    (mean rate × `time_sigma_s`), and `meter_percent` of the total. Each unbroken run of known
    stretches has two ends of its own.
    """
    if end_s < start_s:
        msg = f"the period ends ({end_s:g} s) before it begins ({start_s:g} s)"
        raise ValueError(msg)
    one = totals_of(
        found,
        [start_s, end_s],
        resolution=resolution,
        meter_percent=meter_percent,
        time_sigma_s=time_sigma_s,
    )
    gaps = _gaps(found, start_s, end_s)
    inside = (found.edges_s[:-1] < end_s) & (found.edges_s[1:] > start_s)
    sigma = float(one.sigma[0])
    return CounterTotal(
        total=None if math.isnan(one.total[0]) else float(one.total[0]),
        sigma=None if math.isnan(sigma) else sigma,
        start_s=start_s,
        end_s=end_s,
        covered_s=float(one.covered_s[0]),
        gaps=gaps,
        doubtful=tuple(gap for gap in gaps if gap.why != NO_READINGS),
        set_aside=tuple(slip for slip in found.set_aside if start_s <= slip.at_s <= end_s),
        longest_s=_longest(found, inside),
        rollovers=int(np.count_nonzero(inside & (found.kind == Kind.ROLLED_OVER))),
        resets=_between(found.resets_s, start_s, end_s),
        replaced=_between(found.replaced_s, start_s, end_s),
    )


def totals(
    times_s: npt.ArrayLike,
    counts: npt.ArrayLike,
    edges_s: npt.ArrayLike,
    *,
    rollover: float | None = None,
    resets: Iterable[Change | float] = (),
    replaced: Iterable[Change] = (),
    max_rate: float | None = None,
    resolution: float = 0.0,
    meter_percent: float | None = None,
    time_sigma_s: float = 0.0,
) -> CounterTotals:
    """Return what a counter counted in periods that follow one another, in one pass.

    `edges_s` are epoch seconds in rising order, shape (n + 1,) for n periods; the rest as `total`.

    >>> totals([0, 7200, 14400], [10, 30, 70], [0, 3600, 7200, 14400]).total.tolist()
    [10.0, 10.0, 40.0]
    """
    found = track(
        times_s, counts, rollover=rollover, resets=resets, replaced=replaced, max_rate=max_rate
    )
    return totals_of(
        found,
        edges_s,
        resolution=resolution,
        meter_percent=meter_percent,
        time_sigma_s=time_sigma_s,
    )


def totals_of(
    found: Track,
    edges_s: npt.ArrayLike,
    *,
    resolution: float = 0.0,
    meter_percent: float | None = None,
    time_sigma_s: float = 0.0,
) -> CounterTotals:
    """Return what a track counted in periods that follow one another; uncertainty as `total_of`."""
    edges = np.asarray(edges_s, dtype=np.float64)
    if edges.ndim != 1 or edges.size < 2 or np.any(np.diff(edges) < 0):
        msg = "the edges of periods must be at least two instants in rising order"
        raise ValueError(msg)
    known = np.isfinite(found.increase)
    seconds = np.where(known, np.diff(found.edges_s), 0.0)
    covered = np.diff(_running(found.edges_s, seconds, edges))
    counted = np.diff(_running(found.edges_s, np.where(known, found.increase, 0.0), edges))
    has_any = covered > 0
    sigma = np.full(covered.shape, np.nan)
    if meter_percent is not None:
        rate = np.divide(counted, covered, out=np.zeros_like(counted), where=has_any)
        at_end = resolution**2 / 12.0 + (rate * time_sigma_s) ** 2
        runs = _runs(found, known, edges)
        sigma = np.sqrt(2.0 * runs * at_end + (meter_percent / 100.0 * counted) ** 2)
    return CounterTotals(
        edges_s=edges,
        total=np.where(has_any, counted, np.nan),
        sigma=np.where(has_any, sigma, np.nan),
        covered_s=covered,
    )


def _running(nodes: FloatArray, steps: FloatArray, at: FloatArray) -> FloatArray:
    """Sum of the steps up to instants, straight between the nodes and level beyond them."""
    if nodes.size == 0:
        return np.zeros(at.shape)
    summed = np.concatenate(([0.0], np.cumsum(steps)))
    found: FloatArray = np.interp(at, nodes, summed)
    return found


def _runs(found: Track, known: BoolArray, edges: FloatArray) -> FloatArray:
    """Unbroken runs of known stretches that each period touches, shape (n,)."""
    if not known.any():
        return np.zeros(edges.size - 1)
    begins = np.flatnonzero(known & ~np.concatenate(([False], known[:-1])))
    ends = np.flatnonzero(known & ~np.concatenate((known[1:], [False])))
    first = np.searchsorted(found.edges_s[ends + 1], edges[:-1], side="right")
    last = np.searchsorted(found.edges_s[begins], edges[1:], side="left")
    return np.asarray(np.maximum(last - first, 0), dtype=np.float64)


def _gaps(found: Track, start_s: float, end_s: float) -> tuple[Gap, ...]:
    """Where in the period the track does not tell, in order; those of one reason joined."""
    edges = found.edges_s
    begin, stop = (edges[0], edges[-1]) if edges.size else (end_s, end_s)
    pieces = [(start_s, min(float(begin), end_s), NO_READINGS)]
    for k in np.flatnonzero(np.isnan(found.increase)):
        why = REASONS[Kind(int(found.kind[k]))]
        pieces.append((max(float(edges[k]), start_s), min(float(edges[k + 1]), end_s), why))
    pieces.append((max(float(stop), start_s), end_s, NO_READINGS))
    return _joined([Gap(*piece) for piece in pieces if piece[0] < piece[1]])


def _joined(gaps: list[Gap]) -> tuple[Gap, ...]:
    found: list[Gap] = []
    for gap in gaps:
        if found and found[-1].end_s == gap.start_s and found[-1].why == gap.why:
            found[-1] = Gap(found[-1].start_s, gap.end_s, gap.why)
        else:
            found.append(gap)
    return tuple(found)


def _longest(found: Track, inside: BoolArray) -> float:
    known = inside & np.isfinite(found.increase)
    return float(np.max(np.diff(found.edges_s), initial=0.0, where=known))


def _between(instants: FloatArray, start_s: float, end_s: float) -> int:
    return int(np.count_nonzero((instants >= start_s) & (instants < end_s)))

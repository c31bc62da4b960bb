"""What a counter counted from one reading to the next: rollovers, resets, replaced meters, slips.

A track is the line of stretches between readings, each with its increase or with the reason why
it is not known. `counter` adds such stretches up over periods.

What is not known is not guessed. A fall is a rollover only where that is the likelier story: with
`max_rate` if the meter can have counted so much in the time, without it if the increase is at most
half the counter's range (the rule of `logbook.assess.computed.counter_increase`). Any other fall is
a stretch of unknown count, until a reset or a replaced meter is named for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int8]
BoolArray = npt.NDArray[np.bool_]

SECONDS_PER_HOUR = 3600.0


class Kind(IntEnum):
    """What is known of a stretch between two readings."""

    COUNTED = 0
    ROLLED_OVER = 1
    """Counted, with the counter going round once."""
    FELL = 2
    """The count fell and nothing explains it."""
    TOO_FAST = 3
    """More than the meter can count in that time."""
    MAY_HAVE_GONE_ROUND = 4
    """So long between readings that the counter may have gone round unseen."""
    BEFORE_CHANGE = 5
    """Up to a reset or a replaced meter whose last count was not written down."""


REASONS = {
    Kind.FELL: "the count fell and neither a rollover nor a reset explains it",
    Kind.TOO_FAST: "the count rose faster than the meter can count",
    Kind.MAY_HAVE_GONE_ROUND: "so long without a reading that the counter may have gone round",
    Kind.BEFORE_CHANGE: "the last count before the reset or the new meter is not known",
}
"""Why a stretch has no count, in words."""


@dataclass(frozen=True, slots=True)
class Change:
    """A counter set back, or another meter in its place."""

    at_s: float
    """Epoch seconds."""
    last: float | None = None
    """What the counter showed just before; None: not written down."""
    first: float = 0.0
    """What it showed just after."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """A reading that cannot be, between two that fit together without it."""

    at_s: float
    count: float


@dataclass(frozen=True, slots=True)
class Track:
    """A counter's stretches in order of time; nothing lies between one and the next."""

    edges_s: FloatArray
    """Epoch seconds at which the stretches begin and end, shape (n + 1,)."""
    increase: FloatArray
    """Count of each stretch in the counter's unit, shape (n,); NaN where it is not known."""
    kind: IntArray
    """`Kind` of each stretch, shape (n,)."""
    resets_s: FloatArray
    """When the counter was set back, epoch seconds."""
    replaced_s: FloatArray
    """When another meter came in its place, epoch seconds."""
    set_aside: tuple[SetAside, ...] = ()
    """Readings that were left out."""

    @property
    def hours(self) -> FloatArray:
        """Length of each stretch in hours, shape (n,)."""
        return np.diff(self.edges_s) / SECONDS_PER_HOUR


def track(
    times_s: npt.ArrayLike,
    counts: npt.ArrayLike,
    *,
    rollover: float | None = None,
    resets: Iterable[Change | float] = (),
    replaced: Iterable[Change] = (),
    max_rate: float | None = None,
) -> Track:
    """Return what the counter counted between its readings.

    `times_s` are epoch seconds in rising order, `counts` what was read then, NaN where there is
    no reading; shape (n,) each. `rollover` is the count at which it starts again from 0. `resets`
    are instants, or `Change`s where the last count before is known; `replaced` are `Change`s.
    A reading at the instant of a change was taken just before it, unless it is what showed after.
    `max_rate` is the most that the meter can count in an hour: with it, a stretch that is faster
    is not known, and a single reading that fits neither of its neighbours, while they fit one
    another, is set aside.

    Raises ValueError where the shapes differ or the times do not rise.
    """
    times, values = _readings(times_s, counts)
    set_back = [one if isinstance(one, Change) else Change(float(one)) for one in resets]
    other = list(replaced)
    nodes = _Nodes(times, values, values, np.ones(times.size, dtype=bool))
    for change in sorted([*set_back, *other], key=_instant):
        nodes = nodes.with_change(change)
    rule = _Rule(rollover, max_rate)
    nodes, aside = _without_slips(nodes, rule)
    increase, kind = rule.judge(nodes.arriving[1:], nodes.leaving[:-1], np.diff(nodes.times))
    return Track(
        edges_s=nodes.times,
        increase=increase,
        kind=kind,
        resets_s=np.array(sorted(one.at_s for one in set_back), dtype=np.float64),
        replaced_s=np.array(sorted(one.at_s for one in other), dtype=np.float64),
        set_aside=aside,
    )


def _instant(change: Change) -> float:
    return change.at_s


def _readings(times_s: npt.ArrayLike, counts: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    times = np.asarray(times_s, dtype=np.float64)
    values = np.asarray(counts, dtype=np.float64)
    if times.ndim != 1 or times.shape != values.shape:
        msg = f"times and counts must be two equally long rows, not {times.shape}, {values.shape}"
        raise ValueError(msg)
    held = np.isfinite(values)
    times, values = times[held], values[held]
    if not np.all(np.diff(times) > 0):
        msg = "the times of a counter's readings must rise: sort them, one reading for an instant"
        raise ValueError(msg)
    return times, values


@dataclass(frozen=True, slots=True)
class _Nodes:
    """Instants at which the count is known, as it stood just before and just after."""

    times: FloatArray
    arriving: FloatArray
    leaving: FloatArray
    is_reading: BoolArray

    def with_change(self, change: Change) -> _Nodes:
        """Put a reset or a replacement in its place among the readings."""
        place = int(np.searchsorted(self.times, change.at_s, side="right"))
        last = math.nan if change.last is None else change.last
        if place and self.times[place - 1] == change.at_s and self.is_reading[place - 1]:
            there = float(self.arriving[place - 1])
            if there == change.first and there != last:
                place -= 1
            elif change.last is None:
                last = there
        return _Nodes(
            np.insert(self.times, place, change.at_s),
            np.insert(self.arriving, place, last),
            np.insert(self.leaving, place, change.first),
            np.insert(self.is_reading, place, values=False),
        )

    def where(self, keep: BoolArray) -> _Nodes:
        """Leave some out."""
        return _Nodes(
            self.times[keep], self.arriving[keep], self.leaving[keep], self.is_reading[keep]
        )


@dataclass(frozen=True, slots=True)
class _Rule:
    """How an increase is told from a rollover and from what cannot be."""

    rollover: float | None
    max_rate: float | None

    def judge(
        self, after: FloatArray, before: FloatArray, seconds: FloatArray
    ) -> tuple[FloatArray, IntArray]:
        """Increase and kind of stretches, shape (n,) each."""
        step = after - before
        fell = step < 0
        turn = self._turns(step, after, before) & fell
        increase = np.where(turn, step + (self.rollover or 0.0), step)
        kind = np.where(turn, Kind.ROLLED_OVER, Kind.COUNTED)
        kind = np.where(fell & ~turn, Kind.FELL, kind)
        if self.max_rate is not None:
            most = self.max_rate * seconds / SECONDS_PER_HOUR
            # A rollover too fast to be one is a fall: that is what a reader sees.
            fast = np.where(turn, Kind.FELL, Kind.TOO_FAST)
            kind = np.where((kind <= Kind.ROLLED_OVER) & (increase > most), fast, kind)
            if self.rollover is not None:
                # Once more round would end at the same count, and there was time for it.
                twice = (increase + self.rollover <= most) & (kind <= Kind.ROLLED_OVER)
                kind = np.where(twice, Kind.MAY_HAVE_GONE_ROUND, kind)
        kind = np.where(np.isnan(step), Kind.BEFORE_CHANGE, kind)
        return np.where(kind <= Kind.ROLLED_OVER, increase, np.nan), kind.astype(np.int8)

    def _turns(self, step: FloatArray, after: FloatArray, before: FloatArray) -> BoolArray:
        if self.rollover is None:
            return np.zeros(step.shape, dtype=bool)
        in_range = (after >= 0) & (before < self.rollover)
        if self.max_rate is not None:
            return np.asarray(in_range)
        return np.asarray(in_range & (step + self.rollover <= self.rollover / 2))


def _without_slips(nodes: _Nodes, rule: _Rule) -> tuple[_Nodes, tuple[SetAside, ...]]:
    """Leave out single readings that cannot be while their neighbours fit one another.

    Those that fit neither neighbour go first: with them gone, a good reading beside them that
    seemed not to fit does.
    """
    aside: list[SetAside] = []
    if rule.max_rate is not None:
        for fewest_bad in (2, 1):
            keep = ~_slips(nodes, rule, fewest_bad)
            gone = zip(nodes.times[~keep], nodes.arriving[~keep], strict=True)
            aside += [SetAside(float(at), float(count)) for at, count in gone]
            nodes = nodes.where(keep)
    return nodes, tuple(sorted(aside, key=_moment))


def _slips(nodes: _Nodes, rule: _Rule, fewest_bad: int) -> BoolArray:
    """Readings of which so many sides cannot be, never two side by side, shape (n,)."""
    found = np.zeros(nodes.times.size, dtype=bool)
    if nodes.times.size < 3:
        return found
    _, kind = rule.judge(nodes.arriving[1:], nodes.leaving[:-1], np.diff(nodes.times))
    bad = (kind == Kind.FELL) | (kind == Kind.TOO_FAST)
    seconds = nodes.times[2:] - nodes.times[:-2]
    _, skipping = rule.judge(nodes.arriving[2:], nodes.leaving[:-2], seconds)
    sides = bad[:-1].astype(np.int8) + bad[1:]
    inner = (sides >= fewest_bad) & (skipping <= Kind.ROLLED_OVER) & nodes.is_reading[1:-1]
    for k in np.flatnonzero(inner) + 1:
        found[k] = not found[k - 1]
    return found


def _moment(slip: SetAside) -> float:
    return slip.at_s

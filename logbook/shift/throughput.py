"""The tonnes a shift has put through, by the counter that weighs the beans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from logbook.assess.computed import counter_increase
from logbook.plant.model import Computation, Plant, Point, PointKind
from logbook.record import Reader, Reading

LOOK_BACK = timedelta(days=2)
"""How far before a shift a counter reading is sought to start from."""
LOOK_ON = timedelta(hours=3)
"""How far after a shift a reading may lie that tells how it ended."""
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Count:
    """What went through between two readings of the counter that follow one another."""

    start: datetime
    end: datetime
    tonnes: float | None
    """None where the counter fell and no rollover explains it."""

    @property
    def length(self) -> timedelta:
        """Time between the two readings."""
        return self.end - self.start

    def part(self, start: datetime, end: datetime) -> float | None:
        """Tonnes between two instants, taken as even between the readings; None: not known."""
        overlap = min(self.end, end) - max(self.start, start)
        if overlap <= timedelta(0):
            return 0.0
        return None if self.tonnes is None else self.tonnes * (overlap / self.length)


@dataclass(frozen=True, slots=True)
class Throughput:
    """What the bean counter says of a shift."""

    counter: Point
    counts: tuple[Count, ...]
    """Cut to nothing: the first may begin before the shift, the last end after it."""
    start: datetime | None
    """From when to when in the shift the counter tells; None where it does not at all."""
    end: datetime | None
    tonnes: float | None
    """Sum of what is known between `start` and `end`."""
    hours: float
    """Hours in which it is known, standing time included."""
    rate: float | None
    """Tonnes per hour over these."""
    nominal: float | None
    """Target of the rate, t/h, where the plant has one."""
    unknown: tuple[Count, ...] = ()
    """Stretches that are left out, because the counter fell."""

    def known_in(self, start: datetime, end: datetime) -> float | None:
        """Tonnes between two instants; None where part of it is not known."""
        parts = [count.part(start, end) for count in self.counts]
        if not self.counts or start < self.counts[0].start or end > self.counts[-1].end:
            return None
        return None if None in parts else sum(part for part in parts if part is not None)


def bean_counter(plant: Plant) -> Point | None:
    """The counter that most "per tonne crushed" points divide by.

    Else the first one that a rate is worked out from; None where the plant has neither.
    """
    counters = {point.key: point for point in plant.points if point.kind is PointKind.COUNTER}
    formulas = [point.formula for point in plant.points if point.formula is not None]
    per_tonne = [f.inputs[1] for f in formulas if f.computation is Computation.PER_TONNE]
    rates = [f.inputs[0] for f in formulas if f.computation is Computation.RATE]
    for keys in (per_tonne, rates):
        ranked = [key for key, _ in Counter(keys).most_common() if key in counters]
        if ranked:
            return counters[ranked[0]]
    return None


def nominal_rate(plant: Plant, counter: Point, mode: str) -> float | None:
    """Target of the rate that is worked out from the counter; None where it has none."""
    for point in plant.points:
        formula = point.formula
        if formula is None or formula.computation is not Computation.RATE:
            continue
        if formula.inputs[0] == counter.key:
            return point.limits_in(mode).target
    return None


def throughput_of(
    book: Reader, plant: Plant, start: datetime, end: datetime, now: datetime, mode: str
) -> Throughput | None:
    """What went through in [start, end), from readings up to `now`; None without a counter.

    The tonnes at the ends of the shift are shared by time between the readings around them.
    """
    counter = bean_counter(plant)
    if counter is None:
        return None
    last = min(end + LOOK_ON, now) + timedelta(seconds=1)
    readings = book.readings([counter.key], start - LOOK_BACK, last)
    counts = _counts(counter, readings, start, end)
    return _summed(counter, counts, start, end, nominal_rate(plant, counter, mode))


def _counts(
    counter: Point, readings: Sequence[Reading], start: datetime, end: datetime
) -> tuple[Count, ...]:
    held = [(r.taken_at, r.value) for r in readings if r.value is not None]
    return tuple(
        Count(a, b, counter_increase(before, after, counter.rollover))
        for (a, before), (b, after) in pairwise(held)
        if b > start and a < end
    )


def _summed(
    counter: Point,
    counts: tuple[Count, ...],
    start: datetime,
    end: datetime,
    nominal: float | None,
) -> Throughput:
    known = [count for count in counts if count.tonnes is not None]
    tonnes = sum(count.part(start, end) or 0.0 for count in known)
    spans = [min(count.end, end) - max(count.start, start) for count in known]
    hours = sum(spans, timedelta(0)) / HOUR
    return Throughput(
        counter,
        counts,
        max(counts[0].start, start) if counts else None,
        min(counts[-1].end, end) if counts else None,
        tonnes if known else None,
        hours,
        tonnes / hours if hours else None,
        nominal,
        tuple(count for count in counts if count.tonnes is None),
    )

"""Deviations of a plant's points over a stretch of time, out of the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from logbook.assess.limits import (
    Deviation,
    Interval,
    LimitSet,
    Runs,
    Stretch,
    not_due_mask,
    runs_of,
    told,
)
from logbook.plant.model import (
    Computation,
    Frequency,
    Limits,
    Often,
    Plant,
    Point,
)
from logbook.record import Reader
from logbook.shift.duty import Duty
from logbook.shift.judged_lines import JudgedLines
from logbook.shift.trend_load import Values, limit_sets, load_end_to_end

LOOK_BACK = (timedelta(days=7), timedelta(days=28), timedelta(days=112), timedelta(days=448))
"""How far before a shift readings are looked at: farther only for what was out all the time."""
QUOTIENTS = frozenset({Computation.RATE, Computation.PER_TONNE})
"""Need the reading before, however long ago: they are looked at a week back at once."""
GAP_FACTOR = 2.5
"""A deviation is unbroken over one round that was missed and one that was late."""


@dataclass(frozen=True, slots=True)
class PointRun:
    """A deviation of a point, its last value in the run and the limits then in force."""

    point: Point
    run: Deviation
    last_value: float
    limits: Limits


def max_gap(frequency: Frequency, round_hours: float) -> timedelta:
    """The longest time between two readings over which a deviation is taken as unbroken."""
    match frequency.often:
        case Often.ROUND:
            hours = round_hours
        case Often.HOURS:
            hours = float(frequency.hours)
        case Often.SHIFT:
            hours = 12.0
        case Often.DAY | Often.SAMPLE:
            hours = 24.0
    return timedelta(hours=hours * GAP_FACTOR)


def point_gap(point: Point, plant: Plant) -> timedelta:
    """`max_gap` of a point; a computed one has that of its rarest input."""
    return _gap(point, plant.settings.round_hours, {p.key: p for p in plant.points})


def _gap(point: Point, round_hours: float, by_key: Mapping[str, Point]) -> timedelta:
    if point.formula is None:
        return max_gap(point.frequency, round_hours)
    return max(_gap(by_key[name], round_hours, by_key) for name in point.formula.inputs)


def runs_between(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> list[PointRun]:
    """Deviations that were open at some time in [start, end), ordered by when they began.

    Readings up to `end` count. One that nobody has read again is open as long as the next
    reading would still continue it (`max_gap`). Raises BookError.
    """
    numeric = [point for point in points if point.kind.is_numeric]
    sets = limit_sets(book, [point.key for point in numeric])
    duty = Duty.of(book, plant, start - LOOK_BACK[0], end)
    found: list[PointRun] = []
    pending: list[Point] = []
    # Most points were inside all the time: that shows from the last readings that could still
    # be part of a deviation open in the span.
    for back, near in _by_reach(numeric, plant).items():
        looked = near if back else []
        runs = _runs_since(book, plant, looked, start, end, start - back, sets, duty)
        cut = {r.point.key for r in runs if r.run.first == 0}
        found += [r for r in runs if r.point.key not in cut]
        pending += [point for point in near if point.key in cut or not back]
    for back in LOOK_BACK if pending else ():
        if back is not LOOK_BACK[0]:
            duty = Duty.of(book, plant, start - back, end)
        runs = _runs_since(book, plant, pending, start, end, start - back, sets, duty)
        # What begins with the first reading looked at may have begun before it.
        cut = {r.point.key for r in runs if r.run.first == 0 and back is not LOOK_BACK[-1]}
        found += [r for r in runs if r.point.key not in cut]
        pending = [point for point in pending if point.key in cut]
        if not pending:
            break
    return sorted(found, key=lambda r: (r.run.start, r.point.key))


def _by_reach(points: Sequence[Point], plant: Plant) -> dict[timedelta, list[Point]]:
    """Points by how far before a span a reading may lie that is out in it; 0: not known."""
    by_key = {point.key: point for point in plant.points}
    found: dict[timedelta, list[Point]] = {}
    for point in points:
        reach = timedelta(0)
        if not _is_quotient(point, by_key):
            reach = _gap(point, plant.settings.round_hours, by_key)
        found.setdefault(reach, []).append(point)
    return found


def _is_quotient(point: Point, by_key: Mapping[str, Point]) -> bool:
    """True where a computed point follows from counters, directly or through another."""
    formula = point.formula
    if formula is None:
        return False
    below = (_is_quotient(by_key[name], by_key) for name in formula.inputs)
    return formula.computation in QUOTIENTS or any(below)


def _runs_since(
    book: Reader,
    plant: Plant,
    points: Sequence[Point],
    start: datetime,
    end: datetime,
    since: datetime,
    sets: Mapping[str, Sequence[LimitSet]],
    duty: Duty,
) -> list[PointRun]:
    """Deviations open in [start, end), from readings taken since `since`."""
    if not points:
        return []
    lines = load_end_to_end(book, plant, points, since, end)
    changes = list(zip(duty.mode_from, duty.modes, strict=True))
    judged = JudgedLines.of(lines, [sets[point.key] for point in points], changes)
    return _runs(points, judged, duty, _gaps(points, plant), start)


def _gaps(points: Sequence[Point], plant: Plant) -> Values:
    """`point_gap` of each, in seconds."""
    by_key = {point.key: point for point in plant.points}
    hours = plant.settings.round_hours
    return np.array([_gap(point, hours, by_key).total_seconds() for point in points])


def _runs(
    points: Sequence[Point], judged: JudgedLines, duty: Duty, gaps: Values, start: datetime
) -> list[PointRun]:
    """Deviations in judged lines that were open at `start` or later."""
    off = [duty.off_times(point) for point in points] if duty.knows_off_times else []
    read = Stretch(
        judged.edges,
        judged.times,
        judged.values,
        judged.codes,
        judged.bounds,
        _not_due(judged, off) if off else None,
    )
    found = runs_of(read, max_gap_s=gaps, breaks=[[at for at, _ in spans] for spans in off])
    late = found.chosen(_are_open_after(found, start.timestamp(), gaps))
    owners, last_values = late.owners.tolist(), late.last_values.tolist()
    limits = judged.limits_at(late.worst_read)
    return [
        PointRun(points[owner], run, value, held)
        for owner, run, value, held in zip(owners, told(late), last_values, limits, strict=True)
    ]


def _not_due(judged: JudgedLines, off: Sequence[Sequence[Interval]]) -> NDArray[np.bool_]:
    """True at the readings of each point that were taken while it was not due."""
    found = np.zeros(judged.times.size, dtype=np.bool_)
    for spans, (low, high) in zip(off, pairwise(judged.edges.tolist()), strict=True):
        if spans:
            found[low:high] = not_due_mask(judged.times[low:high], spans)
    return found


def _are_open_after(runs: Runs, start: float, gaps: Values) -> NDArray[np.bool_]:
    """True for runs that were open at `start` (epoch s) or later."""
    may_go_on = runs.last_outs + gaps[runs.owners] > start
    reaches = (runs.last_outs >= start) | (runs.ends > start)
    return np.where(runs.are_open, may_go_on, reaches)
